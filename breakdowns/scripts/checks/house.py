"""A paid message is disclosed as such, on screen and in the words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from breakdowns.scripts.checks.figures import act
from breakdowns.scripts.margin import BeatCheck, Finding
from breakdowns.scripts.script import BeatView, ScriptView
from breakdowns.scripts.tables import phrases

__all__ = ["HouseMessageCheck", "discloses"]

_CITE = "16 CFR 255.0(f) and 255.5: shown and spoken where the message is shown and spoken (from memory)"


@cache
def _disclosing() -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, phrases('disclosure')))})\b", re.I)


def discloses(text: str) -> bool:
    """Whether the text says that it is paid for, by a word of the table. "Unpaid" does not."""
    return bool(
        _disclosing().search(re.sub(r"\b(?:not|un|non)[- ]?(?:paid|sponsored)\b", "", text, flags=re.I))
    )


class _Message(NamedTuple):
    title: str
    text: str
    words: str


class HouseMessageCheck(BeatCheck):
    """What is shown must say so on the plate; what is spoken must say so in the words."""

    key = "house_message"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> _Message | None:
        if beat.kind != "plate" or beat.plate != "house":
            return None
        return _Message(beat.plate_title, beat.plate_text, beat.words)

    def judge(self, material: _Message) -> Iterator[Finding]:
        shown = f"{material.title} {material.text}"
        if not discloses(shown):
            title = f"Paid message: {material.title}" if material.title.strip() else "Paid message"
            yield Finding(
                "over",
                "The plate does not say that it is paid for",
                "Say so where it can't be missed, in its title.",
                (act("Put “Paid message” in the title", "set_plate_title", key="Enter", text=title),),
                cite=_CITE,
                rule="shown",
                about=shown,
            )
        if material.words.strip() and not discloses(material.words):
            sentence = "This is a paid message. "
            label = "Begin with “This is a paid message.”"
            first = act(label, "replace_words", key="Enter", start=0, end=0, was="", text=sentence)
            yield Finding(
                "over",
                "The words do not say that this is paid for",
                "Say so before anything else.",
                (first,),
                cite=_CITE,
                rule="spoken",
                about=material.words,
            )
