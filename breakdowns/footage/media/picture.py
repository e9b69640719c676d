"""Turning a stored picture into one for the eye: upright, square pixels, of a wanted size."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from .probe import Probe

__all__ = ["even_size", "size_for_width", "upright"]


def upright(node: Any, probe: Probe, size: tuple[int, int]) -> Any:
    """An ffmpeg-python video node, scaled to ``size`` (width, height) with square pixels.

    ffmpeg itself has turned the picture by the file's display matrix before the first filter.
    Interlaced pictures are made whole frame for frame, so the count stays.
    """
    if probe.is_interlaced and not probe.rotation:
        node = node.filter("yadif", mode="send_frame", deint="interlaced")
    return node.filter("scale", *size, flags="bicubic").filter("setsar", "1")


def even_size(probe: Probe, long_side: int | None = None) -> tuple[int, int]:
    """Display size, no longer than ``long_side`` on either side, both sides even (4:2:0 needs it)."""
    width, height = probe.display_width, probe.display_height
    scale = min(Fraction(1), Fraction(long_side, max(width, height))) if long_side else Fraction(1)
    return _even(width * scale), _even(height * scale)


def size_for_width(probe: Probe, width: int | None) -> tuple[int, int]:
    """Display size, or that of the wanted ``width`` at the same shape; any whole pixels."""
    if width is None:
        return probe.display_width, probe.display_height
    return width, max(1, round(Fraction(width * probe.display_height, probe.display_width)))


def _even(length: Fraction) -> int:
    return max(2, 2 * round(length / 2))
