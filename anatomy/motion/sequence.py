"""Which segment turned first: peaks of angular velocity, their times, and how sure their order is.

A peak is the highest point of a parabola through the three fastest neighbouring velocities, so it may lie between
frames. Its time depends smoothly on every click around it; the standard deviation is propagated to first order from
independent isotropic clicks (JCGM 100:2008, clause 5.1.2) through angle, filter and differences, the cut-off taken as
given. A lag is propagated as a whole, because neighbouring segments share a landmark. First order can't tell that quite another
moment was the fastest; so each peak is held against every other one of its curve, and is not clear while one of
them could be as fast within the click error.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from anatomy.motion.curves import SegmentCurve
from anatomy.motion.points import Floats

__all__ = [
    "Lag",
    "LeftOut",
    "Order",
    "Peak",
    "Vertex",
    "fastest_turn",
    "find_peak",
    "lag_between",
    "lags_between",
]

Clicks = Mapping[str, Floats]
Order = Literal["settled", "likely", "open"]

_TWO_SIDED = 1.959964  # standard deviations that leave 5 % outside
_FASTEST_RIVALS = 12
_STILL = 1e-6  # degrees per second


@dataclass(frozen=True)
class Peak:
    """The fastest turn of a segment's line. ``time_s`` counts from frame 0 of the clip, ``index`` on the curve's grid.

    ``deg_per_s`` has the sign of the turn, counter-clockwise positive. ``unclear`` says why another moment could be the
    fastest; empty when none can. ``clicks``: gradient of the time by landmark (T, 2), seconds for each plane unit.
    """

    segment: str
    time_s: float
    index: float
    deg_per_s: float
    sd_s: float
    sd_deg_per_s: float
    unclear: str
    clicks: Clicks


@dataclass(frozen=True)
class LeftOut:
    """A segment without a peak, and why."""

    segment: str
    why: str


@dataclass(frozen=True)
class Lag:
    """``first`` peaks ``lag_s`` before ``second``. ``confidence`` is the probability of that order under click error.

    ``order``: settled when both peaks are clear, the lag is beyond 1.96 standard deviations and at least a frame;
    likely when it is shorter than a frame but at least half of one; otherwise open. ``why`` says what keeps it from
    being settled.
    """

    first: str
    second: str
    lag_s: float
    sd_s: float
    confidence: float
    order: Order
    why: str


def _spread(clicks: Clicks, click_sd: float) -> float:
    return click_sd * math.sqrt(sum(float(np.sum(shift * shift)) for shift in clicks.values()))


def _less(one: Clicks, other: Clicks) -> Clicks:
    found = dict(one)
    for name, shift in other.items():
        found[name] = found[name] - shift if name in found else -shift
    return found


def _summits(velocity: Floats) -> list[int]:
    """Indexes of the local maxima of speed with a velocity of the same sign on both sides, fastest first."""
    if len(velocity) < 3:
        return []
    with np.errstate(invalid="ignore"):
        speed = np.sign(velocity[1:-1]) * np.stack([velocity[:-2], velocity[1:-1], velocity[2:]])
        bend = speed[0] - 2 * speed[1] + speed[2]
        top = (
            (speed[1] >= speed[0]) & (speed[1] >= speed[2]) & (bend < -1e-9 * speed[1]) & (speed[1] > _STILL)
        )
    found = np.flatnonzero(top) + 1
    return [int(n) for n in found[np.argsort(-np.abs(velocity[found]), kind="stable")]]


@dataclass(frozen=True)
class Vertex:
    """The highest point of the parabola through the fastest value, at ``index`` of the grid, and its neighbours.

    ``place`` lies between −1 and 1 frames from ``index``, ``height`` is the speed there, ``sign`` the way of the turn.
    ``place_slopes`` and ``height_slopes`` are by how much both change with each of the three speeds.
    """

    index: int
    sign: float
    place: float
    height: float
    place_slopes: tuple[float, float, float]
    height_slopes: tuple[float, float, float]


def fastest_turn(curve: SegmentCurve) -> Vertex | None:
    """Where a segment turns fastest, or None where no velocity stands above both its neighbours."""
    summits = _summits(curve.velocity)
    return _vertex(curve.velocity, summits[0]) if summits else None


def _vertex(velocity: Floats, index: int) -> Vertex:
    sign = float(np.sign(velocity[index]))
    before, middle, after = (sign * float(v) for v in velocity[index - 1 : index + 2])
    rise, bend = before - after, 2 * (before - 2 * middle + after)
    place = rise / bend
    return Vertex(
        index,
        sign,
        place,
        middle - rise * place / 4,
        (1 / bend - 2 * rise / bend**2, 4 * rise / bend**2, -1 / bend - 2 * rise / bend**2),
        # At the top the place has no say in the height, to first order: the weights of the interpolation remain.
        (place * (place - 1) / 2, 1 - place**2, place * (place + 1) / 2),
    )


def find_peak(curve: SegmentCurve, click_sd: float) -> Peak | LeftOut:
    """The peak of one curve; ``click_sd`` in plane units. The time is not affected by which way the segment turns."""
    top = fastest_turn(curve)
    if top is None:
        return LeftOut(curve.segment, _why_no_peak(curve))
    rows = curve.velocity_rows([top.index - 1, top.index, top.index + 1])
    clicks = curve.onto_clicks(top.sign / curve.grid.hertz * np.dot(top.place_slopes, rows))
    speed_clicks = curve.onto_clicks(top.sign * np.dot(top.height_slopes, rows))
    return Peak(
        curve.segment,
        curve.grid.seconds(top.index + top.place),
        top.index + top.place,
        top.sign * top.height,
        _spread(clicks, click_sd),
        _spread(speed_clicks, click_sd),
        _why_unclear(curve, top.height, speed_clicks, click_sd),
        clicks,
    )


def _why_no_peak(curve: SegmentCurve) -> str:
    longest = max((end - start for start, end in curve.stretches), default=0)
    if longest < 5:
        return f"its line is marked on at most {longest} frames in a row; a peak needs five"
    return "its line turns steadily, or faster towards the ends of the marked frames, so no peak lies within them"


def _why_unclear(curve: SegmentCurve, height: float, top_clicks: Clicks, click_sd: float) -> str:
    """Why another moment could be the fastest within the click error; empty when none can."""
    velocity = curve.velocity
    if height < 3 * _spread(top_clicks, click_sd):
        return "its speed is no greater than what the click error alone makes"
    ends = [n for start, end in curve.stretches for n in (start + 1, end - 2) if end - start > 2]
    faster = [n for n in ends if abs(float(velocity[n])) > height]
    if faster:
        return f"it turns faster still at the edge of the marked frames, at {curve.grid.seconds(faster[0]):.3f} s"
    rivals = _summits(velocity)[1 : 1 + _FASTEST_RIVALS]
    for index, row in zip(rivals, curve.velocity_rows(rivals), strict=True):
        clicks = curve.onto_clicks(float(np.sign(velocity[index])) * row)
        if height - abs(float(velocity[index])) < _TWO_SIDED * _spread(_less(top_clicks, clicks), click_sd):
            return f"it turns as fast, within the click error, at {curve.grid.seconds(index):.3f} s"
    return ""


def lag_between(one: Peak, other: Peak, click_sd: float, frame_seconds: float) -> Lag:
    """The lag between two peaks of the same clip, the earlier one first; ``frame_seconds`` between marked frames."""
    first, second = (one, other) if one.time_s <= other.time_s else (other, one)
    lag = second.time_s - first.time_s
    sd = _spread(_less(second.clicks, first.clicks), click_sd)
    confidence = 0.5 * (1 + math.erf(lag / sd / math.sqrt(2))) if sd > 0 else (1.0 if lag > 0 else 0.5)
    order, why = _order(first, second, lag, sd, frame_seconds)
    return Lag(first.segment, second.segment, lag, sd, confidence, order, why)


def _order(first: Peak, second: Peak, lag: float, sd: float, frame_seconds: float) -> tuple[Order, str]:
    for peak in (first, second):
        if peak.unclear:
            return "open", f"the peak of the {peak.segment.replace('_', ' ')} is not clear: {peak.unclear}"
    if lag <= _TWO_SIDED * sd:
        return "open", "the click error is too large to tell"
    if lag < frame_seconds / 2:
        return "open", f"that is less than half of one frame ({1000 * frame_seconds:.0f} ms)"
    if lag < frame_seconds:
        return "likely", f"that is less than one frame ({1000 * frame_seconds:.0f} ms)"
    return "settled", ""


def lags_between(peaks: list[Peak], click_sd: float, frame_seconds: float) -> list[Lag]:
    """Every pair of peaks, neighbours in time first, then those further apart."""
    ordered = sorted(peaks, key=lambda peak: peak.time_s)
    pairs = [(a, a + apart) for apart in range(1, len(ordered)) for a in range(len(ordered) - apart)]
    return [lag_between(ordered[a], ordered[b], click_sd, frame_seconds) for a, b in pairs]
