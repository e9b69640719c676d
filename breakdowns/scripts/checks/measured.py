"""What the words say of an angle, an order or a speed against what was measured on the picture."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from anatomy.motion.facts import Measured
from breakdowns.footage.timebase import clock_label
from breakdowns.scripts.checks.figures import act
from breakdowns.scripts.margin import Action, BeatCheck, Finding
from breakdowns.scripts.measured.disagreement import Disagreement, disagreements
from breakdowns.scripts.recording import second_at
from breakdowns.scripts.script import BeatView, ScriptView

__all__ = ["MeasuredCheck"]

_SOURCE = "measured on the picture"


@dataclass(frozen=True, slots=True)
class _Said:
    """What is judged; ``spoken``, ``starts`` and ``divisible`` as for any statement of recorded words."""

    words: str
    measured: Measured
    spoken: bool
    starts: tuple[Fraction, ...]
    divisible: bool
    corrected: tuple[str, ...]


class MeasuredCheck(BeatCheck):
    """Angles, orders and speeds that were measured otherwise on this beat's own picture."""

    key = "measured"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> _Said | None:
        if not beat.words.strip() or not beat.measured:
            return None
        spoken = beat.take_seconds is not None
        place = script.positions.get(beat.id, 0)
        cards = (beat, *script.beats[place + 1 : place + 2])
        corrected = tuple(
            _one_line(card.plate_said) for card in cards if card.plate == "correction" and card.plate_said
        )
        starts = beat.word_starts if spoken else ()
        return _Said(beat.words, beat.measured, spoken, starts, spoken and not beat.take_is_file, corrected)

    def judge(self, material: _Said) -> Iterator[Finding]:
        for found in disagreements(material.words, material.measured):
            said = _one_line(material.words[found.start : found.end])
            if said in material.corrected:
                continue
            yield Finding(
                "near",
                found.says,
                _mend(found, material),
                tuple(_actions(found, said, material)),
                span=(found.start, found.end),
                instead=_one_line(found.instead),
                rule=found.kind,
                about=f"{said}\n{found.says}",
            )


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _mend(found: Disagreement, material: _Said) -> str:
    at = second_at(material.words, material.starts, found.start)
    when = f"Said at {clock_label(at)} of the recording. " if at is not None else ""
    if not found.instead:
        return f"{when}Say it another way, or look at the measure again."
    say = "Correct it on the picture, or record it again:" if material.spoken else "Say instead:"
    return f"{when}{say}"


def _actions(found: Disagreement, said: str, material: _Said) -> list[Action]:
    """The first one gets the key. Recorded words are mended on the picture side before they are changed."""
    start, end = found.start, found.end
    was, actions = material.words[start:end], []
    if material.spoken and found.instead:
        right = _one_line(found.instead)
        card = {"said": said, "right": right[:1].upper() + right[1:], "source": _SOURCE}
        if material.divisible:
            label = "Put a correction over it"
            actions.append(act(label, "correct_recording", start=start, end=end, was=was, **card))
        else:
            actions.append(act("Add a correction card", "insert_correction", seconds="5", **card))
    if found.instead:
        actions.append(
            act("Use these words", "replace_words", start=start, end=end, was=was, text=found.instead)
        )
    else:
        actions.append(act("Change the words", "write_words", start=start, end=end))
    first = actions[0]
    return [Action(first.label, first.command, first.arguments, "Enter"), *actions[1:]]
