"""Possible injuries that the words name, and the cautions that the piece then has to carry."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.contacts.duties import Duty, Named, injuries_named, missing
from breakdowns.contacts.reading import owed_by
from breakdowns.scripts.checks.figures import act, exact, tenth_up
from breakdowns.scripts.citations import cited_briefly
from breakdowns.scripts.margin import Action, Finding, WholeCheck
from breakdowns.scripts.script import BeatView, ScriptView
from breakdowns.scripts.tables import limit

__all__ = ["TELLING", "CautionsCheck"]

TELLING = ("text", "caution")
"""The plates whose text says something to the viewer in our own name."""
_CONTACT = 3
"""Where it comes from, after words, plate and trade-offs: a contact names no words."""


class _Beat(NamedTuple):
    id: str
    words: str
    plate: str
    recorded: bool
    contact: tuple[str, ...]  # duties of the contact kept with it or shown by it
    aside: str  # its trade-offs, which readers see: they name and never carry


class CautionsCheck(WholeCheck):
    """Each caution that is owed and stands nowhere, once, on the beat that names the injury first."""

    key = "cautions"
    version = 2

    def reads(self, script: ScriptView) -> tuple[_Beat, ...] | None:
        return tuple(map(_read, script.beats)) if any(_named(beat) for beat in script.beats) else None

    def judge(self, material: tuple[_Beat, ...]) -> Iterator[Finding]:
        first: dict[str, tuple[_Beat, Named, int]] = {}
        for beat in material:
            for place, text in enumerate((beat.words, beat.plate, beat.aside)):
                for named in injuries_named(text):
                    first.setdefault(named.duty, (beat, named, place))
            for owed in beat.contact:
                first.setdefault(owed, (beat, Named(owed, 0, 0), _CONTACT))
        if not first:
            return
        first.setdefault("no_diagnosis", next(iter(first.values())))
        for duty in missing(first, [text for beat in material for text in (beat.words, beat.plate)]):
            yield _finding(duty, *first[duty.key])


def _read(beat: BeatView) -> _Beat:
    telling = beat.kind == "plate" and beat.plate in TELLING
    plate = f"{beat.plate_title}\n{beat.plate_text}" if telling else ""
    shown = beat.plate_rows if beat.kind == "plate" and beat.plate == "contact" else ()
    contact = dict.fromkeys((*owed_by(beat.contact), *owed_by(shown)))
    aside = "\n".join(one.said for one in beat.tradeoffs)
    return _Beat(beat.id, beat.words, plate, beat.take_seconds is not None, tuple(contact), aside)


def _named(beat: BeatView) -> bool:
    read = _read(beat)
    return any(injuries_named(text) for text in (read.words, read.plate, read.aside)) or bool(read.contact)


def _finding(duty: Duty, beat: _Beat, named: Named, place: int) -> Finding:
    return Finding(
        "over",
        _says(duty, place),
        "Without it the piece cannot be released. Say it in your own words, or:",
        tuple(_actions(duty, beat)),
        span=(named.start, named.end) if place == 0 else None,
        instead=duty.line,
        cite=cited_briefly([packaged_vocabulary().sources[key].citation for key in duty.sources]),
        rule=duty.key,
        about=f"{duty.key} {beat.id}",
        beat=beat.id,
    )


def _says(duty: Duty, place: int) -> str:
    about = "The contact of this beat" if place == _CONTACT else "A possible injury"
    if duty.key == "no_diagnosis":
        told = "could hurt somebody" if place == _CONTACT else "is named"
        return f"{about} {told}, and nowhere is it said that nobody is diagnosed here"
    if place == _CONTACT:
        return f"{about} brings the caution for {duty.name}, and it stands nowhere in the piece"
    return f"A possible {duty.name} is named, and its caution stands nowhere in the piece"


def _actions(duty: Duty, beat: _Beat) -> list[Action]:
    """Words that are recorded stay as they are: there the plate comes first."""
    end = len(beat.words)
    lead = "" if not beat.words or beat.words[-1].isspace() else " "
    words = act(
        "Put it in the words", "replace_words", key="" if beat.recorded else "Enter",
        beat=beat.id, start=end, end=end, was="", text=lead + duty.line,
    )  # fmt: skip
    needed = Fraction(len(f"{duty.short} {duty.line}".split())) / limit("readable_words_per_second")
    plate = act(
        "Put it on a plate", "insert_caution", key="Enter" if beat.recorded else "",
        beat=beat.id, title=duty.short, text=duty.line, seconds=exact(tenth_up(needed)),
    )  # fmt: skip
    return [plate, words] if beat.recorded else [words, plate]
