"""Rows that a limit needs only once a point breaks it: runs, windows, unions, replays.

Each row written here is kept by every plan that cutting can make within the limits, and the point that
asked for it breaks it. So a point that breaks nothing is best of all, not only of those looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from .cut_limits import LimitedModel, bare_rows
from .cut_points import Key
from .cut_unions import Spans
from .intervals import Interval, IntervalSet
from .ledger import EventLedger, Ledger, SourceLedger
from .mends import Judged
from .policies import Limit, Policy
from .verdicts import figure, judged_for, state_of
from .whole_program import Linear, common_step, constant, total

__all__ = ["Broken", "Candidate", "broken_limits", "further_rows"]

_ZERO, _ONE, _HOUR = Fraction(0), Fraction(1), Fraction(3600)


@dataclass(frozen=True)
class Broken:
    """A limit that a plan breaks, and for what."""

    limit: Limit
    judged: Judged


def broken_limits(ledger: Ledger, policy: Policy) -> list[Broken]:
    """What the plan breaks; as ``verdicts.judge``, without looking for mends."""
    made = []
    for limit in policy.limits:
        for judged, _ in judged_for(ledger, limit.scope):
            value = figure(ledger, limit, judged)
            if value is not None and state_of(limit, value) == "over":
                made.append(Broken(limit, judged))
    return made


@dataclass(frozen=True)
class Candidate:
    """A plan that cutting made, its ledger, and the number of each of its segments in the given plan."""

    ledger: Ledger
    numbers: tuple[int, ...]

    def spans(self, source: str) -> Spans:
        """Where the moving views of a source stand in it, by their keys in the given plan."""
        made: Spans = {}
        for showing in self.ledger.sources[source].showings:
            key: Key = (self.numbers[showing.segment], showing.role)
            if showing.view.played:
                made[key] = (showing.view.start, showing.view.end)
        return made

    def between(self, stretch: Interval) -> tuple[int, int]:
        """Given numbers of the first and the last segment on screen inside a stretch of the piece."""
        start, end = stretch
        places = zip(self.numbers, self.ledger.layout.places, strict=True)
        inside = [n for n, (a, b) in places if a < b and a < end and b > start]
        return inside[0], inside[-1]


def further_rows(model: LimitedModel, candidate: Candidate, broken: list[Broken]) -> bool:
    """Add what the broken limits ask for; False if every such row is there already."""
    before = len(model.program.rows)
    # What is dear to write down comes last, and only where the rest has nothing more to say.
    for rules in (_RULES, _DEAR_RULES):
        for fault in broken:
            rule = rules.get(fault.limit.rule)
            if rule is not None:
                rule(model, candidate, fault)
        if len(model.program.rows) > before:
            return True
    return False


def _names(judged: Judged) -> list[str]:
    if isinstance(judged, SourceLedger):
        return [judged.source.id]
    return [member.source.id for member in judged.members] if isinstance(judged, EventLedger) else []


def _used(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    for name in _names(fault.judged):
        model.unions.say_used(name, candidate.spans(name))


def _replayed(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    for name in _names(fault.judged):
        model.unions.say_replayed(name, candidate.spans(name))


def _repeated(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    for name in _names(fault.judged):
        model.unions.say_repeated(name, int(fault.limit.value), candidate.spans(name))


# --- runs --------------------------------------------------------------------------------------


def _too_long(times: IntervalSet, most: Fraction) -> Iterator[Interval]:
    return ((start, end) for start, end in times if end - start > most)


def _timeline_run(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    """Either the screen time of the whole run is short enough, or something parts it."""
    names = set(_names(fault.judged))
    times = candidate.ledger.excerpt_time
    if names:
        (name,) = names
        times = candidate.ledger.sources[name].on_screen
    for stretch in _too_long(times, fault.limit.value):
        first, last = candidate.between(stretch)
        shown: list[Linear] = []
        parting: list[Linear] = []
        for number in range(first, last + 1):
            segment = model.segments.get(number)
            if segment is None:
                continue
            if names and not names & {view.cut.view.source for view in segment.views}:
                parting.append(segment.stays)
                continue
            shown.append(segment.shown)
            if segment.beside_own:
                # Without its counted view the own footage beside it parts the run.
                parting.append(constant(1) - segment.stays)
        _unless(model, total(shown).plus(-fault.limit.value), parting)


def _unless(model: LimitedModel, row: Linear, parting: list[Linear]) -> None:
    """``row <= 0`` unless one of the partings is at least 1."""
    slack = model.program.most(row)
    if slack > 0:
        model.program.at_most(row - total(parting).times(slack), constant(0))


def _moving_run(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    """As a timeline run, but a rest parts it too."""
    (name,) = _names(fault.judged)
    for stretch in _too_long(candidate.ledger.sources[name].moving, fault.limit.value):
        first, last = candidate.between(stretch)
        moved: list[Linear] = []
        parting: list[Linear] = []
        for number in range(first, last + 1):
            segment = model.segments.get(number)
            if segment is None:
                continue
            mine = [view for view in segment.views if view.cut.view.source == name]
            if not mine:
                parting.append(segment.stays)
                continue
            moving = mine[0].moving
            if len(mine) == 2:
                most = max(model.program.most(view.moving) for view in mine)
                moving = model.program.variable(0, most, whole=False)
                for view in mine:
                    model.program.at_most(view.moving, moving)
            moved.append(moving)
            if segment.beside_own:
                parting.append(constant(1) - segment.stays)
            if number != last:
                parting.append(_rest(model, number, moving))
        _unless(model, total(moved).plus(-fault.limit.value), parting)


def _rest(model: LimitedModel, number: int, moving: Linear) -> Linear:
    """At least 1 only where the segment goes on after this movement has ended."""
    segment = model.segments[number]
    if len(segment.segment.views) == 1:
        return segment.views[0].hold_steps
    seconds = [value for view in segment.views for value in view.asked.terms.values()]
    seconds += [view.seconds for view in segment.segment.views]
    step = common_step(seconds)
    rests = model.program.switch()
    model.program.if_on(rests, moving.plus(step), segment.screen)
    return rests


def _uncommented_run(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    """The run is short enough, or it reaches little into the silence, or something parts it."""
    ledger, most = candidate.ledger, fault.limit.value
    silence = model.ledger.plan.narration.intervals
    if ledger.uncommented_time is None or silence is None:
        return
    for stretch in _too_long(ledger.uncommented_time, most):
        first, last = candidate.between(stretch)
        start, end = model.positions[first], model.positions[last + 1]
        quiet_from = max((b for _, b in silence if b <= stretch[0]), default=_ZERO)
        quiet_until = min((a for a, _ in silence if a >= stretch[1]), default=None)
        ways = [[(end - start).plus(-most)], [end.plus(-quiet_from - most)]]
        if quiet_until is not None:
            ways.append([constant(quiet_until - most) - start])
        for number in range(first, last + 1):
            segment = model.segments.get(number)
            if segment is not None and segment.beside_own:
                ways.append([segment.stays])
        model.program.either(*ways)


def _bare(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    if not model.bare_said:
        model.bare_said = True
        bare_rows(model, fault.limit)


# --- windows -----------------------------------------------------------------------------------


def _hour(model: LimitedModel, candidate: Candidate, fault: Broken) -> None:
    """Windows of an hour that start or end with a segment, where the candidate shows too much in them."""
    names = set(_names(fault.judged))
    places = dict(zip(candidate.numbers, candidate.ledger.layout.places, strict=True))
    times = IntervalSet(m for name in names for m in candidate.ledger.sources[name].on_screen)
    shows = set(model.numbers_of(names))
    numbers = range(len(model.ledger.plan.segments))

    def shown(first: int, last: int) -> Linear:
        return total(model.shown(n) for n in numbers[first : last + 1] if n in shows)

    limit = fault.limit.value
    for number, (start, end) in places.items():
        if start == end or number not in shows:
            continue
        if times.within(start, start + _HOUR).measure > limit:
            last = max(n for n, (a, b) in places.items() if a < b and a < start + _HOUR)
            apart = model.positions[last] - model.positions[number]
            part = shown(number, last - 1) - apart
            model.program.either(
                [constant(_HOUR) - apart],
                [shown(number, last).plus(-limit)],
                [part.plus(_HOUR - limit)],
            )
        if times.within(end - _HOUR, end).measure > limit:
            first = min(n for n, (a, b) in places.items() if a < b and b > end - _HOUR)
            apart = model.positions[number + 1] - model.positions[first + 1]
            part = shown(first + 1, number) - apart
            model.program.either(
                [constant(_HOUR) - apart],
                [shown(first, number).plus(-limit)],
                [part.plus(_HOUR - limit)],
            )


Adder = Callable[[LimitedModel, Candidate, Broken], None]
_RULES: dict[str, Adder] = {
    "union_seconds": _used,
    "sum_union_seconds": _used,
    "share_of_source": _used,
    "replayed_seconds": _replayed,
    "times_repeated": _repeated,
    "longest_timeline_run_seconds": _timeline_run,
    "longest_any_source_run_seconds": _timeline_run,
    "longest_moving_run_seconds": _moving_run,
    "longest_uncommented_run_seconds": _uncommented_run,
    "screen_seconds_in_an_hour": _hour,
}
_DEAR_RULES: dict[str, Adder] = {"bare_excerpt_seconds": _bare}
