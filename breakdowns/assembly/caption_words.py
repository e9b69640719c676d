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

from breakdowns.assembly.caption_norms import break_costs, word_classes
from breakdowns.assembly.plain_text import one_line
from breakdowns.scripts.speech import default_voice
from breakdowns.scripts.spoken_text import Sentence, measure, read_aloud
from breakdowns.scripts.tables import rows

__all__ = ["CaptionWord", "caption_words", "joined", "word_count"]

_CLAUSE_END = re.compile(r"(?:[;:]|[–—]|^-|…|\.\.\.)[\"'”’»)\]]*$")
_COMMA = re.compile(r",[\"'”’»)\]]*$")
_NUMBER = re.compile(r"^[+−-]?[\d.,/:×x–-]*\d[\d.,]*$")
_EDGE = re.compile(r"^[^\w°%+−-]+|[^\w°%]+$")
_CONTRACTED = re.compile(r"(?:['’](?:re|ll|ve|d)|n['’]t)$")
_IS_CONTRACTED = re.compile(r"^(.+)['’]s$")


@dataclass(frozen=True)
class CaptionWord:
    """One word as it is captioned, punctuation included.

    ``wait`` (asked for by a direction, before the word), ``seconds`` and ``pause`` (after the word) are
    nominal speaking times, ``cost`` what it costs to break after it, ``joined`` true for the later
    parts of a word that is longer than a line.
    """

    text: str
    seconds: Fraction
    pause: Fraction
    cost: int
    ends_sentence: bool
    wait: Fraction = Fraction(0)
    joined: bool = False


def caption_words(text: str, language: str = "en", longest: int = 42) -> tuple[CaptionWord, ...]:
    """The words of a beat: what ``read_aloud`` finds to be spoken, as written.

    ``longest`` is the number of characters of a line: a longer word comes in parts that fit. The last
    word's pause is what directions ask for after it, else 0.
    """
    words = [word for sentence in read_aloud(text).sentences for word in _sentence_words(sentence, language)]
    if not words:
        return ()
    waits = _directed_waits(text)
    words[-1] = replace(words[-1], pause=waits.pop(len(words), Fraction(0)), cost=0)
    words = [replace(word, wait=waits.get(at, Fraction(0))) for at, word in enumerate(words)]
    return tuple(part for word in words for part in _fitting_parts(word, longest))


def joined(words: Sequence[CaptionWord]) -> str:
    """The words as one text."""
    return "".join(word.text if at == 0 or word.joined else f" {word.text}" for at, word in enumerate(words))


def word_count(text: str) -> int:
    """Words that are spoken: a dash alone is none, words bound by a no-break space count each."""
    return sum(map(_is_spoken, text.split()))


def _is_spoken(token: str) -> bool:
    return any(char.isalnum() for char in token)


def _tokens(sentence: Sentence) -> list[str]:
    return one_line(sentence.spoken).split(" ")


def _directed_waits(text: str) -> dict[int, Fraction]:
    """Seconds that directions such as [pause 2] ask for, by the number of words before them."""
    waits: dict[int, Fraction] = {}
    if not read_aloud(text).directed_seconds:
        return waits
    known = Fraction(0)
    for closing in (at for at, char in enumerate(text) if char == "]"):
        so_far = read_aloud(text[: closing + 1])
        if so_far.directed_seconds > known:
            before = sum(len(_tokens(sentence)) for sentence in so_far.sentences)
            waits[before] = waits.get(before, Fraction(0)) + so_far.directed_seconds - known
            known = so_far.directed_seconds
    return waits


def _sentence_words(sentence: Sentence, language: str) -> Iterator[CaptionWord]:
    classes, voice = word_classes(language), default_voice()
    tokens = _tokens(sentence)
    for at, token in enumerate(tokens[:-1]):
        rule = _break_rule(token, tokens[at + 1], at == 0, classes)
        pause = voice.comma_seconds if rule in ("clause_end", "comma") else Fraction(0)
        yield CaptionWord(token, _nominal_seconds(token), pause, break_costs()[rule], ends_sentence=False)
    pause = voice.paragraph_seconds if sentence.closes_paragraph else voice.sentence_seconds
    last = tokens[-1]
    yield CaptionWord(last, _nominal_seconds(last), pause, break_costs()["sentence_end"], ends_sentence=True)


def _nominal_seconds(token: str) -> Fraction:
    """Its syllables, figures spelled out, at the default voice's rate."""
    return measure(token).syllables * default_voice().seconds_per_syllable


def _core(token: str) -> str:
    return _EDGE.sub("", token).casefold()


@cache
def _units() -> frozenset[str]:
    """Symbols and spoken names of units, single words in small letters."""
    names = (name for row in rows("units") for name in row.values())
    return frozenset(name.casefold() for name in names if " " not in name)


def _break_rule(token: str, following: str, opens: bool, classes: dict[str, frozenset[str]]) -> str:
    """The name of the rule that says what a break between two words of a sentence costs."""
    if not _is_spoken(following):
        return "never"
    if _CLAUSE_END.search(token):
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
            text=rest[:cut],
            seconds=word.seconds * share,
            pause=Fraction(0),
            cost=break_costs()["inside_word"],
            ends_sentence=False,
            wait=word.wait if is_first else Fraction(0),
            joined=not is_first,
        )
        rest, is_first = rest[cut:], False
    share = Fraction(len(rest), len(word.text))
    wait = word.wait if is_first else Fraction(0)
    yield replace(word, text=rest, seconds=word.seconds * share, wait=wait, joined=not is_first)
