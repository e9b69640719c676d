"""The correction card: what was said, what is right, and where that stands, for talk that is recorded."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from breakdowns.scripts.plate_content import Correction

from .fonts import Style, plain
from .piece import PlatePicture
from .plate_sheet import INK, RULE, SOFT, Sheet
from .tables import exact
from .typeset import Leaded, Room, SetText, set_text

__all__ = ["CORRECTION", "draw_correction"]

CORRECTION = "Correction"
_SHRINK = Fraction(24, 25)


def draw_correction(sheet: Sheet, picture: PlatePicture) -> None:
    """The word between rules, then both statements at one size; a solid bar stands beside what is right."""
    card = picture.content
    assert isinstance(card, Correction)
    heading = sheet.set(
        "title",
        picture.title.strip() or CORRECTION,
        Room(sheet.width, sheet.height * 0.25),
        sheet.how("heading", "serif", 600, title=True),
    )
    source = _source(sheet, card)
    bar, inset = sheet.pixels("bar", 2), sheet.pixels("bar", 2) + sheet.gap * 0.8
    label = Style("sans", 400, sheet.pixels("table_label", 3))
    fixed = heading.height + source.height + 2 * label.size * 1.5 + 4.0 * sheet.gap
    said, right = _statements(sheet, card, sheet.width - inset, sheet.height - fixed)
    top = sheet.first_line(fixed + said.height + right.height)
    sheet.rule(top, INK, sheet.pixels("rule"))
    top = sheet.write(heading, sheet.left, top + sheet.gap * 0.6, INK) + sheet.gap * 0.6
    sheet.rule(top, RULE, sheet.pixels("hair"))
    top += sheet.gap * 0.8
    left = sheet.left + inset
    if said.lines:
        sheet.line((left, top + label.size), "What was said", label, SOFT)
        top = sheet.write(said, left, top + label.size * 1.5, SOFT) + sheet.gap
    if right.lines:
        sheet.line((left, top + label.size), "What is right", label, SOFT)
        below = sheet.write(right, left, top + label.size * 1.5, INK)
        sheet.draw.rectangle((sheet.left, round(top), sheet.left + bar - 1, round(below) - 1), fill=INK)
        top = below
    sheet.write(source, sheet.left, top + sheet.gap, SOFT)


def _source(sheet: Sheet, card: Correction) -> SetText:
    if not card.source.strip():
        return SetText((), 0)
    size = sheet.pixels("mark_size", 3)
    how = Leaded(Style("sans", 400, size), size, exact("plate_measures", "table_leading"))
    return sheet.set("source", f"Source: {card.source.strip()}", Room(sheet.width, sheet.height * 0.2), how)


def _statements(sheet: Sheet, card: Correction, width: float, room: float) -> tuple[SetText, SetText]:
    """Both set alike at the largest size at which they fit together; at the least they are cut and told."""
    said = f"“{card.said.strip()}”" if card.said.strip() else ""
    for size in _sizes(sheet):
        found = [set_text(plain(text), Room(width, room), how) for text, how in _ways(said, card.right, size)]
        if not any(one.cut for one in found) and sum(one.height for one in found) <= room:
            return found[0], found[1]
    (_, how), (_, strong) = _ways(said, card.right, size)
    right = sheet.set("right statement", card.right, Room(width, room * 0.65), strong)
    return sheet.set("statement said", said, Room(width, room - right.height), how), right


def _ways(said: str, right: str, size: int) -> tuple[tuple[str, Leaded], tuple[str, Leaded]]:
    leading = exact("plate_measures", "table_leading")
    return tuple(  # type: ignore[return-value]
        (text, Leaded(Style("serif", weight, size), size, leading))
        for text, weight in ((said, 400), (right, 600))
    )


def _sizes(sheet: Sheet) -> Iterator[int]:
    size, least = Fraction(sheet.pixels("body_size", 4)), sheet.pixels("table_least", 3)
    while size > least:
        yield round(size)
        size *= _SHRINK
    yield least
