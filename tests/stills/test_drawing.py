"""The drawing of marks: what it is made of, where its words stand, and how it is drawn on."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.stills.document import read_document
from breakdowns.stills.drawing import draw
from breakdowns.stills.faces import FACE_FILES, FACE_FOLDER, settable, text_path, text_width
from breakdowns.stills.labels import Box, Layout, Wanted
from breakdowns.stills.measures import measures_of
from breakdowns.stills.picture import PictureFacts
from breakdowns.stills.raster import raster
from breakdowns.stills.shapes import chain_length, cut_to, rounded_off, through_three
from tests.stills.marks_examples import SIZE, documents, every_kind, point

FACTS = PictureFacts(SIZE)
NAMESPACE = "{http://www.w3.org/2000/svg}"


def drawing(document=None, **how) -> str:
    document = document or documents(1)[0]
    return draw(document, FACTS, width_px=1280, measures=measures_of(document, FACTS), **how)


def test_a_drawing_holds_nothing_but_shapes() -> None:
    """SVG 2 shapes without text, style, script or references: nothing in it can be refused by a strict policy."""
    tree = ElementTree.fromstring(drawing())
    assert {element.tag.removeprefix(NAMESPACE) for element in tree.iter()} == {
        "svg", "g", "title", "path", "circle",
    }  # fmt: skip
    attributes = {name for element in tree.iter() for name in element.attrib}
    assert not {name for name in attributes if name.startswith("on") or name in ("style", "href", "class")}


def test_every_mark_is_a_group_with_its_name() -> None:
    tree = ElementTree.fromstring(drawing())
    groups = {
        group.get("data-mark"): group.find(f"{NAMESPACE}title") for group in tree.findall(f"{NAMESPACE}g")
    }
    assert list(groups) == [f"m{n}" for n in range(10)]
    assert groups["m1"] is not None
    assert groups["m1"].text == "knee"


def test_texts_are_escaped() -> None:
    document = read_document(
        {"marks": [{"id": "a", "kind": "label", "points": [point(9, 9)], "text": "<script>&\"'"}]}, SIZE
    )
    svg = draw(document, FACTS, width_px=600)
    assert "<script" not in svg
    assert ElementTree.fromstring(svg)[0][0].text == "<script>&\"'"


def test_hidden_marks_and_those_without_their_landmark_are_left_out() -> None:
    value = every_kind()
    value["marks"][9]["shown"] = False
    del value["landmarks"]["left_knee"]
    svg = drawing(read_document(value, SIZE))
    assert 'data-mark="m9"' not in svg
    assert 'data-mark="m1"' not in svg
    assert 'data-mark="m0"' in svg


def test_mirroring_turns_the_lines_and_not_the_letters() -> None:
    document = read_document(
        {"marks": [{"id": "a", "kind": "label", "points": [point(200, 300)], "text": "FLANK"}]}, SIZE
    )
    plain, mirrored = (
        re.findall(r'd="([^"]+)"', draw(document, FACTS, width_px=1280, mirrored=turned)) for turned in (0, 1)
    )
    numbers = [[float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", paths[0])] for paths in (plain, mirrored)]
    # The same outline at another place: no letter is turned round.
    assert re.sub(r"[-\d. ]+", "", plain[0]) == re.sub(r"[-\d. ]+", "", mirrored[0])
    assert min(numbers[1]) > 0


@pytest.mark.parametrize("aspect", [16 / 15, 12 / 11, 0.75])
def test_pixels_that_are_not_square_are_made_square(aspect: float) -> None:
    facts = PictureFacts((720, 576), aspect)
    assert facts.display_size[0] / facts.display_size[1] == pytest.approx(720 * aspect / 576, rel=2e-3)
    document = read_document(
        {"marks": [{"id": "a", "kind": "point", "points": [point(360, 288)]}]}, facts.size
    )
    circle = ElementTree.fromstring(draw(document, facts, width_px=720)).find(f".//{NAMESPACE}circle")
    assert circle is not None
    centre = float(circle.get("cx", 0)), float(circle.get("cy", 0))
    assert centre == pytest.approx((facts.display_size[0] / 2, facts.display_size[1] / 2), abs=0.6)


# --- drawing on ----------------------------------------------------------------------------------


def ink(svg: str) -> np.ndarray:
    return np.asarray(raster(svg, (640, 360)))[..., 3].astype(int)


_LINES = {
    "line": [point(150, 600), point(1100, 130)],
    "polyline": [point(100 + 90 * k, 300 + 90 * (k % 3)) for k in range(12)],
    "angle": [point(200, 100), point(600, 500), point(1000, 300)],
    "pair": [point(200, 200), point(900, 400), point(300, 600), point(1000, 350)],
    "freehand": [point(100 + 40 * k, 300 + 90 * (k % 3)) for k in range(20)],
    "zone": [point(200, 100), point(900, 160), point(800, 600), point(300, 560)],
}


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(_LINES)), st.integers(1, 3), st.floats(0, 1), st.floats(0, 1))
def test_drawing_on_only_ever_adds(kind: str, tone: int, one: float, two: float) -> None:
    mark = {"id": "a", "kind": kind, "points": _LINES[kind], "tone": tone}
    document = read_document({"marks": [mark]}, SIZE)
    before, after = (
        ink(draw(document, FACTS, width_px=640, reveal={"a": share})) for share in sorted((one, two))
    )
    # A round end may be a hair off where two drawings cut the same line; nothing else may go away.
    assert np.mean(before > after + 64) < 2e-4
    assert np.sum(before) <= np.sum(after) * 1.001 + 1


def test_at_nought_nothing_and_at_one_everything_is_drawn() -> None:
    document = documents(1)[0]
    nothing = {mark.id: 0.0 for mark in document.marks}
    everything = {mark.id: 1.0 for mark in document.marks}
    assert ink(drawing(document, reveal=nothing)).max() == 0
    assert drawing(document, reveal=everything) == drawing(document)


def test_words_keep_their_places_while_marks_are_drawn_on() -> None:
    document = documents(1)[0]
    share = {mark.id: 1.0 for mark in document.marks} | {"m0": 0.1}
    whole, part = drawing(document), drawing(document, reveal=share)
    group = re.compile(r'<g data-mark="m(\d)">.*?</g>(?=<g data-mark|</svg>)')
    kept = {match[1]: match[0] for match in group.finditer(whole)}
    for match in group.finditer(part):
        if match[1] != "0":
            assert match[0] == kept[match[1]]


# --- words ---------------------------------------------------------------------------------------

_lines = st.lists(
    st.tuples(st.floats(0, 1280), st.floats(0, 720), st.floats(0, 1280), st.floats(0, 720)), max_size=6
)
_wanted = st.lists(
    st.tuples(st.floats(30, 220), st.floats(0, 1280), st.floats(0, 720)), min_size=1, max_size=8
)


CLEAR, CELL = 6.0, 3.0


def inside(box: Box, line: tuple[float, float, float, float]) -> bool:
    """Whether a straight line touches a box, by plain sampling."""
    t = np.linspace(0, 1, 3000)
    x, y = line[0] + t * (line[2] - line[0]), line[1] + t * (line[3] - line[1])
    return bool(np.any((x > box.left) & (x < box.right) & (y > box.top) & (y < box.bottom)))


def is_clear(box: Box, lines, taken, width: float = 1280, height: float = 720) -> bool:
    edge = box.left >= 0 and box.top >= 0 and box.right <= width and box.bottom <= height
    return edge and not any(inside(box, line) for line in lines) and not any(box.common(o) for o in taken)


@settings(max_examples=60, deadline=None)
@given(_lines, _wanted)
def test_a_label_covers_nothing_while_a_free_place_is_there(lines, wanted) -> None:
    """Free as told by plain sampling, not by the layout's own reckoning: whatever stands on an even grid of places."""
    layout = Layout((1280, 720), np.array(lines, float).reshape(-1, 4), clear=CLEAR, em=20)
    taken: list[Box] = []
    for width, x, y in wanted:
        placed = layout.find(Wanted(width, 20, ((x, y),)))
        box = layout.take(placed)
        assert box.right - box.left == pytest.approx(width)
        if placed.free:
            assert is_clear(box.grown(CLEAR / 2), lines, taken)
        else:
            grid = itertools.product(np.linspace(40, 1240 - width, 8), np.linspace(40, 660, 10))
            room = CLEAR + 2 * CELL
            for left, top in grid:
                place = Box(left, top, left + width, top + 20)
                assert not is_clear(place.grown(room + 20), lines, taken)
        taken.append(box)


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 30), st.integers(1, 3), st.sampled_from([360, 1280]))
def test_no_words_lie_on_another_marks_casing(shift: int, tone: int, width_px: int) -> None:
    """Seen in pixels: the drawing with a mark's words and without differ only where nothing else is drawn."""
    document = read_document(every_kind(shift, tone), SIZE)
    if width_px == 360:  # so small, only half as many marks have room
        document = replace(document, marks=document.marks[::2])
    rows = measures_of(document, FACTS)
    whole = {mark.id: 1.0 for mark in document.marks}
    lines = np.zeros((360, 640), bool)
    words = []
    for mark in document.marks:
        alone = dict.fromkeys(whole, 0.0)
        bare, full = (
            ink(draw(document, FACTS, width_px=width_px, measures=rows, reveal=alone | {mark.id: share}))
            for share in (0.8, 1.0)
        )
        lines |= bare > 128
        words.append((full > 128) & (bare <= 128) if mark.kind != "zone" else np.zeros_like(lines))
        words[-1] &= ~(bare > 0)
    for number, one in enumerate(words):
        assert np.sum(one & lines) == 0
        assert not any(np.any(one & other) for other in words[:number])


def test_a_small_move_of_a_mark_moves_its_words_little() -> None:
    """Over 80 moves of half a pixel, words jump to another place hardly ever."""
    jumps = 0
    last = None
    for step in range(80):
        value = every_kind(step * 0.5)
        svg = drawing(read_document(value, SIZE))
        starts = [
            tuple(map(float, match))
            for match in re.findall(r'<path d="M(-?[\d.]+)[ ,](-?[\d.]+)[^"]*" fill="#000', svg)
        ]
        if last is not None and len(last) == len(starts):
            jumps += sum(math.dist(a, b) > 5 for a, b in zip(last, starts, strict=True))
        last = starts
    assert jumps <= 80 * 10 * 0.02


def test_words_too_long_for_the_picture_are_broken_and_stay_inside() -> None:
    for text in ("the whole body turns about the planted foot " * 2, "x" * 120, "Überschwungbeuger " * 6):
        mark = {"id": "a", "kind": "label", "points": [point(1270, 5)], "text": text.strip()[:120]}
        seen = ink(draw(read_document({"marks": [mark]}, SIZE), FACTS, width_px=360))
        assert seen.max() > 200
        assert not seen[:, [0, -1]].any()
        assert not seen[[0, -1], :].any()


def test_the_error_gives_way_where_only_the_value_has_room() -> None:
    fence = [
        {"id": f"f{n}", "kind": "line", "points": [point(x, 0), point(x, 720)]}
        for n, x in enumerate(range(20, 1280, 105))
    ]
    mark = {"id": "a", "kind": "line", "points": [point(560, 330), point(630, 330)], "value": True}
    wide, narrow = (
        draw(doc, FACTS, width_px=1280, measures=measures_of(doc, FACTS))
        for doc in (read_document({"marks": [mark, *more]}, SIZE) for more in ([], fence))
    )
    group = re.compile(r'<g data-mark="a">.*?</g>')
    letters = [len(re.findall("M", group.search(svg)[0])) for svg in (wide, narrow)]
    assert letters[1] < letters[0]


def test_letters_have_the_width_of_another_reader_of_the_font() -> None:
    """Against FreeType and HarfBuzz (through Pillow), which read the same variable font and kern it."""
    from PIL import ImageFont, features

    if not features.check("raqm"):
        pytest.skip("Pillow was built without HarfBuzz")
    font = ImageFont.truetype(str(FACE_FOLDER / FACE_FILES["sans"][0]), 1000)
    for weight in (400, 600, 700):
        font.set_variation_by_axes([weight])
        for text in ("shoulders", "AVATAR", "Trunk", "hip–shoulder", "Tor, Wurf", "40", "WAY To"):
            assert text_width(text, 1000, weight) == pytest.approx(
                font.getlength(text, features=["tnum"]), abs=1.01 * len(text)
            )
    loose = sum(text_width(letter, 1000, 600) for letter in "AVATAR")
    assert text_width("AVATAR", 1000, 600) < loose - 50
    assert text_path(" ", (0, 0), 10) == ""


def test_figures_are_as_wide_as_each_other() -> None:
    assert len({round(text_width(figure * 7, 100, 700), 6) for figure in "0123456789"}) == 1
    assert text_width("11.17", 100, 700) == pytest.approx(text_width("40.82", 100, 700))


@given(st.text(max_size=40))
def test_any_text_can_be_set(text: str) -> None:
    assert text_width(text, 20, 600) >= 0
    assert settable(settable(text)) == settable(text)
    ElementTree.fromstring(f'<path d="{text_path(text, (0, 0), 20)}"/>')


def test_letters_that_a_face_lacks_come_from_the_other_or_are_said_simpler() -> None:
    assert settable("ﬁn a\u0308 Ŝ ↑ ² 中") == "fin ä Ŝ ↑ ² ?"


# --- shapes --------------------------------------------------------------------------------------

_points = st.tuples(st.floats(-500, 500), st.floats(-500, 500))


@given(st.lists(_points, min_size=2, max_size=12), st.floats(0, 1))
def test_a_cut_chain_has_its_share_of_the_length(chain, share) -> None:
    assert chain_length(cut_to(chain, share)) == pytest.approx(share * chain_length(chain), abs=1e-6)


@given(st.lists(_points, min_size=3, max_size=12))
def test_a_rounded_chain_keeps_its_ends_and_its_hull(chain) -> None:
    smooth = rounded_off(chain)
    assert (smooth[0], smooth[-1]) == (chain[0], chain[-1])
    for axis in (0, 1):
        low, high = min(p[axis] for p in chain), max(p[axis] for p in chain)
        assert all(low - 1e-9 <= p[axis] <= high + 1e-9 for p in smooth)


@given(_points, _points, _points)
def test_a_turn_goes_through_its_three_points(a, b, c) -> None:
    chain = through_three(a, b, c)
    assert math.dist(chain[0], a) < 1e-3
    assert math.dist(chain[-1], c) < 1e-3
    size = max(math.dist(a, b), math.dist(b, c), math.dist(a, c))
    nearest = min(_distance(b, p, q) for p, q in itertools.pairwise(chain)) if size else 0
    assert nearest <= 0.01 * size + 1e-6


def _distance(p, a, b) -> float:
    along = (b[0] - a[0], b[1] - a[1])
    square = along[0] ** 2 + along[1] ** 2
    t = 0 if square == 0 else max(0, min(1, ((p[0] - a[0]) * along[0] + (p[1] - a[1]) * along[1]) / square))
    return math.dist(p, (a[0] + t * along[0], a[1] + t * along[1]))
