"""Steps that change a plan: what to trim, hold shorter, leave out, say or wait for.

A step is both a sentence for a person and an instruction that ``apply_steps`` carries out, so that
a proposed mend can be checked by computing the ledger again. Segment numbers are those of the plan
that the steps were made for, counted from 0.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from fractions import Fraction
from typing import Any

from breakdowns.footage.timebase import clock_label, decimal_text, exact_json

from .intervals import IntervalSet
from .layout import Role
from .plan import ExcerptSegment, Narration, OwnSegment, Plan, Segment, View

__all__ = ["Step", "apply_steps", "sentence", "without_view"]

Namer = Callable[[int], str]
_MOST_NAMED = 4
_ZERO = Fraction(0)


@dataclass(frozen=True)
class Step:
    """``do`` is one of

    - ``trim_in``, ``trim_out``: move a view's in or out point ``to`` source seconds, ``amount`` away;
    - ``shorten_hold``: hold ``to`` seconds, ``amount`` less;
    - ``drop``: leave a view out, the whole segment without a ``role``;
    - ``mute``: take a view's original sound away;
    - ``own_before``, ``own_at_end``: add ``amount`` seconds of own picture;
    - ``narrate``: speak from ``start`` ``to`` a moment of the piece;
    - ``write_words``: ``amount`` more words;
    - ``wait``: publish ``amount`` hours later; ``withdraw_earlier``: take it down ``amount`` hours earlier;
    - ``name_source``, ``state_purpose``: write down what is missing.
    """

    do: str
    segment: int | None = None
    role: Role | None = None
    source: str | None = None
    amount: Fraction | None = None
    to: Fraction | None = None
    start: Fraction | None = None
    frames: int | None = None

    def as_json(self) -> dict[str, Any]:
        exact = {"amount": self.amount, "to": self.to, "start": self.start}
        plain = {"segment": self.segment, "view": self.role, "source": self.source, "frames": self.frames}
        made: dict[str, Any] = {"do": self.do}
        made |= {key: value for key, value in plain.items() if value is not None}
        return made | {key: exact_json(value) for key, value in exact.items() if value is not None}


# --- in words ----------------------------------------------------------------------------------


def _up(value: Fraction, places: int = 2) -> str:
    """Rounded up, so that doing what the sentence says is enough."""
    scale = 10**places
    text = decimal_text(Fraction(-(-value * scale // 1)) / scale, places)
    return text.rstrip("0").rstrip(".") if places else text


def _hours(value: Fraction) -> str:
    minutes = -(-value * 60 // 1)
    whole, rest = divmod(minutes, 60)
    return " ".join(part for part in (f"{whole} h" if whole else "", f"{rest} min" if rest else "") if part)


def _number_name(number: int) -> str:
    return f"segment {number}"


def _place(step: Step, name: Namer) -> str:
    here = name(step.segment) if step.segment is not None else ""
    return f"the view beside in {here}" if step.role == "beside" else here


def _amount(step: Step) -> str:
    frames = f" ({step.frames} frame{'' if step.frames == 1 else 's'})" if step.frames else ""
    return f"{_up(step.amount or _ZERO)} s{frames}"


_WORDS: dict[str, Callable[[Step, Namer], str]] = {
    "trim_in": lambda step, name: f"trim {_amount(step)} from the start of {_place(step, name)}",
    "trim_out": lambda step, name: f"trim {_amount(step)} from the end of {_place(step, name)}",
    "shorten_hold": lambda step, name: f"hold {_place(step, name)} {_amount(step)} shorter",
    "drop": lambda step, name: f"leave out {_place(step, name)}",
    "mute": lambda step, name: f"take the original sound off {_place(step, name)}",
    "own_before": lambda step, name: f"put {_amount(step)} of your own picture before {_place(step, name)}",
    "own_at_end": lambda step, name: f"add {_amount(step)} of your own picture",
    "narrate": lambda step, name: (
        f"speak from {clock_label(step.start or _ZERO, 2)} to {clock_label(step.to or _ZERO, 2)}"
    ),
    "write_words": lambda step, name: f"write {_up(step.amount or _ZERO, 0)} more words",
    "wait": lambda step, name: f"wait {_hours(step.amount or _ZERO)} before publishing",
    "withdraw_earlier": lambda step, name: f"take it down {_hours(step.amount or _ZERO)} earlier",
    "name_source": lambda step, name: (
        f"name source {step.source} on screen or in words at its first use, and in the description"
    ),
    "state_purpose": lambda step, name: f"write down what {_place(step, name)} is needed for",
}


def sentence(steps: Sequence[Step], name: Namer = _number_name) -> str:
    """The steps in plain words, the first few by name. Seconds are rounded up to hundredths."""
    said = [_WORDS[step.do](step, name) for step in steps[:_MOST_NAMED]]
    rest = len(steps) - len(said)
    if rest:
        said.append(f"and {rest} more step{'' if rest == 1 else 's'} of this kind")
    return "; ".join(said)


# --- carried out -------------------------------------------------------------------------------


def without_view(segment: ExcerptSegment, role: Role | None) -> ExcerptSegment | None:
    """The segment without one view (the other takes its place), None when nothing is left."""
    if role is None or segment.beside is None:
        return None
    return replace(segment, main=segment.beside if role == "main" else segment.main, beside=None)


def _changed_view(view: View, step: Step) -> View:
    to = step.to if step.to is not None else _ZERO
    if step.do == "trim_in":
        return replace(view, start=to)
    if step.do == "trim_out":
        return replace(view, end=to)
    if step.do == "shorten_hold":
        return replace(view, hold=to)
    return replace(view, muted=True)


def _changed_segment(segment: Segment, steps: Sequence[Step]) -> list[Segment]:
    """What stands in the segment's place: own picture before it, the rest of it, or nothing."""
    before: list[Segment] = [OwnSegment(step.amount or _ZERO) for step in steps if step.do == "own_before"]
    if isinstance(segment, OwnSegment):
        return [*before, segment]
    for step in steps:
        if step.do == "state_purpose":
            segment = replace(segment, purpose=segment.purpose or "stated")
        elif step.do in ("trim_in", "trim_out", "shorten_hold", "mute"):
            if step.role == "beside" and segment.beside is not None:
                segment = replace(segment, beside=_changed_view(segment.beside, step))
            else:
                segment = replace(segment, main=_changed_view(segment.main, step))
    for step in steps:
        if step.do == "drop":
            left = without_view(segment, step.role)
            if left is None:
                return before
            segment = left
    return [*before, segment]


def _changed_narration(narration: Narration, steps: Sequence[Step]) -> Narration:
    spoken = [(step.start or _ZERO, step.to or _ZERO) for step in steps if step.do == "narrate"]
    words = sum((step.amount or _ZERO for step in steps if step.do == "write_words"), _ZERO)
    if spoken:
        narration = replace(narration, intervals=(narration.intervals or IntervalSet()) | IntervalSet(spoken))
    if words:
        narration = replace(narration, words=(narration.words or 0) + int(words))
    return narration


def _changed_times(plan: Plan, steps: Sequence[Step]) -> Plan:
    wait = sum((step.amount or _ZERO for step in steps if step.do == "wait"), _ZERO)
    earlier = sum((step.amount or _ZERO for step in steps if step.do == "withdraw_earlier"), _ZERO)
    named = {step.source for step in steps if step.do == "name_source"}
    sources = tuple(
        replace(
            source,
            attributed=source.attributed or source.id in named,
            event_age_hours=None if source.event_age_hours is None else source.event_age_hours + wait,
        )
        for source in plan.sources
    )
    published = plan.published and plan.published + _delta(wait)
    withdrawn = plan.withdrawn and plan.withdrawn - _delta(earlier)
    return replace(plan, sources=sources, published=published, withdrawn=withdrawn)


def _delta(hours: Fraction) -> timedelta:
    return timedelta(microseconds=int(-(-hours * 3_600_000_000 // 1)))


def apply_steps(plan: Plan, steps: Sequence[Step]) -> Plan:
    """The plan as it would be once the steps were done. Narration stays where it is on the clock."""
    segments: list[Segment] = []
    for number, segment in enumerate(plan.segments):
        segments += _changed_segment(segment, [step for step in steps if step.segment == number])
    segments += [OwnSegment(step.amount or _ZERO) for step in steps if step.do == "own_at_end"]
    changed = replace(plan, segments=tuple(segments), narration=_changed_narration(plan.narration, steps))
    return _changed_times(changed, steps)
