"""Do the words fit the picture, and the piece the length it was wished to have?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from breakdowns.footage.timebase import clock_label
from breakdowns.scripts.checks.figures import act, down_to, exact, seconds_text, tenth_down, tenth_up, up_to
from breakdowns.scripts.margin import Action, BeatCheck, Finding, WholeCheck
from breakdowns.scripts.script import BeatView, ScriptView, words_seconds
from breakdowns.scripts.speech import VoiceProfile, fit, words_for_seconds
from breakdowns.scripts.tables import limit

__all__ = ["PieceLengthCheck", "TimingCheck"]


@dataclass(frozen=True, slots=True)
class _Timing:
    words: str
    voice: VoiceProfile
    take_seconds: Fraction | None
    kind: str
    moving: Fraction
    still: Fraction  # the hold of an excerpt, the seconds of anything else
    speed: Fraction
    sound: bool
    reading: Fraction  # what a plate needs to be read

    @property
    def picture(self) -> Fraction:
        return self.moving + self.still


def reading_seconds(beat: BeatView) -> Fraction:
    """How long a plate's words take to read: its title and text, or what it is made of."""
    told = beat.plate_reading or f"{beat.plate_title} {beat.plate_text}"
    words = len(told.split()) if beat.kind == "plate" else 0
    return words / limit("readable_words_per_second")


class TimingCheck(BeatCheck):
    """Words against picture, with what would make them fit."""

    key = "timing"
    version = 1

    def reads(self, beat: BeatView, script: ScriptView) -> _Timing | None:
        if not beat.words.strip() or not beat.picture_seconds:
            return None
        still = beat.hold if beat.kind == "excerpt" else beat.seconds
        return _Timing(
            beat.words,
            script.voice,
            beat.take_seconds,
            beat.kind,
            beat.moving_seconds,
            still,
            beat.speed,
            beat.original_sound,
            reading_seconds(beat),
        )

    def judge(self, material: _Timing) -> Iterator[Finding]:
        spoken = words_seconds(material.words, material.voice, material.take_seconds)
        if not spoken:
            return
        found = fit(spoken, material.picture)
        if found.state == "over":
            yield _too_long(material, spoken, found.by)
        elif found.state == "under":
            needed = max(spoken, material.reading)
            if fit(needed, material.picture).state == "under":
                yield _too_short(material, spoken, needed)


_NAMES = {"still": "still", "plate": "plate", "camera": "shot"}


def _too_long(timing: _Timing, spoken: Fraction, by: Fraction) -> Finding:
    ways = [*_held_longer(timing, spoken), *_slowed(timing, spoken)]
    count = words_for_seconds(by, timing.voice, timing.words)
    words = f"about {count} word{'' if count == 1 else 's'}"
    ways.append((f"cut {words}", act(f"Cut {words}", "write_words")))
    certain = timing.take_seconds is not None or by > limit("single_sentence_error") * spoken
    what = (
        "The recording is {} longer than the picture"
        if timing.take_seconds is not None
        else "{} more words than picture"
    )
    return Finding("over" if certain else "near", what.format(seconds_text(by)), _or(ways), _actions(ways))


def _held_longer(timing: _Timing, spoken: Fraction) -> Iterator[tuple[str, Action]]:
    wanted = tenth_up(spoken - timing.moving)
    if timing.kind == "excerpt":
        if wanted <= limit("longest_hold_offer"):
            says = f"hold the last picture for {seconds_text(wanted)} (no more of the excerpt used)"
            yield says, act(f"Hold {seconds_text(wanted)}", "set_hold", seconds=exact(wanted))
    elif timing.kind == "still":
        says = f"hold the still for {seconds_text(wanted)} (no excerpt used)"
        yield says, act(f"Hold {seconds_text(wanted)}", "set_seconds", seconds=exact(wanted))
    else:
        says = f"keep the {_NAMES[timing.kind]} for {seconds_text(wanted)}"
        yield says, act(f"Keep {seconds_text(wanted)}", "set_seconds", seconds=exact(wanted))


def _slowed(timing: _Timing, spoken: Fraction) -> Iterator[tuple[str, Action]]:
    """Slower motion, where there is movement and its own sound is not heard."""
    if not timing.moving or timing.sound or spoken <= timing.still:
        return
    speed = down_to(timing.moving * timing.speed / (spoken - timing.still), limit("speed_step"))
    if limit("slowest_offer") <= speed < timing.speed:
        percent = f"{int(speed * 100)} %"
        yield f"slow the excerpt to {percent}", act(f"Slow to {percent}", "set_speed", speed=exact(speed))


def _too_short(timing: _Timing, spoken: Fraction, needed: Fraction) -> Finding:
    spare = timing.picture - spoken
    ways = [*_held_shorter(timing, needed), *_quickened(timing, needed)]
    count = words_for_seconds(spare, timing.voice, timing.words, to="add")
    words = f"about {count} word{'' if count == 1 else 's'}"
    ways.append((f"add {words}", act(f"Add {words}", "write_words")))
    return Finding("offer", f"{seconds_text(spare)} of picture without words", _or(ways), _actions(ways))


def _held_shorter(timing: _Timing, needed: Fraction) -> Iterator[tuple[str, Action]]:
    wanted = max(Fraction(0), tenth_up(needed - timing.moving))
    if timing.still - wanted < limit("hold_step"):
        return
    if timing.kind != "excerpt":
        says = f"shorten the {_NAMES[timing.kind]} to {seconds_text(wanted)}"
        yield says, act(f"Shorten to {seconds_text(wanted)}", "set_seconds", seconds=exact(wanted))
    elif wanted:
        says = f"shorten the hold to {seconds_text(wanted)}"
        yield says, act(f"Hold {seconds_text(wanted)}", "set_hold", seconds=exact(wanted))
    else:
        yield "take the hold out", act("Take the hold out", "set_hold", seconds="0")


def _quickened(timing: _Timing, needed: Fraction) -> Iterator[tuple[str, Action]]:
    """Back towards real speed, where an excerpt is slowed."""
    room = needed - timing.still
    if not timing.moving or timing.speed >= 1 or room <= 0:
        return
    speed = min(Fraction(1), up_to(timing.moving * timing.speed / room, limit("speed_step")))
    if speed > timing.speed and timing.moving * timing.speed / speed + timing.still >= needed:
        percent = f"{int(speed * 100)} %"
        yield f"play the excerpt at {percent}", act(f"Play at {percent}", "set_speed", speed=exact(speed))


def _or(ways: list[tuple[str, Action]]) -> str:
    says = [way for way, _ in ways]
    told = says[0] if len(says) == 1 else f"{', '.join(says[:-1])}, or {says[-1]}"
    return f"{told[:1].upper()}{told[1:]}."


def _actions(ways: list[tuple[str, Action]]) -> tuple[Action, ...]:
    first, *rest = (action for _, action in ways)
    return (Action(first.label, first.command, first.arguments, "Enter"), *rest)


class _Length(NamedTuple):
    wished: Fraction
    picture: Fraction


class PieceLengthCheck(WholeCheck):
    """The whole against the length that was wished for."""

    key = "length"
    version = 1

    def reads(self, script: ScriptView) -> _Length | None:
        if not script.wished_seconds or not script.picture_seconds:
            return None
        return _Length(script.wished_seconds, script.picture_seconds)

    def judge(self, material: _Length) -> Iterator[Finding]:
        more = material.picture - material.wished
        if abs(more) <= limit("piece_over_share") * material.wished:
            return
        way, turn = ("longer", "Cut") if more > 0 else ("shorter", "Add")
        says = f"{clock_label(abs(more))} {way} than the {clock_label(material.wished, 0)} you wished for"
        mend = f"{turn} {seconds_text(tenth_down(abs(more)))} of picture, or wish for another length."
        change = act("Wish for another length", "open_settings", field="wished_seconds")
        yield Finding("near" if more > 0 else "offer", says, mend, (change,))
