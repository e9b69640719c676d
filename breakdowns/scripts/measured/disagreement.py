"""Where words and measures disagree beyond the uncertainty of both. Imports no Django.

A measure counts as anything within ``reach()`` standard deviations of it (JCGM 100:2008, coverage factor, from memory),
words as anything that they allow; they disagree where the two have nothing in common. What was not measured, or not
measured safely, is never held against anybody.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from anatomy.motion.facts import Measured, MeasuredAngle
from breakdowns.scripts.measured.lexicon import reach
from breakdowns.scripts.measured.orders_judged import judged_orders, judged_ratio, judged_speed
from breakdowns.scripts.measured.reading import said_in
from breakdowns.scripts.measured.said import AngleSaid, Reading, Scale
from breakdowns.scripts.measured.verdict import Disagreement
from breakdowns.scripts.measured.wording import about, reads
from breakdowns.scripts.spoken_numbers import cardinal

__all__ = ["Disagreement", "disagreements"]

_FALLBACKS = {
    "shoulder_line_inclination": "shoulder_line_tilt",
    "hip_line_inclination": "hip_line_tilt",
    "trunk_lean": "trunk_inclination",
}


@dataclass(frozen=True, slots=True)
class _Counted:
    """A fact as one reading counts it."""

    fact: MeasuredAngle
    value: float


def disagreements(words: str, measured: Measured) -> list[Disagreement]:
    """Every disagreement in the order of the words; no two of them touch."""
    if not measured:
        return []
    said = said_in(words)
    found = [one for angle in said.angles if (one := _judged_angle(words, angle, measured))]
    found += judged_orders(words, said.orders, measured)
    found += [one for speed in said.speeds if (one := judged_speed(words, speed, measured))]
    found += [one for ratio in said.ratios if (one := judged_ratio(words, ratio, measured))]
    return list(_apart(sorted(found, key=lambda one: (one.start, -one.end))))


def _apart(found: list[Disagreement]) -> Iterator[Disagreement]:
    end = 0
    for one in found:
        if one.start >= end:
            yield one
            end = one.end


def _judged_angle(words: str, said: AngleSaid, measured: Measured) -> Disagreement | None:
    if said.role:
        return None
    counted = list(_counted(said, measured))
    if not counted:
        return None
    if said.both:
        # Two named as one: each must fail on its own, so that a statement true of one is left to the reader.
        names = {one.fact.name for one in counted}
        if len(names) < 2:
            return None
    if any(_agrees(said, one) for one in counted):
        return None
    near = min(counted, key=lambda one: abs(one.value - _meant(said)))
    start, end = said.start, said.end
    if said.amount is not None and said.amount.joined:
        start, end = said.amount.number_start, said.amount.number_end
    return Disagreement(
        start, end, "angle", _says(words, said, near), _instead(words, said, near), near.fact.where
    )


def _meant(said: AngleSaid) -> float:
    return said.amount.value if said.amount else said.low


def _counted(said: AngleSaid, measured: Measured) -> Iterator[_Counted]:
    sides = (said.side,) if said.side and not measured.mirrored else ("left", "right")
    known = {fact.name: fact for fact in measured.angles if not fact.caution}
    for reading in said.readings:
        for name in _names(reading, sides):
            fact = known.get(name) or known.get(_FALLBACKS.get(name, ""))
            if fact is not None:
                yield _Counted(fact, _on_scale(fact.value, reading.scale))


def _names(reading: Reading, sides: tuple[str, ...]) -> list[str]:
    if "{side}" not in reading.measure:
        return [reading.measure]
    return [reading.measure.format(side=side) for side in sides]


def _on_scale(value: float, scale: Scale) -> float:
    size = abs(value)
    if scale == "line":
        return min(size % 180, 180 - size % 180)
    if scale == "supplement":
        return 180 - size
    return abs(90 - size) if scale == "complement" else size


def _agrees(said: AngleSaid, one: _Counted) -> bool:
    spread = reach() * one.fact.sd
    return one.value - spread <= said.high and said.low <= one.value + spread


def _says(words: str, said: AngleSaid, near: _Counted) -> str:
    told = " ".join(words[said.start : said.end].split())
    fact = near.fact
    own = reads(abs(fact.value), fact.sd, fact.unit)
    counted = "" if abs(near.value - abs(fact.value)) < 0.5 else f", counted the other way {near.value:.0f}°"
    place = fact.where or "the still"
    unsure = "; a point of it is only suggested yet" if fact.suggested else ""
    return f"“{told}”: on {place} {fact.words} is {own}{counted}{unsure}"


def _instead(words: str, said: AngleSaid, near: _Counted) -> str:
    if said.amount is not None:
        return about(near.value, said.amount, words)
    if not said.instead:
        return ""
    figures = re.search(r"\d", words) is not None
    number = max(5 * round(near.value / 5), 1)
    told = f"about {number if figures else cardinal(number)} degrees"
    return said.instead.format(about=told)
