"""Looking for the best cut: solve, hold the plan against the limits exactly, add rows, solve again.

The program says less than the limits do, so its best worth bounds that of every plan. A point whose plan
breaks a limit in the ledger's exact figures brings further rows; a point whose plan breaks none is a
best plan (a cutting-plane method; G. Dantzig, R. Fulkerson, S. Johnson, "Solution of a large-scale
traveling-salesman problem", Journal of the Operations Research Society of America 2, 1954; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from .cut_lazy import Broken, Candidate, broken_limits, further_rows
from .cut_limits import LimitedModel
from .cut_model import Cuts, plan_of
from .cut_points import Key, views_of
from .ledger import Ledger, compute
from .plan import ExcerptSegment, Segment
from .policies import Limit, Policy
from .rules import choice
from .whole_program import Linear, Patience, common_step, constant

__all__ = ["Found", "best_cut", "can_be_met", "kept_seconds", "patience", "weighted_seconds"]

_ZERO = Fraction(0)
_SURE = Fraction(1, 1000)
"""How far, in steps of the objective, the solver's bound may lie above a step without reaching the next."""


@dataclass(frozen=True)
class Found:
    """The best plan met, if any, and how much better any other could be.

    ``worth``: its weighted seconds. ``gap``: no plan within the limits is worth more than ``worth + gap``;
    0 where it is the best. ``settled``: without a plan, that there is none.
    """

    cuts: Cuts | None
    worth: Fraction = _ZERO
    gap: Fraction = _ZERO
    settled: bool = True


def patience() -> Patience:
    """As long as one search may take, from the data file of our own choices."""
    return Patience(float(choice("tighten_seconds")), int(choice("tighten_nodes")))


def best_cut(ledger: Ledger, limits: Sequence[Limit], waiting: Patience | None = None) -> Found:
    """The plan within the limits with the most weighted seconds; of equals, see ``_Search.polished``.

    Raises PlanError where a source has no rate.
    """
    return _Search(ledger, limits, waiting or patience()).best()


def can_be_met(ledger: Ledger, limits: Sequence[Limit], waiting: Patience | None = None) -> bool | None:
    """Whether any cut meets the limits; None where patience ended first."""
    return _Search(ledger, limits, waiting or patience()).any()


class _Search:
    def __init__(self, ledger: Ledger, limits: Sequence[Limit], waiting: Patience) -> None:
        self.ledger = ledger
        self.policy = Policy("cut", "", tuple(limits))
        self.model = LimitedModel(ledger, limits)
        self.waiting = waiting

    def best(self) -> Found:
        model = self.model
        full = model.whole_frames()
        if not self._broken(full)[1]:
            return Found(full, self._worth(full))
        cuts, bound, impossible = self._climb(model.worth)
        if impossible:
            return Found(None)
        if cuts is None:
            spare = self._spare()
            if spare is None:
                return Found(None, settled=False)
            worth = self._worth(spare)
            return Found(spare, worth, self._gap(worth, bound))
        worth = self._worth(cuts)
        return Found(self._polished(cuts), worth, self._gap(worth, bound))

    def any(self) -> bool | None:
        for easy in (self.model.whole_frames(), self.model.least()):
            if not self._broken(easy)[1]:
                return True
        cuts, _, impossible = self._climb(self.model.beauty.times(Fraction(-1)))
        return False if impossible else (True if cuts is not None else None)

    # --- climbing ------------------------------------------------------------------------------

    def _climb(self, objective: Linear) -> tuple[Cuts | None, Fraction | None, bool]:
        """The plan at the best point that breaks no limit, the bound, and whether there is none at all."""
        bound: Fraction | None = None
        self.seen: list[Cuts] = []
        for _ in range(int(choice("tighten_rounds"))):
            answer = self.model.program.maximise(objective, self.waiting)
            if answer.impossible:
                return None, None, True
            if answer.bound is not None:
                bound = answer.bound if bound is None else min(bound, answer.bound)
            if answer.values is None:
                break
            cuts = self.model.cuts_at(answer)
            candidate, broken = self._broken(cuts)
            if not broken:
                return cuts, bound, False
            self.seen.append(cuts)
            if not further_rows(self.model, candidate, broken) or not self.waiting.left:
                break
        return None, bound, False

    def _broken(self, cuts: Cuts) -> tuple[Candidate, list[Broken]]:
        plan, numbers = plan_of(self.ledger.plan, cuts)
        ledger = compute(plan)
        return Candidate(ledger, numbers), broken_limits(ledger, self.policy)

    def _worth(self, cuts: Cuts) -> Fraction:
        plan, _ = plan_of(self.ledger.plan, cuts)
        return weighted_seconds(compute(plan))

    def _gap(self, worth: Fraction, bound: Fraction | None) -> Fraction:
        """0 where the bound leaves no room for the next step that a worth can take."""
        if bound is None:
            bound = self.model.program.most(self.model.worth)
        step = common_step(self.model.worth.terms.values())
        over = bound - worth
        if not step or over < step * (1 - _SURE):
            return _ZERO
        return over.limit_denominator(10**6)

    # --- of equals -----------------------------------------------------------------------------

    def _polished(self, cuts: Cuts) -> Cuts:
        """Of plans of that worth the one that plays and holds longest; of those, the one cut at its ends."""
        program, model, worth = self.model.program, self.model, self._worth(cuts)
        program.at_most(constant(worth), model.worth)
        longer, _, _ = self._climb(model.beauty)
        if longer is None or self._worth(longer) < worth:
            return cuts
        plan, _ = plan_of(self.ledger.plan, longer)
        program.at_most(constant(kept_seconds(compute(plan))), model.beauty)
        early, _, _ = self._climb(model.late_starts.times(Fraction(-1)))
        return longer if early is None or self._worth(early) < worth else early

    # --- without an answer in time -------------------------------------------------------------

    def _spare(self) -> Cuts | None:
        """A plan within the limits, put together piece by piece from the last one that was not."""
        made = self._within_limits()
        if made is None:
            return None
        wanted = self.seen[-1] if self.seen else self.model.whole_frames()
        order = sorted(self.model.segments, key=lambda n: -self._worth((wanted[n],)))
        for source in (wanted, self.model.whole_frames()):
            for number in order:
                trial = _with_segment(made, number, source[number])
                if self._worth(trial) > self._worth(made) and not self._broken(trial)[1]:
                    made = trial
        for number in order:
            # What is out comes in with a frame, and grows from there.
            trial = _with_segment(made, number, self.model.smallest(number))
            if self._worth(trial) > self._worth(made) and not self._broken(trial)[1]:
                made = trial
            made = self._grown(made, number)
        return made

    def _within_limits(self) -> Cuts | None:
        least = self.model.least()
        if not self._broken(least)[1]:
            return least
        seen, self.seen, self.waiting = self.seen, [], patience()
        short, _, _ = self._climb(self.model.beauty.times(Fraction(-1)))
        self.seen = seen
        return short

    def _grown(self, cuts: Cuts, number: int) -> Cuts:
        """The plan with one segment's views let out again as far as the limits allow: end, then start."""
        for view in self.model.segments[number].views:
            cut, key = view.cut, view.cut.key
            segment = cuts[number]
            if cut.still or not isinstance(segment, ExcerptSegment) or key[1] not in views_of(segment):
                continue
            now = views_of(segment)[key[1]]
            if now.source != cut.view.source:
                continue
            for name, far in (("end", cut.last), ("start", cut.first)):
                cuts = self._let_out(cuts, key, name, far)
        return cuts

    def _let_out(self, cuts: Cuts, key: Key, name: str, far: Fraction) -> Cuts:
        """One point moved towards where it was given, by halves of what is left, in whole frames."""
        rate = self.model.views[key].cut.rate
        segment = cuts[key[0]]
        assert isinstance(segment, ExcerptSegment)
        now: Fraction = getattr(views_of(segment)[key[1]], name)
        frames = (far - now) * rate
        step = frames / 2 if frames.denominator == 1 else _ZERO
        while abs(step) >= Fraction(1, 2):
            whole = Fraction(int(step) or (1 if step > 0 else -1))
            trial = with_point(cuts, key, name, now + whole / rate)
            if (far - now - whole / rate) * step >= 0 and not self._broken(trial)[1]:
                cuts, now = trial, now + whole / rate
            elif abs(whole) == 1:
                break
            step /= 2
        return cuts


def _with_segment(cuts: Cuts, number: int, segment: Segment | None) -> Cuts:
    return tuple(segment if n == number else part for n, part in enumerate(cuts))


def with_point(cuts: Cuts, key: Key, name: str, moment: Fraction) -> Cuts:
    """The cuts with the in (``start``) or out point (``end``) of one view elsewhere."""
    number, role = key
    segment = cuts[number]
    if not isinstance(segment, ExcerptSegment):
        return cuts
    view = views_of(segment)[role]
    moved = replace(view, start=moment) if name == "start" else replace(view, end=moment)
    whole = replace(segment, main=moved) if role == "main" else replace(segment, beside=moved)
    return _with_segment(cuts, number, whole)


def weighted_seconds(ledger: Ledger) -> Fraction:
    """Weight x source seconds of every counted view on screen, replays each time."""
    shown = (showing.view for source in ledger.counted for showing in source.showings)
    return sum((view.weight * view.played for view in shown), _ZERO)


def kept_seconds(ledger: Ledger) -> Fraction:
    """Seconds played and held of every counted view on screen, whatever their weight."""
    shown = (showing.view for source in ledger.counted for showing in source.showings)
    return sum((view.played + view.hold for view in shown), _ZERO)
