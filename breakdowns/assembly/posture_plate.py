"""The posture plate: the figure, and one muscle's force and lever along a sweep with “you are here”.

The curves are drawn by the routine that draws them on the pages, in the tones of paper.
"""

from __future__ import annotations

import re

from PIL import Image

from breakdowns.postures.curves import HERE
from breakdowns.postures.plate import CAVEAT, CurvePanel, PosturePlate
from breakdowns.scripts.citations import short_citation
from breakdowns.stills.raster import raster
from breakdowns.tracks.plot import plot_svg
from breakdowns.tracks.plot_palette import PAPER as PAPER_TONES

from .fonts import Style
from .piece import PlatePicture
from .plate_sheet import INK, OVER, SOFT, Sheet
from .tables import exact
from .typeset import Leaded, Room, SetText

__all__ = ["draw_posture"]

_LETTERS = 8
"""Pixels of the plot's letters at its smallest; the plot is drawn so small and enlarged to the size of small type."""
_BOX = re.compile(r'viewBox="\S+ \S+ (?P<width>\S+) (?P<height>\S+)"')
_FIGURE_WIDE, _FIGURE_TALL = 0.2, 0.26


def draw_posture(sheet: Sheet, picture: PlatePicture) -> None:
    """Muscle and posture on a rule, figure and curves, what the model can't say, the source line."""
    plate = picture.content
    assert isinstance(plate, PosturePlate)
    top = _head(sheet, plate)
    foot = _foot(sheet, plate)
    below = sheet.top + sheet.height - foot.height
    sheet.write(foot, sheet.left, below, SOFT)
    bottom = _lines(sheet, plate, below - sheet.gap * 0.5)
    area = (sheet.left, top, sheet.left + sheet.width, bottom - sheet.gap * 0.5)
    wide, tall = sheet.size[0] > 1.2 * sheet.size[1], sheet.size[1] > 1.2 * sheet.size[0]
    if wide:
        _figure(sheet, plate, (area[0], top, area[0] + sheet.width * _FIGURE_WIDE, area[3]))
        area = (area[0] + sheet.width * _FIGURE_WIDE + sheet.gap, *area[1:])
    (_stacked if tall else _beside)(sheet, plate, area, short=not (wide or tall))


def _small(sheet: Sheet, name: str, face: str = "sans", weight: int = 400) -> Leaded:
    size = sheet.pixels(name, 3)
    least = min(size, sheet.pixels("mark_size", 3))
    return Leaded(Style(face, weight, size), least, exact("plate_measures", "table_leading"))  # type: ignore[arg-type]


def _head(sheet: Sheet, plate: PosturePlate) -> float:
    how = sheet.how("heading", "serif", 600, title=True)
    title = sheet.set("name", plate.heading, Room(sheet.width, sheet.height * 0.2), how)
    where = sheet.set(
        "posture", plate.where, Room(sheet.width, sheet.height * 0.14), _small(sheet, "table_label")
    )
    top = sheet.write(title, sheet.left, sheet.top, INK)
    top = sheet.write(where, sheet.left, top + sheet.gap * 0.1, SOFT) + sheet.gap * 0.4
    sheet.rule(top, INK, sheet.pixels("rule"))
    return top + sheet.gap * 0.6


def _foot(sheet: Sheet, plate: PosturePlate) -> SetText:
    said = f"{CAVEAT} Source: {'; '.join(_short(one) for one in plate.sources)}"
    return sheet.set("source line", said, Room(sheet.width, sheet.height * 0.12), _small(sheet, "mark_size"))


def _short(citation: str) -> str:
    """ "Rajagopal et al. 2016", where there are several authors."""
    authors, _, year = short_citation(citation).partition(" (")
    first, *others = authors.split(", ")
    return f"{first.rpartition(' ')[0] or first}{' et al.' if others else ''} {year.rstrip(')')}"


def _lines(sheet: Sheet, plate: PosturePlate, bottom: float) -> float:
    """Sentences that belong to the whole, upwards from ``bottom``; answers where they begin."""
    how = _small(sheet, "table_label")
    for line in reversed(plate.lines):
        found = sheet.set("a sentence below the curves", line, Room(sheet.width, sheet.height * 0.16), how)
        bottom -= found.height
        warns = line.startswith("Not to be trusted")
        sheet.write(found, sheet.left, bottom, OVER if warns else INK)
        bottom -= sheet.gap * 0.3
    return bottom


Area = tuple[float, float, float, float]


def _panels(plate: PosturePlate) -> list[CurvePanel]:
    return [panel for panel in (plate.force, plate.lever) if panel]


def _beside(sheet: Sheet, plate: PosturePlate, area: Area, *, short: bool) -> None:
    """The panels side by side."""
    left, top, right, bottom = area
    panels = _panels(plate)
    share = (right - left - sheet.gap * (len(panels) - 1)) / len(panels)
    for panel in panels:
        _panel(sheet, panel.shortened() if short else panel, (left, top, left + share, bottom))
        left += share + sheet.gap


def _stacked(sheet: Sheet, plate: PosturePlate, area: Area, *, short: bool) -> None:
    """The figure above the panels, these below each other."""
    left, top, right, bottom = area
    down = (bottom - top) * _FIGURE_TALL
    _figure(sheet, plate, (left, top, right, top + down))
    top += down + sheet.gap
    panels = [panel.shortened() if short else panel for panel in _panels(plate)]
    share = (bottom - top - sheet.gap * (len(panels) - 1)) / len(panels)
    for panel in panels:
        _panel(sheet, panel, (left, top, right, top + share))
        top += share + sheet.gap


def _panel(sheet: Sheet, panel: CurvePanel, area: Area) -> None:
    left, top, right, bottom = area
    room = Room(right - left, (bottom - top) * 0.25)
    head = sheet.set("heading of a curve", panel.heading, room, _small(sheet, "table_label", weight=600))
    says = sheet.set("sentence below a curve", panel.says, room, _small(sheet, "table_label"))
    top = sheet.write(head, left, top, INK) + sheet.gap * 0.2
    sheet.write(says, left, bottom - says.height, INK)
    width, height = round(right - left), round(bottom - says.height - sheet.gap * 0.2 - top)
    if width < 40 or height < 40:
        sheet.left_out.append("there is no room for a curve; choose a larger picture.")
        return
    larger = sheet.pixels("mark_size", _LETTERS) / _LETTERS
    size = max(1, round(width / larger)), max(1, round(height / larger))
    svg = plot_svg(panel.plot(), size, panel.here, palette=PAPER_TONES, cursor_says=HERE)
    _paste(sheet, raster(svg, (width, height)), left, top)


def _figure(sheet: Sheet, plate: PosturePlate, area: Area) -> None:
    """As large as the area lets it be, in its middle."""
    left, top, right, bottom = area
    found = _BOX.search(plate.figure)
    assert found is not None
    width, height = float(found["width"]), float(found["height"])
    scale = min((right - left) / width, (bottom - top) / height)
    size = max(1, round(width * scale)), max(1, round(height * scale))
    across = left + (right - left - size[0]) / 2
    _paste(sheet, raster(plate.figure, size), across, top + (bottom - top - size[1]) / 2)


def _paste(sheet: Sheet, drawing: Image.Image, left: float, top: float) -> None:
    sheet.image.paste(drawing, (round(left), round(top)), drawing)
