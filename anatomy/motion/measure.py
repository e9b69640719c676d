"""The answer to a request: measures of every frame, and which segment turned first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from anatomy.motion.angles import SAME_PLACE, Angle, Direction, angle_series
from anatomy.motion.catalogue import JOINT_MOTIONS, MEASURES, SEGMENTS, segment_direction
from anatomy.motion.curves import SegmentCurve, segment_curve
from anatomy.motion.document import Request
from anatomy.motion.foreshortening import Tilted, worst_error
from anatomy.motion.lengths import length_series
from anatomy.motion.normal import motion_of, normal_share, published_ranges
from anatomy.motion.points import Floats
from anatomy.motion.sequence import Lag, LeftOut, Peak, find_peak, lags_between
from anatomy.motion.tracks import Filled, Grid, between_keys, grid_of, laid_out
from anatomy.motion.wording import lag_sentence
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["TILTS", "Measured", "measure"]

TILTS = (10, 20, 30)
_SAYS_LITTLE = 20  # degrees
CAUTION = (
    "Angles are those of the picture. Where a segment points towards the camera or away from it they differ from "
    "those in space; “foreshortening” says by how much at most, for tilts of 10, 20 and 30 degrees."
)


@dataclass(frozen=True)
class Measured:
    """Everything that was computed for a request, before it becomes JSON. Arrays run over ``grid``."""

    request: Request
    vocabulary: Vocabulary | None

    @cached_property
    def grid(self) -> Grid:
        return grid_of((row.frame for row in self.request.frames), self.request.rate)

    @cached_property
    def tracks(self) -> dict[str, Filled]:
        """Landmarks on the plane, gaps filled only between the key frames that were named."""
        plane = self.request.picture.on_plane
        rows = {
            row.frame: dict(zip(row.points, plane(np.array(list(row.points.values()))), strict=True))
            for row in self.request.frames
            if row.points
        }
        keys = [self.grid.index(frame) for frame in self.request.key_frames]
        return {name: between_keys(track, keys) for name, track in laid_out(rows, self.grid).items()}

    def points_for(self, landmarks: Sequence[str]) -> dict[str, Floats]:
        """Landmarks (T, 2); one that was marked nowhere is a gap throughout."""
        nowhere = np.full((self.grid.count, 2), np.nan)
        return {name: self.tracks[name].values if name in self.tracks else nowhere for name in landmarks}

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The measures to answer: those asked for, or all whose landmarks are together in some frame."""
        if self.request.want is not None:
            return self.request.want
        return tuple(name for name, angle in MEASURES.items() if self._seen_together(angle.landmarks))

    def _seen_together(self, landmarks: Sequence[str]) -> bool:
        if any(name not in self.tracks for name in landmarks):
            return False
        return bool(np.all([np.isfinite(self.tracks[name].values[:, 0]) for name in landmarks], axis=0).any())

    @cached_property
    def angles(self) -> dict[str, tuple[Floats, Floats]]:
        """Degrees (T,) and their standard deviations (T,) by measure."""
        found = {}
        for name in self.names:
            series = angle_series(MEASURES[name], self.points_for(MEASURES[name].landmarks))
            squares = np.zeros(self.grid.count)
            for landmark, shift in series.gradient.items():
                share = self.tracks[landmark].click_share() if landmark in self.tracks else 1.0
                squares = squares + np.sum(shift * shift, axis=-1) * share**2
            found[name] = series.degrees, self.request.click_sd_px * np.sqrt(squares)
        return found

    @cached_property
    def lengths(self) -> dict[str, tuple[Floats, Floats]]:
        found = {}
        for name, length in self.request.lengths.items():
            landmarks = [one for direction in length.directions for one in direction.landmarks]
            found[name] = length_series(length, self.points_for(landmarks), self.request.click_sd_px)
        return found

    @cached_property
    def curves(self) -> dict[str, SegmentCurve]:
        """The curve of each segment whose landmarks were marked."""
        found = {}
        for segment in SEGMENTS:
            direction = segment_direction(segment, self.request.side)
            if all(name in self.tracks for name in direction.landmarks):
                tracks = {name: self.tracks[name] for name in direction.landmarks}
                found[segment] = segment_curve(segment, direction, tracks, self.grid, self.request.smoothing)
        return found

    @cached_property
    def peaks(self) -> list[Peak | LeftOut]:
        return [find_peak(curve, self.request.click_sd_px) for curve in self.curves.values()]

    @cached_property
    def sequence(self) -> list[Peak]:
        """The peaks in order of time."""
        return sorted((one for one in self.peaks if isinstance(one, Peak)), key=lambda peak: peak.time_s)

    @cached_property
    def lags(self) -> list[Lag]:
        return lags_between(self.sequence, self.request.click_sd_px, 1 / self.grid.hertz)

    def why_undefined(self, directions: Sequence[Direction], index: int) -> str:
        """Why an angle or length between these directions has no value at an index of the grid."""
        landmarks = dict.fromkeys(name for direction in directions for name in direction.landmarks)
        points = self.points_for(tuple(landmarks))
        missing = [name for name in landmarks if not np.isfinite(points[name][index, 0])]
        if missing:
            return f"{' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} not marked in this frame"
        for direction in directions:
            if np.hypot(*(direction.end.of(points) - direction.start.of(points))[index]) <= SAME_PLACE:
                return (
                    f"{direction.start} and {direction.end} lie at one place, so their line has no direction"
                )
        return "the points do not define it"

    def foreshortening(self) -> dict[str, dict[str, float]]:
        """For each measure the largest error over its frames, degrees, by tilt out of the picture plane."""
        found = {}
        for name, (degrees, _) in self.angles.items():
            between = _between_lines(MEASURES[name], degrees[np.isfinite(degrees)])
            tilted: Tilted = "one" if isinstance(MEASURES[name].first, float) else "both"
            if len(between):
                found[name] = {
                    str(tilt): _rounded(float(np.max(worst_error(between, tilt, tilted)))) for tilt in TILTS
                }
        return found


def _between_lines(angle: Angle, degrees: Floats) -> Floats:
    """The angle between the two lines, 0 to 180, behind a measure's value."""
    return np.minimum(np.abs((degrees - angle.offset) / angle.factor), 180)


def _rounded(value: float) -> float:
    return round(value, 6) + 0.0


def measure(request: Request, vocabulary: Vocabulary | None = None) -> dict[str, Any]:
    """The answer as JSON values. ``vocabulary`` is needed for ``normal_ranges``; pure computation, no database."""
    measured = Measured(request, vocabulary)
    answer: dict[str, Any] = {
        "rate": str(request.rate),
        "click_sd_px": request.click_sd_px,
        "frames": _frame_answers(measured),
    }
    if len(request.frames) >= 3:
        answer |= _sequence_answer(measured)
    answer["foreshortening"] = measured.foreshortening()
    if request.normal_ranges and vocabulary is not None:
        answer["normal_ranges"] = _published(measured.names, vocabulary)
    return answer | {"cautions": [CAUTION]}


def _frame_answers(measured: Measured) -> list[dict[str, Any]]:
    """The answer of each frame, in the order given."""
    indexes = [measured.grid.index(row.frame) for row in measured.request.frames]
    columns = {name: _angle_column(measured, name, indexes) for name in measured.names}
    columns |= {name: _length_column(measured, name, indexes) for name in measured.request.lengths}
    filled = {name: track.made for name, track in measured.tracks.items() if track.made.any()}
    answers = []
    for place, (row, index) in enumerate(zip(measured.request.frames, indexes, strict=True)):
        measures = {name: column[place] for name, column in columns.items()}
        answer: dict[str, Any] = {"frame": row.frame, "measures": measures}
        made = sorted(name for name, where in filled.items() if where[index])
        outside = _outside(row.points, measured.request.size)
        answers.append(
            answer | ({"interpolated": made} if made else {}) | ({"outside": outside} if outside else {})
        )
    return answers


def _column(
    measured: Measured,
    series: tuple[Floats, Floats],
    unit: str,
    directions: Sequence[Direction],
    indexes: list[int],
) -> list[dict[str, Any]]:
    """Values with their standard deviations, or why there is none, at some indexes of the grid."""
    values, sds = (np.round(one[indexes], 6) + 0.0 for one in series)
    there = np.isfinite(values).tolist()
    return [
        {"value": value, "unit": unit, "sd": sd}
        if good
        else {"value": None, "unit": unit, "sd": None, "why": measured.why_undefined(directions, index)}
        for good, value, sd, index in zip(there, values.tolist(), sds.tolist(), indexes, strict=True)
    ]


def _length_column(measured: Measured, name: str, indexes: list[int]) -> list[dict[str, Any]]:
    length = measured.request.lengths[name]
    return _column(measured, measured.lengths[name], length.unit, length.directions, indexes)


def _angle_column(measured: Measured, name: str, indexes: list[int]) -> list[dict[str, Any]]:
    angle, (degrees, sd) = MEASURES[name], measured.angles[name]
    # Rounding must not leave (−180, 180].
    inside = np.where(np.round(degrees, 6) == -180.0, 180.0, degrees)
    answers = _column(measured, (inside, sd), "deg", angle.directions, indexes)
    made = np.any([track.made for n, track in measured.tracks.items() if n in angle.landmarks], axis=0)
    for place in np.flatnonzero(
        np.broadcast_to(made, degrees.shape)[indexes] & np.isfinite(degrees[indexes])
    ):
        answers[place]["interpolated"] = True
    _add_cautions(answers, angle, degrees[indexes], sd[indexes])
    if measured.request.normal_ranges and measured.vocabulary is not None and name in JOINT_MOTIONS:
        for answer in answers:
            _add_share(answer, name, measured.vocabulary)
    return answers


def _add_cautions(answers: list[dict[str, Any]], angle: Angle, degrees: Floats, sd: Floats) -> None:
    """Where the standard deviation alone would mislead."""
    folded = _between_lines(angle, degrees)
    short = sd > _SAYS_LITTLE
    near = (np.minimum(folded, 180 - folded) < 2 * sd) & ~short
    for place in np.flatnonzero(short):
        answers[place]["caution"] = (
            "the lines are so short against the click error that this angle says little"
        )
    if angle.fold == "unsigned":
        for place in np.flatnonzero(near):
            answers[place]["caution"] = (
                "so near to straight or folded, clicks can only push it one way; the spread is not symmetrical"
            )


def _add_share(answer: dict[str, Any], name: str, vocabulary: Vocabulary) -> None:
    if answer["value"] is None:
        return
    share = normal_share(vocabulary, name, answer["value"], answer["sd"])
    if share is not None:
        of = {"of_widest": _rounded(share.of_widest), "of_narrowest": _rounded(share.of_narrowest)}
        answer["percent_of_normal"] = {"motion": share.motion} | of | {"sd": _rounded(share.sd)}


def _outside(points: Mapping[str, tuple[float, float]], size: tuple[int, int] | None) -> list[str]:
    if size is None:
        return []
    return sorted(n for n, (x, y) in points.items() if not (0 <= x <= size[0] and 0 <= y <= size[1]))


def _sequence_answer(measured: Measured) -> dict[str, Any]:
    left_out = {one.segment: one.why for one in measured.peaks if isinstance(one, LeftOut)}
    return {
        "sequence": [_peak_answer(measured, peak) for peak in measured.sequence],
        "lags": [_lag_answer(lag) for lag in measured.lags],
        "left_out": [{"segment": segment, "why": why} for segment, why in left_out.items()],
    }


def _peak_answer(measured: Measured, peak: Peak) -> dict[str, Any]:
    smoothing = measured.curves[peak.segment].smoothing
    answer: dict[str, Any] = {
        "segment": peak.segment,
        "peak_time_s": _rounded(peak.time_s),
        "peak_deg_per_s": _rounded(abs(peak.deg_per_s)),
        "sd_s": _rounded(peak.sd_s),
        "sd_deg_per_s": _rounded(peak.sd_deg_per_s),
        "turns": "counter-clockwise" if peak.deg_per_s > 0 else "clockwise",
        "frame": _rounded(peak.time_s * float(measured.request.rate)),
        "smoothing": smoothing.kind,
        "cutoff_hz": None if smoothing.cutoff_hz is None else _rounded(smoothing.cutoff_hz),
        "clear": not peak.unclear,
    }
    return answer | ({"why_unclear": peak.unclear} if peak.unclear else {})


def _lag_answer(lag: Lag) -> dict[str, Any]:
    answer: dict[str, Any] = {"first": lag.first, "second": lag.second, "lag_s": _rounded(lag.lag_s)}
    answer |= {"sd_s": _rounded(lag.sd_s), "confidence": _rounded(lag.confidence), "order": lag.order}
    return answer | ({"why": lag.why} if lag.why else {}) | {"sentence": lag_sentence(lag)}


def _published(names: Sequence[str], vocabulary: Vocabulary) -> dict[str, list[dict[str, Any]]]:
    """The published ranges behind the shares, by "joint: motion"."""
    motions = {told[:2] for name in names for sign in (1.0, -1.0) if (told := motion_of(name, sign))}
    return {
        f"{joint}: {motion}": [
            {
                "low": one.low,
                "high": one.high,
                "population": one.population,
                "note": one.note,
                "sources": list(one.sources),
            }
            for one in published_ranges(vocabulary, joint, motion)
        ]
        for joint, motion in sorted(motions)
    }
