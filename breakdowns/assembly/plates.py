"""Plates: full-screen pictures of our own, drawn in the house style at any size and shape.

Paper, ink and rules carry the structure; a caution has a shape and a word beside its colour; a house
message always says what it is. All measures are shares of the picture (``plate_measures.csv``), so one
drawing serves every size, down to a thumbnail.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from PIL import Image, ImageDraw

from breakdowns.footage.timebase import decimal_text

from .anatomy_plate import draw_anatomy
from .contact_plate import draw_contact
from .correction_plate import draw_correction
from .fonts import Style, can_show, draw_line, fonts_digest, line_width, plain
from .piece import CameraPicture, PlatePicture
from .plate_sheet import DARK_RULE, GROUND, INK, OVER, PALE, PAPER, QUIET, RULE, SOFT, Sheet, Size
from .posture_plate import draw_posture
from .tables import exact, rows
from .typeset import Leaded, Room, SetText

__all__ = ["DISCLOSURE", "NOT_RECORDED", "draw_plate", "plate_faults", "plate_identity", "scratch_mark"]

# Raise it whenever the same plate comes out with other pixels than before.
_VERSION = 1
DISCLOSURE = "Paid message"
NOT_RECORDED = "To camera: not recorded yet"
CAUTION = "Caution"
SCRATCH = "scratch voice"


def draw_plate(
    picture: PlatePicture | CameraPicture, size: Size, *, scratch_voice: bool = False
) -> Image.Image:
    """The plate as an RGB picture of ``size`` (width, height); the slate for a camera beat.

    ``scratch_voice`` adds the small mark that a synthetic voice speaks. Text that does not fit even in
    the least size is cut with "…"; ``plate_faults`` says so in words.
    """
    sheet = Sheet(size)
    _DRAWN[_kind(picture)](sheet, picture)
    if scratch_voice:
        sheet.image.paste(mark := scratch_mark(size), (0, 0), mark)
    return sheet.image


def plate_faults(picture: PlatePicture | CameraPicture, size: Size) -> tuple[str, ...]:
    """One sentence for each thing that the plate at this size can't show as written."""
    sheet = Sheet(size)
    _DRAWN[_kind(picture)](sheet, picture)
    name = _name(picture)
    found = [f"{name}: the {what} is too long and ends in “…” on screen; shorten it." for what in sheet.cut]
    found += [f"{name}: {said}" for said in sheet.left_out]
    strange = sorted({sign for sign in plain(_words(picture)) if not sign.isspace() and not can_show(sign)})
    if strange:
        found.append(f"{name}: the house fonts have no {' '.join(strange)}; write it another way.")
    return tuple(found)


def plate_identity(picture: PlatePicture | CameraPicture) -> dict[str, Any]:
    """All that can change a pixel of the plate, but for its size and the scratch mark."""
    shown = {"drawn": _VERSION, "fonts": fonts_digest(), "measures": rows("plate_measures")}
    if isinstance(picture, CameraPicture):
        return {**shown, "kind": "camera", "seconds": picture.seconds}
    text = (plain(picture.title), plain(picture.text), _disclosure(picture))
    content = {"content": asdict(picture.content)} if picture.content else {}
    return {**shown, "kind": picture.kind, "text": text, "signs": rows("plate_substitutes"), **content}


def scratch_mark(size: Size) -> Image.Image:
    """A transparent picture of ``size`` with the label "scratch voice" in its upper left corner."""
    image = Image.new("RGBA", size, (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    short = min(size)
    style = Style("sans", 600, max(8, round(exact("plate_measures", "mark_size") * short)))
    left, top = round(short * 0.03), round(short * 0.03)
    pad, height = style.size * 0.45, style.size * 1.5
    right = left + line_width(SCRATCH, style) + 2 * pad
    draw.rectangle((left, top, right, top + height), fill=INK, outline=PAPER, width=max(1, short // 500))
    draw_line(draw, (left + pad, top + height * 0.68), SCRATCH, style, PAPER)
    return image


def _kind(picture: PlatePicture | CameraPicture) -> str:
    return "camera" if isinstance(picture, CameraPicture) else picture.kind


def _disclosure(picture: PlatePicture) -> str:
    return plain(picture.disclosure).strip() or DISCLOSURE if picture.kind == "house" else ""


def _words(picture: PlatePicture | CameraPicture) -> str:
    return "" if isinstance(picture, CameraPicture) else picture.title + picture.text + picture.disclosure


def _name(picture: PlatePicture | CameraPicture) -> str:
    named = "" if isinstance(picture, CameraPicture) else (picture.title or picture.text).strip()[:40]
    return f"Plate “{named}”" if named else "A plate"


def _draw_title(sheet: Sheet, picture: PlatePicture) -> None:
    """Title between a strong and a fine rule, what it is about below."""
    strong, fine = sheet.pixels("rule"), sheet.pixels("hair")
    title = sheet.set(
        "title",
        picture.title,
        Room(sheet.width, sheet.height * 0.62),
        sheet.how("title", "serif", 600, title=True),
    )
    room = Room(sheet.width, sheet.height - title.height - 4 * sheet.gap)
    text = sheet.set("text", picture.text, room, sheet.how("subtitle", "sans", 400))
    top = sheet.first_line(title.height + text.height + 3.4 * sheet.gap)
    sheet.rule(top, INK, strong)
    below = sheet.write(title, sheet.left, top + sheet.gap, INK) + sheet.gap
    if text.lines:
        sheet.rule(below, RULE, fine)
        sheet.write(text, sheet.left, below + sheet.gap * 0.7, SOFT)


def _draw_text(sheet: Sheet, picture: PlatePicture) -> None:
    """A heading on a rule, paragraphs or a list below; without a heading a short rule begins it."""
    heading = _heading(sheet, picture, sheet.width)
    room = Room(sheet.width, sheet.height - heading.height - 2 * sheet.gap)
    text = sheet.set("text", picture.text, room, sheet.how("body", "serif", 400))
    top = sheet.first_line(heading.height + text.height + 1.8 * sheet.gap)
    if heading.lines:
        top = sheet.write(heading, sheet.left, top, INK) + sheet.gap * 0.6
    sheet.rule(top, INK, sheet.pixels("rule"), width=None if heading.lines else sheet.short / 8)
    sheet.write(text, sheet.left, top + sheet.gap, INK)


def _heading(sheet: Sheet, picture: PlatePicture, width: float) -> SetText:
    how = sheet.how("heading", "serif", 600, title=True)
    return sheet.set("title", picture.title, Room(width, sheet.height * 0.4), how)


def _draw_caution(sheet: Sheet, picture: PlatePicture) -> None:
    """A solid bar, a triangle with its mark (ISO 3864-1: general warning) and the word, then the text."""
    bar, inset = sheet.pixels("bar", 2), sheet.pixels("bar", 2) + sheet.gap
    left, width = sheet.left + inset, sheet.width - inset
    label = Style("sans", 700, sheet.pixels("heading_size", 4))
    label_height = label.size * 1.3
    heading = _heading(sheet, picture, width)
    above = label_height + heading.height + 1.2 * sheet.gap
    text = sheet.set("text", picture.text, Room(width, sheet.height - above), sheet.how("body", "serif", 400))
    top = sheet.first_line(above + text.height)
    sheet.draw.rectangle((sheet.left, top, sheet.left + bar - 1, top + above + text.height), fill=OVER)
    _warning_sign(sheet.draw, left, top + label_height * 0.08, label.size)
    sheet.line((left + label.size * 1.4, top + label.size * 0.95), CAUTION, label, OVER)
    below = sheet.write(heading, left, top + label_height + sheet.gap * 0.5, INK)
    sheet.write(text, left, below + sheet.gap * 0.7, INK)


def _warning_sign(draw: ImageDraw.ImageDraw, left: float, top: float, height: float) -> None:
    """Drawn four times as large and scaled down, for smooth edges."""
    side = round(height * 1.15)
    large = Image.new("L", (side * 4, round(height) * 4), 0)
    pen = ImageDraw.Draw(large)
    width, depth = large.size
    pen.polygon(((width / 2, 0), (width - 1, depth - 1), (0, depth - 1)), fill=255)
    stroke = width * 0.055
    pen.polygon(
        (
            (width / 2 - stroke * 1.1, depth * 0.33),
            (width / 2 + stroke * 1.1, depth * 0.33),
            (width / 2 + stroke * 0.6, depth * 0.7),
            (width / 2 - stroke * 0.6, depth * 0.7),
        ),
        fill=0,
    )
    pen.ellipse((width / 2 - stroke, depth * 0.76, width / 2 + stroke, depth * 0.76 + 2 * stroke), fill=0)
    small = large.resize((side, round(height)), Image.Resampling.LANCZOS)
    draw.bitmap((round(left), round(top)), small, fill=OVER)


def _draw_house(sheet: Sheet, picture: PlatePicture) -> None:
    """What it is in a band of ink, then the message, closed by a double rule."""
    label = Style("sans", 700, sheet.pixels("label_size", 4))
    pad = label.size * 0.7
    band = label.size * 1.9
    said = sheet.set(
        "disclosure",
        _disclosure(picture).replace("\n", " "),
        Room(sheet.width - 2 * pad, band * 3),
        Leaded(label, 4, Fraction(5, 4)),
    )
    band = max(band, said.height + label.size * 0.65)
    heading = _heading(sheet, picture, sheet.width)
    above = band + heading.height + 1.7 * sheet.gap
    room = Room(sheet.width, sheet.height - above - 1.5 * sheet.gap)
    text = sheet.set("text", picture.text, room, sheet.how("body", "serif", 400))
    top = sheet.first_line(above + text.height + 1.5 * sheet.gap)
    sheet.draw.rectangle((sheet.left, top, sheet.left + sheet.width - 1, top + band), fill=INK)
    sheet.write(said, sheet.left + pad, top + (band - said.height) / 2, PAPER)
    below = sheet.write(heading, sheet.left, top + band + sheet.gap, INK)
    below = sheet.write(text, sheet.left, below + sheet.gap * 0.7, INK) + sheet.gap
    sheet.rule(below, INK, sheet.pixels("rule"))
    sheet.rule(below + 2.5 * sheet.pixels("rule"), INK, sheet.pixels("hair"))


def _draw_slate(sheet: Sheet, picture: CameraPicture) -> None:
    """Plainly a gap: the ground of footage, what is missing, and for how long it stands."""
    sheet.draw.rectangle((0, 0, *sheet.size), fill=GROUND)
    how = sheet.how("heading", "serif", 600, title=True)
    said = sheet.set("line", NOT_RECORDED, Room(sheet.width, sheet.height * 0.6), how)
    label = Style("sans", 400, sheet.pixels("label_size", 4))
    top = sheet.first_line(said.height + 2.2 * sheet.gap + label.size)
    sheet.rule(top, QUIET, sheet.pixels("rule"))
    below = sheet.write(said, sheet.left, top + sheet.gap, PALE)
    sheet.rule(below + sheet.gap, DARK_RULE, sheet.pixels("hair"))
    seconds = f"{decimal_text(picture.seconds, 1)} seconds"
    sheet.line((sheet.left, below + 2 * sheet.gap + label.size * 0.8), seconds, label, QUIET)


_DRAWN: dict[str, Callable[[Sheet, Any], None]] = {
    "title": _draw_title,
    "text": _draw_text,
    "caution": _draw_caution,
    "house": _draw_house,
    "anatomy": draw_anatomy,
    "correction": draw_correction,
    "posture": draw_posture,
    "contact": draw_contact,
    "camera": _draw_slate,
}
