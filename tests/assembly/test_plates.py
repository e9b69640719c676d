"""Plates: everything that is written is drawn, inside the picture, in every shape and size."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from breakdowns.assembly import plate_sheet, plates
from breakdowns.assembly.fonts import Style, can_show, line_width, matched, plain
from breakdowns.assembly.piece import CameraPicture, PlatePicture
from breakdowns.assembly.plates import draw_plate, plate_faults, plate_identity, scratch_mark
from breakdowns.assembly.tables import rows
from breakdowns.assembly.typeset import Leaded, Room, set_text

SIZES = [
    (1280, 720),
    (1920, 1080),
    (720, 1280),
    (1080, 1920),
    (720, 720),
    (1080, 1080),
    (320, 180),
    (160, 90),
]
KINDS = ["title", "text", "caution", "house"]
PAPER, INK, RED = (0xF5, 0xF1, 0xE7), (0x1B, 0x23, 0x26), (0x9B, 0x32, 0x22)
SECONDS = Fraction(5)
LONG = "A loose feeling without pain at the end of the wind-up is common in throwers. " * 60


def plate(
    kind: str, title: str = "Late hips", text: str = "The pelvis leads the trunk.", **more
) -> PlatePicture:
    return PlatePicture(kind, title, text, SECONDS, **more)


def pixels(picture, size, **more) -> np.ndarray:
    return np.asarray(draw_plate(picture, size, **more)).astype(int)


def far_from(image: np.ndarray, colour) -> np.ndarray:
    return np.abs(image - colour).max(axis=2) > 24


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("kind", [*KINDS, "camera"])
def test_every_plate_fills_its_size_and_keeps_its_margins(kind, size):
    for text in ("Short.", "- one\n- two\n\n1. first\n2. second", LONG):
        picture = CameraPicture(SECONDS) if kind == "camera" else plate(kind, text=text)
        image = pixels(picture, size)
        assert image.shape == (size[1], size[0], 3)
        drawn = far_from(image, image[0, 0])
        assert drawn.any()
        down, across = np.flatnonzero(drawn.any(axis=1)), np.flatnonzero(drawn.any(axis=0))
        # EBU R 95: graphics stay 5 % away from every edge.
        assert down[0] >= 0.05 * size[1] * min(1, size[0] / size[1]) - 1
        assert down[-1] < size[1] - 0.05 * size[1] * min(1, size[0] / size[1])
        assert across[0] >= 0.05 * size[0]
        assert across[-1] < size[0] * 0.95


@hypothesis_settings(max_examples=25)
@given(
    st.sampled_from(KINDS),
    st.sampled_from([(320, 180), (180, 320), (180, 180)]),
    st.text(max_size=300),
    st.text(max_size=1200),
)
@example("title", (320, 180), "One\u2028two", "0\u20290")
def test_no_text_overflows_or_breaks_a_plate(kind, size, title, text):
    image = pixels(plate(kind, title, text), size)
    drawn = far_from(image, PAPER)
    edge = int(min(size) * 0.04)
    for strip in (drawn[:edge], drawn[-edge:], drawn[:, :edge], drawn[:, -edge:]):
        assert not strip.any()


def test_text_shrinks_before_it_is_cut():
    words = Leaded(Style("serif", 400, 40), 25, Fraction(7, 5))
    room = Room(1000, 500)
    short, longer = set_text("Short words.", room, words), set_text(LONG[:600], room, words)
    assert short.lines[0].style.size == 40
    assert 25 <= longer.lines[0].style.size < 40
    assert not longer.cut
    cut = set_text(LONG, room, words)
    assert cut.cut
    assert cut.lines[-1].text.endswith(" …")
    assert cut.lines[0].style.size == 25
    for found in (short, longer, cut):
        assert found.height <= room.height
        assert all(line.x + line_width(line.text, line.style) <= room.width for line in found.lines)
        assert all(b.baseline > a.baseline for a, b in pairwise(found.lines))


def test_every_word_is_set_in_order():
    found = set_text(LONG[:500], Room(400, 2000), Leaded(Style("serif", 400, 30), 20, Fraction(7, 5)))
    assert " ".join(line.text for line in found.lines).split() == LONG[:500].split()


def test_items_hang_and_paragraphs_stand_apart():
    how = Leaded(Style("serif", 400, 30), 20, Fraction(7, 5), Fraction(3, 5))
    found = set_text(
        "Before\n\n- one long item that has to be broken into lines\n12. twelve", Room(300, 900), how
    )
    signs = [line for line in found.lines if line.text in ("–", "12.")]
    assert [line.x for line in signs] == [0, 0]
    body = [line for line in found.lines if line.text not in ("–", "12.")]
    assert body[0].x == 0
    assert len({line.x for line in body[1:-1]}) == 1
    assert body[1].x > 0
    assert body[1].baseline - body[0].baseline > body[2].baseline - body[1].baseline


def test_a_word_wider_than_the_picture_is_broken():
    how = Leaded(Style("sans", 400, 30), 20, Fraction(7, 5))
    found = set_text("Brustwirbelsäulenrotationsbeweglichkeit" * 3, Room(200, 5000), how)
    assert "".join(line.text for line in found.lines) == "Brustwirbelsäulenrotationsbeweglichkeit" * 3
    assert all(line_width(line.text, line.style) <= 200 for line in found.lines)


def test_what_is_too_long_is_told_by_name():
    faults = plate_faults(plate("text", "Serratus anterior", LONG), (1280, 720))
    assert faults == (
        "Plate “Serratus anterior”: the text is too long and ends in “…” on screen; shorten it.",
    )
    assert plate_faults(plate("text"), (1280, 720)) == ()
    assert plate_faults(CameraPicture(SECONDS), (320, 180)) == ()


@pytest.mark.parametrize("sign", "½¼¾°–—“”‘’„…·±−×²³µ€£éüßñøœŁłčşőāĐžńğřţ")
def test_the_house_fonts_have_what_clinicians_and_names_need(sign):
    assert can_show(sign)
    assert plain(sign) == sign


def test_signs_without_a_letter_are_said_otherwise_or_told():
    assert plain("≥ 90°, ≈ 5, ﬁne, ⅓, №") == "at least 90°, about 5, fine, 1⁄3, No"
    assert plain("cafe\u0301") == "café"
    assert plain("a\x00b\u200bc\r\nd\te") == "abc\nd e"
    assert plain("flexion – extension") == "flexion\u00a0– extension"
    faults = plate_faults(plate("text", "漢", "words"), (640, 360))
    assert faults == ("Plate “漢”: the house fonts have no 漢; write it another way.",)
    assert far_from(pixels(plate("text", "漢", ""), (640, 360)), PAPER).sum() > 300  # the empty box is seen
    for row in rows("plate_substitutes"):
        assert not can_show(row["sign"]), f"{row['sign']} needs no substitute"
        assert all(sign.isspace() or can_show(sign) for sign in row["instead"])


def test_accented_letters_are_as_heavy_as_their_neighbours():
    """Letters of the second font file come in one optical size; the whole text takes it."""
    style = Style("serif", 400, 64)
    assert matched(style, "Lodz").optical is None
    assert matched(style, "Łódź").optical == 14
    assert line_width("Lodz", matched(style, "Łódź")) != line_width("Lodz", style)


def test_a_caution_has_shape_word_and_colour():
    image = pixels(plate("caution"), (1280, 720))
    red = np.abs(image - RED).max(axis=2) < 12
    bar = red[:, : int(0.08 * 1280) + 9]
    assert bar.any(axis=1).sum() > 150  # a solid bar beside all of it
    assert red[:, int(0.08 * 1280) + 12 :].sum() > 1500  # the sign and the word
    plain_text = pixels(plate("text"), (1280, 720))
    assert not (np.abs(plain_text - RED).max(axis=2) < 12).any()
    assert plates.CAUTION == "Caution"


def test_the_warning_sign_is_a_triangle():
    """ISO 3864-1: the general warning sign is a triangle standing on its side, wider downwards."""
    image = pixels(plate("caution"), (1280, 720))
    red = np.abs(image - RED).max(axis=2) < 60
    left = int(0.08 * 1280 + 9 + 0.036 * 720)
    sign = red[:, left - 2 : left + 62]
    lines = np.flatnonzero(sign.any(axis=1))
    spans = [np.ptp(np.flatnonzero(sign[y])) for y in lines[:: max(1, len(lines) // 8)]]
    assert spans == sorted(spans)
    assert spans[-1] > 4 * max(1, spans[0])


def drawn_words(monkeypatch, picture: PlatePicture | CameraPicture, size=(1280, 720)) -> str:
    """All lines that are put on a plate, as text."""
    lines: list[str] = []
    draw = plate_sheet.draw_line

    def noted(pen, at, text, style, ink):
        lines.append(text)
        draw(pen, at, text, style, ink)

    monkeypatch.setattr(plate_sheet, "draw_line", noted)
    draw_plate(picture, size)
    return " ".join(lines).replace("\u00a0", " ")


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("given_words", ["", "   ", "\n"])
def test_a_house_message_always_says_that_it_is_paid(monkeypatch, size, given_words):
    words = drawn_words(monkeypatch, plate("house", text=LONG, disclosure=given_words), size)
    assert words.startswith("Paid message ")


def test_a_house_message_may_say_it_in_its_own_words(monkeypatch):
    own = plate("house", disclosure="Werbung in eigener Sache")
    assert drawn_words(monkeypatch, own).startswith("Werbung in eigener Sache ")
    assert "Werbung" not in drawn_words(monkeypatch, replace(own, kind="text"))


def test_a_missing_recording_is_said_plainly(monkeypatch):
    assert (
        drawn_words(monkeypatch, CameraPicture(Fraction(25, 2))) == "To camera: not recorded yet 12.5 seconds"
    )


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
def test_the_scratch_mark_covers_nothing_but_its_corner(size):
    mark = np.asarray(scratch_mark(size))
    assert mark.shape == (size[1], size[0], 4)
    down, across = np.nonzero(mark[..., 3])
    assert down.max() < size[1] / 5
    assert across.max() < size[0] / 2
    plain_plate, marked = pixels(plate("text"), size), pixels(plate("text"), size, scratch_voice=True)
    changed = np.abs(plain_plate - marked).max(axis=2) > 0
    assert changed.any()
    assert not changed[mark[..., 3] == 0].any()


@pytest.mark.parametrize(("ink", "ground"), [
    ("INK", "PAPER"), ("SOFT", "PAPER"), ("OVER", "PAPER"), ("PAPER", "INK"), ("PALE", "GROUND"),
    ("QUIET", "GROUND"),
])  # fmt: skip
def test_contrast_is_at_least_four_and_a_half_to_one(ink, ground):
    """WCAG 2.2, success criterion 1.4.3, with its definition of relative luminance."""

    def luminance(colour: str) -> float:
        parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light = sorted(luminance(getattr(plate_sheet, name)) for name in (ink, ground))
    assert (light[1] + 0.05) / (light[0] + 0.05) >= 4.5


def test_the_identity_changes_with_what_is_seen_and_not_with_the_seconds():
    base = plate("house")
    same = [
        replace(base, seconds=Fraction(9)),
        replace(base, disclosure="Paid message"),
        replace(base, disclosure=" "),
    ]
    other = [
        replace(base, title="x"),
        replace(base, text="x"),
        replace(base, kind="text"),
        replace(base, disclosure="Ad"),
    ]
    assert all(plate_identity(p) == plate_identity(base) for p in same)
    assert all(plate_identity(p) != plate_identity(base) for p in other)
    assert plate_identity(CameraPicture(Fraction(2))) != plate_identity(CameraPicture(Fraction(3)))


def test_a_thumbnail_is_the_same_drawing_smaller():
    large = draw_plate(plate("title"), (1280, 720)).resize((320, 180))
    small = draw_plate(plate("title"), (320, 180))
    difference = np.abs(np.asarray(large).astype(int) - np.asarray(small).astype(int))
    assert difference.mean() < 6
