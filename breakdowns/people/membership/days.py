"""Days of membership, first and last included: joined for telling, and what they mean today."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

STATES = {
    "member": "member",
    "cancelled": "cancelled, still open",
    "grace": "in grace",
    "later": "starts later",
    "lapsed": "lapsed",
    "none": "no membership",
}
OPEN_STATES = frozenset({"member", "cancelled", "grace"})


@dataclass(frozen=True)
class Days:
    """One membership. ``last`` None has no end; ``grace_until`` is the last day that still opens after it."""

    first: date
    last: date | None
    grace_until: date | None = None
    cancelled: bool = False
    revoked: bool = False

    def covers(self, day: date) -> bool:
        return not self.revoked and self.first <= day and (self.last is None or day <= self.last)

    def in_grace(self, day: date) -> bool:
        return (
            not self.revoked
            and self.first <= day
            and self.last is not None
            and self.grace_until is not None
            and self.last < day <= self.grace_until
        )

    def opens(self, day: date) -> bool:
        """Whether this membership opens what is for members on a day of the site's calendar."""
        return self.covers(day) or self.in_grace(day)


@dataclass(frozen=True)
class Run:
    """Days without a gap; ``last`` None has no end."""

    first: date
    last: date | None


@dataclass(frozen=True)
class Standing:
    """What somebody has on a day: the state (a key of STATES), the run it is in, and grace if that is all."""

    state: str
    run: Run | None = None
    grace_until: date | None = None

    @property
    def opens(self) -> bool:
        return self.state in OPEN_STATES

    @property
    def words(self) -> str:
        return STATES[self.state]


def joined(memberships: Iterable[Days]) -> tuple[Run, ...]:
    """The days of all memberships as runs: what overlaps or touches (one ends, the next begins the day after)
    becomes one. What was revoked counts for nothing; grace is no part of a run.
    """
    runs: list[Run] = []
    for one in sorted((m for m in memberships if not m.revoked), key=lambda m: m.first):
        last = runs[-1] if runs else None
        if last is None or (last.last is not None and one.first > last.last + timedelta(days=1)):
            runs.append(Run(one.first, one.last))
        elif last.last is not None and (one.last is None or one.last > last.last):
            runs[-1] = Run(last.first, one.last)
    return tuple(runs)


def standing(memberships: Iterable[Days], today: date) -> Standing:
    """What the memberships of one person mean on a day.

    Cancelled is said only when nothing that is not cancelled covers today or begins later.
    """
    all_of_them = list(memberships)
    live = [one for one in all_of_them if not one.revoked]
    runs = joined(live)
    covering = [one for one in live if one.covers(today)]
    later = [one for one in live if one.first > today]
    if covering:
        run = next(r for r in runs if r.first <= today and (r.last is None or today <= r.last))
        goes_on = any(not one.cancelled for one in covering + later)
        return Standing("member" if goes_on else "cancelled", run)
    past = [r for r in runs if r.last is not None and r.last < today]
    grace = [one.grace_until for one in live if one.in_grace(today) and one.grace_until]
    if grace:
        return Standing("grace", past[-1], max(grace))
    if later:
        return Standing("later", next(r for r in runs if r.first > today))
    if past:
        return Standing("lapsed", past[-1])
    return Standing("lapsed" if all_of_them else "none")


def grace_after(last: date | None, grace_days: int, *, renews: bool) -> date | None:
    """The last day of grace: only what was expected to be renewed has any."""
    if last is None or not renews or grace_days <= 0:
        return None
    return last + timedelta(days=min(grace_days, (date.max - last).days))
