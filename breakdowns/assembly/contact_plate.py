"""The contact plate: the body with the place marked, beside it what lies there from the skin inwards."""

from __future__ import annotations

import re

from breakdowns.contacts.plate import CAVEAT, ContactPlate
from breakdowns.scripts.citations import short_citation
from breakdowns.stills.raster import raster

from .fonts import Style
from .piece import PlatePicture
from .plate_sheet import INK, OVER, RULE, SOFT, Sheet
from .tables import exact
from .typeset import Leaded, Room

__all__ = ["draw_contact"]

_BOX = re.compile(r'viewBox="\S+ \S+ (?P<width>\S+) (?P<height>\S+)"')
_FIGURE_WIDE, _FIGURE_TALL = 0.36, 0.42
_MOST_CITED = 3


def draw_contact(sheet: Sheet, picture: PlatePicture) -> None:
    """Place on a rule, drawing, layers by name, what would need help at once, the caveat and the sources."""
    plate = picture.content
    assert isinstance(plate, ContactPlate)
    title = sheet.set(
        "name",
        plate.heading,
        Room(sheet.width, sheet.height * 0.22),
        sheet.how("heading", "serif", 600, title=True),
    )
    top = sheet.write(title, sheet.left, sheet.top, INK) + sheet.gap * 0.4
    sheet.rule(top, INK, sheet.pixels("rule"))
    top += sheet.gap * 0.7
    foot = sheet.set(
        "source line", _foot(plate), Room(sheet.width, sheet.height * 0.14), _small(sheet, "mark_size")
    )
    bottom = sheet.top + sheet.height - foot.height
    sheet.write(foot, sheet.left, bottom, SOFT)
    bottom -= sheet.gap * 0.6
    left, right = sheet.left, sheet.left + sheet.width
    if sheet.size[1] > 1.2 * sheet.size[0]:
        middle = top + (bottom - top) * _FIGURE_TALL
        _figure(sheet, plate, (left, top, right, middle))
        _layers(sheet, plate, (left, middle + sheet.gap, right, bottom))
    else:
        middle = left + sheet.width * _FIGURE_WIDE
        _figure(sheet, plate, (left, top, middle, bottom))
        _layers(sheet, plate, (middle + sheet.gap, top, right, bottom))


def _small(sheet: Sheet, name: str, weight: int = 400) -> Leaded:
    size = sheet.pixels(name, 3)
    least = min(size, sheet.pixels("mark_size", 3))
    return Leaded(Style("sans", weight, size), least, exact("plate_measures", "table_leading"))


def _foot(plate: ContactPlate) -> str:
    short = list(dict.fromkeys(short_citation(one) for one in plate.sources))
    more = f"; and {len(short) - _MOST_CITED} more" if len(short) > _MOST_CITED else ""
    return f"{CAVEAT} Seen {plate.seen}. Sources: {'; '.join(short[:_MOST_CITED])}{more}"


Area = tuple[float, float, float, float]


def _layers(sheet: Sheet, plate: ContactPlate, area: Area) -> None:
    """One row for each layer as long as there is room; what would need help at once always has its place."""
    left, top, right, bottom = area
    width = right - left
    warning = sheet.set(
        "what would need help at once", plate.watch, Room(width - sheet.gap, (bottom - top) * 0.4),
        _small(sheet, "table_size", 600),
    )  # fmt: skip
    below = bottom - warning.height
    if warning.lines:
        sheet.draw.rectangle((left, below, left + sheet.pixels("rule", 2) * 2, bottom), fill=OVER)
        sheet.write(warning, left + sheet.gap * 0.7, below, OVER)
        below -= sheet.gap * 0.5
    column = width * 0.18
    for number, (layer, names) in enumerate(plate.layers):
        label = sheet.set("layer", layer, Room(column, bottom - top), _small(sheet, "table_label"))
        found = sheet.set(
            "names of a layer",
            names,
            Room(width - column - sheet.gap * 0.5, bottom - top),
            _small(sheet, "table_size"),
        )
        if top + found.height > below:
            left_over = [one for one, _ in plate.layers[number:]]
            sheet.left_out.append(f"there is no room for {', '.join(left_over)}; choose a taller picture.")
            return
        sheet.write(label, left, top, SOFT)
        top = sheet.write(found, left + column + sheet.gap * 0.5, top, INK) + sheet.gap * 0.25
        sheet.draw.rectangle((left, round(top), right - 1, round(top) + sheet.pixels("hair") - 1), fill=RULE)
        top += sheet.gap * 0.35


def _figure(sheet: Sheet, plate: ContactPlate, area: Area) -> None:
    """As large as the area lets it be, in its middle."""
    left, top, right, bottom = area
    found = _BOX.search(plate.figure)
    assert found is not None
    width, height = float(found["width"]), float(found["height"])
    scale = min((right - left) / width, (bottom - top) / height)
    size = max(1, round(width * scale)), max(1, round(height * scale))
    drawing = raster(plate.figure, size)
    at = left + (right - left - size[0]) / 2, top + (bottom - top - size[1]) / 2
    sheet.image.paste(drawing, (round(at[0]), round(at[1])), drawing)
