"""What can be measured from one mark: inclination, angle, length and its share of what is known.

Angles, lengths and errors are `anatomy.motion`'s. A point of a mark that follows a landmark shares that landmark's
click error with every other point that follows it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from anatomy.motion.angles import SAME_PLACE, Angle, Direction, Fold, angle_series
from anatomy.motion.foreshortening import worst_error
from anatomy.motion.lengths import Length, length_series
from anatomy.motion.measure import TILTS
from anatomy.motion.points import Floats, Picture, at, middle

from .marks import Mark, MarksDocument, Scale, Spot
from .measure_row import IN_PLANE, MeasureRow, joined, outside_words, shortening_words, tilt_words
from .picture import PictureFacts

__all__ = ["Plane", "measures_of_mark"]

_SAYS_LITTLE = 20.0  # degrees of standard deviation, as in anatomy.motion.measure
_AT_ONE_PLACE = "two of its points lie at one place"
_TRUNK = Direction(middle("hip"), middle("shoulder"))


@dataclass(frozen=True)
class Plane:
    """The points of marks on the plane of `anatomy.motion`, under names of their own."""

    document: MarksDocument
    facts: PictureFacts
    click_sd_px: float

    def names(self, owner: str, spots: tuple[Spot, ...]) -> list[str]:
        """A landmark's own name for what follows it, else one that no landmark and no other owner has."""
        return [spot if isinstance(spot, str) else f"{owner}:{number}" for number, spot in enumerate(spots)]

    def points(self, owner: str, spots: tuple[Spot, ...]) -> dict[str, Floats]:
        """Places (1, 2) of the spots by name; NaN where the landmark is missing."""
        picture = Picture(self.facts.pixel_aspect)
        found = {}
        for name, spot in zip(self.names(owner, spots), spots, strict=True):
            place = self.document.place(spot)
            pixels = np.full((1, 2), np.nan) if place is None else np.array([place], float)
            found[name] = picture.on_plane(pixels)
        return found

    def suggested(self, spots: tuple[Spot, ...]) -> bool:
        """Whether one of the spots follows a suggestion that nobody confirmed."""
        followed = [self.document.landmarks.get(spot) for spot in spots if isinstance(spot, str)]
        return any(landmark is not None and landmark.state == "suggested" for landmark in followed)

    def missing(self, spots: tuple[Spot, ...]) -> list[str]:
        """The landmarks that spots follow and that are not there."""
        return [spot for spot in spots if isinstance(spot, str) and spot not in self.document.landmarks]

    def outside(self, spots: tuple[Spot, ...]) -> str:
        """A caution where spots lie outside the picture."""
        width, height = self.facts.size
        places = [place for spot in spots if (place := self.document.place(spot)) is not None]
        return outside_words(sum(not (0 <= x <= width and 0 <= y <= height) for x, y in places))


def measures_of_mark(mark: Mark, plane: Plane) -> Iterator[MeasureRow]:
    """Every measure of a mark; the first is the one that may stand beside it. What is undefined is None with the why."""
    names = plane.names(mark.id, mark.points)
    said = f" “{mark.text}”" if mark.text else ""
    if mark.kind in ("line", "arrow"):
        line = Direction(at(names[0]), at(names[1]))
        fold: Fold = "line" if mark.kind == "line" else "signed"
        yield _angle_row(mark, plane, Angle(0.0, line, fold), f"{mark.kind}{said} to the horizontal")
        yield from _line_lengths(mark, plane, line, f"{mark.kind}{said}")
    elif mark.kind == "angle":
        sides = Direction(at(names[1]), at(names[0])), Direction(at(names[1]), at(names[2]))
        yield _angle_row(mark, plane, Angle(*sides, "unsigned"), f"angle{said}")
    elif mark.kind == "pair":
        lines = Direction(at(names[0]), at(names[1])), Direction(at(names[2]), at(names[3]))
        parts = [part.strip() for part in mark.text.split(";", 1)]
        both = len(parts) == 2 and all(parts)
        name = f"from {parts[0]} to {parts[1]}" if both else f"angle between the lines{said}"
        yield _angle_row(mark, plane, Angle(*lines), name)
    elif mark.kind == "polyline":
        yield _way_row(mark, plane, names, f"length along the polyline{said}")


def _undefined(
    mark: Mark, plane: Plane, name: str, key: str, unit: str, why: str, spots: tuple[Spot, ...]
) -> MeasureRow:
    missing = plane.missing(spots)
    if missing:
        words = " and ".join(dict.fromkeys(one.replace("_", " ") for one in missing))
        why = f"it follows {words}, not placed on this still"
    return MeasureRow(key, name, None, None, unit, why=why, mark_id=mark.id)


# --- angles --------------------------------------------------------------------------------------


def _angle_row(mark: Mark, plane: Plane, angle: Angle, name: str) -> MeasureRow:
    series = angle_series(angle, plane.points(mark.id, mark.points))
    value = float(series.degrees[0])
    if not math.isfinite(value):
        why = f"{_AT_ONE_PLACE}, so a line has no direction: move one of them"
        return _undefined(mark, plane, name, "angle", "deg", why, mark.points)
    sd = float(series.sd(plane.click_sd_px)[0])
    return MeasureRow(
        "angle",
        name,
        _rounded(value),
        _rounded(sd),
        "deg",
        where=_tilted(angle, value),
        caution=joined(_doubt(angle, value, sd), plane.outside(mark.points)),
        suggested=plane.suggested(mark.points),
        mark_id=mark.id,
    )


def _doubt(angle: Angle, value: float, sd: float) -> str:
    """Where the standard deviation alone would mislead."""
    if sd > _SAYS_LITTLE:
        return "its lines are so short against the click error that it says little"
    if angle.fold == "unsigned" and min(value, 180 - value) < 2 * sd:
        return "so near to straight or folded, clicks can only push it one way; the spread is not symmetrical"
    return ""


def _tilted(angle: Angle, value: float) -> str:
    """How it is meant, and what tilts out of the picture can do to it (`foreshortening`)."""
    tilted = "one" if isinstance(angle.first, float) else "both"
    return tilt_words(float(worst_error(abs(value), tilt, tilted)) for tilt in TILTS)  # type: ignore[arg-type]


# --- lengths -------------------------------------------------------------------------------------


def _line_lengths(mark: Mark, plane: Plane, line: Direction, said: str) -> Iterator[MeasureRow]:
    """By the known length; as a share of the trunk; in pixels where there is neither."""
    scale = plane.document.scale
    if scale is not None:
        whole = _known(plane, scale)
        known = Length(line, whole, float(scale.length), float(scale.sd), scale.unit)
        yield _length_row(mark, plane, known, f"length of {said}", _by_known(scale), scale.points)
    trunk = tuple(name for name in _TRUNK.weights() if name in plane.document.landmarks)
    if len(trunk) == len(_TRUNK.weights()):
        share = Length(line, _TRUNK, 100.0, 0.0, "%")
        where = f"of the trunk from mid-hip to mid-shoulder, as far as both lie in one plane; {shortening_words()}"
        yield _length_row(mark, plane, share, f"length of {said} in the trunk’s", where, trunk, "share")
    elif scale is None:
        pixels = f"in pixels of the picture; {shortening_words()}"
        yield _length_row(mark, plane, Length(line), f"length of {said}", pixels, ())


def _known(plane: Plane, scale: Scale) -> Direction:
    first, second = plane.names("scale:", scale.points)
    return Direction(at(first), at(second))


def _by_known(scale: Scale) -> str:
    known = f"by the known length of {float(scale.length):g} {scale.unit}, as far as both lie in one plane"
    return f"{known}; {shortening_words()}"


def _length_row(
    mark: Mark,
    plane: Plane,
    length: Length,
    name: str,
    where: str,
    against: tuple[Spot, ...],
    key: str = "length",
) -> MeasureRow:
    """A length against that between the spots ``against``, those of the known length or of the body."""
    spots = (*mark.points, *against)
    points = plane.points(mark.id, mark.points) | plane.points("scale:", against)
    value, sd = length_series(length, points, plane.click_sd_px)
    if not math.isfinite(float(value[0])):
        why = "its ends, or those that it is measured by, lie at one place: move one of them"
        return _undefined(mark, plane, name, key, length.unit, why, spots)
    return MeasureRow(
        key,
        name,
        _rounded(float(value[0])),
        _rounded(float(sd[0])),
        length.unit,
        where=where,
        caution=plane.outside(spots),
        suggested=plane.suggested(spots),
        mark_id=mark.id,
    )


def _way_row(mark: Mark, plane: Plane, names: list[str], name: str) -> MeasureRow:
    """The length along a polyline, by the known length where there is one. A click moves both neighbouring steps, so
    its variance is that of the sum of what it does to each: JCGM 100:2008, 5.1.2."""
    scale = plane.document.scale
    against: tuple[Spot, ...] = () if scale is None else scale.points
    spots, unit = (*mark.points, *against), "px" if scale is None else scale.unit
    points = plane.points(mark.id, mark.points)
    way, relative = _way(names, points)
    value, known_sd = way, 0.0
    if scale is not None:
        points |= plane.points("scale:", against)
        whole, change = _way(plane.names("scale:", against), points)
        relative = _less(relative, change)
        value = way / whole * float(scale.length)
        known_sd = float(scale.sd / scale.length)
    if not math.isfinite(value):
        why = f"{_AT_ONE_PLACE}, one after the other: move one of them"
        return _undefined(mark, plane, name, "way", unit, why, spots)
    variance = plane.click_sd_px**2 * sum(float(g @ g) for g in relative.values()) + known_sd**2
    return MeasureRow(
        "way",
        name,
        _rounded(value),
        _rounded(value * math.sqrt(variance)),
        unit,
        where=f"{IN_PLANE}; {shortening_words()}" if scale is None else _by_known(scale),
        caution=plane.outside(spots),
        suggested=plane.suggested(spots),
        mark_id=mark.id,
    )


def _way(names: list[str], points: Mapping[str, Floats]) -> tuple[float, dict[str, Floats]]:
    """The length along a chain and the gradient of its logarithm by name; NaN where two neighbours are at one place."""
    steps = np.diff(np.array([points[name][0] for name in names]), axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    if not np.all(lengths > SAME_PLACE):
        return math.nan, {}
    whole = float(lengths.sum())
    unit = steps / lengths[:, None] / whole
    gradient: dict[str, Floats] = {name: np.zeros(2) for name in names}
    for number in range(len(steps)):
        gradient[names[number]] = gradient[names[number]] - unit[number]
        gradient[names[number + 1]] = gradient[names[number + 1]] + unit[number]
    return whole, gradient


def _less(one: Mapping[str, Floats], other: Mapping[str, Floats]) -> dict[str, Floats]:
    nothing = np.zeros(2)
    return {name: one.get(name, nothing) - other.get(name, nothing) for name in {**one, **other}}


def _rounded(value: float) -> float:
    return round(value, 6) + 0.0
