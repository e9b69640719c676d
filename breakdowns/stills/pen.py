"""How thick, how large and in which colours marks are drawn, for one picture at one size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from .picture import PictureFacts

__all__ = ["CASING", "TONES", "Pen", "Tone", "next_tone"]

Point = tuple[float, float]


@dataclass(frozen=True)
class Tone:
    """A kind of line: its colour, and its dashes in line widths."""

    colour: str
    dashes: tuple[float, ...] = ()


TONES: Final[Mapping[int, Tone]] = {
    1: Tone("#ffffff"),
    2: Tone("#ffd97a", (3.6, 2.2)),
    3: Tone("#9fc3c9", (6.0, 1.8, 1.3, 1.8)),
}
CASING: Final = "#000000"
_LEAST: Final = 0.56  # of the sizes below, however small the picture is shown
_HIGH: Final = 720  # pixels: the shorter side at which the sizes below are in pixels
_LINE, _CASE, _DISC, _TEXT, _VALUE = 4.0, 2.2, 6.2, 23.0, 31.0


def next_tone(tone: int) -> int:
    """The tone of a mark's second line."""
    return tone % len(TONES) + 1


class Pen:
    """Sizes in the drawing's units (the picture's pixels made square): a constant share of its shorter side.

    ``width_px`` is how wide the picture is shown; only where that is so small that words could not be read any more do
    lines and words grow beyond their share.
    """

    def __init__(self, picture: PictureFacts, width_px: float) -> None:
        self.width, self.height = picture.display_size
        self.across, self.down = picture.stretch
        shown = max(1.0, width_px) / self.width
        unit = max(_LEAST, min(self.width, self.height) * shown / _HIGH) / shown
        self.line, self.case, self.disc = _LINE * unit, _CASE * unit, _DISC * unit
        self.text, self.value = _TEXT * unit, _VALUE * unit
        self.unit = unit

    def on_drawing(self, at: Point, mirrored: bool) -> Point:
        """A place in source pixels, in the drawing's units."""
        x, y = at[0] * self.across, at[1] * self.down
        return (self.width - x if mirrored else x), y
