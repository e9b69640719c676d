"""A working copy of a plan's views that can be cut, and the steps that lead there.

Every cut goes to whole frames of the view's source where its rate is known, never less than asked.
A view cut to nothing is left out.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from .intervals import IntervalSet
from .layout import Role, Showing
from .ledger import Ledger
from .plan import View
from .steps import Step

__all__ = ["Draft", "Key"]

Key = tuple[int, Role]
_ZERO = Fraction(0)


class Draft:
    """The views of a ledger's plan by (segment, role); those left out are gone from ``views``."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._given: dict[Key, View] = {
            (showing.segment, showing.role): showing.view for showing in ledger.layout.showings
        }
        self.views = dict(self._given)
        self._own_before: dict[int, Fraction] = {}

    def rate(self, view: View) -> Fraction | None:
        return self._ledger.sources[view.source].source.rate

    def floor(self, view: View, moment: Fraction) -> Fraction:
        """The last whole frame of the view's source at or before a source moment."""
        rate = self.rate(view)
        return moment if rate is None else Fraction(moment * rate // 1) / rate

    def ceiling(self, view: View, moment: Fraction) -> Fraction:
        rate = self.rate(view)
        return moment if rate is None else Fraction(-(-moment * rate // 1)) / rate

    def drop(self, key: Key) -> None:
        self.views.pop(key, None)

    def end_at(self, key: Key, moment: Fraction) -> None:
        """Move the out point to a source moment or the frame before it."""
        view = self.views[key]
        self._set(key, replace(view, end=max(self.floor(view, moment), view.start)))

    def start_at(self, key: Key, moment: Fraction) -> None:
        """Move the in point to a source moment or the frame after it."""
        view = self.views[key]
        self._set(key, replace(view, start=min(self.ceiling(view, moment), view.end)))

    def _set(self, key: Key, view: View) -> None:
        if view.played:
            self.views[key] = view
        else:
            self.drop(key)

    def limit_played(self, key: Key, seconds: Fraction) -> None:
        """Cut a view to at most these source seconds: from its end first, moments to keep last."""
        view = self.views[key]
        excess = view.played - seconds
        if excess <= 0:
            return
        kept_until = max((end for _, end in view.keep), default=view.start)
        self.end_at(key, max(view.end - excess, min(kept_until, view.end)))
        view = self.views.get(key, view)
        if key in self.views and view.played > seconds:
            self.start_at(key, view.start + view.played - seconds)
        if key in self.views and self.views[key].played > seconds:
            self.end_at(key, self.views[key].start + seconds)

    def leave_only(self, key: Key, allowed: IntervalSet) -> None:
        """Cut a view to its longest stretch inside ``allowed`` source time."""
        view = self.views[key]
        if not view.played:
            return
        pieces = allowed.within(view.start, view.end).intervals
        if not pieces:
            self.drop(key)
            return
        start, end = max(pieces, key=lambda piece: piece[1] - piece[0])
        if end < view.end:
            self.end_at(key, end)
        if key in self.views and start > view.start:
            self.start_at(key, start)

    def segment_keys(self, number: int) -> list[Key]:
        roles: tuple[Role, ...] = ("main", "beside")
        return [(number, role) for role in roles if (number, role) in self.views]

    def segment_seconds(self, number: int) -> Fraction:
        """Screen seconds of a segment as it stands now."""
        return max((self.views[key].seconds for key in self.segment_keys(number)), default=_ZERO)

    def shorten_segment(self, number: int, seconds: Fraction) -> None:
        """Cut a segment to at most these screen seconds: holds first, then movement."""
        for key in self.segment_keys(number):
            if seconds <= 0:
                self.drop(key)
                continue
            view = self.views[key]
            hold = max(min(view.hold, seconds - view.moving), _ZERO)
            if hold < view.hold:
                self.views[key] = replace(view, hold=hold)
            if view.moving > seconds:
                self.limit_played(key, seconds * view.speed)

    def mute(self, key: Key) -> None:
        self.views[key] = replace(self.views[key], muted=True)

    def put_own_before(self, number: int, seconds: Fraction) -> None:
        self._own_before[number] = seconds

    def steps(self) -> list[Step]:
        """What to do to the plan to arrive here, in order of segments."""
        made: list[Step] = []
        numbers = sorted({number for number, _ in self._given} | set(self._own_before))
        for number in numbers:
            if number in self._own_before:
                made.append(Step("own_before", number, amount=self._own_before[number]))
            keys = [key for key in self._given if key[0] == number]
            gone = [key for key in keys if key not in self.views]
            if gone and len(gone) == len(keys):
                made.append(Step("drop", number))
                continue
            made += [Step("drop", number, role) for _, role in gone]
            for key in keys:
                if key in self.views:
                    made += self._view_steps(key, self._given[key], self.views[key])
        return made

    def _view_steps(self, key: Key, given: View, view: View) -> list[Step]:
        made: list[Step] = []
        rate = self.rate(view)

        def step(do: str, amount: Fraction, to: Fraction, *, frames: bool = True) -> None:
            count = amount * rate if rate is not None and frames else None
            whole = int(count) if count is not None and count.denominator == 1 else None
            made.append(Step(do, key[0], key[1], amount=amount, to=to, frames=whole))

        if view.start != given.start:
            step("trim_in", view.start - given.start, view.start)
        if view.end != given.end:
            step("trim_out", given.end - view.end, view.end)
        if view.hold != given.hold:
            step("shorten_hold", given.hold - view.hold, view.hold, frames=False)
        if view.muted != given.muted:
            made.append(Step("mute", key[0], key[1]))
        return made


def key_of(showing: Showing) -> Key:
    return showing.segment, showing.role
