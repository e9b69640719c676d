"""The sheet that a plate is drawn on: its measures, its inks, text set in a room, rules.

All measures are shares of the picture (``plate_measures.csv``).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from PIL import Image, ImageDraw

from .fonts import Style, draw_line, plain
from .tables import exact
from .typeset import Leaded, Room, SetText, set_text

__all__ = ["DARK_RULE", "GROUND", "INK", "OVER", "PALE", "PAPER", "QUIET", "RULE", "SOFT", "Sheet", "Size"]

Size = tuple[int, int]
PAPER, INK, SOFT, RULE = "#f5f1e7", "#1b2326", "#56615f", "#d8d0bf"
OVER = "#9b3222"
GROUND, PALE, QUIET, DARK_RULE = "#26292a", "#e8e4da", "#a9aea9", "#3a3f40"


@dataclass
class Sheet:
    """The picture being drawn: its measures, what had to be cut, what was left out (whole sentences)."""

    size: Size
    ground: str = PAPER
    cut: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.image = Image.new("RGB", self.size, self.ground)
        self.draw = ImageDraw.Draw(self.image)
        self.short = min(self.size)
        self.left = float(exact("plate_measures", "margin_across") * self.size[0])
        self.width = self.size[0] - 2 * self.left
        self.top = self.of_short("margin_down")
        self.height = self.size[1] - 2 * self.top
        self.gap = self.of_short("gap")

    def of_short(self, name: str) -> float:
        return float(exact("plate_measures", name) * self.short)

    def pixels(self, name: str, least: int = 1) -> int:
        return max(least, round(self.of_short(name)))

    def how(self, name: str, face: Any, weight: int, *, title: bool = False) -> Leaded:
        """The setting of heading, body … from the table."""
        leading = exact("plate_measures", "title_leading" if title else "body_leading")
        style = Style(face, weight, self.pixels(f"{name}_size", 4))
        gap = exact("plate_measures", "paragraph_gap")
        return Leaded(style, self.pixels(f"{name}_least", 3), leading, gap, balanced=title)

    def set(self, what: str, text: str, room: Room, how: Leaded) -> SetText:
        found = set_text(plain(text), Room(room.width, max(0.0, room.height)), how)
        if found.cut:
            self.cut.append(what)
        return found

    def write(self, text: SetText, left: float, top: float, ink: str) -> float:
        """Draw a set text; answers where it ends below."""
        for line in text.lines:
            self.line((left + line.x, top + line.baseline), line.text, line.style, ink)
        return top + text.height

    def line(self, at: tuple[float, float], text: str, style: Style, ink: str) -> None:
        """Draw one line with its left end on the baseline at ``at``."""
        draw_line(self.draw, at, text, style, ink)

    def rule(self, top: float, ink: str, thick: int, *, width: float | None = None) -> None:
        right = self.left + (self.width if width is None else width)
        self.draw.rectangle((self.left, round(top), right - 1, round(top) + thick - 1), fill=ink)

    def first_line(self, block: float) -> float:
        """Where a block of this height begins, so that it stands about the optical middle."""
        middle = float(exact("plate_measures", "block_centre") * self.size[1])
        return min(max(self.top, middle - block / 2), max(self.top, self.size[1] - self.top - block))
