"""Left and right in the words over a mirrored picture."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from breakdowns.scripts.checks.figures import act
from breakdowns.scripts.margin import BeatCheck, Finding
from breakdowns.scripts.script import BeatView, ScriptView
from breakdowns.scripts.tables import phrases

__all__ = ["MirroredSidesCheck", "side_words"]

_SIDE = re.compile(r"\b(left|right)(?=\b|-|handed|footed|sided)", re.I)
_OTHER = {"left": "right", "right": "left"}


@cache
def _no_sides() -> re.Pattern[str]:
    joined = "|".join(re.escape(phrase).replace(r"\ ", r"\s+") for phrase in phrases("not_a_side"))
    return re.compile(rf"\b(?:{joined})\b", re.I)


def side_words(words: str) -> list[tuple[int, int]]:
    """Where the words name a side: half-open spans of "left" and "right", idioms left out."""
    idioms = [match.span() for match in _no_sides().finditer(words.replace("’", "'"))]
    found = (match.span() for match in _SIDE.finditer(words))
    return [span for span in found if not any(start <= span[0] < end for start, end in idioms)]


def _swapped(words: str, spans: list[tuple[int, int]]) -> str:
    """The words from the first to the last side named, with the sides exchanged, capitals kept."""
    text, at = "", spans[0][0]
    for start, end in spans:
        other = _OTHER[words[start:end].lower()]
        text += words[at:start] + (other.capitalize() if words[start].isupper() else other)
        at = end
    return text


class MirroredSidesCheck(BeatCheck):
    """On a mirrored picture the athlete's left is seen as a right."""

    key = "mirrored_sides"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> str | None:
        return beat.words if beat.mirrored and beat.shows_footage else None

    def judge(self, material: str) -> Iterator[Finding]:
        spans = side_words(material)
        if not spans:
            return
        start, end = spans[0][0], spans[-1][1]
        swap = act(
            "Swap left and right",
            "replace_words",
            start=start,
            end=end,
            was=material[start:end],
            text=_swapped(material, spans),
        )
        yield Finding(
            "near",
            "The picture is mirrored: left and right are exchanged on screen",
            "Show it as it was shot, or name the sides as they are seen.",
            (act("Show it as shot", "set_mirrored", key="Enter", mirrored=False), swap),
            span=spans[0],
            about=material,
        )
