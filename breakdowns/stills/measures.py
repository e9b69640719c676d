"""What can be measured from the marks and landmarks of one still, with its error and what makes it unsafe.

Angles, lengths, errors and foreshortening are all `anatomy.motion`'s; this module only names them. A point of a mark that
follows a landmark shares that landmark's click error.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from anatomy.motion.angles import SAME_PLACE, Angle, Direction, Fold, angle_series
from anatomy.motion.catalogue import MEASURES
from anatomy.motion.curves import AUTOMATIC
from anatomy.motion.document import FrameRow, Request
from anatomy.motion.foreshortening import worst_error
from anatomy.motion.lengths import Length, length_series
from anatomy.motion.measure import TILTS, measure
from anatomy.motion.points import Floats, Picture, at
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.packaged import packaged_vocabulary

from .marks import Mark, MarksDocument, Spot
from .picture import PictureFacts

__all__ = ["CLICK_SD_PX", "MeasureRow", "measures_of"]

CLICK_SD_PX = 1.5
"""Standard deviation of a click, pixels, until somebody measures their own: the preset of the measuring command."""
_HARDLY_SEEN = (
    0.5  # the pose model's visibility below which a point is drawn as guessed; reference: media notes
)
_IN_PLANE = "in the picture plane"


@dataclass(frozen=True)
class MeasureRow:
    """One measure: ``value`` and ``sd`` in ``unit``, or None and ``why``. ``where`` says how it is meant, ``caution``
    what makes it unsafe, ``normal`` the published range beside it; ``suggested``: a point of it is not confirmed."""

    key: str
    name: str
    value: float | None
    sd: float | None
    unit: str
    where: str = ""
    caution: str = ""
    why: str = ""
    normal: str = ""
    suggested: bool = False
    mark_id: str = ""


def measures_of(
    document: MarksDocument,
    facts: PictureFacts,
    vocabulary: Vocabulary | None = None,
    click_sd_px: float = CLICK_SD_PX,
) -> list[MeasureRow]:
    """Every measure of the marks that are shown, in their order, then of the landmarks. Raises nothing: what is not
    defined is None with the reason. ``vocabulary`` None means the packaged one."""
    plane = _Plane(document, facts, click_sd_px)
    found = [row for mark in document.marks if mark.shown for row in _of_mark(mark, plane)]
    return found + list(_of_body(document, facts, vocabulary or packaged_vocabulary(), click_sd_px))


@dataclass(frozen=True)
class _Plane:
    """The points of marks on the plane of `anatomy.motion`, under names of their own."""

    document: MarksDocument
    facts: PictureFacts
    click_sd_px: float

    def name(self, mark_id: str, number: int, spot: Spot) -> str:
        return spot if isinstance(spot, str) else f"{mark_id}.{number}"

    def points(self, mark_id: str, spots: tuple[Spot, ...]) -> dict[str, Floats]:
        plane = Picture(self.facts.pixel_aspect)
        found = {}
        for number, spot in enumerate(spots):
            place = self.document.place(spot)
            pixels = np.full((1, 2), np.nan) if place is None else np.array([place], float)
            found[self.name(mark_id, number, spot)] = plane.on_plane(pixels)
        return found

    def suggested(self, spots: tuple[Spot, ...]) -> bool:
        names = [spot for spot in spots if isinstance(spot, str)]
        return any(
            name in self.document.landmarks and self.document.landmarks[name].state == "suggested"
            for name in names
        )

    def missing(self, spots: tuple[Spot, ...]) -> list[str]:
        return [spot for spot in spots if isinstance(spot, str) and spot not in self.document.landmarks]


def _of_mark(mark: Mark, plane: _Plane) -> Iterator[MeasureRow]:
    spots = mark.points
    names = [plane.name(mark.id, number, spot) for number, spot in enumerate(spots)]
    points = plane.points(mark.id, spots)
    said = f" “{mark.text}”" if mark.text else ""
    if mark.kind in ("line", "arrow"):
        line = Direction(at(names[0]), at(names[1]))
        fold: Fold = "line" if mark.kind == "line" else "signed"
        yield _angle_row(mark, plane, points, Angle(0.0, line, fold), f"{mark.kind}{said} to the horizontal")
        if plane.document.scale is not None:
            yield _length_row(mark, plane, points, line, f"length of {mark.kind}{said}")
    elif mark.kind == "angle":
        sides = Direction(at(names[1]), at(names[0])), Direction(at(names[1]), at(names[2]))
        yield _angle_row(mark, plane, points, Angle(*sides, "unsigned"), f"angle{said}")
    elif mark.kind == "pair":
        lines = Direction(at(names[0]), at(names[1])), Direction(at(names[2]), at(names[3]))
        name = f"from {first} to {second}" if (first := _part(mark, 0)) and (second := _part(mark, 1)) else ""
        yield _angle_row(mark, plane, points, Angle(*lines), name or f"angle between the lines{said}")
    elif mark.kind == "polyline":
        yield _way_row(mark, plane, points, names, f"length along the polyline{said}")


def _part(mark: Mark, number: int) -> str:
    parts = [part.strip() for part in mark.text.split(";", 1)]
    return parts[number] if len(parts) == 2 else ""


def _undefined(mark: Mark, plane: _Plane, name: str, key: str, unit: str, why: str) -> MeasureRow:
    missing = plane.missing(mark.points)
    if missing:
        words = " and ".join(one.replace("_", " ") for one in missing)
        why = f"it follows {words}, not placed on this still"
    return MeasureRow(key, name, None, None, unit, why=why, mark_id=mark.id)


def _angle_row(
    mark: Mark, plane: _Plane, points: Mapping[str, Floats], angle: Angle, name: str
) -> MeasureRow:
    series = angle_series(angle, points)
    value = float(series.degrees[0])
    if not math.isfinite(value):
        why = "two of its points lie at one place, so a line has no direction: move one of them"
        return _undefined(mark, plane, name, "angle", "deg", why)
    sd = float(series.sd(plane.click_sd_px)[0])
    return MeasureRow(
        "angle",
        name,
        _rounded(value),
        _rounded(sd),
        "deg",
        where=_tilted(angle, value),
        caution="its lines are so short against the click error that it says little" if sd > 20 else "",
        suggested=plane.suggested(mark.points),
        mark_id=mark.id,
    )


def _tilted(angle: Angle, value: float) -> str:
    """How it is meant, and what tilts out of the picture can do to it (`foreshortening`)."""
    folded = min(abs(value), 180.0)
    tilted = "one" if isinstance(angle.first, float) else "both"
    errors = [float(worst_error(folded, tilt, tilted)) for tilt in TILTS]  # type: ignore[arg-type]
    return _tilt_words(errors)


def _tilt_words(errors: list[float]) -> str:
    figures = ", ".join(f"{error:.0f}°" if error >= 1 else f"{error:.1f}°" for error in errors)
    return f"{_IN_PLANE}; tilts of 10°, 20°, 30° out of it can change it by up to {figures}"


def _length_row(
    mark: Mark, plane: _Plane, points: Mapping[str, Floats], line: Direction, name: str
) -> MeasureRow:
    scale = plane.document.scale
    assert scale is not None
    names = [plane.name("scale", number, spot) for number, spot in enumerate(scale.points)]
    known = plane.points("scale", scale.points)
    length = Length(
        line, Direction(at(names[0]), at(names[1])), float(scale.length), float(scale.sd), scale.unit
    )
    value, sd = length_series(length, {**points, **known}, plane.click_sd_px)
    if not math.isfinite(float(value[0])):
        why = "its ends, or those of the known length, lie at one place: move one of them"
        return _undefined(mark, plane, name, "length", scale.unit, why)
    return MeasureRow(
        "length",
        name,
        _rounded(float(value[0])),
        _rounded(float(sd[0])),
        scale.unit,
        where=f"by the known length of {float(scale.length):g} {scale.unit}, as far as both lie in one plane",
        suggested=plane.suggested((*mark.points, *scale.points)),
        mark_id=mark.id,
    )


def _way_row(
    mark: Mark, plane: _Plane, points: Mapping[str, Floats], names: list[str], name: str
) -> MeasureRow:
    """The length along a polyline in the picture's pixels. A click moves both neighbouring steps: JCGM 100, 5.1.2."""
    chain = np.array([points[one][0] for one in names])
    steps = np.diff(chain, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    if not np.all(np.isfinite(lengths)) or np.any(lengths <= SAME_PLACE):
        why = "two neighbouring points lie at one place: move one of them"
        return _undefined(mark, plane, name, "way", "px", why)
    unit = steps / lengths[:, None]
    gradient: dict[str, Floats] = {one: np.zeros(2) for one in names}
    for number in range(len(steps)):
        gradient[names[number]] = gradient[names[number]] - unit[number]
        gradient[names[number + 1]] = gradient[names[number + 1]] + unit[number]
    sd = plane.click_sd_px * math.sqrt(sum(float(g @ g) for g in gradient.values()))
    return MeasureRow(
        "way",
        name,
        _rounded(float(lengths.sum())),
        _rounded(sd),
        "px",
        where=_IN_PLANE,
        suggested=plane.suggested(mark.points),
        mark_id=mark.id,
    )


# --- of the body ---------------------------------------------------------------------------------


@cache
def _names() -> dict[str, str]:
    path = Path(__file__).parent / "data" / "measure_names.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {row["key"]: row["words"] for row in csv.DictReader(file)}


def _of_body(
    document: MarksDocument, facts: PictureFacts, vocabulary: Vocabulary, click_sd_px: float
) -> Iterator[MeasureRow]:
    points = {name: row.at for name, row in document.landmarks.items()}
    want = tuple(key for key in _names() if all(name in points for name in MEASURES[key].landmarks))
    if not want:
        return
    request = Request(
        rate=Fraction(1),
        size=facts.size,
        picture=Picture(facts.pixel_aspect),
        click_sd_px=click_sd_px,
        frames=(FrameRow(0, points),),
        want=want,
        side="right",
        smoothing=AUTOMATIC,
        key_frames=(),
        lengths={},
        normal_ranges=True,
        ignored=(),
    )
    answer = measure(request, vocabulary)
    for key, row in answer["frames"][0]["measures"].items():
        yield _body_row(key, row, answer, document)


def _body_row(
    key: str, row: Mapping[str, Any], answer: Mapping[str, Any], document: MarksDocument
) -> MeasureRow:
    used = [document.landmarks[name] for name in MEASURES[key].landmarks]
    guessed = any(
        one.state == "suggested" and one.visibility is not None and one.visibility < _HARDLY_SEEN
        for one in used
    )
    cautions = [row.get("caution", "")]
    if guessed:
        cautions.append("the pose model hardly saw one of its points and guessed it")
    errors = list(answer["foreshortening"].get(key, {}).values())
    return MeasureRow(
        key,
        _names()[key],
        row["value"],
        row["sd"],
        row["unit"],
        where=_tilt_words(errors) if errors and row["value"] is not None else "",
        caution="; ".join(one for one in cautions if one),
        why=row.get("why", "").replace("_", " "),
        normal=_normal(row, answer),
        suggested=any(one.state == "suggested" for one in used),
    )


def _normal(row: Mapping[str, Any], answer: Mapping[str, Any]) -> str:
    """ "88 % of the published range of 135–150°"; empty where nothing is published."""
    share = row.get("percent_of_normal")
    if not share:
        return ""
    ranges = next(
        (
            found
            for key, found in answer.get("normal_ranges", {}).items()
            if found and key.split(": ", 1)[1] == share["motion"] and _same_end(found, share, row)
        ),
        None,
    )
    low, high = share["of_widest"], share["of_narrowest"]
    said = f"{low:.0f} %" if round(low) == round(high) else f"{low:.0f}–{high:.0f} %"
    if ranges is None:
        return f"{said} of normal {share['motion']}"
    ends = sorted({one["low"] for one in ranges} | {one["high"] for one in ranges})
    span = f"{ends[0]:g}°" if ends[0] == ends[-1] else f"{ends[0]:g}–{ends[-1]:g}°"
    sources = ", ".join(sorted({key for one in ranges for key in one["sources"]})[:3])
    return f"{said} of normal {share['motion']}, published at {span} ({sources})"


def _same_end(ranges: list[dict[str, Any]], share: Mapping[str, Any], row: Mapping[str, Any]) -> bool:
    """Whether these are the ranges that the share was taken of: the widest end gives the value back."""
    widest = max(one["high"] for one in ranges)
    return math.isclose(abs(row["value"]) / widest * 100, share["of_widest"], rel_tol=1e-3, abs_tol=0.01)


def _rounded(value: float) -> float:
    return round(value, 6) + 0.0
