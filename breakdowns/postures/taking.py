"""Joint angles taken over from a still: from its marked landmarks where the view makes that safe, or from the places in space
that the pose model gave with them, once somebody has confirmed them. What can't be taken over says why.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np

from anatomy.motion.space import SpaceAngle, joint_angles
from anatomy.muscles.coordinates import Coordinate, find_motion
from anatomy.muscles.faults import PostureError
from anatomy.muscles.position import checked
from breakdowns.stills.marks import MarksDocument
from breakdowns.stills.measures import MeasureRow

from .state import Angle, field_name

__all__ = ["VIEWS", "TakenAngle", "from_marks", "from_space", "view_told"]

VIEWS = {
    "": "not said",
    "side": "from the side, square on",
    "front": "from the front or from behind",
    "above": "from above",
    "between": "from somewhere between",
}
FURTHEST_OUT = 25.0
"""Degrees out of the picture plane, as the pose model has it, beyond which an angle in the picture is not taken over; own
choice, no source: at 25° a length shows 9 % short."""
_SAYS_SIDE = re.compile(r"\b(side[- ]?(on|view)?|lateral|profile|sagittal)\b", re.IGNORECASE)
_SAYS_ABOVE = re.compile(r"\b(overhead|above|top|bird)", re.IGNORECASE)
_SEGMENTS = {"knee_flexion": ("hip", "knee", "ankle"), "hip_flexion": ("hip", "knee"), "ankle_dorsiflexion": ("knee", "ankle")}  # fmt: skip


@dataclass(frozen=True)
class TakenAngle:
    """One angle of a still. ``angle`` None: it can't be taken over, and ``why`` says so; else ``why`` says what it means."""

    coordinate: Coordinate
    measured: str
    angle: Angle | None
    why: str

    @property
    def field(self) -> str:
        return field_name(self.coordinate)


@dataclass(frozen=True)
class _Rule:
    origin: str
    measure: str
    coordinate: Coordinate
    view: str
    least_sd: float | None
    least_value: float | None
    why: str
    source: str


@cache
def _rules(origin: Literal["marks", "space"]) -> tuple[_Rule, ...]:
    path = Path(__file__).with_name("data") / "taking.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["origin"] == origin]
    return tuple(
        _Rule(
            row["origin"],
            row["measure"],
            find_motion(row["joint"], row["motion"])[0],
            row["view"],
            float(row["least_sd"]) if row["least_sd"] else None,
            float(row["least_value"]) if row["least_value"] else None,
            row["why"],
            row["source"],
        )
        for row in rows
    )


def view_told(*texts: str) -> str:
    """The view that a name of a camera tells, for the form to begin with; "" where it tells none."""
    said = " ".join(texts)
    if _SAYS_ABOVE.search(said):
        return "above"
    return "side" if _SAYS_SIDE.search(said) else ""


def from_marks(document: MarksDocument, measures: list[MeasureRow], side: str, view: str) -> list[TakenAngle]:
    """The angles of one side as the picture shows them; ``measures`` are the still's."""
    by_key = {row.key: row for row in measures if not row.mark_id}
    return [
        _of_measure(rule, by_key[f"{side}_{rule.measure}"], document, side, view)
        for rule in _rules("marks")
        if f"{side}_{rule.measure}" in by_key
    ]


def _of_measure(rule: _Rule, row: MeasureRow, document: MarksDocument, side: str, view: str) -> TakenAngle:
    measured = "" if row.value is None else f"{row.value:.0f}°"
    refused = _refused(rule, row, document, side, view)
    if refused or row.value is None or rule.least_sd is None:
        return TakenAngle(rule.coordinate, measured, None, refused or row.why or rule.why)
    return _settled(rule, measured, row.value, max(row.sd or 0.0, rule.least_sd))


def _refused(rule: _Rule, row: MeasureRow, document: MarksDocument, side: str, view: str) -> str:
    """Why this measure is not safe to take over; "" where it is."""
    if row.value is None or rule.least_sd is None:
        return ""
    if row.suggested:
        return "some of its points are only suggested: confirm or move them on the still first"
    if "outside the picture" in row.caution:
        return "one of its points lies outside the picture"
    if view != rule.view:
        return f"safe only where the camera looks {VIEWS[rule.view]}; say where it stood, if so"
    out = _furthest_out(document, side, rule.measure)
    if out > FURTHEST_OUT:
        return f"the pose model has the limb {out:.0f}° out of the picture plane"
    if rule.least_value is not None and row.value < rule.least_value:
        return rule.why
    return ""


def _furthest_out(document: MarksDocument, side: str, measure: str) -> float:
    """The larger tilt out of the picture plane of the segments used, as the pose model has them; 0 where it said nothing."""
    found = 0.0
    for a, b in pairwise(_SEGMENTS.get(measure, ())):
        start, end = (document.landmarks.get(f"{side}_{part}") for part in (a, b))
        if start and end and start.space and end.space:
            x, y, z = (one - other for one, other in zip(end.space, start.space, strict=True))
            found = max(found, math.degrees(math.atan2(abs(z), math.hypot(x, y))))
    return found


def _settled(rule: _Rule, measured: str, value: float, sd: float) -> TakenAngle:
    degrees, error = round(value), float(math.ceil(sd))
    try:
        checked(rule.coordinate, degrees)
    except PostureError as fault:
        return TakenAngle(rule.coordinate, measured, None, str(fault))
    why = f"{rule.why} ({rule.source})" if rule.source else rule.why
    return TakenAngle(rule.coordinate, measured, Angle(float(degrees), error), why)


def from_space(document: MarksDocument, side: str) -> list[TakenAngle]:
    """The angles of one side from the pose model's places in space of confirmed landmarks: a guess, with its error."""
    points = {
        name: np.array(row.space)
        for name, row in document.landmarks.items()
        if row.space is not None and row.state == "confirmed"
    }
    if not points:
        return []
    found = joint_angles(points)
    return list(_of_space(found, document, side))


def _of_space(found: Mapping[str, SpaceAngle], document: MarksDocument, side: str) -> Iterator[TakenAngle]:
    for rule in _rules("space"):
        angle = found[f"{side}_{rule.measure}"]
        if angle.value is None:
            yield TakenAngle(rule.coordinate, "", None, _missing(angle.why, document))
        elif rule.least_sd is None:
            yield TakenAngle(rule.coordinate, f"{angle.value:.0f}°", None, rule.why)
        else:
            yield _settled(rule, f"{angle.value:.0f}°", angle.value, rule.least_sd)


def _missing(why: str, document: MarksDocument) -> str:
    """A point that is there but not confirmed, or moved since, is told as such."""
    said = why.removeprefix("the ").removesuffix(" is missing")
    row = document.landmarks.get(said.replace(" ", "_")) if why.endswith("is missing") else None
    if row is None:
        return why
    if row.state == "suggested":
        return f"the {said} is only suggested: confirm it on the still first"
    return f"the {said} was placed by hand, so the pose model’s depth no longer holds"
