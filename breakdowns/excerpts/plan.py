"""A timeline as it is handed over: sources, segments one after another, narration.

``plan_from_json`` reads the PLAN document of the commands into frozen values, ``plan_to_json``
writes it back. Nothing is clipped: a plan that cannot be raises PlanError with a fixed code and the
number of the segment, counted from 0 as in the list.

A view plays the source interval [in, out) at a speed above 0 and then stands still for its hold.
What could be read in more than one way:

- ``beside`` is a view of its own: its ``speed`` is 1 and its ``hold`` 0 unless they are given.
- A hold written as frames counts frames of that view's source.
- Own terms (own, licensed, open) belong to the source; a source without ``terms`` is third party.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from math import lcm
from typing import Any, Literal

from breakdowns.footage.timebase import TimeError, parse_rational, rational_text

from .intervals import Interval, IntervalSet
from .strict_json import NotJson, read_json

__all__ = [
    "ExcerptSegment",
    "Narration",
    "OwnSegment",
    "Plan",
    "PlanError",
    "PlanSource",
    "View",
    "plan_from_json",
    "plan_to_json",
    "read_document",
    "read_plan",
]

Terms = Literal["own", "licensed", "open", "third_party"]
Annotated = Literal["none", "hold", "all"]

LARGEST = Fraction(10**12)
SPEEDS = (Fraction(1, 10**9), Fraction(10**9))
RATES = (Fraction(1, 1000), Fraction(100_000))
FINEST = 10**18
DENOMINATOR_BITS = 4000
MOST_SEGMENTS = 100_000


class PlanError(ValueError):
    """A plan that cannot be. ``code`` is fixed, ``segment`` counts from 0 (None: the plan itself)."""

    def __init__(self, code: str, sentence: str, segment: int | None = None) -> None:
        super().__init__(sentence)
        self.code = code
        self.segment = segment

    def as_json(self) -> dict[str, Any]:
        return {"error": self.code, "segment": self.segment}


@dataclass(frozen=True)
class PlanSource:
    """One work. ``duration`` in seconds, ``rate`` in frames per second where it is known.

    ``event_ended`` or ``event_age_hours`` (age when the piece is published) may be unknown.
    """

    id: str
    duration: Fraction
    rate: Fraction | None = None
    event: str | None = None
    attributed: bool = False
    terms: Terms = "third_party"
    event_ended: datetime | None = None
    event_age_hours: Fraction | None = None

    @property
    def counted(self) -> bool:
        """Own, licensed and openly licensed footage is listed but left out of the sums."""
        return self.terms == "third_party"


@dataclass(frozen=True)
class View:
    """[start, end) of a source in source seconds at ``speed``, then one frame held ``hold`` seconds."""

    source: str
    start: Fraction
    end: Fraction
    speed: Fraction = Fraction(1)
    hold: Fraction = Fraction(0)
    muted: bool = False
    mirrored: bool = False
    reverse: bool = False
    keep: tuple[Interval, ...] = ()
    weight: Fraction = Fraction(1)

    @property
    def played(self) -> Fraction:
        """Source seconds."""
        return self.end - self.start

    @property
    def moving(self) -> Fraction:
        """Screen seconds of movement."""
        return self.played / self.speed

    @property
    def seconds(self) -> Fraction:
        """Screen seconds that this view asks for."""
        return self.moving + self.hold


@dataclass(frozen=True)
class OwnSegment:
    """Picture of our own, in seconds."""

    duration: Fraction


@dataclass(frozen=True)
class ExcerptSegment:
    """A view, or two beside each other; lasts as long as the longer one."""

    main: View
    beside: View | None = None
    annotated: Annotated = "none"
    purpose: str = ""

    @property
    def views(self) -> tuple[View, ...]:
        return (self.main,) if self.beside is None else (self.main, self.beside)

    @property
    def duration(self) -> Fraction:
        """Screen seconds: the longer view, the shorter one standing still until then."""
        return max(view.seconds for view in self.views)


Segment = OwnSegment | ExcerptSegment


@dataclass(frozen=True)
class Narration:
    """Timed (``intervals`` on the piece's clock) or only estimated (``words`` at ``wpm``)."""

    intervals: IntervalSet | None = None
    words: int | None = None
    wpm: Fraction | None = None


@dataclass(frozen=True)
class Plan:
    """A whole timeline. ``policy`` is a preset's name or a policy document, not looked at here."""

    sources: tuple[PlanSource, ...]
    segments: tuple[Segment, ...]
    narration: Narration = Narration()
    policy: str | dict[str, Any] | None = None
    published: datetime | None = None
    withdrawn: datetime | None = None
    ignored: tuple[str, ...] = field(default=(), compare=False)

    def source(self, key: str) -> PlanSource:
        """Raises KeyError for a source that the plan does not have."""
        for source in self.sources:
            if source.id == key:
                return source
        raise KeyError(key)


# --- reading -----------------------------------------------------------------------------------


def read_document(text: str) -> dict[str, Any]:
    """The JSON object in ``text``. Raises PlanError ``not_json`` or ``malformed``."""
    try:
        found = read_json(text)
    except NotJson as fault:
        raise PlanError("not_json", str(fault)) from None
    if not isinstance(found, dict):
        raise PlanError("malformed", "The plan must be a JSON object with sources and segments.")
    return found


def read_plan(text: str) -> Plan:
    """The plan in ``text``. Raises PlanError."""
    return plan_from_json(read_document(text))


def plan_from_json(document: dict[str, Any]) -> Plan:
    """The plan in a JSON object. Raises PlanError with the first fault, segments in order."""
    at = Place("plan")
    ignored: list[str] = []
    at.only(document, _PLAN_KEYS, ignored)
    sources = [
        source_from_json(row, Place(f"sources[{n}]"), ignored)
        for n, row in enumerate(at.rows(document, "sources"))
    ]
    by_id = _once_each(sources)
    rows = at.rows(document, "segments")
    if len(rows) > MOST_SEGMENTS:
        raise at.fault(f"has {len(rows)} segments: {MOST_SEGMENTS} is the most")
    segments = [_segment(row, Place(f"segment {n}", n), by_id, ignored) for n, row in enumerate(rows)]
    plan = Plan(
        sources=tuple(sources),
        segments=tuple(segments),
        narration=_narration(document.get("narration"), Place("narration"), ignored),
        policy=_policy(document.get("policy"), at),
        published=at.moment(document, "published"),
        withdrawn=at.moment(document, "withdrawn"),
        ignored=tuple(ignored),
    )
    _countable(plan)
    return plan


_PLAN_KEYS = {"sources", "segments", "narration", "policy", "published", "withdrawn"}
_SOURCE_KEYS = {
    "id",
    "duration",
    "rate",
    "event",
    "attributed",
    "terms",
    "event_ended",
    "event_age_hours",
}
_VIEW_KEYS = {"source", "in", "out", "speed", "hold", "muted", "mirrored", "reverse", "keep", "weight"}
_EXCERPT_KEYS = _VIEW_KEYS | {"kind", "annotated", "purpose", "beside"}


def _short(value: Any) -> str:
    return repr(value if not isinstance(value, Fraction) else rational_text(value))[:40]


@dataclass(frozen=True)
class Place:
    """Where in the document we are, for sentences; reads typed values out of objects."""

    name: str
    segment: int | None = None

    def fault(self, what: str, code: str = "malformed") -> PlanError:
        return PlanError(code, f"{self.name[:1].upper()}{self.name[1:]} {what}.", self.segment)

    def object(self, value: Any) -> dict[str, Any]:
        if not isinstance(value, dict):
            raise self.fault(f"must be an object, not {_short(value)}")
        return value

    def rows(self, holder: dict[str, Any], key: str) -> list[Any]:
        value = holder.get(key)
        if not isinstance(value, list):
            raise self.fault(f'needs a list under "{key}"')
        return value

    def only(self, holder: dict[str, Any], known: set[str], ignored: list[str]) -> None:
        """Note keys that nobody reads, so that a mistyped one does not pass unseen."""
        ignored.extend(f"{self.name}: {key}" for key in holder if key not in known)

    def text(self, holder: dict[str, Any], key: str) -> str:
        value = holder.get(key)
        if not isinstance(value, str) or not value.strip():
            raise self.fault(f'needs a text under "{key}", not {_short(value)}')
        return value

    def optional_text(self, holder: dict[str, Any], key: str) -> str | None:
        return None if holder.get(key) is None else self.text(holder, key)

    def flag(self, holder: dict[str, Any], key: str) -> bool:
        value = holder.get(key, False)
        if value is None:
            return False
        if not isinstance(value, bool):
            raise self.fault(f'needs true or false under "{key}", not {_short(value)}')
        return value

    def choice(self, holder: dict[str, Any], key: str, among: tuple[str, ...], default: str) -> Any:
        value = holder.get(key)
        if value is None:
            return default
        if value not in among:
            raise self.fault(f'has {_short(value)} under "{key}": write one of {", ".join(among)}')
        return value

    def number(self, value: Any, key: str) -> Fraction:
        """An exact number, at most 10^12 either way."""
        if value is None:
            raise self.fault(f'lacks "{key}"')
        try:
            found = parse_rational(value)
        except TimeError as fault:
            raise self.fault(f'has no usable "{key}": {str(fault).rstrip(".")}') from None
        if abs(found) > LARGEST:
            raise self.fault(f'has a number beyond 10^12 under "{key}"')
        if found.denominator > FINEST or abs(found.numerator) > FINEST:
            raise self.fault(f'has a number with too many digits under "{key}"')
        return found

    def time(self, value: Any, key: str, rate: Fraction | None) -> Fraction:
        """Seconds: a rational number, or {"frames": n} at ``rate``."""
        if not isinstance(value, dict):
            return self.number(value, key)
        if set(value) != {"frames"}:
            raise self.fault(f'must give "{key}" as seconds or as {{"frames": n}}')
        if rate is None:
            raise self.fault(f'counts frames under "{key}", but no rate is known there: give seconds')
        count = self.number(value["frames"], f"{key}.frames")
        if count.denominator != 1:
            raise self.fault(f'must count whole frames under "{key}", not {rational_text(count)}')
        return count / rate

    def moment(self, holder: dict[str, Any], key: str) -> datetime | None:
        value = holder.get(key)
        if value is None:
            return None
        try:
            found = datetime.fromisoformat(value) if isinstance(value, str) else None
        except ValueError:
            found = None
        if found is None or found.utcoffset() is None:
            raise self.fault(f'needs an ISO 8601 date and time with its offset under "{key}"')
        return found


def source_from_json(row: Any, at: Place, ignored: list[str]) -> PlanSource:
    """One source. Raises PlanError."""
    row = at.object(row)
    at.only(row, _SOURCE_KEYS, ignored)
    rate = _rate(row.get("rate"), at)
    duration = at.time(row.get("duration"), "duration", rate)
    if duration < 0:
        raise at.fault("has a negative duration", "negative_duration")
    age = row.get("event_age_hours")
    return PlanSource(
        id=at.text(row, "id"),
        duration=duration,
        rate=rate,
        event=at.optional_text(row, "event"),
        attributed=at.flag(row, "attributed"),
        terms=at.choice(row, "terms", ("own", "licensed", "open", "third_party"), "third_party"),
        event_ended=at.moment(row, "event_ended"),
        event_age_hours=None if age is None else at.number(age, "event_age_hours"),
    )


def _rate(value: Any, at: Place) -> Fraction | None:
    if value is None:
        return None
    if not isinstance(value, dict):
        rate = at.number(value, "rate")
    else:
        num, den = (at.number(value.get(part), f"rate.{part}") for part in ("num", "den"))
        if den == 0:
            raise at.fault("has a rate that divides by zero")
        rate = num / den
    if not RATES[0] <= rate <= RATES[1]:
        raise at.fault("needs a rate between 1/1000 and 100000 frames per second")
    return rate


def _once_each(sources: list[PlanSource]) -> dict[str, PlanSource]:
    by_id: dict[str, PlanSource] = {}
    for n, source in enumerate(sources):
        if source.id in by_id:
            raise PlanError("malformed", f"Sources[{n}] has the id {source.id[:40]!r} a second time.")
        by_id[source.id] = source
    return by_id


def _segment(row: Any, at: Place, sources: dict[str, PlanSource], ignored: list[str]) -> Segment:
    row = at.object(row)
    kind = at.choice(row, "kind", ("own", "excerpt"), "")
    if kind == "own":
        at.only(row, {"kind", "duration"}, ignored)
        duration = at.time(row.get("duration"), "duration", None)
        if duration < 0:
            raise at.fault("has a negative duration", "negative_duration")
        return OwnSegment(duration)
    if kind != "excerpt":
        raise at.fault('needs "own" or "excerpt" under "kind"')
    at.only(row, _EXCERPT_KEYS, ignored)
    main = _view(row, at, sources)
    beside = row.get("beside")
    if beside is not None:
        beside_at = Place(f"{at.name}, beside,", at.segment)
        beside_at.only(beside_at.object(beside), _VIEW_KEYS, ignored)
        beside = _view(beside, beside_at, sources)
    return ExcerptSegment(
        main=main,
        beside=beside,
        annotated=at.choice(row, "annotated", ("none", "hold", "all"), "none"),
        purpose=at.optional_text(row, "purpose") or "",
    )


def _view(row: dict[str, Any], at: Place, sources: dict[str, PlanSource]) -> View:
    key = row.get("source")
    if not isinstance(key, str) or key not in sources:
        raise at.fault(f"names the source {_short(key)}, which the plan does not list", "unknown_source")
    source = sources[key]
    weight = Fraction(1) if row.get("weight") is None else at.number(row["weight"], "weight")
    if weight < 0:
        raise at.fault('has a negative "weight"')
    view = View(
        source=key,
        start=at.time(row.get("in"), "in", source.rate),
        end=at.time(row.get("out"), "out", source.rate),
        speed=Fraction(1) if row.get("speed") is None else at.number(row["speed"], "speed"),
        hold=Fraction(0) if row.get("hold") is None else at.time(row["hold"], "hold", source.rate),
        muted=at.flag(row, "muted"),
        mirrored=at.flag(row, "mirrored"),
        reverse=at.flag(row, "reverse"),
        keep=_keep(row.get("keep"), at, source.rate),
        weight=weight,
    )
    _possible(view, source, at)
    return view


def _possible(view: View, source: PlanSource, at: Place) -> None:
    """Raise PlanError with the fixed code of the first thing that cannot be."""
    start, end, length = (rational_text(value) for value in (view.start, view.end, source.duration))
    if view.start < 0:
        raise at.fault(f"starts at {start} s, before its source does", "before_source_start")
    if view.start > view.end:
        raise at.fault(f"has its in point ({start} s) after its out point ({end} s)", "in_after_out")
    if view.end > source.duration:
        raise at.fault(f"ends at {end} s, but its source is {length} s long", "beyond_source_end")
    if view.speed <= 0:
        raise at.fault("needs a speed above 0", "speed_not_positive")
    if view.hold < 0:
        raise at.fault("has a negative hold", "negative_hold")
    if not SPEEDS[0] <= view.speed <= SPEEDS[1]:
        raise at.fault("has a speed outside 10^-9 to 10^9")
    if any(not view.start <= a <= b <= view.end for a, b in view.keep):
        raise at.fault('has a moment to "keep" that does not lie inside it', "keep_outside_excerpt")


def _keep(value: Any, at: Place, rate: Fraction | None) -> tuple[Interval, ...]:
    if value is None:
        return ()
    if not isinstance(value, list) or any(not isinstance(pair, list) or len(pair) != 2 for pair in value):
        raise at.fault('must give "keep" as a list of pairs [in, out]')
    return tuple((at.time(a, "keep", rate), at.time(b, "keep", rate)) for a, b in value)


def _narration(value: Any, at: Place, ignored: list[str]) -> Narration:
    if value is None:
        return Narration()
    value = at.object(value)
    at.only(value, {"intervals", "words", "wpm"}, ignored)
    intervals = _spoken(value, at) if value.get("intervals") is not None else None
    if value.get("words") is None:
        return Narration(intervals)
    words, wpm = at.number(value["words"], "words"), at.number(value.get("wpm"), "wpm")
    if words < 0 or words.denominator != 1:
        raise at.fault('needs a whole count of "words", not below 0')
    if wpm < Fraction(1, 1000):
        raise at.fault('needs a "wpm" (words a minute) of at least 1/1000')
    return Narration(intervals, int(words), wpm)


def _spoken(value: dict[str, Any], at: Place) -> IntervalSet:
    pairs: list[Interval] = []
    for n, pair in enumerate(at.rows(value, "intervals")):
        if not isinstance(pair, list) or len(pair) != 2:
            raise at.fault(f"must give interval {n} as a pair [start, end]")
        start, end = (at.time(moment, f"intervals[{n}]", None) for moment in pair)
        if start > end:
            raise at.fault(f"has interval {n} ending before it starts")
        pairs.append((start, end))
    return IntervalSet(pairs)


def _policy(value: Any, at: Place) -> str | dict[str, Any] | None:
    if value is None or isinstance(value, str | dict):
        return value
    raise at.fault('needs the name of a policy, or a policy object, under "policy"')


def _countable(plan: Plan) -> None:
    """Refuse plans whose exact sums would have thousands of digits."""
    common = 1
    for n, segment in enumerate(plan.segments):
        for value in _numbers(segment):
            common = lcm(common, value.denominator)
        if common.bit_length() > DENOMINATOR_BITS:
            raise PlanError(
                "malformed", f"Segment {n} makes the exact sums unwieldy: use plainer numbers.", n
            )
    for moment in (moment for pair in plan.narration.intervals or () for moment in pair):
        common = lcm(common, moment.denominator)
        if common.bit_length() > DENOMINATOR_BITS:
            raise PlanError("malformed", "Narration makes the exact sums unwieldy: use plainer numbers.")


def _numbers(segment: Segment) -> list[Fraction]:
    if isinstance(segment, OwnSegment):
        return [segment.duration]
    return [number for view in segment.views for number in (view.start, view.end, view.hold, view.moving)]


# --- writing -----------------------------------------------------------------------------------


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """The PLAN document; reading it again gives an equal plan. Times as rational seconds."""
    made: dict[str, Any] = {
        "sources": [_source_to_json(source) for source in plan.sources],
        "segments": [segment_to_json(segment) for segment in plan.segments],
    }
    narration = _narration_to_json(plan.narration)
    optional = {
        "narration": narration or None,
        "policy": plan.policy,
        "published": plan.published and plan.published.isoformat(),
        "withdrawn": plan.withdrawn and plan.withdrawn.isoformat(),
    }
    return made | {key: value for key, value in optional.items() if value is not None}


def _source_to_json(source: PlanSource) -> dict[str, Any]:
    rate = source.rate and {"num": source.rate.numerator, "den": source.rate.denominator}
    made = {
        "id": source.id,
        "duration": rational_text(source.duration),
        "rate": rate,
        "event": source.event,
        "attributed": source.attributed,
        "terms": source.terms,
        "event_ended": source.event_ended and source.event_ended.isoformat(),
        "event_age_hours": None if source.event_age_hours is None else rational_text(source.event_age_hours),
    }
    return {key: value for key, value in made.items() if value is not None}


def segment_to_json(segment: Segment) -> dict[str, Any]:
    """One segment of the PLAN document; what equals its default is left out."""
    if isinstance(segment, OwnSegment):
        return {"kind": "own", "duration": rational_text(segment.duration)}
    made: dict[str, Any] = {"kind": "excerpt", **_view_to_json(segment.main), "annotated": segment.annotated}
    if segment.purpose:
        made["purpose"] = segment.purpose
    if segment.beside is not None:
        made["beside"] = _view_to_json(segment.beside)
    return made


def _view_to_json(view: View) -> dict[str, Any]:
    made: dict[str, Any] = {
        "source": view.source,
        "in": rational_text(view.start),
        "out": rational_text(view.end),
        "speed": rational_text(view.speed),
        "hold": rational_text(view.hold),
        "muted": view.muted,
        "mirrored": view.mirrored,
        "reverse": view.reverse,
    }
    if view.keep:
        made["keep"] = [[rational_text(a), rational_text(b)] for a, b in view.keep]
    if view.weight != 1:
        made["weight"] = rational_text(view.weight)
    return made


def _narration_to_json(narration: Narration) -> dict[str, Any]:
    made: dict[str, Any] = {}
    if narration.intervals is not None:
        made["intervals"] = [[rational_text(a), rational_text(b)] for a, b in narration.intervals]
    if narration.words is not None and narration.wpm is not None:
        made |= {"words": narration.words, "wpm": rational_text(narration.wpm)}
    return made
