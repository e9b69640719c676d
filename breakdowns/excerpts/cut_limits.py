"""What each limit asks of a plan that is cut, as rows that always hold.

Where the plain rows say too little (a run that grows once something between is left out, the union of
excerpts that overlap, windows and depths), ``cut_lazy`` adds rows when a point breaks the limit.
A limit on what cutting cannot change (a name, a date) forbids the sources that break it; where
nothing can be left out, it makes the program impossible.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction

from .cut_model import CutModel, ViewModel
from .cut_unions import Unions
from .ledger import EventLedger, Ledger, SourceLedger
from .mends import Judged
from .policies import Limit
from .verdicts import figure, judged_for, state_of
from .whole_program import Linear, constant, total

__all__ = ["LAZY_RULES", "RULES_MET", "LimitedModel", "bare_rows"]

_HOUR = Fraction(3600)
LAZY_RULES = frozenset(
    {
        "times_repeated",
        "longest_timeline_run_seconds",
        "longest_moving_run_seconds",
        "longest_any_source_run_seconds",
        "longest_uncommented_run_seconds",
        "screen_seconds_in_an_hour",
    }
)
"""Rules that plain rows say least about."""


class LimitedModel(CutModel):
    """The program of a plan and some limits. Raises PlanError where a source has no rate."""

    def __init__(self, ledger: Ledger, limits: Iterable[Limit]) -> None:
        super().__init__(ledger)
        self.limits = tuple(limits)
        self.unions = Unions(self.program, self.views)
        self.bare_said = False
        for limit in self.limits:
            for judged, _ in judged_for(ledger, limit.scope):
                self._ask(limit, judged)

    def _ask(self, limit: Limit, judged: Judged) -> None:
        if limit.rule in LAZY_RULES:
            if limit.rule == "screen_seconds_in_an_hour" and self.ledger.piece_seconds <= _HOUR:
                self._sum(_event_screen(self, judged), limit)
            if limit.rule == "times_repeated":
                for name in _sources(judged):
                    self.unions.repeat(name, int(limit.value))
            return
        if limit.rule in _FIXED:
            self._forbid(limit, judged)
            return
        _RULES[limit.rule](self, limit, judged)

    def _sum(self, value: Linear, limit: Limit) -> None:
        self.program.at_most(value, constant(limit.value))

    def _forbid(self, limit: Limit, judged: Judged) -> None:
        """A figure that no cut changes: where it is broken, the sources behind it must go."""
        for part in _one_by_one(judged):
            value = figure(self.ledger, limit, part)
            if value is None or state_of(limit, value) != "over":
                continue
            if isinstance(part, Ledger):
                self.program.impossible = True
            for number in self.numbers_of(set(_sources(part))):
                self.program.at_most(self.segments[number].stays, constant(0))


def _one_by_one(judged: Judged) -> list[Judged]:
    """An event's used sources each as an event: each has its own age, so leaving one out can be enough."""
    if not isinstance(judged, EventLedger):
        return [judged]
    return [EventLedger(judged.name, (one,), judged.published) for one in judged.members if one.used]


Asker = Callable[[LimitedModel, Limit, Judged], None]
_FIXED = frozenset({"source_named", "event_age_hours", "event_age_at_withdrawal_hours", "hours_online"})


def _sources(judged: Judged) -> list[str]:
    if isinstance(judged, SourceLedger):
        return [judged.source.id]
    members = judged.members if isinstance(judged, EventLedger) else tuple(judged.counted)
    return [member.source.id for member in members]


def _views(model: LimitedModel, judged: Judged) -> list[ViewModel]:
    return [view for name in _sources(judged) for view in model.of_source(name)]


def _each_played(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    for view in _views(model, judged):
        model._sum(view.played, limit)


def _each_screen(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    for view in _views(model, judged):
        model._sum(model.shown(view.cut.key[0]), limit)


def _played(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    model._sum(total(view.played for view in _views(model, judged)), limit)


def _union(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    model._sum(total(model.unions.used(name) for name in _sources(judged)), limit)


def _replayed(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    model._sum(total(model.unions.replayed(name) for name in _sources(judged)), limit)


def _share_of_source(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    assert isinstance(judged, SourceLedger)
    if judged.source.duration:
        most = constant(limit.value * judged.source.duration)
        model.program.at_most(model.unions.used(judged.source.id), most)


def _source_screen(model: LimitedModel, judged: Judged) -> Linear:
    """Two views of one source beside each other count twice, as in the ledger."""
    return total(model.shown(view.cut.key[0]) for view in _views(model, judged))


def _event_screen(model: LimitedModel, judged: Judged) -> Linear:
    return total(model.shown(number) for number in model.numbers_of(set(_sources(judged))))


def _screen(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    of = _source_screen if isinstance(judged, SourceLedger) else _event_screen
    model._sum(of(model, judged), limit)


def _share_of_piece(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    of = _source_screen if isinstance(judged, SourceLedger) else _event_screen
    model.program.at_most(of(model, judged), model.piece.times(limit.value))


def _sound(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    heard = (view.moving for view in _views(model, judged) if not view.cut.view.muted)
    model._sum(total(heard), limit)


def _stills(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    """A held moment is outside unless some moving view of the source that stays reaches it."""
    outside: list[Linear] = []
    views = _views(model, judged)
    for moment in sorted({view.cut.view.start for view in views if view.cut.still}):
        covered: list[Linear] = []
        for view in views:
            if not view.cut.still and view.cut.first <= moment <= view.cut.last:
                reach = model.program.switch()
                model.program.at_most(reach, view.stays)
                model.program.if_on(reach, view.start, constant(moment))
                model.program.if_on(reach, constant(moment), view.end)
                covered.append(reach)
        alone = model.program.switch()
        for view in views:
            if view.cut.still and view.cut.view.start == moment:
                model.program.at_most(view.stays - total(covered), alone)
        outside.append(alone)
    model._sum(total(outside), limit)


def _ratio(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    ledger = model.ledger
    if ledger.commentary_seconds is None:
        return
    shown = total(model.shown(number) for number in model.segments).times(limit.value)
    if ledger.narration is None:
        model.program.at_most(shown, constant(ledger.commentary_seconds))
    else:
        model.program.at_most(shown, model.spoken_until(model.piece))


def _unmarked(model: LimitedModel, number: int) -> Linear:
    """Screen seconds of a segment without marks: all of it, or its movement, or none."""
    segment = model.segments[number]
    if segment.segment.annotated == "all":
        return constant(0)
    if segment.segment.annotated == "none":
        return model.screen(number)
    mains = [view for view in segment.views if view.cut.key[1] == "main"]
    return mains[0].moving if mains else constant(segment.segment.main.moving)


def _bare(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    """However it lies, there are only so many words to cover it; where they fall, ``bare_rows`` says."""
    said = model.ledger.plan.narration.intervals
    if said is None:
        return
    words = said.within(Fraction(0), model.program.most(model.piece)).measure
    lengths = (_unmarked(model, n) for n, segment in model.segments.items() if not segment.beside_own)
    model._sum(total(lengths).plus(-words), limit)


def bare_rows(model: LimitedModel, limit: Limit) -> None:
    """What each segment shows without marks, less the words that fall on it."""
    bare: list[Linear] = []
    for number, segment in model.segments.items():
        length = _unmarked(model, number)
        if not model.program.most(length):
            continue
        start = model.positions[number]
        spoken = model.spoken_until(start + length) - model.spoken_until(start)
        part = model.program.variable(0, model.program.most(length), whole=False)
        model.program.if_on(segment.stays, length - spoken, part)
        bare.append(part)
    model._sum(total(bare), limit)


def _purposes(model: LimitedModel, limit: Limit, judged: Judged) -> None:
    without = (segment.stays for segment in model.segments.values() if not segment.segment.purpose)
    model._sum(total(without), limit)


_RULES: dict[str, Asker] = {
    "longest_excerpt_seconds": _each_played,
    "longest_excerpt_screen_seconds": _each_screen,
    "union_seconds": _union,
    "sum_union_seconds": _union,
    "played_seconds": _played,
    "sum_played_seconds": _played,
    "replayed_seconds": _replayed,
    "screen_seconds": _screen,
    "share_of_source": _share_of_source,
    "share_of_piece": _share_of_piece,
    "original_sound_seconds": _sound,
    "stills_outside_union": _stills,
    "excerpt_screen_seconds": _screen,
    "excerpt_share_of_piece": _share_of_piece,
    "bare_excerpt_seconds": _bare,
    "commentary_to_excerpt_ratio": _ratio,
    "purposes_unstated": _purposes,
}

RULES_MET = frozenset(_RULES) | LAZY_RULES | _FIXED
"""Every rule that tightening knows how to meet."""
