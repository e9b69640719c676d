"""The contact plate: the body with the place marked, beside it what lies there from the skin inwards."""

from __future__ import annotations

import re
from collections.abc import Sequence

from breakdowns.contacts.plate import CAVEAT, ContactPlate
from breakdowns.scripts.citations import short_citation
from breakdowns.stills.raster import raster

from .fonts import Style, line_width
from .piece import PlatePicture
from .plate_sheet import INK, OVER, RULE, SOFT, Sheet
from .tables import exact
from .typeset import Leaded, Room, SetText, set_text

__all__ = ["draw_contact"]

_BOX = re.compile(r'viewBox="(?P<left>\S+) (?P<top>\S+) (?P<width>\S+) (?P<height>\S+)"')
_FIGURE_WIDE, _FIGURE_TALL = 0.36, 0.36
_MOST_CITED = 2
_LONGEST_CITED = 44
_SIZES = 8
"""Steps between the largest and the least type of the rows."""

Area = tuple[float, float, float, float]
Row = tuple[SetText, SetText]


def draw_contact(sheet: Sheet, picture: PlatePicture) -> None:
    """Place on a rule, drawing, layers by name, what would need help at once, the caveat and the sources."""
    plate = picture.content
    assert isinstance(plate, ContactPlate)
    room = Room(sheet.width, sheet.height * 0.22)
    title = sheet.set("name", plate.heading, room, sheet.how("heading", "serif", 600, title=True))
    top = sheet.write(title, sheet.left, sheet.top, INK) + sheet.gap * 0.4
    sheet.rule(top, INK, sheet.pixels("rule"))
    top += sheet.gap * 0.7
    foot = _foot(sheet, plate)
    bottom = sheet.top + sheet.height - foot.height
    sheet.write(foot, sheet.left, bottom, SOFT)
    bottom -= sheet.gap * 0.6
    left, right = sheet.left, sheet.left + sheet.width
    if sheet.size[1] > 1.2 * sheet.size[0]:
        middle = top + (bottom - top) * _FIGURE_TALL
        _figure(sheet, plate, (left, top, right, middle))
        _rows(sheet, plate, (left, middle + sheet.gap, right, bottom))
    else:
        middle = left + sheet.width * _FIGURE_WIDE
        _figure(sheet, plate, (left, top, middle, bottom))
        _rows(sheet, plate, (middle + sheet.gap, top, right, bottom))


def _type(sheet: Sheet, size: int, weight: int = 400) -> Leaded:
    return Leaded(Style("sans", weight, size), size, exact("plate_measures", "table_leading"))


def _foot(sheet: Sheet, plate: ContactPlate) -> SetText:
    """The caveat, the view, and as many sources as have room; the notes name them all."""
    room, small = Room(sheet.width, sheet.height * 0.16), _type(sheet, sheet.pixels("mark_size", 3))
    short = list(dict.fromkeys(_cited(one) for one in plate.sources))
    for count in range(_MOST_CITED, 0, -1):
        more = f"; {len(short) - count} more in the notes" if len(short) > count else ""
        line = f"{CAVEAT} Seen {plate.seen}. Sources: {'; '.join(short[:count])}{more}"
        if not (found := set_text(line, room, small)).cut:
            return found
    return sheet.set("source line", f"{CAVEAT} Seen {plate.seen}. Sources are in the notes.", room, small)


def _cited(citation: str) -> str:
    """A citation in short, broken off at a comma where it is still long; its year stays."""
    short = short_citation(citation)
    if len(short) <= _LONGEST_CITED:
        return short
    year = re.search(r" \(\d{4}\)", short)
    head = short[:_LONGEST_CITED].rpartition(",")[0] or short[:_LONGEST_CITED].rpartition(" ")[0]
    head = re.sub(r" (?:and|of|the|in|on|to|for|with)$", "", head)
    return f"{head}{year[0] if year and year[0] not in head else ''}"


# --- what lies there -------------------------------------------------------------------------------


def _rows(sheet: Sheet, plate: ContactPlate, area: Area) -> None:
    """All layers in the largest type that holds them. In the least type the least urgent ones give way; what would need
    help at once always has its place."""
    left, top, right, bottom = area
    largest, least = sheet.pixels("table_size", 4), sheet.pixels("table_least", 3)
    sizes = sorted({largest - (largest - least) * step // _SIZES for step in range(_SIZES + 1)}, reverse=True)
    layers, spared = list(plate.layers), list(plate.spared)
    while True:
        for size in sizes:
            found, warning = _set(plate, layers, size, right - left, sheet)
            if _tall(sheet, found, warning) <= bottom - top and _is_whole(found, warning):
                break
        else:
            if len(layers) > 1 and spared:
                gone = spared.pop(0)
                layers = [one for one in layers if one[0] != gone]
                continue
        break
    if warning.cut:
        sheet.cut.append("what would need help at once")
    if len(layers) < len(plate.layers):
        gone_all = [layer for layer, _ in plate.layers if layer not in dict(layers)]
        sheet.left_out.append(f"there is no room for {', '.join(gone_all)}; choose a taller picture.")
    _write(sheet, found, warning, area, _column(sheet, plate, right - left))


def _set(
    plate: ContactPlate, layers: Sequence[tuple[str, str]], size: int, width: float, sheet: Sheet
) -> tuple[list[Row], SetText]:
    column = _column(sheet, plate, width)
    height = float(sheet.size[1])
    names, bold = _type(sheet, size), _type(sheet, size, 600)
    label = _type(sheet, max(3, min(size, sheet.pixels("table_label", 3))))
    rows = [
        (set_text(layer, Room(column, height), label), set_text(said, Room(width - column, height), names))
        for layer, said in layers
    ]
    return rows, set_text(plate.watch, Room(width - sheet.gap * 0.7, height), bold)


def _column(sheet: Sheet, plate: ContactPlate, width: float) -> float:
    """Room for the longest name of a layer, and no less than looks well."""
    style = Style("sans", 400, sheet.pixels("table_label", 3))
    longest = max((line_width(layer, style) for layer, _ in plate.layers), default=0)
    return max(width * 0.19, longest + sheet.gap * 0.5)


def _is_whole(rows: Sequence[Row], warning: SetText) -> bool:
    return not warning.cut and not any(part.cut for row in rows for part in row)


def _tall(sheet: Sheet, rows: Sequence[Row], warning: SetText) -> float:
    around = sheet.gap * 0.6
    below = warning.height + sheet.gap * 0.5 if warning.lines else 0
    return sum(max(label.height, names.height) + around for label, names in rows) + below


def _write(sheet: Sheet, rows: Sequence[Row], warning: SetText, area: Area, column: float) -> None:
    left, top, right, bottom = area
    for label, names in rows:
        level = names.lines[0].baseline - label.lines[0].baseline if names.lines and label.lines else 0
        sheet.write(label, left, top + level, SOFT)
        sheet.write(names, left + column, top, INK)
        top += max(label.height, names.height) + sheet.gap * 0.25
        sheet.draw.rectangle((left, round(top), right - 1, round(top) + sheet.pixels("hair") - 1), fill=RULE)
        top += sheet.gap * 0.35
    if warning.lines:
        begins = bottom - warning.height
        sheet.draw.rectangle((left, begins, left + sheet.pixels("rule", 2) * 2, bottom), fill=OVER)
        sheet.write(warning, left + sheet.gap * 0.7, begins, OVER)


# --- the drawing -----------------------------------------------------------------------------------


def _figure(sheet: Sheet, plate: ContactPlate, area: Area) -> None:
    """It fills the area: where that is wider or taller than the part meant, more of the body is shown around it."""
    left, top, right, bottom = area
    found = _BOX.search(plate.figure)
    assert found is not None
    wide, tall = max(1, round(right - left)), max(1, round(bottom - top))
    x, y, width, height = (float(found[name]) for name in ("left", "top", "width", "height"))
    scale = min(wide / width, tall / height)
    x, y = x - (wide / scale - width) / 2, y - (tall / scale - height) / 2
    box = f'viewBox="{x:.2f} {y:.2f} {wide / scale:.2f} {tall / scale:.2f}"'
    drawing = raster(_BOX.sub(box, plate.figure, count=1), (wide, tall))
    sheet.image.paste(drawing, (round(left), round(top)), drawing)
