"""Limits, presets and standard rates: the one reader of the media tables in ``footage/data``."""

from __future__ import annotations

import csv
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import cache
from importlib.resources import files

from ..timebase import parse_rational

__all__ = ["Limits", "Presets", "limits", "presets", "rows", "standard_rates"]


@dataclass(frozen=True, slots=True)
class Limits:
    """``media_limits.csv``, one field for each row. Ratios are Fractions, the rest whole numbers."""

    max_pixels: int
    max_alloc_bytes: int
    max_streams: int
    max_seconds: int
    max_frames: int
    max_pixel_aspect: int
    least_readable_share: Fraction
    grid_tolerance_frames: Fraction
    rate_snap: Fraction
    lone_frame_rate: int
    threads: int
    memory_bytes: int
    output_bytes: int
    header_cpu_seconds: int
    header_wall_seconds: int
    still_cpu_seconds: int
    still_wall_seconds: int
    work_cpu_seconds: int
    work_wall_seconds: int
    stall_seconds: int


@dataclass(frozen=True, slots=True)
class Presets:
    """``working_copies.csv``, one field for each row."""

    master_crf: int
    master_keyframe_every: int
    master_audio_kbps: int
    copy_long_side: int
    copy_crf: int
    copy_keyframe_every: int
    copy_audio_kbps: int
    audio_hertz: int
    strip_seek_from: int
    strip_quality: int


def rows(name: str) -> list[dict[str, str]]:
    """The rows of ``footage/data/<name>.csv``, keyed by its header line."""
    text = files("breakdowns.footage").joinpath("data", f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines(), strict=True))


def _values(name: str, kind: type) -> dict[str, int | Fraction]:
    """Whole numbers as int, except where the field's type is Fraction. Raises TimeError for neither."""
    wanted = {field.name: field.type for field in fields(kind)}
    values: dict[str, int | Fraction] = {}
    for row in rows(name):
        value = parse_rational(row["value"])
        values[row["name"]] = value if wanted.get(row["name"]) == "Fraction" else int(value)
    return values


@cache
def limits() -> Limits:
    """The limits as read from the table; TypeError when table and fields do not match."""
    return Limits(**_values("media_limits", Limits))  # type: ignore[arg-type]


@cache
def presets() -> Presets:
    """The presets as read from the table; TypeError when table and fields do not match."""
    return Presets(**_values("working_copies", Presets))  # type: ignore[arg-type]


@cache
def standard_rates() -> tuple[Fraction, ...]:
    """Frame rates in use, in frames per second, rising. Sources stand in ``standard_rates.csv``."""
    return tuple(sorted(parse_rational(row["rate"]) for row in rows("standard_rates")))
