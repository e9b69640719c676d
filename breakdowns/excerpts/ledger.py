"""The ledger: what a timeline uses of each source, exactly.

The definitions are this project's own; ``data/rules.csv`` gives those that can be limited in plain
words. Speed never lowers a source figure, a hold is screen time but no source seconds, mirroring and
reversing make no new material. Seconds are Fractions; nothing is rounded or clipped. How the cases
are settled that could be read in more than one way:

- **Beside.** Each view counts for its own source. The shorter view stands still until the segment
  ends, and that rest is hold time of its source. Piece time counts once. If both views show the same
  source, its screen, hold and sound seconds add up per view, but its runs are time and count once.
- **Runs** are the longest intervals of the times at which a source is on screen, touching ones
  joined. So only own material or another source, lasting longer than 0 s, breaks a run; a zero-length
  segment does not, and a view beside it does not. A moving run is the same over the times at which
  the source moves: a hold (also the rest beside a longer view) ends it.
- **Stills.** A view with in = out that stays on screen is a still. It counts as outside the union if
  its moment is not in the closed union, so standing still on the in or out point never does. Every
  moment counts once.
- **Marks.** ``annotated: hold`` covers the time in which the main view stands still, its rest beside a
  longer view included; ``all`` the whole segment.
- **Narration** is cut to [0, T]. With both intervals and words the timed intervals count and the
  estimate is only listed.
- **Own terms** (own, licensed, open): listed with all figures and ``counted`` false, but left out of
  the piece's sums, of the events and of the counts of sources; on the piece's clock such picture is
  own time.
- **No denominator** (no source, piece or excerpt seconds): the ratio is None.
- **An event's ``sources``** are those the plan lists for it; ``sources_used`` those on screen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from functools import cached_property
from typing import Any

from breakdowns.footage.timebase import exact_json, rational_text

from .intervals import IntervalSet
from .layout import Layout, Showing, lay_out
from .plan import ExcerptSegment, Plan, PlanSource

__all__ = ["EventLedger", "Ledger", "SourceLedger", "compute", "ratio"]

_ZERO = Fraction(0)
_HOUR = 3600


def ratio(part: Fraction, whole: Fraction) -> Fraction | None:
    """``part / whole``, None where there is no whole."""
    return part / whole if whole else None


def _total(values: Iterable[Fraction]) -> Fraction:
    return sum(values, _ZERO)


def times_shown(showings: Iterable[Showing]) -> int:
    """How often the most-shown moment of the source runs: 0 for none, 1 without a replay."""
    turns = [(showing.view.start, 1) for showing in showings if showing.view.played]
    turns += [(showing.view.end, -1) for showing in showings if showing.view.played]
    now = most = 0
    for _, turn in sorted(turns):
        now += turn
        most = max(most, now)
    return most


@dataclass(frozen=True)
class SourceLedger:
    """One source's account. Source seconds unless the name says screen, hold or run."""

    source: PlanSource
    showings: tuple[Showing, ...]
    piece_seconds: Fraction

    @cached_property
    def union(self) -> IntervalSet:
        """What a viewer could put together again, in source seconds."""
        return IntervalSet((showing.view.start, showing.view.end) for showing in self.showings)

    @cached_property
    def on_screen(self) -> IntervalSet:
        """When the source is on screen, on the piece's clock."""
        return IntervalSet((showing.start, showing.end) for showing in self.showings)

    @cached_property
    def moving(self) -> IntervalSet:
        """When it moves, on the piece's clock."""
        return IntervalSet((showing.start, showing.moving_end) for showing in self.showings)

    @cached_property
    def union_seconds(self) -> Fraction:
        return self.union.measure

    @cached_property
    def played_seconds(self) -> Fraction:
        return _total(showing.view.played for showing in self.showings)

    @property
    def replayed_seconds(self) -> Fraction:
        return self.played_seconds - self.union_seconds

    @cached_property
    def times_repeated(self) -> int:
        """How often the most-shown moment is shown again."""
        return max(times_shown(self.showings) - 1, 0)

    @cached_property
    def screen_seconds(self) -> Fraction:
        return _total(showing.seconds for showing in self.showings)

    @cached_property
    def hold_seconds(self) -> Fraction:
        return _total(showing.hold for showing in self.showings)

    @property
    def longest_excerpt_seconds(self) -> Fraction:
        return max((showing.view.played for showing in self.showings), default=_ZERO)

    @property
    def longest_excerpt_screen_seconds(self) -> Fraction:
        return max((showing.seconds for showing in self.showings), default=_ZERO)

    @property
    def longest_union_stretch_seconds(self) -> Fraction:
        return self.union.longest

    @property
    def union_stretches(self) -> int:
        return len(self.union)

    @cached_property
    def still_moments(self) -> tuple[Fraction, ...]:
        """Held moments outside the closed union, each once, in source order."""
        held = {showing.held_moment for showing in self.showings if showing.hold}
        return tuple(sorted(moment for moment in held if not self.union.closure_contains(moment)))

    @property
    def stills_outside_union(self) -> int:
        return len(self.still_moments)

    @property
    def longest_timeline_run_seconds(self) -> Fraction:
        return self.on_screen.longest

    @property
    def longest_moving_run_seconds(self) -> Fraction:
        return self.moving.longest

    @cached_property
    def original_sound_seconds(self) -> Fraction:
        return _total(showing.moving for showing in self.showings if not showing.view.muted)

    @property
    def share_of_source(self) -> Fraction | None:
        return ratio(self.union_seconds, self.source.duration)

    @property
    def share_of_piece(self) -> Fraction | None:
        return ratio(self.screen_seconds, self.piece_seconds)

    @property
    def used(self) -> bool:
        return bool(self.showings)

    def as_json(self) -> dict[str, Any]:
        exact = {name: getattr(self, name) for name in _SOURCE_EXACT}
        whole = {name: getattr(self, name) for name in _SOURCE_WHOLE}
        return {
            **{name: None if value is None else exact_json(value) for name, value in exact.items()},
            **whole,
            "event": self.source.event,
            "attributed": self.source.attributed,
            "terms": self.source.terms,
            "counted": self.source.counted,
            "union": [[rational_text(start), rational_text(end)] for start, end in self.union],
        }


_SOURCE_EXACT = (
    "union_seconds",
    "played_seconds",
    "replayed_seconds",
    "screen_seconds",
    "hold_seconds",
    "longest_excerpt_seconds",
    "longest_excerpt_screen_seconds",
    "longest_union_stretch_seconds",
    "longest_timeline_run_seconds",
    "longest_moving_run_seconds",
    "original_sound_seconds",
    "share_of_source",
    "share_of_piece",
)
_SOURCE_WHOLE = ("union_stretches", "stills_outside_union", "times_repeated")


@dataclass(frozen=True)
class EventLedger:
    """Sums over the counted sources of one event. Two cameras are two works: no union across them.

    ``name`` is None for a source that belongs to no event; it is judged as an event of its own.
    """

    name: str | None
    members: tuple[SourceLedger, ...]
    published: datetime | None = None

    @property
    def sources(self) -> int:
        return len(self.members)

    @property
    def sources_used(self) -> int:
        return sum(member.used for member in self.members)

    @cached_property
    def sum_union_seconds(self) -> Fraction:
        return _total(member.union_seconds for member in self.members)

    @cached_property
    def sum_played_seconds(self) -> Fraction:
        return _total(member.played_seconds for member in self.members)

    @cached_property
    def on_screen(self) -> IntervalSet:
        """When the event is on screen, on the piece's clock; side by side counts once."""
        return IntervalSet(moment for member in self.members for moment in member.on_screen)

    @property
    def screen_seconds(self) -> Fraction:
        return self.on_screen.measure

    @cached_property
    def screen_seconds_in_an_hour(self) -> Fraction:
        """Most screen seconds inside any 3600 s of the piece."""
        return busiest_window(self.on_screen, Fraction(_HOUR))[1]

    @cached_property
    def ages_hours(self) -> tuple[Fraction, ...]:
        """Hours from the end of the event to publication, as far as the used sources know them."""
        found = (_age(member.source, self.published) for member in self.members if member.used)
        return tuple(sorted({age for age in found if age is not None}))

    def as_json(self) -> dict[str, Any]:
        return {
            "sources": self.sources,
            "sources_used": self.sources_used,
            "sum_union_seconds": exact_json(self.sum_union_seconds),
            "sum_played_seconds": exact_json(self.sum_played_seconds),
            "screen_seconds": exact_json(self.screen_seconds),
            "screen_seconds_in_an_hour": exact_json(self.screen_seconds_in_an_hour),
            "age_hours": [exact_json(age) for age in self.ages_hours],
        }


def _age(source: PlanSource, published: datetime | None) -> Fraction | None:
    if source.event_age_hours is not None:
        return source.event_age_hours
    if source.event_ended is None or published is None:
        return None
    return hours_between(source.event_ended, published)


def hours_between(earlier: datetime, later: datetime) -> Fraction:
    """Exact hours, negative if the later moment comes first."""
    gap = later - earlier
    return Fraction(gap.days * 24) + Fraction(gap.seconds * 10**6 + gap.microseconds, _HOUR * 10**6)


def busiest_window(times: IntervalSet, length: Fraction) -> tuple[Fraction, Fraction]:
    """(start, seconds) of the window of that length holding most of ``times``, the earliest of them.

    The amount inside a window can only be greatest where one of its ends meets the end of a stretch.
    """
    if times and times.intervals[-1][1] - times.intervals[0][0] <= length:
        return times.intervals[0][0], times.measure
    starts = {start for start, _ in times} | {end - length for _, end in times}
    amounts = {start: times.within(start, start + length).measure for start in starts}
    best = max(amounts.values(), default=_ZERO)
    return min((start for start, amount in amounts.items() if amount == best), default=_ZERO), best


@dataclass(frozen=True)
class Ledger:
    """The whole account. ``sources`` in the plan's order, ``events`` by name."""

    plan: Plan
    layout: Layout
    sources: dict[str, SourceLedger]
    events: dict[str, EventLedger]

    @property
    def piece_seconds(self) -> Fraction:
        return self.layout.duration

    @property
    def counted(self) -> list[SourceLedger]:
        return [source for source in self.sources.values() if source.source.counted]

    @property
    def judged_events(self) -> list[EventLedger]:
        """Named events in use, and each used source without an event as one of its own."""
        alone = [
            EventLedger(None, (source,), self.plan.published)
            for source in self.counted
            if source.source.event is None
        ]
        return [event for event in (*self.events.values(), *alone) if event.sources_used]

    @cached_property
    def excerpt_time(self) -> IntervalSet:
        """When counted footage is on screen."""
        return IntervalSet(moment for source in self.counted for moment in source.on_screen)

    @cached_property
    def marked_time(self) -> IntervalSet:
        """When marks lie on counted footage."""
        marked = []
        for showing in self.layout.showings:
            segment = self.plan.segments[showing.segment]
            if showing.role != "main" or not isinstance(segment, ExcerptSegment):
                continue
            if segment.annotated != "none":
                start = showing.start if segment.annotated == "all" else showing.moving_end
                marked.append((start, showing.end))
        return IntervalSet(marked) & self.excerpt_time

    @cached_property
    def narration(self) -> IntervalSet | None:
        """Timed narration inside the piece; None without timing."""
        spoken = self.plan.narration.intervals
        return None if spoken is None else spoken.within(_ZERO, self.piece_seconds)

    @property
    def excerpt_screen_seconds(self) -> Fraction:
        return self.excerpt_time.measure

    @property
    def own_seconds(self) -> Fraction:
        return self.piece_seconds - self.excerpt_screen_seconds

    @property
    def excerpt_share_of_piece(self) -> Fraction | None:
        return ratio(self.excerpt_screen_seconds, self.piece_seconds)

    @property
    def longest_any_source_run_seconds(self) -> Fraction:
        return self.excerpt_time.longest

    @property
    def annotated_excerpt_seconds(self) -> Fraction:
        return self.marked_time.measure

    @property
    def annotated_share_of_excerpt(self) -> Fraction | None:
        return ratio(self.annotated_excerpt_seconds, self.excerpt_screen_seconds)

    @property
    def original_sound_seconds(self) -> Fraction:
        return _total(source.original_sound_seconds for source in self.counted)

    @property
    def sources_used(self) -> int:
        return sum(source.used for source in self.counted)

    @property
    def sources_attributed(self) -> int:
        return sum(source.used and source.source.attributed for source in self.counted)

    @property
    def excerpts_per_minute(self) -> Fraction | None:
        segments = {showing.segment for source in self.counted for showing in source.showings}
        return ratio(Fraction(60 * len(segments)), self.piece_seconds)

    @property
    def narration_seconds(self) -> Fraction | None:
        return None if self.narration is None else self.narration.measure

    @property
    def narration_over_excerpt_seconds(self) -> Fraction | None:
        return None if self.narration is None else (self.narration & self.excerpt_time).measure

    @cached_property
    def uncommented_time(self) -> IntervalSet | None:
        return None if self.narration is None else self.excerpt_time - self.narration

    @property
    def uncommented_excerpt_seconds(self) -> Fraction | None:
        return None if self.uncommented_time is None else self.uncommented_time.measure

    @cached_property
    def bare_time(self) -> IntervalSet | None:
        """Excerpt time with neither narration nor marks."""
        return None if self.uncommented_time is None else self.uncommented_time - self.marked_time

    @property
    def bare_excerpt_seconds(self) -> Fraction | None:
        return None if self.bare_time is None else self.bare_time.measure

    @property
    def longest_uncommented_run_seconds(self) -> Fraction | None:
        return None if self.uncommented_time is None else self.uncommented_time.longest

    @property
    def narration_estimate_seconds(self) -> Fraction | None:
        """Words · 60 / wpm: an estimate, not a measurement."""
        spoken = self.plan.narration
        return None if spoken.words is None or not spoken.wpm else spoken.words * 60 / spoken.wpm

    @property
    def narration_fits_piece(self) -> bool | None:
        estimate = self.narration_estimate_seconds
        return None if estimate is None else estimate <= self.piece_seconds

    @property
    def commentary_seconds(self) -> Fraction | None:
        """Timed narration where there is any, else the estimate, else None."""
        timed = self.narration_seconds
        return self.narration_estimate_seconds if timed is None else timed

    @property
    def commentary_to_excerpt_ratio(self) -> Fraction | None:
        spoken = self.commentary_seconds
        return None if spoken is None else ratio(spoken, self.excerpt_screen_seconds)

    @property
    def purposes_unstated(self) -> int:
        """Segments showing counted footage without a word on what it is needed for."""
        numbers = {showing.segment for source in self.counted for showing in source.showings}
        return sum(not getattr(self.plan.segments[number], "purpose", "") for number in numbers)

    @property
    def hours_online(self) -> Fraction | None:
        """Hours from publication to withdrawal, None unless the plan has both."""
        if self.plan.published is None or self.plan.withdrawn is None:
            return None
        return hours_between(self.plan.published, self.plan.withdrawn)

    def as_json(self) -> dict[str, Any]:
        """The answer of the ledger command, without verdicts."""
        names = list(_PIECE_ALWAYS)
        if self.narration is not None:
            names += _PIECE_TIMED
        if self.narration_estimate_seconds is not None:
            names += _PIECE_WORDS
        made = {name: _plain(getattr(self, name)) for name in names}
        made["sources"] = {key: source.as_json() for key, source in self.sources.items()}
        made["events"] = {name: event.as_json() for name, event in self.events.items()}
        return made


_PIECE_ALWAYS = (
    "piece_seconds",
    "excerpt_screen_seconds",
    "own_seconds",
    "excerpt_share_of_piece",
    "longest_any_source_run_seconds",
    "annotated_excerpt_seconds",
    "annotated_share_of_excerpt",
    "original_sound_seconds",
    "sources_used",
    "sources_attributed",
    "excerpts_per_minute",
)
_PIECE_TIMED = (
    "narration_seconds",
    "narration_over_excerpt_seconds",
    "uncommented_excerpt_seconds",
    "bare_excerpt_seconds",
    "longest_uncommented_run_seconds",
    "commentary_to_excerpt_ratio",
)
_PIECE_WORDS = ("narration_estimate_seconds", "narration_fits_piece", "commentary_to_excerpt_ratio")


def _plain(value: Any) -> Any:
    return exact_json(value) if isinstance(value, Fraction) else value


def compute(plan: Plan) -> Ledger:
    """The account of a plan. Pure and exact."""
    layout = lay_out(plan)
    shown: dict[str, list[Showing]] = {source.id: [] for source in plan.sources}
    for showing in layout.showings:
        shown[showing.view.source].append(showing)
    sources = {
        source.id: SourceLedger(source, tuple(shown[source.id]), layout.duration) for source in plan.sources
    }
    grouped: dict[str, list[SourceLedger]] = {}
    for ledger in sources.values():
        if ledger.source.event is not None:
            grouped.setdefault(ledger.source.event, [])
            if ledger.source.counted:
                grouped[ledger.source.event].append(ledger)
    events = {
        name: EventLedger(name, tuple(members), plan.published) for name, members in sorted(grouped.items())
    }
    return Ledger(plan, layout, sources, events)
