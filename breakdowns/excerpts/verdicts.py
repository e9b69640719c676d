"""Holding a ledger against a policy: one verdict for each limit and each thing it is judged for.

``within`` means the limit is met with room, ``near`` that it is met but close (from the data file of
our own choices), ``over`` that it is broken, a lower limit by falling short. A figure equal to its
limit meets it. What cannot be judged for want of a fact is listed, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from breakdowns.footage.timebase import exact_json

from .ledger import EventLedger, Ledger, SourceLedger
from .mends import Judged, Way, ways_to_mend
from .policies import Limit, Policy
from .rules import choice, wording
from .steps import Namer, sentence

__all__ = ["Judgement", "NotJudged", "State", "Verdict", "Where", "figure", "judge", "judged_for", "state_of"]

State = Literal["within", "near", "over"]
_NO_NARRATION = 'needs narration with times: give "narration" with intervals'
_WHY = {
    "event_age_hours": 'give the piece\'s "published" and the source\'s "event_ended", or "event_age_hours"',
    "event_age_at_withdrawal_hours": 'give "published" and "withdrawn" of the piece, and the event\'s end',
    "hours_online": 'give "published" and "withdrawn" of the piece',
    "commentary_to_excerpt_ratio": "needs narration, and an excerpt to hold it against",
    "bare_excerpt_seconds": _NO_NARRATION,
    "longest_uncommented_run_seconds": _NO_NARRATION,
    "share_of_source": "the source has no length",
    "share_of_piece": "the piece has no length",
    "excerpt_share_of_piece": "the piece has no length",
}


@dataclass(frozen=True)
class Where:
    """What a limit was judged for. ``name``: a source, an event (None: a source that has none)."""

    scope: str
    name: str | None
    sources: tuple[str, ...]
    segments: tuple[int, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "scope": self.scope,
            "name": self.name,
            "sources": list(self.sources),
            "segments": list(self.segments),
        }


@dataclass(frozen=True)
class Verdict:
    """One figure against one limit. ``ways``: what would mend it, the plainest first."""

    limit: Limit
    where: Where
    value: Fraction
    state: State
    ways: tuple[Way, ...] = ()

    def mend(self, name: Namer | None = None) -> str | None:
        """The plainest mend in words; ``name`` says how to call a segment."""
        if not self.ways:
            return None
        return sentence(self.ways[0], name) if name else sentence(self.ways[0])

    def as_json(self) -> dict[str, Any]:
        ways = [{"mend": sentence(way), "mend_steps": [step.as_json() for step in way]} for way in self.ways]
        about = self.limit.about
        return {
            "rule": self.limit.rule,
            "label": about.label,
            "unit": about.unit,
            "where": self.where.as_json(),
            "value": exact_json(self.value),
            "limit": exact_json(self.limit.value),
            "sense": self.limit.sense,
            "state": self.state,
            "mend": ways[0]["mend"] if ways else None,
            "mend_steps": ways[0]["mend_steps"] if ways else [],
            "or": ways[1:],
            "note": self.limit.note,
            "made_for": self.limit.made_for,
            "source": self.limit.source,
            "how_read": self.limit.how_read,
        }


@dataclass(frozen=True)
class NotJudged:
    """A limit that could not be held against anything, and why."""

    limit: Limit
    where: Where
    why: str

    def as_json(self) -> dict[str, Any]:
        return {"rule": self.limit.rule, "where": self.where.as_json(), "why": self.why}


@dataclass(frozen=True)
class Judgement:
    """All verdicts of one policy on one ledger, and what was left unjudged."""

    policy: Policy
    verdicts: tuple[Verdict, ...]
    not_judged: tuple[NotJudged, ...]

    @property
    def over(self) -> tuple[Verdict, ...]:
        return tuple(verdict for verdict in self.verdicts if verdict.state == "over")

    def as_json(self) -> dict[str, Any]:
        return {
            "policy": {"key": self.policy.key, "title": self.policy.title, "note": self.policy.note},
            "verdicts": [verdict.as_json() for verdict in self.verdicts],
            "not_judged": [row.as_json() for row in self.not_judged],
            "cautions": list(wording().values()),
        }


def state_of(limit: Limit, value: Fraction) -> State:
    """``within``, ``near`` or ``over``; a limit of 0 that is met has nothing near it."""
    broken = value > limit.value if limit.sense == "max" else value < limit.value
    if broken:
        return "over"
    if not limit.about.near or not limit.value:
        return "within"
    if limit.sense == "max":
        return "near" if value >= limit.value * choice("near_max") else "within"
    return "near" if value <= limit.value * choice("near_min") else "within"


def judge(ledger: Ledger, policy: Policy) -> Judgement:
    """Hold every limit of the policy against the ledger. Sources not in use are not judged."""
    verdicts: list[Verdict] = []
    left: list[NotJudged] = []
    for limit in policy.limits:
        for judged, where in judged_for(ledger, limit.scope):
            value = figure(ledger, limit, judged)
            if value is None:
                left.append(NotJudged(limit, where, _WHY.get(limit.rule, "the figure does not exist")))
                continue
            state = state_of(limit, value)
            ways = ways_to_mend(ledger, limit, judged, value) if state == "over" else []
            verdicts.append(Verdict(limit, where, value, state, tuple(ways)))
    return Judgement(policy, tuple(verdicts), tuple(left))


def judged_for(ledger: Ledger, scope: str) -> Iterator[tuple[Judged, Where]]:
    """Everything in use that a limit of this scope is held against."""
    if scope == "source":
        for source in ledger.counted:
            if source.used:
                yield source, _where(scope, source.source.id, (source,))
    elif scope == "event":
        for event in ledger.judged_events:
            yield event, _where(scope, event.name, event.members)
    else:
        yield ledger, _where(scope, None, tuple(ledger.counted))


def _where(scope: str, name: str | None, members: tuple[SourceLedger, ...]) -> Where:
    used = [member for member in members if member.used]
    segments = {showing.segment for member in used for showing in member.showings}
    return Where(scope, name, tuple(member.source.id for member in used), tuple(sorted(segments)))


def figure(ledger: Ledger, limit: Limit, judged: Judged) -> Fraction | None:
    """The figure that a limit is compared with, exact, in the rule's unit; None if there is none."""
    if limit.rule == "source_named":
        return Fraction(isinstance(judged, SourceLedger) and judged.source.attributed)
    if isinstance(judged, EventLedger) and limit.rule.startswith("event_age"):
        return _event_age(ledger, limit, judged)
    value = getattr(judged, limit.rule)
    return None if value is None else Fraction(value)


def _event_age(ledger: Ledger, limit: Limit, event: EventLedger) -> Fraction | None:
    """The age that is hardest to bring within the limit, among what the sources know."""
    if not event.ages_hours:
        return None
    age = event.ages_hours[0 if limit.sense == "min" else -1]
    if limit.rule == "event_age_hours":
        return age
    return None if ledger.hours_online is None else age + ledger.hours_online
