"""Pictures that are missing, stay too long without a cut, or too short to be read."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from breakdowns.scripts.checks.figures import act, exact, seconds_text, tenth_up
from breakdowns.scripts.checks.timing import reading_seconds
from breakdowns.scripts.margin import BeatCheck, Finding
from breakdowns.scripts.script import BeatView, ScriptView, Trouble
from breakdowns.scripts.spoken_text import read_aloud
from breakdowns.scripts.tables import limit

__all__ = ["EmptyPictureCheck", "LongBeatCheck", "PictureTroubleCheck", "PlateTimeCheck"]


class EmptyPictureCheck(BeatCheck):
    """Words without a picture, or a picture that lasts no time."""

    key = "empty_picture"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> tuple[str, bool] | None:
        missing = beat.shows_footage and not beat.source_id
        return (beat.kind, missing) if missing or not beat.picture_seconds else None

    def judge(self, material: tuple[str, bool]) -> Iterator[Finding]:
        kind, missing = material
        if missing:
            action = act("Choose a picture", "choose_picture", key="Enter")
            yield Finding("over", f"No {kind} is chosen yet", "Choose what is on screen here.", (action,))
        else:
            action = act("Set the seconds", "choose_picture", key="Enter")
            yield Finding("over", "The picture lasts no time", "Say how many seconds it stays.", (action,))


class PictureTroubleCheck(BeatCheck):
    """Marks, a second view or a curve that were chosen and can't be shown."""

    key = "picture_trouble"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> tuple[Trouble, ...] | None:
        return beat.troubles or None

    def judge(self, material: tuple[Trouble, ...]) -> Iterator[Finding]:
        for one in material:
            views = act("Open the second view and curve", "open_two_views", key="Enter")
            action = views if one.two_views else act("Change the picture", "choose_picture", key="Enter")
            yield Finding(one.state, one.says, one.mend, (action,), rule=one.says)


class _Stay(NamedTuple):
    kind: str
    seconds: Fraction
    words: str


class LongBeatCheck(BeatCheck):
    """A picture that stays longer than viewers stay."""

    key = "long_beat"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> _Stay | None:
        longest = limit("longest_camera_beat" if beat.kind == "camera" else "longest_beat")
        return _Stay(beat.kind, beat.picture_seconds, beat.words) if beat.picture_seconds > longest else None

    def judge(self, material: _Stay) -> Iterator[Finding]:
        says = f"{seconds_text(material.seconds)} without a cut"
        at = _middle(material.words)
        if at is None:
            action = act("Choose a second picture", "choose_picture")
            yield Finding(
                "offer", says, "Divide the beat and show something else for a part of it.", (action,)
            )
        else:
            action = act("Split in the middle", "split", offset=at)
            yield Finding("offer", says, "Split it between two sentences and change the picture.", (action,))


def _middle(words: str) -> int | None:
    """Where the sentence nearest the middle begins; None where there is one sentence or none."""
    starts = [sentence.start for sentence in read_aloud(words).sentences[1:]]
    return min(starts, key=lambda start: abs(2 * start - len(words)), default=None)


class PlateTimeCheck(BeatCheck):
    """A plate that goes before it can be read."""

    key = "plate_time"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> tuple[Fraction, Fraction] | None:
        needed = reading_seconds(beat)
        return (beat.seconds, needed) if beat.kind == "plate" and 0 < beat.seconds < needed else None

    def judge(self, material: tuple[Fraction, Fraction]) -> Iterator[Finding]:
        shown, needed = material
        wanted = tenth_up(needed)
        action = act(f"Keep {seconds_text(wanted)}", "set_seconds", key="Enter", seconds=exact(wanted))
        says = f"{seconds_text(shown)} is too short to read this plate"
        mend = f"Keep it for {seconds_text(wanted)}, or write less on it."
        yield Finding(
            "near", says, mend, (action,), cite="BBC Subtitle Guidelines: 160 to 180 words a minute"
        )
