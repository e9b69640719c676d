"""Tightening: the plan that meets every limit of a policy with the most weighted seconds kept.

What may change: in points later, out points earlier, holds shorter, segments left out. In and out points
of the answer lie on whole frames of their source, a shortened hold lasts whole frames, moments to keep
stay, and the order too. Two views beside each other stay or go together; own, licensed or open footage is
not touched, and stays on screen where the view beside it goes. Narration stays where it is on the clock.

**Seconds kept** are source seconds, out - in, of every excerpt times its weight. A replay counts again with
its own weight: it was put there on purpose, so losing it is a loss, and the sum of the parts is the
worth of the whole. Speed, holds and overlaps change nothing. Of plans of equal worth the one with the most
seconds played and held is taken, and of those the one that is trimmed at its ends.

A limit that words would meet (a source's name, a purpose, a date, sound taken off) is met here by leaving
out, since cutting is all that tightening does; ``without_cutting`` says what would mend it instead.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from breakdowns.footage.timebase import exact_json, rational_text

from .cut_model import Cuts, plan_of
from .cut_points import views_of
from .layout import Role
from .ledger import Ledger, compute
from .plan import ExcerptSegment, Plan, Segment, View, segment_to_json
from .policies import Limit, Policy
from .steps import sentence
from .tighten_search import Found, best_cut, can_be_met, patience, weighted_seconds
from .verdicts import Judgement, Verdict, judge
from .whole_program import Patience

__all__ = ["Change", "Impossible", "Tightened", "Undecided", "tighten"]

_CUTTING = frozenset({"trim_in", "trim_out", "shorten_hold", "drop"})
_NO_SCREEN = frozenset({"source_seconds"})
_WHOLE_FRAMES = "whole frames"


@dataclass(frozen=True)
class Change:
    """One thing that is different. ``segment`` counts in the plan as it was given, from 0.

    ``what``: in, out or hold, each with ``beside `` before it for the second view, in seconds; ``dropped``,
    from the segment's screen seconds to None; ``main dropped`` or ``beside dropped`` where own footage stays.
    """

    segment: int
    what: str
    before: Fraction
    after: Fraction | None
    because: str

    def as_json(self) -> dict[str, Any]:
        return {
            "segment": self.segment,
            "what": self.what,
            "from": exact_json(self.before),
            "to": None if self.after is None else exact_json(self.after),
            "because": self.because,
        }


@dataclass(frozen=True)
class Tightened:
    """The plan found. ``gap``: how much more any other plan could be worth, 0 where it is the best."""

    plan: Plan
    numbers: tuple[int, ...]
    changes: tuple[Change, ...]
    judgement: Judgement
    given: Fraction
    kept: Fraction
    gap: Fraction
    without_cutting: tuple[Verdict, ...]

    def as_json(self) -> dict[str, Any]:
        return self.judgement.as_json() | {
            "segments": [segment_to_json(segment) for segment in self.plan.segments],
            "given_segments": list(self.numbers),
            "changes": [change.as_json() for change in self.changes],
            "weighted_seconds": {"given": exact_json(self.given), "kept": exact_json(self.kept)},
            "gap": exact_json(self.gap),
            "best": not self.gap,
            "without_cutting": list(_instead(self.without_cutting)),
        }


@dataclass(frozen=True)
class Impossible:
    """Limits that can't be met together by cutting; any one of them less, and they can.

    ``proved`` is false where time ran out before that was certain of each. ``keeping``: segments with
    moments to keep, which can't be left out.
    """

    limits: tuple[Limit, ...]
    keeping: tuple[int, ...]
    proved: bool
    without_cutting: tuple[Verdict, ...]

    @property
    def rules(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(limit.rule for limit in self.limits))

    def as_json(self) -> dict[str, Any]:
        limits = [
            {"rule": it.rule, "scope": it.scope, "sense": it.sense, "limit": exact_json(it.value)}
            for it in self.limits
        ]
        return {
            "impossible": list(self.rules),
            "limits": limits,
            "keeping": list(self.keeping),
            "proved": self.proved,
            "without_cutting": list(_instead(self.without_cutting)),
        }


@dataclass(frozen=True)
class Undecided:
    """Time ran out before a plan within the limits was found, or that there is none."""

    def as_json(self) -> dict[str, Any]:
        return {"undecided": "Time ran out: give fewer segments or fewer limits at once."}


def tighten(
    plan: Plan, policy: Policy, waiting: Patience | None = None
) -> Tightened | Impossible | Undecided:
    """The best plan that cutting can make of this one. Raises PlanError for a source without a rate.

    ``waiting``: how long to look for it, from the data file of our own choices where nothing is given.
    """
    ledger = compute(plan)
    found = best_cut(ledger, policy.limits, waiting)
    over = judge(ledger, policy).over
    instead = tuple(verdict for verdict in over if _other_ways(verdict))
    if found.cuts is not None:
        return _tightened(ledger, policy, found, found.cuts, over, instead)
    if not found.settled:
        return Undecided()
    limits, proved = _conflict(ledger, policy.limits)
    keeping = tuple(
        number
        for number, segment in enumerate(plan.segments)
        if isinstance(segment, ExcerptSegment) and any(view.keep for view in segment.views)
    )
    return Impossible(limits, keeping, proved, instead)


def _tightened(
    ledger: Ledger,
    policy: Policy,
    found: Found,
    cuts: Cuts,
    over: tuple[Verdict, ...],
    instead: tuple[Verdict, ...],
) -> Tightened:
    plan, numbers = plan_of(ledger.plan, cuts)
    return Tightened(
        plan=plan,
        numbers=numbers,
        changes=tuple(_changes(ledger.plan, cuts, over)),
        judgement=judge(compute(plan), policy),
        given=weighted_seconds(ledger),
        kept=found.worth,
        gap=found.gap,
        without_cutting=instead,
    )


def _conflict(ledger: Ledger, limits: Sequence[Limit]) -> tuple[tuple[Limit, ...], bool]:
    """Take out every limit without which it stays impossible; what is left can't be met together."""
    needed, proved, waiting = list(limits), True, patience()
    for limit in limits:
        without = [other for other in needed if other is not limit]
        met = can_be_met(ledger, without, waiting)
        proved = proved and met is not None
        if met is False:
            needed = without
    return tuple(needed), proved


# --- other ways --------------------------------------------------------------------------------


def _other_ways(verdict: Verdict) -> list[str]:
    """Mends of a broken limit that take no picture away, in words."""
    return [sentence(way) for way in verdict.ways if not any(step.do in _CUTTING for step in way)]


def _instead(verdicts: tuple[Verdict, ...]) -> Iterator[dict[str, Any]]:
    for verdict in verdicts:
        yield {
            "rule": verdict.limit.rule,
            "where": verdict.where.as_json(),
            "mend": _other_ways(verdict)[0],
        }


# --- what is different -------------------------------------------------------------------------


def _changes(given: Plan, cuts: Cuts, over: tuple[Verdict, ...]) -> Iterator[Change]:
    for number, (before, after) in enumerate(zip(given.segments, cuts, strict=True)):
        if not isinstance(before, ExcerptSegment) or before == after:
            continue
        here = [verdict.limit for verdict in over if number in verdict.where.segments]
        limits = here or [verdict.limit for verdict in over]
        yield from _segment_changes(given, number, before, after, limits)


def _segment_changes(
    given: Plan, number: int, before: ExcerptSegment, after: Segment | None, limits: list[Limit]
) -> Iterator[Change]:
    if not isinstance(after, ExcerptSegment):
        yield Change(number, "dropped", before.duration, None, _because(limits, "dropped"))
        return
    old, new = views_of(before), views_of(after)
    if len(new) < len(old):
        gone: Role = "main" if given.source(before.main.source).counted else "beside"
        yield Change(number, f"{gone} dropped", old[gone].seconds, None, _because(limits, "dropped"))
        return
    for role, view in old.items():
        rate = given.source(view.source).rate
        yield from _view_changes(number, "" if role == "main" else "beside ", view, new[role], limits, rate)


def _view_changes(
    number: int, which: str, before: View, after: View, limits: list[Limit], rate: Fraction | None
) -> Iterator[Change]:
    pairs = (
        ("in", before.start, after.start),
        ("out", before.end, after.end),
        ("hold", before.hold, after.hold),
    )
    for what, old, new in pairs:
        if old != new:
            part_of_a_frame = what != "hold" and rate is not None and abs(new - old) * rate < 1
            because = _WHOLE_FRAMES if part_of_a_frame else _because(limits, what)
            yield Change(number, which + what, old, new, because)


def _because(limits: list[Limit], what: str) -> str:
    """The limits that were broken and that such a change helps to meet; else that frames are whole."""
    fitting = [it for it in limits if what != "hold" or it.about.unit not in _NO_SCREEN]
    words = {"max": "at most", "min": "at least"}
    said = (f"{it.about.label}: {words[it.sense]} {rational_text(it.value)}" for it in fitting or limits)
    return "; ".join(dict.fromkeys(said)) or _WHOLE_FRAMES
