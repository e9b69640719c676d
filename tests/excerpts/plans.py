"""Plans for the excerpt tests: small builders, and random plans for properties.

Everything is invented: handball footage from two cameras, "baseline" and "overhead", and a third
work of its own.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from breakdowns.excerpts.intervals import IntervalSet
from breakdowns.excerpts.plan import (
    ExcerptSegment,
    Narration,
    OwnSegment,
    Plan,
    PlanSource,
    View,
)

RATE = Fraction(10)
SPEEDS = [Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(2), Fraction(4)]


def source(key: str, duration: str = "100", rate: str = "10", event: str | None = None, **more) -> PlanSource:
    return PlanSource(key, Fraction(duration), Fraction(rate), event, **more)


def shot(key: str, start: str, end: str, speed: str = "1", hold: str = "0", **more) -> ExcerptSegment:
    """An excerpt segment with one view; ``annotated``, ``purpose`` and ``beside`` go to the segment."""
    outer = {name: more.pop(name) for name in ("annotated", "purpose", "beside") if name in more}
    view = View(key, Fraction(start), Fraction(end), Fraction(speed), Fraction(hold), **more)
    return ExcerptSegment(view, **outer)


def own(seconds: str) -> OwnSegment:
    return OwnSegment(Fraction(seconds))


def piece(*segments, sources=None, spoken=None, **more) -> Plan:
    """A plan; sources "A" and "B" share an event, "C" has none."""
    sources = sources or (source("A", event="semi-final"), source("B", event="semi-final"), source("C"))
    narration = more.pop("narration", Narration())
    if spoken is not None:
        narration = Narration(IntervalSet((Fraction(a), Fraction(b)) for a, b in spoken))
    return Plan(tuple(sources), tuple(segments), narration, **more)


# --- random ------------------------------------------------------------------------------------

LENGTHS = {"A": 120, "B": 80, "C": 60}  # frames at RATE


@st.composite
def views(draw, keys="ABC") -> View:
    key = draw(st.sampled_from(keys))
    start, end = sorted((draw(st.integers(0, LENGTHS[key])), draw(st.integers(0, LENGTHS[key]))))
    return View(
        source=key,
        start=start / RATE,
        end=end / RATE,
        speed=draw(st.sampled_from(SPEEDS)),
        hold=Fraction(draw(st.sampled_from([0, 0, 1, 3, 12])), 10),
        muted=draw(st.booleans()),
        mirrored=draw(st.booleans()),
        reverse=draw(st.booleans()),
    )


@st.composite
def excerpts(draw, keys="ABC") -> ExcerptSegment:
    beside = draw(st.one_of(st.none(), st.none(), views(keys)))
    return ExcerptSegment(
        main=draw(views(keys)),
        beside=beside,
        annotated=draw(st.sampled_from(["none", "hold", "all"])),
        purpose=draw(st.sampled_from(["", "how the shoulder leads"])),
    )


owns = st.integers(0, 40).map(lambda tenths: OwnSegment(Fraction(tenths, 10)))
narrations = st.one_of(
    st.just(Narration()),
    st.lists(st.tuples(st.integers(-20, 600), st.integers(0, 90)), max_size=5).map(
        lambda pairs: Narration(IntervalSet((Fraction(a, 10), Fraction(a + n, 10)) for a, n in pairs))
    ),
    st.tuples(st.integers(0, 200), st.integers(60, 200)).map(
        lambda it: Narration(None, it[0], Fraction(it[1]))
    ),
)


@st.composite
def plans(draw, most: int = 7, terms: bool = True) -> Plan:
    kinds = ["third_party", "third_party", "third_party", "own", "open"] if terms else ["third_party"]
    sources = tuple(
        PlanSource(
            key,
            Fraction(frames) / RATE,
            RATE,
            event=None if key == "C" else "semi-final",
            attributed=draw(st.booleans()),
            terms=draw(st.sampled_from(kinds)),
            event_age_hours=draw(st.one_of(st.none(), st.integers(0, 60).map(Fraction))),
        )
        for key, frames in LENGTHS.items()
    )
    segments = draw(st.lists(st.one_of(excerpts(), excerpts(), owns), max_size=most))
    return Plan(sources, tuple(segments), draw(narrations))


def with_segments(plan: Plan, segments) -> Plan:
    return replace(plan, segments=tuple(segments))
