"""What ``fit`` is asked: pictures in order, the time that their words take, and limits.

The limits' names and defaults are data (``data/fit_limits.csv``). Faulty plans raise PlanError with the number
of the picture, counted from 0, as the segment.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from fractions import Fraction
from functools import cache
from typing import Any

from breakdowns.footage.timebase import rational_text

from .plan import Place, PlanError, PlanSource, source_from_json
from .rules import unique
from .tables import DataError, read_table

__all__ = ["FitLimits", "FitPlan", "Picture", "default_limits", "fit_plan_from_json"]

MOST_PICTURES = 10_000
_KEYS = {"rate", "sources", "picture", "words_seconds", "limits"}
_PICTURE_KEYS = {"source", "in", "out", "marks"}


@dataclass(frozen=True)
class FitLimits:
    """Speeds as ratios, holds in seconds. Each hold lasts ``min_hold`` to ``max_hold`` or is not there."""

    min_speed: Fraction
    max_speed: Fraction
    min_hold: Fraction
    max_hold: Fraction
    max_holds: int
    max_holds_elsewhere: int

    def as_json(self) -> dict[str, str]:
        return {field.name: rational_text(Fraction(getattr(self, field.name))) for field in fields(self)}


@dataclass(frozen=True)
class Picture:
    """[start, end) of a source in source seconds; ``marks``: moments worth stopping at, the dearest first."""

    source: str
    start: Fraction
    end: Fraction
    marks: tuple[Fraction, ...] = ()

    @property
    def seconds(self) -> Fraction:
        return self.end - self.start


@dataclass(frozen=True)
class FitPlan:
    """``rate`` in frames per second of the piece, ``words_seconds`` as spoken or estimated."""

    rate: Fraction
    pictures: tuple[Picture, ...]
    words_seconds: Fraction
    limits: FitLimits
    ignored: tuple[str, ...] = ()


@cache
def _defaults() -> dict[str, Fraction]:
    rows = read_table("fit_limits.csv", ("key", "value", "unit", "note", "source"))
    faults = [fault for row in rows for fault in row.missing()] + unique(rows, "key")
    made = {row["key"]: row.number("value") for row in rows}
    names = {field.name for field in fields(FitLimits)}
    if set(made) != names:
        faults.append(f"fit_limits.csv: must hold {', '.join(sorted(names))} and nothing else.")
    if faults:
        raise DataError(faults)
    return made


def default_limits() -> FitLimits:
    """The limits where nobody gives any. Raises DataError for a table that contradicts itself."""
    return _limits(dict(_defaults()), Place("fit_limits.csv"))


def _limits(values: dict[str, Fraction], at: Place) -> FitLimits:
    if not 0 < values["min_speed"] <= 1 <= values["max_speed"]:
        raise at.fault(
            "needs a min_speed above 0 and at most 1, and a max_speed of at least 1", "limits_contradict"
        )
    if not 0 <= values["min_hold"] <= values["max_hold"]:
        raise at.fault("needs a min_hold of at least 0 and at most max_hold", "limits_contradict")
    for name in ("max_holds", "max_holds_elsewhere"):
        if values[name] < 0 or values[name].denominator != 1:
            raise at.fault(f"needs a whole number under {name}, not below 0")
    return FitLimits(
        min_speed=values["min_speed"],
        max_speed=values["max_speed"],
        min_hold=values["min_hold"],
        max_hold=values["max_hold"],
        max_holds=int(values["max_holds"]),
        max_holds_elsewhere=int(values["max_holds_elsewhere"]),
    )


def fit_plan_from_json(document: dict[str, Any]) -> FitPlan:
    """The plan in a JSON object. Raises PlanError with the first fault.

    ``sources`` may be given as in a ledger plan; then frames can be counted and lengths are checked.
    """
    at, ignored = Place("plan"), list[str]()
    at.only(document, _KEYS, ignored)
    rate = at.number(document.get("rate"), "rate")
    if not Fraction(1, 1000) <= rate <= 100_000:
        raise at.fault("needs a rate between 1/1000 and 100000 frames per second")
    words = at.time(document.get("words_seconds"), "words_seconds", rate)
    if words < 0:
        raise at.fault('has a negative "words_seconds"', "negative_duration")
    sources = None
    if document.get("sources") is not None:
        rows = enumerate(at.rows(document, "sources"))
        found = [source_from_json(row, Place(f"sources[{n}]"), ignored) for n, row in rows]
        sources = {source.id: source for source in found}
    rows_of_pictures = at.rows(document, "picture")
    if len(rows_of_pictures) > MOST_PICTURES:
        raise at.fault(f"has {len(rows_of_pictures)} pictures: {MOST_PICTURES} is the most")
    pictures = tuple(
        _picture(row, Place(f"picture {n}", n), sources, ignored) for n, row in enumerate(rows_of_pictures)
    )
    limits = _given_limits(document.get("limits"), ignored)
    return FitPlan(rate, pictures, words, limits, tuple(ignored))


def _given_limits(value: Any, ignored: list[str]) -> FitLimits:
    at = Place("limits")
    values = dict(_defaults())
    if value is None:
        return _limits(values, at)
    given = at.object(value)
    at.only(given, set(values), ignored)
    said = {key: at.number(given[key], key) for key in values if given.get(key) is not None}
    # A default gives way to what is asked for: a max_hold below the usual min_hold lowers that too.
    if "max_hold" in said and "min_hold" not in said:
        values["min_hold"] = min(values["min_hold"], said["max_hold"])
    if "min_hold" in said and "max_hold" not in said:
        values["max_hold"] = max(values["max_hold"], said["min_hold"])
    return _limits(values | said, at)


def _picture(row: Any, at: Place, sources: dict[str, PlanSource] | None, ignored: list[str]) -> Picture:
    row = at.object(row)
    at.only(row, _PICTURE_KEYS, ignored)
    key = at.text(row, "source")
    if sources is not None and key not in sources:
        raise at.fault(f"names the source {key[:40]!r}, which the plan does not list", "unknown_source")
    source = sources[key] if sources is not None else None
    rate = source.rate if source is not None else None
    made = Picture(key, at.time(row.get("in"), "in", rate), at.time(row.get("out"), "out", rate))
    if made.start < 0:
        raise at.fault("starts before its source does", "before_source_start")
    if made.start > made.end:
        raise at.fault("has its in point after its out point", "in_after_out")
    if source is not None and made.end > source.duration:
        length = rational_text(source.duration)
        raise at.fault(f"ends beyond its source, which is {length} s long", "beyond_source_end")
    marks = row.get("marks")
    if marks is None:
        return made
    if not isinstance(marks, list):
        raise at.fault('needs a list of times under "marks"')
    moments = tuple(dict.fromkeys(at.time(mark, "marks", rate) for mark in marks))
    if any(not made.start <= moment <= made.end for moment in moments):
        raise at.fault("has a mark that does not lie inside it", "mark_outside_picture")
    return replace(made, marks=moments)


def refuse_too_many_stills(plan: FitPlan) -> None:
    """Pictures without movement can only be held. Raises PlanError where that needs too many holds."""
    stills = [number for number, picture in enumerate(plan.pictures) if not picture.seconds]
    if len(stills) > plan.limits.max_holds:
        sentence = (
            f"Picture {stills[plan.limits.max_holds]} stands still like {plan.limits.max_holds} before it, and "
            f"no more than {plan.limits.max_holds} may be held: raise max_holds or let it move."
        )
        raise PlanError("too_many_stills", sentence, stills[plan.limits.max_holds])
