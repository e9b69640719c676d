"""Every plan that cutting can make of a small one, tried one by one.

Shares nothing with the search but the ledger and the verdicts, which have oracles of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import ceil, floor

from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import ExcerptSegment, Plan, View
from breakdowns.excerpts.policies import Policy
from breakdowns.excerpts.verdicts import judge


def view_choices(view: View, rate: Fraction) -> list[View]:
    """All ways to cut a view to whole frames and holds, none of them leaving it out."""
    holds = {view.hold} | {Fraction(n) / rate for n in range(floor(view.hold * rate) + 1)}
    if view.start == view.end:
        return [replace(view, hold=hold) for hold in holds]
    borders = [n / rate for n in range(ceil(view.start * rate), floor(view.end * rate) + 1)]
    # Where a moment to keep lies in a part of a frame at an end, that end stays as it was written.
    starts = borders if keeps(view, borders[:1], view.end) else [view.start]
    ends = borders if keeps(view, [view.start], *borders[-1:]) else [view.end]
    return [
        replace(view, start=start, end=end, hold=hold)
        for start in starts
        for end in ends
        if start < end and keeps(view, [start], end)
        for hold in holds
    ]


def keeps(view: View, starts: list[Fraction], end: Fraction | None = None) -> bool:
    """Whether every moment to keep lies in [start, end); the out point itself is shown by the frame before it."""
    if not view.keep:
        return True
    if not starts or end is None:
        return False
    return all(
        starts[0] <= x and (y <= end if x < y else x < end or x == end == view.end) for x, y in view.keep
    )


def segment_choices(plan: Plan, segment) -> list:
    """A segment as it is, or all that cutting can make of it; None for left out."""
    if not isinstance(segment, ExcerptSegment) or not segment.duration:
        return [segment]
    sources = {source.id: source for source in plan.sources}
    counted = [view for view in segment.views if sources[view.source].counted]
    if not counted:
        return [segment]
    options = [
        view_choices(view, sources[view.source].rate) if sources[view.source].counted else [view]
        for view in segment.views
    ]
    if any(view.keep for view in counted):
        # Beside a view that must stay, one of less than a whole frame is left as it was written.
        options = [found or [view] for found, view in zip(options, segment.views, strict=True)]
    made = [
        replace(segment, main=views[0], beside=views[1] if len(views) > 1 else None)
        for views in product(*options)
    ]
    made = [one for one in made if one.duration]
    if any(view.keep for view in counted):
        return made
    left = [view for view in segment.views if not sources[view.source].counted]
    return [*made, replace(segment, main=left[0], beside=None) if left else None]


def size(plan: Plan) -> int:
    """How many plans there are to try."""
    number = 1
    for segment in plan.segments:
        number *= len(segment_choices(plan, segment))
    return number


def all_cuts(plan: Plan) -> Iterator[Plan]:
    for segments in product(*(segment_choices(plan, segment) for segment in plan.segments)):
        yield replace(plan, segments=tuple(segment for segment in segments if segment is not None))


def worth(plan: Plan) -> tuple[Fraction, Fraction]:
    """(weighted source seconds, seconds played and held) of counted views on screen."""
    sources = {source.id: source for source in plan.sources}
    views = [
        view
        for segment in plan.segments
        if isinstance(segment, ExcerptSegment) and segment.duration
        for view in segment.views
        if sources[view.source].counted
    ]
    zero = Fraction(0)
    weighted = sum((view.weight * view.played for view in views), zero)
    return weighted, sum((view.played + view.hold for view in views), zero)


def best_of_all(plan: Plan, policy: Policy) -> tuple[Fraction, Fraction] | None:
    """The worth of the best plan within the limits, None if there is none."""
    found = [worth(cut) for cut in all_cuts(plan) if not judge(compute(cut), policy).over]
    return max(found, default=None)
