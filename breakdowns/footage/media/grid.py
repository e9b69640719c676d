"""Is there one exact frame rate behind a list of frame times, and which?

Times are whole ticks of an exact time base. A rate r fits when every frame n lies within a tolerance of
start + n/r for the best start. All arithmetic is in whole numbers.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .limits import limits, standard_rates

__all__ = ["Grid", "find_grid"]

_LARGEST_DENOMINATOR = 1001  # the finest that broadcast rates use; keeps an average rate readable


@dataclass(frozen=True, slots=True)
class Grid:
    """Frame n belongs at ``start + n / rate`` seconds and lies at most ``deviation`` seconds off.

    ``is_variable``: no rate fits; then ``rate`` is the one to resample to and ``start`` the first frame's
    own time.
    """

    rate: Fraction
    is_variable: bool
    start: Fraction
    deviation: Fraction


def find_grid(ticks: Sequence[int], time_base: Fraction, stated: Fraction | None) -> Grid:
    """The rate of frames shown at ``ticks`` × ``time_base`` seconds; ``stated`` is what the file says.

    Rates that rounding to whole ticks explains come first: the stated one if it is a standard one, then
    the nearest standard one, then the stated one, then the exact interval or average. Next come those
    within ``grid_tolerance_frames``, standard ones again before others.
    """
    fallback = stated or Fraction(limits().lone_frame_rate)
    if len(ticks) < 2:
        return Grid(fallback, False, ticks[0] * time_base, Fraction(0))
    average = _average(ticks, time_base)
    if average is None:
        return Grid(fallback, True, ticks[0] * time_base, _placed(ticks, time_base, fallback)[1])
    own = [stated] if stated else []
    usual = [*_steady(ticks, time_base), average.limit_denominator(_LARGEST_DENOMINATOR)]
    said = [rate for rate in own if rate in standard_rates()]
    for candidates in (said, standard_rates(), own, usual):
        if best := _best(ticks, time_base, candidates, rounding_only=True):
            return best
    for candidates in (said, standard_rates(), [*own, *usual]):
        if best := _best(ticks, time_base, candidates, rounding_only=False):
            return best
    return _variable(ticks, time_base, average)


def _average(ticks: Sequence[int], time_base: Fraction) -> Fraction | None:
    """Frames per second from first to last; None when time does not go forward."""
    span = (ticks[-1] - ticks[0]) * time_base
    return (len(ticks) - 1) / span if span > 0 else None


def _steady(ticks: Sequence[int], time_base: Fraction) -> list[Fraction]:
    """The rate of the first interval, exact, where it has one."""
    step = (ticks[1] - ticks[0]) * time_base
    return [1 / step] if step > 0 else []


def _placed(ticks: Sequence[int], time_base: Fraction, rate: Fraction) -> tuple[Fraction, Fraction]:
    """Start of the best-placed grid of ``rate`` and the furthest that a frame lies from it, seconds."""
    p, q = rate.numerator, rate.denominator
    a, b = time_base.numerator, time_base.denominator
    tick, frame = a * p, q * b
    errors = [place * tick - n * frame for n, place in enumerate(ticks)]
    least, most = min(errors), max(errors)
    return Fraction(most + least, 2 * b * p), Fraction(most - least, 2 * b * p)


def _best(
    ticks: Sequence[int], time_base: Fraction, rates: Iterable[Fraction], *, rounding_only: bool
) -> Grid | None:
    """The rate with the least deviation among those that fit; the first of equals."""
    fitting = []
    for rate in rates:
        allowed = limits().grid_tolerance_frames / rate
        if rounding_only:
            allowed = min(allowed, time_base)
        ends = abs((ticks[-1] - ticks[0]) * time_base - (len(ticks) - 1) / rate)
        if ends > 2 * allowed:  # the ends alone rule it out: no need to look at every frame
            continue
        start, deviation = _placed(ticks, time_base, rate)
        if deviation <= allowed:
            fitting.append(Grid(rate, False, start, deviation))
    return min(fitting, key=lambda grid: grid.deviation, default=None)


def _variable(ticks: Sequence[int], time_base: Fraction, average: Fraction) -> Grid:
    regular = _regular(ticks, time_base)
    rate = _snapped(regular) or _snapped(average) or average.limit_denominator(_LARGEST_DENOMINATOR)
    return Grid(rate, True, ticks[0] * time_base, _placed(ticks, time_base, rate)[1])


def _regular(ticks: Sequence[int], time_base: Fraction) -> Fraction:
    """The rate that most intervals have: mean of those within a quarter of the median one."""
    steps = sorted(after - before for before, after in itertools.pairwise(ticks))
    middle = steps[len(steps) // 2]
    near = [step for step in steps if 4 * abs(step - middle) <= middle]
    return len(near) / (sum(near) * time_base) if middle > 0 else Fraction(0)


def _snapped(rate: Fraction) -> Fraction | None:
    nearest = min(standard_rates(), key=lambda standard: abs(standard - rate))
    return nearest if abs(nearest - rate) <= limits().rate_snap * nearest else None
