"""What of a script's words is spoken, sentence by sentence, with the place of each in the text.

Markdown marks, tags, addresses and stage directions in square brackets are not spoken. A direction
``[pause 1.5]`` adds its seconds. Offsets are characters of the text as given, half-open.
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from typing import Final

from breakdowns.scripts.spoken_numbers import spell_out
from breakdowns.scripts.syllables import count_syllables
from breakdowns.scripts.tables import limit, rows

__all__ = ["Measure", "Sentence", "SpokenText", "measure", "read_aloud", "spoken_words"]

_GONE: Final = "\x01"  # an unspoken mark inside a word or beside it
_BREAK: Final = "\x02"  # the end of a heading or list item: a sentence ends here


@dataclass(frozen=True, slots=True)
class Sentence:
    """[start, end) of the text as given; ``spoken`` is what is said, unspoken marks taken out."""

    start: int
    end: int
    spoken: str
    closes_paragraph: bool = False


@dataclass(frozen=True, slots=True)
class SpokenText:
    """Sentences in order, and the seconds of all pauses that directions ask for."""

    sentences: tuple[Sentence, ...]
    directed_seconds: Fraction


@dataclass(frozen=True, slots=True)
class Measure:
    """How much there is to say: words and syllables as spoken, places where the voice stops shortly."""

    words: int
    syllables: int
    commas: int
    polysyllables: int


_IMAGE_OR_COMMENT: Final = re.compile(
    r"<!--.{0,2000}?-->|!\[[^\]\n]{0,300}\]\([^)\n]{0,500}\)|\[\^[^\]\n]{1,60}\]", re.S
)
_LINK: Final = re.compile(r"\[([^\[\]\n]{1,500})\]\([^)\s]{0,800}(?:\s[^)\n]{0,200})?\)")
_DIRECTION: Final = re.compile(r"\[([^\[\]]{0,300})\]")
_TAG_OR_ADDRESS: Final = re.compile(r"</?[A-Za-z][^<>\n]{0,300}>|https?://[^\s<>)\]]{1,2000}")
_ENTITY: Final = re.compile(r"&(?:#\d{1,6}|#x[0-9a-fA-F]{1,6}|[A-Za-z]{2,10});")
_RULE_LINE: Final = re.compile(r"^[ \t]*(?:[-*_][ \t]*){3,40}$", re.M)
_LINE_START: Final = re.compile(r"^[ \t>]{0,20}(?:#{1,6}[ \t]+|(?:[-*+•]|\d{1,3}[.)])[ \t]+|>[ \t]?)", re.M)
_HEADING_END: Final = re.compile(r"^([ \t]{0,3}#{1,6}[ \t][^\n]*)\n", re.M)
_MARKS: Final = re.compile(r"\*+|`+|~~|(?<!\w)_+|_+(?!\w)|\\(?=[^\w\s])")
_PAUSE: Final = re.compile(r"pause\b[\s:,]*(?:(\d{1,4}(?:\.\d{1,3})?)\s*(ms)?)?", re.I)
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufeff\u200b-\u200f\u2060]")


def _blank(match: re.Match[str]) -> str:
    return " " * len(match[0])


def _mark(match: re.Match[str]) -> str:
    return _GONE * len(match[0])


def _label_only(match: re.Match[str]) -> str:
    return _GONE + match[1] + _GONE * (len(match[0]) - len(match[1]) - 1)


def _entity(match: re.Match[str]) -> str:
    sign = html.unescape(match[0])
    return sign + _GONE * (len(match[0]) - 1) if len(sign) == 1 else match[0]


def _line_start(match: re.Match[str]) -> str:
    return _BREAK + " " * (len(match[0]) - 1)


def _pause_seconds(direction: str) -> Fraction:
    found = _PAUSE.match(direction.strip())
    if not found:
        return Fraction(0)
    seconds = limit("directed_pause") if found[1] is None else Fraction(found[1])
    return min(seconds / 1000 if found[2] else seconds, limit("longest_directed_pause"))


def _spoken_only(text: str) -> tuple[str, Fraction]:
    """The text at its own length with all that is not spoken blanked; and the seconds of directed pauses."""
    text = _CONTROL.sub(" ", text)
    text = text.replace("\r\n", " \n").replace("\r", "\n")
    pauses = Fraction(0)
    if "[" in text:
        text = _LINK.sub(_label_only, _IMAGE_OR_COMMENT.sub(_blank, text))
        pauses = sum((_pause_seconds(match[1]) for match in _DIRECTION.finditer(text)), pauses)
        text = _DIRECTION.sub(_blank, text)
    if "<" in text or "://" in text:
        text = _TAG_OR_ADDRESS.sub(_blank, text)
    if "&" in text:
        text = _ENTITY.sub(_entity, text)
    if "#" in text:
        text = _HEADING_END.sub(rf"\1{_BREAK}", text)
    text = _LINE_START.sub(_line_start, _RULE_LINE.sub(_blank, text))
    return _MARKS.sub(_mark, text), pauses


_SENTENCE_END: Final = re.compile(rf"(?:[.!?…]+[\"'”’»)\]{_GONE}]*(?=\s|$))|{_BREAK}")
_PARAGRAPH: Final = re.compile(r"\n[ \t]*\n\s*")
_LAST_TOKEN: Final = re.compile(r"[^\s(\[\"'“‘]+$")


@cache
def _abbreviations(kind: str) -> frozenset[str]:
    return frozenset(row["written"].lower() for row in rows("abbreviations") if row["kind"] == kind)


def _ends_here(text: str, match: re.Match[str]) -> bool:
    """Whether the full stop or other sign at ``match`` ends a sentence of ``text``."""
    sign, following = match[0], text[match.end() : match.end() + 40].lstrip()
    if sign == _BREAK:
        return True
    if sign.startswith(("...", "…")) and following[:1].islower():
        return False
    if sign.strip(_GONE) != ".":
        return True
    before = text[max(0, match.start() - 20) : match.start()]
    token = _LAST_TOKEN.search(before)
    written = f"{token[0]}.".lower() if token else "."
    if written in _abbreviations("number"):
        return not following[:1].isdigit()
    if written in _abbreviations("end"):
        return not following or following[0].isupper()
    after_figure = token is not None and before[: token.start()].rstrip()[-1:].isdigit()
    return written not in _abbreviations("stop") or after_figure


def _pieces(text: str, start: int, end: int) -> list[tuple[int, int]]:
    """Sentence spans of one paragraph, blanks at their ends taken off."""
    cuts, at = [], start
    for match in _SENTENCE_END.finditer(text, start, end):
        if _ends_here(text, match):
            cuts.append((at, match.end()))
            at = match.end()
    cuts.append((at, end))
    blanks = " \t\n\r" + _GONE + _BREAK
    trimmed = []
    for left, right in cuts:
        piece = text[left:right]
        left += len(piece) - len(piece.lstrip(blanks))
        right -= len(piece) - len(piece.rstrip(blanks))
        if left < right and any(map(str.isalnum, text[left:right])):
            trimmed.append((left, right))
    return trimmed


@lru_cache(maxsize=4096)
def read_aloud(text: str) -> SpokenText:
    """The sentences that are spoken of ``text``, and the seconds its directions ask to wait."""
    masked, pauses = _spoken_only(text)
    sentences: list[Sentence] = []
    at = 0
    for gap in [*_PARAGRAPH.finditer(masked), None]:
        end = gap.start() if gap else len(masked)
        spans = _pieces(masked, at, end)
        for number, (left, right) in enumerate(spans):
            spoken = masked[left:right].replace(_GONE, "").replace(_BREAK, " ")
            sentences.append(Sentence(left, right, spoken, closes_paragraph=number == len(spans) - 1))
        at = gap.end() if gap else end
    return SpokenText(tuple(sentences), pauses)


_WORD: Final = re.compile(r"[^\W\d_]+(?:['’‑-][^\W\d_]+)*")
_SHORT_STOP: Final = re.compile(r"(?:[,;:()—…]|\s[-–]\s|\.{3})[\s,;:()—–…\".”’-]*(?=\w)")


def spoken_words(sentence: str) -> list[str]:
    """The words of a sentence as spoken: figures spelled out, hyphenated words whole."""
    return _WORD.findall(spell_out(sentence))


@lru_cache(maxsize=16384)
def measure(sentence: str) -> Measure:
    """Words, syllables, short stops and words of three or more syllables of one spoken sentence."""
    said = spell_out(sentence)
    counts = [max(1, count_syllables(word)) for word in _WORD.findall(said)]
    stops = len(_SHORT_STOP.findall(said.strip(" ,;:()—…")))
    return Measure(len(counts), sum(counts), stops, sum(1 for count in counts if count >= 3))
