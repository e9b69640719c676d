"""The words side of a beat as a row of words: how long each takes and how well one can break after it.

Breaks follow what caption guidelines agree on: after punctuation, before conjunctions and
prepositions; never after an article, an auxiliary or the like, never between a number and its unit
or inside a name. Classes of words and costs are data, with their sources.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from breakdowns.assembly.caption_norms import break_costs, is_english, word_classes
from breakdowns.assembly.plain_text import one_line, spoken_text
from breakdowns.assembly.tables import exact
from breakdowns.scripts.spoken_numbers import spell_out
from breakdowns.scripts.tables import rows

__all__ = ["CaptionWord", "caption_words", "joined", "word_count"]

_SENTENCE_END = re.compile(r"[.!?…]+[\"'”’»)\]]*$")
_CLAUSE_END = re.compile(r"(?:[;:]|[–—]|\s-|…|\.\.\.)[\"'”’»)\]]*$")
_COMMA = re.compile(r",[\"'”’»)\]]*$")
_NUMBER = re.compile(r"^[+−-]?[\d.,/:×x–-]*\d[\d.,]*$")
_EDGE = re.compile(r"^[^\w°%+−-]+|[^\w°%]+$")
_CONTRACTED = re.compile(r"(?:['’](?:re|ll|ve|d)|n['’]t)$")
_IS_CONTRACTED = re.compile(r"^(.+)['’]s$")


@dataclass(frozen=True)
class CaptionWord:
    """One word as it is captioned, punctuation included.

    ``seconds`` and ``pause`` (after the word) are nominal speaking times, ``cost`` what it costs to
    break after it, ``joined`` true for the later parts of a word that is longer than a line.
    """

    text: str
    seconds: Fraction
    pause: Fraction
    cost: int
    ends_sentence: bool
    joined: bool = False


def caption_words(text: str, language: str = "en", longest: int = 42) -> tuple[CaptionWord, ...]:
    """The words of a beat. Marks and [stage directions] are left out; what is written stays as written.

    ``longest`` is the number of characters of a line: a longer word comes in parts that fit. Nothing
    but punctuation gives no words.
    """
    paragraphs = [one_line(part) for part in re.split(r"\n\s*\n", spoken_text(text))]
    words = [word for part in paragraphs if part for word in _paragraph_words(part, language)]
    if not any(_is_spoken(word.text) for word in words):
        return ()
    words[-1] = replace(words[-1], pause=Fraction(0), cost=0)
    return tuple(part for word in words for part in _fitting_parts(word, longest))


def joined(words: Sequence[CaptionWord]) -> str:
    """The words as one text."""
    return "".join(word.text if at == 0 or word.joined else f" {word.text}" for at, word in enumerate(words))


def word_count(text: str) -> int:
    """Words that are spoken: a dash alone is none, words bound by a no-break space count each."""
    return sum(map(_is_spoken, text.split()))


def _is_spoken(token: str) -> bool:
    return any(char.isalnum() for char in token)


def _paragraph_words(paragraph: str, language: str) -> Iterator[CaptionWord]:
    classes = word_classes(language)
    tokens = paragraph.split(" ")
    opens_sentence = True
    for at, token in enumerate(tokens):
        following = tokens[at + 1] if at + 1 < len(tokens) else ""
        ends = not following or _ends_sentence(token, following)
        pause = "paragraph_pause" if not following else "sentence_pause" if ends else _pause_name(token)
        yield CaptionWord(
            text=token,
            seconds=_nominal_seconds(token, language),
            pause=exact("speech_timing", pause) if pause else Fraction(0),
            cost=break_costs()[_break_rule(token, following, ends, opens_sentence, classes)],
            ends_sentence=ends,
        )
        opens_sentence = ends


def _nominal_seconds(token: str, language: str) -> Fraction:
    """Characters as they are spoken, and one for the space, at the average time a character."""
    spoken = spell_out(token) if is_english(language) else token
    characters = sum(map(str.isalnum, spoken)) + len(spoken.split())
    return characters * exact("speech_timing", "character") if _is_spoken(token) else Fraction(0)


def _pause_name(token: str) -> str:
    return "comma_pause" if _CLAUSE_END.search(token) or _COMMA.search(token) else ""


def _core(token: str) -> str:
    return _EDGE.sub("", token).casefold()


def _ends_sentence(token: str, following: str) -> bool:
    """A full stop ends no sentence after an abbreviation or before a small letter."""
    if not _SENTENCE_END.search(token):
        return False
    first = next((char for char in following if char.isalnum()), "")
    kind = _abbreviations().get(token.strip("\"'”’»()[]"), "")
    return not (first.islower() or kind == "stop" or (kind == "number" and first.isdigit()))


@cache
def _abbreviations() -> dict[str, str]:
    """Kind of each abbreviation with a full stop: it never ends a sentence (stop), not before a number
    (number), or may end one (end)."""
    return {row["written"]: row["kind"] for row in rows("abbreviations") if row["written"].endswith(".")}


@cache
def _units() -> frozenset[str]:
    """Symbols and spoken names of units, single words in small letters."""
    names = (name for row in rows("units") for name in row.values())
    return frozenset(name.casefold() for name in names if " " not in name)


def _break_rule(
    token: str, following: str, ends: bool, opens: bool, classes: dict[str, frozenset[str]]
) -> str:
    """The name of the rule that says what a break between two tokens costs."""
    if ends:
        return "sentence_end"
    if not _is_spoken(following):
        return "never"
    if _CLAUSE_END.search(token) or not _is_spoken(token):
        return "clause_end"
    if _COMMA.search(token):
        return "comma"
    here, after = _core(token), _core(following)

    def is_a(word: str, *names: str) -> bool:
        return any(word in classes[name] for name in names) or ("unit" in names and word in _units())

    return _bound_by_number(here, after, is_a) or _bound_by_word(token, following, opens, is_a)


def _bound_by_number(here: str, after: str, is_a: Callable[..., bool]) -> str:
    counts = bool(_NUMBER.match(here)) or is_a(here, "number")
    if counts and is_a(after, "unit", "number"):
        return "never"
    if is_a(here, "label") and (_NUMBER.match(after) or is_a(after, "number")):
        return "never"
    return "number_and_noun" if counts and not is_a(after, "preposition", "conjunction", "relative") else ""


def _bound_by_word(token: str, following: str, opens: bool, is_a: Callable[..., bool]) -> str:
    here, after = _core(token), _core(following)
    if is_a(after, "conjunction") and not is_a(here, "conjunction", "article", "relative"):
        return "before_conjunction"
    binds = ("article", "determiner", "preposition", "conjunction", "relative", "auxiliary", "pronoun")
    if is_a(here, *binds, "negation", "intensifier", "title") or _is_contraction(here, is_a):
        return "never"
    if _is_capitalised(token) and _is_capitalised(following):
        return "perhaps_a_name" if opens else "never"
    if is_a(after, "relative"):
        return "before_conjunction"
    return "before_preposition" if is_a(after, "preposition") else "plain"


def _is_contraction(word: str, is_a: Callable[..., bool]) -> bool:
    """you're, don't; and it's, that's, but not the player's."""
    short = _IS_CONTRACTED.match(word)
    return bool(_CONTRACTED.search(word)) or bool(short and is_a(short[1], "pronoun", "relative"))


def _is_capitalised(token: str) -> bool:
    letters = [char for char in token if char.isalnum()]
    return bool(letters) and letters[0].isupper() and _core(token) != "i"


def _fitting_parts(word: CaptionWord, longest: int) -> Iterator[CaptionWord]:
    """The word, or where it is longer than a line its parts, cut after a hyphen or slash if one is near."""
    rest, is_first = word.text, True
    while len(rest) > longest:
        cut = max((rest.rfind(sign, longest // 2, longest) for sign in "-/_"), default=-1) + 1 or longest
        share = Fraction(cut, len(word.text))
        yield CaptionWord(
            rest[:cut], word.seconds * share, Fraction(0), break_costs()["inside_word"], False, not is_first
        )
        rest, is_first = rest[cut:], False
    share = Fraction(len(rest), len(word.text))
    yield replace(word, text=rest, seconds=word.seconds * share, joined=not is_first)
