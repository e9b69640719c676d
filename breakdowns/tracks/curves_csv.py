"""Landmarks in from CSV and JSON, and everything a track knows out to them."""

from __future__ import annotations

import csv
import io
import json
import math
from typing import Any

from .document import Points, Span, TrackError, read_frame, read_frames, read_name, read_point
from .reckoning import Reckoned, sentence_of

__all__ = ["curves_csv", "points_csv", "read_file", "track_json"]

_HEADER = ("frame", "landmark", "x", "y")


def read_file(raw: bytes, span: Span, most_bytes: int) -> Points:
    """The points in a CSV (frame, landmark, x, y and perhaps state) or JSON file. Raises TrackError, never anything else."""
    if len(raw) > most_bytes:
        raise TrackError(
            f"The file has {len(raw)} bytes and at most {most_bytes} are read: take a part of it."
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeError:
        raise TrackError("The file is not UTF-8 text: save it as UTF-8 and choose it again.") from None
    if "\0" in text:
        raise TrackError("The file holds the character U+0000: it is no text.")
    found = _from_json(text, span) if text.lstrip()[:1] in ("{", "[") else _from_csv(text, span)
    if not any(found.values()):
        raise TrackError("The file holds no points: write rows of frame, landmark, x, y.")
    return found


def _no_constant(name: str) -> Any:
    raise TrackError(f"{name} is no JSON number: leave a missing point out, or write null.")


def _from_json(text: str, span: Span) -> Points:
    try:
        value = json.loads(text, parse_constant=_no_constant)
    except TrackError:
        raise
    except RecursionError:
        raise TrackError("The JSON is nested too deeply: write frames with their points.") from None
    except ValueError as fault:
        raise TrackError(f"The file is not JSON ({str(fault)[:80]}): mend it there.") from None
    rows = value.get("frames") if isinstance(value, dict) else value
    if isinstance(rows, dict):
        return read_frames(rows, span)
    if not isinstance(rows, list):
        raise TrackError(
            'The JSON holds no frames: write {"frames": [{"frame": 12, "points": {"left_hip": [x, y]}}]}.'
        )
    found: dict[str, Any] = {}
    for place, row in enumerate(rows):
        if not isinstance(row, dict):
            raise TrackError(
                f'Entry {place} of “frames” is no object: write {{"frame": 12, "points": {{…}}}}.'
            )
        frame = str(read_frame(row.get("frame"), span, f"Entry {place} of “frames”"))
        if frame in found:
            raise TrackError(f"Frame {frame} stands twice in “frames”: put its points into one entry.")
        found[frame] = row.get("points")
    return read_frames(found, span)


def _from_csv(text: str, span: Span) -> Points:
    first = text.lstrip().partition("\n")[0]
    comma = next((sign for sign in ("\t", ";", ",") if sign in first), ",")
    try:
        rows = list(csv.reader(io.StringIO(text.strip()), delimiter=comma))
    except csv.Error as fault:
        raise TrackError(
            f"The file can't be read as CSV ({fault}): save it again with one row a line."
        ) from None
    head = [cell.strip().lower() for cell in rows[0]] if rows else []
    if missing := [name for name in _HEADER if name not in head]:
        raise TrackError(
            f"The first line names no {' and no '.join(missing)}: it must have the columns frame, landmark, x, y."
        )
    place = {name: head.index(name) for name in (*_HEADER, "state") if name in head}
    found: Points = {}
    for number, row in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        cells = {name: row[at].strip() if at < len(row) else "" for name, at in place.items()}
        _take(found, cells, span, f"Line {number}", comma != ",")
    return found


def _take(found: Points, cells: dict[str, str], span: Span, where: str, decimal_comma: bool) -> None:
    frame, name = str(read_frame(cells["frame"], span, where)), read_name(cells["landmark"], where)
    if cells["x"] == "" and cells["y"] == "":
        return
    numbers = [_number(cells[axis], where, decimal_comma) for axis in ("x", "y")]
    point = read_point(
        [*numbers, cells.get("state") or "placed"], span.size, f"{where}, {name} of frame {frame},"
    )
    before = found.setdefault(frame, {}).get(name)
    if before is not None and before != point:
        raise TrackError(f"{where} gives {name} on frame {frame} a second place: keep one of the two lines.")
    found[frame][name] = point


def _number(text: str, where: str, decimal_comma: bool) -> float:
    try:
        found = float(text.replace(",", ".") if decimal_comma else text) if len(text) <= 40 else math.nan
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise TrackError(f"{where} has {text[:20]!r} as a coordinate: write a number of pixels.")
    return found


# --- out -----------------------------------------------------------------------------------------


def _written(rows: list[list[Any]]) -> str:
    file = io.StringIO()
    csv.writer(file, lineterminator="\r\n").writerows(rows)
    return file.getvalue()


def points_csv(points: Points) -> str:
    """One row for each point, as ``read_file`` reads it back (RFC 4180)."""
    rows: list[list[Any]] = [[*_HEADER, "state"]]
    for frame in sorted(points, key=int):
        rows += [[frame, name, *point[:3]] for name, point in sorted(points[frame].items())]
    return _written(rows)


def _value(value: float, places: int = 4) -> float | None:
    return round(float(value), places) + 0.0 if math.isfinite(value) else None


def _frame_rows(done: Reckoned) -> list[dict[str, Any]]:
    """Every frame of the grid with its points, interpolated ones too, and the segments' angles and velocities."""
    grid, measured, points = done.grid, done.measured, done.facts.points
    if grid is None or measured is None:
        return []
    rows, names = [], sorted(measured.tracks)
    made, plane = done.made(names), (done.facts.pixel_aspect, -1.0)
    for n in range(grid.count):
        frame = grid.frame(n)
        row: dict[str, Any] = {
            "frame": frame,
            "time_s": round(grid.seconds(n), 6),
            "points": {},
            "segments": {},
        }
        for name in names:
            if point := points.get(str(frame), {}).get(name):
                row["points"][name] = point[:3]
            elif frame in made[name]:
                x, y = (float(v) / s for v, s in zip(measured.tracks[name].values[n], plane, strict=True))
                row["points"][name] = [round(x, 3), round(y, 3) + 0.0, "interpolated"]
        for segment, curve in done.curves.items():
            angle_sd, speed_sd = done.spreads[segment]
            row["segments"][segment] = {
                "deg": _value(curve.degrees[n]),
                "deg_sd": _value(angle_sd[n]),
                "deg_per_s": _value(curve.velocity[n]),
                "deg_per_s_sd": _value(speed_sd[n]),
            }
        rows.append(row)
    return rows


def curves_csv(done: Reckoned) -> str:
    """One row for each frame: time, landmarks with their state, angles and velocities with their errors. Gaps are empty."""
    rows = _frame_rows(done)
    names = sorted(done.measured.tracks) if done.measured else []
    segments, columns = list(done.curves), ("deg", "deg_sd", "deg_per_s", "deg_per_s_sd")
    head = ["frame", "time_s", *(f"{name}_{part}" for name in names for part in ("x", "y", "state"))]
    table: list[list[Any]] = [[*head, *(f"{segment}_{column}" for segment in segments for column in columns)]]
    for row in rows:
        cells = [row["frame"], f"{row['time_s']:.6f}"]
        cells += [cell for name in names for cell in row["points"].get(name, ["", "", ""])]
        cells += [row["segments"][segment][column] for segment in segments for column in columns]
        table.append(["" if cell is None else cell for cell in cells])
    return _written(table)


def track_json(done: Reckoned, about: dict[str, Any]) -> str:
    """Everything as JSON: ``about`` (what the caller knows), frames, peaks, lags; ``frames`` can be read back."""
    peaks = [
        {
            "segment": p.segment, "peak_time_s": _value(p.time_s, 6), "sd_s": _value(p.sd_s, 6),
            "peak_deg_per_s": _value(p.deg_per_s), "sd_deg_per_s": _value(p.sd_deg_per_s), "unclear": p.unclear,
        }
        for p in done.peaks
    ]  # fmt: skip
    lags = [
        {
            "first": lag.first, "second": lag.second, "lag_s": _value(lag.lag_s, 6), "sd_s": _value(lag.sd_s, 6),
            "order": lag.order, "sentence": sentence_of(lag),
        }
        for lag in done.lags
    ]  # fmt: skip
    whole = about | {"frames": _frame_rows(done), "sequence": peaks, "lags": lags}
    return json.dumps(
        whole | {"left_out": [{"segment": s, "why": w} for s, w in done.left_out]},
        ensure_ascii=False,
        indent=1,
    )
