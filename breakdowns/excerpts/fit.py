"""Fitting pictures to words: speeds and holds whose screen time is the words' time, to the frame.

The words' time is taken to the nearest whole frame of the piece; the screen time of the segments equals it
exactly, as a rational number. What is preferred, in this order:

1. as little holding as possible where nothing is marked;
2. the speed as close to 1 as possible, the same for all pictures: any other choice of speeds for the same
   time has one that lies further from 1 (the mean of len/speed is fixed, so not all can come closer);
3. the pause spread over as many marks as ``min_hold`` allows, a mark of each picture first, evenly and
   in whole frames where the limits leave room for that.

So words that last longer than the pictures stop the picture at marks; what marks can't take slows it
down; what ``min_speed`` can't take is held at the end of a picture, the last one first. Words that are
shorter speed it up. Nothing is held and sped up at the same time, but for a picture without movement, which
is always held. Where the limits don't reach, the answer says how many seconds of picture or words are missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest
from typing import Any

from breakdowns.footage.timebase import decimal_text, exact_json, frames_nearest, rational_text

from .fit_plan import FitPlan, Picture, refuse_too_many_stills

__all__ = ["Fitted", "Missing", "Part", "fit"]

_ZERO, _ONE = Fraction(0), Fraction(1)
Spot = tuple[int, Fraction]
"""Number of a picture, and a moment of its source."""


@dataclass(frozen=True)
class Part:
    """[start, end) of a picture at ``speed``, then its last moment held for ``hold`` seconds."""

    picture: int
    source: str
    start: Fraction
    end: Fraction
    speed: Fraction
    hold: Fraction

    @property
    def seconds(self) -> Fraction:
        """Screen seconds."""
        return (self.end - self.start) / self.speed + self.hold

    def as_json(self) -> dict[str, Any]:
        return {
            "kind": "excerpt",
            "picture": self.picture,
            "source": self.source,
            "in": rational_text(self.start),
            "out": rational_text(self.end),
            "speed": rational_text(self.speed),
            "hold": rational_text(self.hold),
            "screen_seconds": exact_json(self.seconds),
        }


@dataclass(frozen=True)
class Fitted:
    """Segments that last ``frames`` whole frames of the piece. ``elsewhere``: seconds held without a mark."""

    plan: FitPlan
    parts: tuple[Part, ...]
    frames: int
    speed: Fraction
    elsewhere: Fraction

    @property
    def seconds(self) -> Fraction:
        return sum((part.seconds for part in self.parts), _ZERO)

    def as_json(self) -> dict[str, Any]:
        return {
            "segments": [part.as_json() for part in self.parts],
            "frames": self.frames,
            "screen_seconds": exact_json(self.seconds),
            "words_seconds": exact_json(self.plan.words_seconds),
            "beyond_words_seconds": exact_json(self.seconds - self.plan.words_seconds),
            "speed": exact_json(self.speed),
            "held_seconds": exact_json(sum((part.hold for part in self.parts), _ZERO)),
            "held_elsewhere_seconds": exact_json(self.elsewhere),
            "limits": self.plan.limits.as_json(),
        }


@dataclass(frozen=True)
class Missing:
    """What the limits can't bridge: ``what`` is picture or words, ``seconds`` of the screen or of speech.

    ``least`` and ``most``: the screen seconds that these pictures reach within the limits.
    """

    plan: FitPlan
    what: str
    seconds: Fraction
    least: Fraction
    most: Fraction

    def sentence(self) -> str:
        """What would mend it."""
        gap = decimal_text(self.seconds, 3)
        if self.what == "words":
            return f"Say {gap} s more, or take picture away until it lasts that much less on screen."
        return f"Give picture for {gap} s more on screen, mark more moments to stop at, or say {gap} s less."

    def as_json(self) -> dict[str, Any]:
        return {
            "missing": {"what": self.what, "seconds": exact_json(self.seconds), "mend": self.sentence()},
            "missing_seconds": exact_json(self.seconds),
            "reach": {"least": exact_json(self.least), "most": exact_json(self.most)},
            "words_seconds": exact_json(self.plan.words_seconds),
            "limits": self.plan.limits.as_json(),
        }


def fit(plan: FitPlan) -> Fitted | Missing:
    """The segments that take as long as the words, or what is missing. Exact.

    Raises PlanError ``too_many_stills`` where pictures without movement need more holds than are allowed.
    """
    refuse_too_many_stills(plan)
    frames = frames_nearest(plan.words_seconds, plan.rate).count
    target = frames / plan.rate
    moving = sum((picture.seconds for picture in plan.pictures), _ZERO)
    reach = _Reach(plan, moving)
    if target < reach.least:
        return Missing(plan, "words", reach.least - target, reach.least, reach.most)
    if target > reach.most:
        return Missing(plan, "picture", target - reach.most, reach.least, reach.most)
    marked, held = _at_marks(plan, reach, target - moving)
    elsewhere, more = _elsewhere(plan, reach, len(marked), target - held)
    rest = target - held - more
    if (more and rest < moving) or rest * plan.limits.min_speed > moving:
        # The shortest stop is longer than what is left over.
        return Missing(
            plan, "picture", target - held - moving / plan.limits.min_speed, reach.least, reach.most
        )
    speed = moving / rest if moving else _ONE
    holds = dict(_spread(plan, marked, held)) | dict(_spread(plan, elsewhere, more))
    return Fitted(plan, tuple(_parts(plan, speed, holds)), frames, speed, more)


class _Reach:
    """Where the picture may stop, and how short and how long it can last within the limits."""

    def __init__(self, plan: FitPlan, moving: Fraction) -> None:
        limits = plan.limits
        self.stills = [(n, picture.start) for n, picture in enumerate(plan.pictures) if not picture.seconds]
        marks = [
            [(n, m) for m in picture.marks] for n, picture in enumerate(plan.pictures) if picture.seconds
        ]
        in_turns = [spot for row in zip_longest(*marks) for spot in row if spot is not None]
        self.marks = [*self.stills, *in_turns][: limits.max_holds]
        ends = [(n, picture.end) for n, picture in enumerate(plan.pictures) if picture.seconds]
        left = min(limits.max_holds_elsewhere, limits.max_holds - len(self.marks))
        self.ends = [spot for spot in reversed(ends) if spot not in self.marks][:left]
        self.least = moving / limits.max_speed + len(self.stills) * limits.min_hold
        self.most = moving / limits.min_speed + (len(self.marks) + len(self.ends)) * limits.max_hold


def _at_marks(plan: FitPlan, reach: _Reach, spare: Fraction) -> tuple[list[Spot], Fraction]:
    """Marks to stop at, and for how long in all: ``spare`` seconds, or as near below it as can be.

    Pictures without movement stop for at least ``min_hold``, whatever is left.
    """
    low, high = plan.limits.min_hold, plan.limits.max_hold
    best: tuple[list[Spot], Fraction] = (reach.stills, len(reach.stills) * low)
    for count in range(max(len(reach.stills), 1), len(reach.marks) + 1):
        if count * low <= spare and spare > 0:
            held = min(spare, count * high)
            if held >= best[1]:
                best = (reach.marks[:count], held)
    return best


def _elsewhere(plan: FitPlan, reach: _Reach, used: int, left: Fraction) -> tuple[list[Spot], Fraction]:
    """Ends of pictures to stop at, and for how long in all: only what the slowest speed does not take."""
    moving = sum((picture.seconds for picture in plan.pictures), _ZERO)
    over = left - moving / plan.limits.min_speed
    if over <= 0:
        return [], _ZERO
    low, high = plan.limits.min_hold, plan.limits.max_hold
    ends = reach.ends[: plan.limits.max_holds - used]
    for count in range(1, len(ends) + 1):
        if over <= count * high:
            return ends[:count], max(over, count * low)
    return [], _ZERO


def _spread(plan: FitPlan, spots: list[Spot], seconds: Fraction) -> list[tuple[Spot, Fraction]]:
    """Even holds: whole frames, the earlier ones longer by one, the last with the part that is left."""
    if not spots:
        return []
    low, high = plan.limits.min_hold, plan.limits.max_hold
    whole, part = divmod(seconds * plan.rate, 1)
    each, more = divmod(whole, len(spots))
    holds = [Fraction(each + (n < more)) / plan.rate for n in range(len(spots))]
    holds[-1] += part / plan.rate
    if any(not low <= hold <= high for hold in holds):
        holds = [seconds / len(spots)] * len(spots)
    return list(zip(sorted(spots), holds, strict=True))


def _parts(plan: FitPlan, speed: Fraction, holds: dict[Spot, Fraction]) -> list[Part]:
    made: list[Part] = []
    for number, picture in enumerate(plan.pictures):
        made += _picture_parts(number, picture, speed, holds)
    return made


def _picture_parts(number: int, picture: Picture, speed: Fraction, holds: dict[Spot, Fraction]) -> list[Part]:
    """A picture cut where it stops; a stop at its in point is a still of its own."""
    at, made = picture.start, []
    stops = sorted({moment for n, moment in holds if n == number})
    for moment in stops:
        still = moment == at
        made.append(Part(number, picture.source, at, moment, _ONE if still else speed, holds[number, moment]))
        at = moment
    if at < picture.end or not made:
        made.append(Part(number, picture.source, at, picture.end, speed if picture.seconds else _ONE, _ZERO))
    return made
