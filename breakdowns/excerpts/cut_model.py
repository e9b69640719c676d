"""A plan that may be cut, as a program in whole numbers: every cut is a point of it.

For each view: in which frame it starts, how many it shows, how many it holds. For each segment: whether it
stays. Two views beside each other stay together or go together; beside own, licensed or open footage,
which is never touched, a view can go alone. Screen times, positions and spoken time are expressions
over these. ``cut_limits`` writes down what the limits ask, ``cut_lazy`` what they ask only now and then.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from .cut_points import CutView, Key, cut_views, views_of
from .ledger import Ledger
from .plan import ExcerptSegment, Plan, Segment, View
from .steps import without_view
from .whole_program import Answer, Linear, WholeProgram, constant, total

__all__ = ["CutModel", "Cuts", "SegmentModel", "ViewModel", "plan_of"]

_ZERO, _ONE = Fraction(0), Fraction(1)
Cuts = tuple[Segment | None, ...]
"""The segments of the given plan by their numbers there, None for one left out."""


class ViewModel:
    """One view's variables as expressions in seconds."""

    def __init__(self, program: WholeProgram, cut: CutView, stays: Linear) -> None:
        self.cut, self.stays = cut, stays
        self.start = self.end = constant(cut.view.start)
        if not cut.still:
            self._points(program)
        self.played = self.end - self.start
        self._hold(program)

    def _points(self, program: WholeProgram) -> None:
        """In and out: whole frames, or as written where a moment to keep asks for a part of a frame."""
        cut, rate = self.cut, self.cut.rate
        first, last = cut.first * rate, cut.last * rate
        keep_in, keep_out = (cut.kept[0] * rate, cut.kept[1] * rate) if cut.kept else (last, first)
        if first.denominator != 1 or (cut.kept and keep_in < first):
            self.start = constant(cut.first)
        else:
            self.start = program.variable(first, min(Fraction(keep_in // 1), last)).times(1 / rate)
        if last.denominator != 1:
            self.end = constant(cut.last)
        elif self.start.terms:
            frames = program.variable(0, last - first)
            self.end = self.start + frames.times(1 / rate)
            program.at_most(self.end, constant(cut.last))
            program.at_most(self.stays, frames)
            program.at_most(frames, self.stays.times(last - first))
        else:
            self.end = program.variable(Fraction(-(-keep_out // 1)), last).times(1 / rate)
        if cut.kept:
            program.at_most(constant(cut.kept[1]), self.end)

    def _hold(self, program: WholeProgram) -> None:
        """Whole frames of hold, or the hold as it was given."""
        frames = self.cut.view.hold * self.cut.rate
        whole, rest = Fraction(frames // 1), frames % 1
        self.hold_steps = self.held = constant(0)
        if not self.cut.usable:
            return
        if whole:
            steps = program.variable(0, whole)
            program.at_most(steps, self.stays.times(whole))
            self.hold_steps, self.held = steps, steps.times(1 / self.cut.rate)
        if rest:
            full = program.switch()
            program.at_most(full, self.stays)
            program.at_most(full.times(whole), self.hold_steps)
            self.hold_steps += full
            self.held += full.times(rest / self.cut.rate)

    @property
    def moving(self) -> Linear:
        """Screen seconds of movement."""
        return self.played.times(1 / self.cut.view.speed)

    @property
    def asked(self) -> Linear:
        """Screen seconds that the view asks for."""
        return self.moving + self.held


class SegmentModel:
    """One segment that shows counted footage. ``screen`` and ``shown``: see ``CutModel``."""

    def __init__(self, program: WholeProgram, segment: ExcerptSegment, cuts: list[CutView]) -> None:
        self.segment = segment
        droppable = not any(cut.view.keep for cut in cuts)
        usable = all(cut.usable for cut in cuts)
        self.stays: Linear = program.variable(0 if droppable else 1, 1 if usable or not droppable else 0)
        self.views = [ViewModel(program, cut, self.stays) for cut in cuts]
        roles = {cut.key[1] for cut in cuts}
        others = [view.seconds for role, view in views_of(segment).items() if role not in roles]
        # Own footage that lasts no time parts nothing.
        self.beside_own = any(others)
        asked = [view.asked for view in self.views] + [constant(seconds) for seconds in others]
        self.screen = asked[0] if len(asked) == 1 else _longer(program, asked[0], asked[1])
        self.shown = _while_on(program, self.screen, self.stays) if others else self.screen
        if all(cut.still for cut in cuts) and not any(others):
            program.at_most(self.stays, total(view.hold_steps for view in self.views))


def _longer(program: WholeProgram, one: Linear, other: Linear) -> Linear:
    """The greater of two, exactly: not less than either, and not more than the one a switch names."""
    made = program.variable(
        max(program.least(one), program.least(other)),
        max(program.most(one), program.most(other)),
        whole=False,
    )
    which = program.switch()
    program.at_most(one, made)
    program.at_most(other, made)
    program.if_on(which, made, one)
    program.if_on(constant(1) - which, made, other)
    return made


def _while_on(program: WholeProgram, screen: Linear, stays: Linear) -> Linear:
    """``screen`` while the counted view stays, else 0."""
    most = program.most(screen)
    made = program.variable(0, most, whole=False)
    program.at_most(made, screen)
    program.at_most(made, stays.times(most))
    program.if_on(stays, screen, made)
    return made


class CutModel:
    """The program of a plan without any limit, and the plan at each of its points.

    Raises PlanError where a source that would be cut has no rate.
    """

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.program = WholeProgram()
        self.segments: dict[int, SegmentModel] = {}
        self.views: dict[Key, ViewModel] = {}
        cuts = cut_views(ledger)
        for number, segment in enumerate(ledger.plan.segments):
            mine = [cut for key, cut in cuts.items() if key[0] == number]
            if mine and isinstance(segment, ExcerptSegment):
                made = self.segments[number] = SegmentModel(self.program, segment, mine)
                self.views |= {view.cut.key: view for view in made.views}

    # --- expressions ---------------------------------------------------------------------------

    def screen(self, number: int) -> Linear:
        """Screen seconds of a segment."""
        if number in self.segments:
            return self.segments[number].screen
        return constant(self.ledger.plan.segments[number].duration)

    def shown(self, number: int) -> Linear:
        """Screen seconds of a segment with counted footage on it."""
        return self.segments[number].shown if number in self.segments else constant(0)

    @cached_property
    def positions(self) -> list[Linear]:
        """Where each segment starts on the piece's clock; one more for the end of the piece."""
        made = [constant(0)]
        for number in range(len(self.ledger.plan.segments)):
            made.append(made[-1] + self.screen(number))
        return made

    @property
    def piece(self) -> Linear:
        return self.positions[-1]

    def of_source(self, source: str) -> list[ViewModel]:
        return [view for view in self.views.values() if view.cut.view.source == source]

    def numbers_of(self, sources: set[str]) -> list[int]:
        """Segments that show one of these sources."""
        return sorted({key[0] for key, view in self.views.items() if view.cut.view.source in sources})

    @property
    def worth(self) -> Linear:
        """Weighted seconds kept: weight x source seconds of every excerpt, replays each time."""
        return total(view.played.times(view.cut.view.weight) for view in self.views.values())

    @property
    def beauty(self) -> Linear:
        """What decides between plans of equal worth: seconds kept at all, played or held."""
        return total(view.played + view.held for view in self.views.values())

    @property
    def late_starts(self) -> Linear:
        """How much later the views start: of equals, the one that is trimmed at its ends."""
        return total(view.start.plus(-view.cut.first) for view in self.views.values() if not view.cut.still)

    def spoken_until(self, moment: Linear) -> Linear:
        """Seconds of timed narration before a moment of the piece.

        Filled piece by piece in order: a piece can only begin once the one before it is full (the
        incremental method; G. B. Dantzig, "On the significance of solving linear programming problems
        with some integer variables", Econometrica 28, 1960; from memory).
        """
        low, high = self.program.least(moment), self.program.most(moment)
        narration = self.ledger.plan.narration.intervals
        intervals = narration.intervals if narration is not None else ()
        borders = sorted({low, high, *(m for pair in intervals for m in pair if low < m < high)})
        said = sum((max(min(b, low) - max(a, _ZERO), _ZERO) for a, b in intervals), _ZERO)
        reached, spoken = constant(low), constant(said)
        before: Linear | None = None
        for start, end in pairwise(borders):
            part = self.program.variable(0, end - start, whole=False)
            if before is not None:
                opened = self.program.switch()
                self.program.at_most(part, opened.times(end - start))
                self.program.at_most(opened.times(self.program.most(before)), before)
            reached += part
            if any(a <= start and end <= b for a, b in intervals):
                spoken += part
            before = part
        self.program.equal(moment, reached)
        return spoken

    # --- points --------------------------------------------------------------------------------

    def cuts_at(self, answer: Answer) -> Cuts:
        """The segments at a point of the program."""
        made: list[Segment | None] = list(self.ledger.plan.segments)
        for number, model in self.segments.items():
            made[number] = _segment_at(model, answer)
        return tuple(made)

    def whole_frames(self) -> Cuts:
        """The plan with nothing taken away but parts of frames."""
        made: list[Segment | None] = list(self.ledger.plan.segments)
        for number, model in self.segments.items():
            if not all(view.cut.usable for view in model.views):
                made[number] = _without_counted(model)
                continue
            for view in model.views:
                cut = replace(view.cut.view, start=view.cut.first, end=view.cut.last)
                made[number] = _with_view(made[number], view.cut.key, cut)
        return tuple(made)

    def least(self) -> Cuts:
        """Everything left out that may be, the rest cut to its moments to keep and not held."""
        made: list[Segment | None] = list(self.ledger.plan.segments)
        for number, model in self.segments.items():
            if not any(view.cut.view.keep for view in model.views):
                made[number] = _without_counted(model)
                continue
            made[number] = self.smallest(number)
        return tuple(made)

    def smallest(self, number: int) -> Segment | None:
        """One segment with as little of each counted view as can stay: moments to keep, else a frame."""
        model = self.segments[number]
        made: Segment | None = model.segment
        if not all(view.cut.usable for view in model.views):
            return _without_counted(model)
        for view in model.views:
            made = _with_view(made, view.cut.key, _least_view(view.cut))
        return made


def _least_view(cut: CutView) -> View:
    """A view cut to its moments to keep; where it has none, to its first frame."""
    if cut.still:
        return replace(cut.view, hold=min(cut.view.hold, 1 / cut.rate))
    first, last = cut.kept or (cut.first, cut.first + 1 / cut.rate)
    # A point in a part of a frame stays as it was written.
    start = cut.first if (first * cut.rate).denominator != 1 else first
    end = cut.last if (last * cut.rate).denominator != 1 else last
    return replace(cut.view, start=start, end=end, hold=_ZERO)


def _with_view(segment: Segment | None, key: Key, view: View) -> Segment | None:
    if not isinstance(segment, ExcerptSegment):
        return segment
    return replace(segment, main=view) if key[1] == "main" else replace(segment, beside=view)


def _without_counted(model: SegmentModel) -> ExcerptSegment | None:
    """What stays of a segment whose counted views are left out: the own footage beside them, if any."""
    left: ExcerptSegment | None = model.segment
    for view in model.views:
        left = left and without_view(left, view.cut.key[1])
    return left


def _segment_at(model: SegmentModel, answer: Answer) -> Segment | None:
    if not answer.of(model.stays):
        return _without_counted(model)
    made: Segment | None = model.segment
    for view in model.views:
        cut = replace(
            view.cut.view,
            start=answer.of(view.start),
            end=answer.of(view.end),
            hold=answer.of(view.held),
        )
        made = _with_view(made, view.cut.key, cut)
    return made


def plan_of(plan: Plan, cuts: Cuts) -> tuple[Plan, tuple[int, ...]]:
    """The plan that is left, and the number of each of its segments in the given one."""
    kept = [(number, segment) for number, segment in enumerate(cuts) if segment is not None]
    numbers = tuple(number for number, _ in kept)
    return replace(plan, segments=tuple(segment for _, segment in kept)), numbers
