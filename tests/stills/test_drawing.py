"""The drawing of marks: what it is made of, where its words stand, and how it is drawn on."""

from __future__ import annotations

import itertools
import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.stills.document import read_document
from breakdowns.stills.drawing import draw
from breakdowns.stills.faces import text_path, text_width
from breakdowns.stills.labels import Box, Layout, Wanted, covered_length
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


@settings(max_examples=12, deadline=None)
@given(st.floats(0, 1), st.floats(0, 1))
def test_drawing_on_only_ever_adds(one: float, two: float) -> None:
    document = read_document(
        {
            "marks": [
                {
                    "id": "a",
                    "kind": "freehand",
                    "points": [point(100 + 40 * k, 300 + 90 * (k % 3)) for k in range(20)],
                }
            ]
        },
        SIZE,
    )
    first, second = sorted((one, two))
    before, after = (
        ink(draw(document, FACTS, width_px=640, reveal={"a": share})) for share in (first, second)
    )
    # A round end may be a hair off where two drawings cut the same line; nothing else may go away.
    assert np.mean(before > after + 64) < 2e-4


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


@settings(max_examples=60, deadline=None)
@given(_lines, _wanted)
def test_a_label_covers_nothing_while_a_free_place_of_its_own_is_there(lines, wanted) -> None:
    layout = Layout(1280, 720, np.array(lines, float).reshape(-1, 4), clear=4)
    for width, x, y in wanted:
        want = Wanted(width, 20, ((x, y),))
        before = list(layout.taken)
        free = [
            box for _, box in layout._candidates(want)
            if not any(box.common(other) for other in before)
            and covered_length(box, layout.lines) == 0
            and box.beyond(1280, 720) == 0
        ]  # fmt: skip
        clear = [
            box for box in free
            if covered_length(Box(box.left - 4, box.top - 4, box.right + 4, box.bottom + 4), layout.lines) == 0
            and not any(Box(box.left - 4, box.top - 4, box.right + 4, box.bottom + 4).common(o) for o in before)
            and Box(box.left - 4, box.top - 4, box.right + 4, box.bottom + 4).beyond(1280, 720) == 0
        ]  # fmt: skip
        placed = layout.place(want)
        if clear:
            assert placed in free


@given(
    st.tuples(*[st.floats(-50, 150)] * 4),
    st.tuples(st.floats(0, 40), st.floats(0, 40), st.floats(50, 100), st.floats(50, 100)),
)
def test_length_inside_a_box_agrees_with_counting(line, box) -> None:
    """Against plain sampling along the line."""
    x1, y1, x2, y2 = line
    t = (np.arange(4000) + 0.5) / 4000
    x, y = x1 + t * (x2 - x1), y1 + t * (y2 - y1)
    inside = (x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3])
    length = math.hypot(x2 - x1, y2 - y1)
    assert covered_length(Box(*box), np.array([line])) == pytest.approx(
        inside.mean() * length, abs=0.01 * length + 1e-6
    )


def test_letters_have_the_width_of_another_reader_of_the_font() -> None:
    """Against FreeType (through Pillow), which reads the same variable font."""
    from PIL import ImageFont

    from breakdowns.stills.faces import _FILES, _FOLDER

    font = ImageFont.truetype(str(_FOLDER / _FILES[0]), 200, layout_engine=ImageFont.Layout.BASIC)
    font.set_variation_by_axes([600])
    for text in ("shoulders", "40.1°", "hip–shoulder"):
        assert text_width(text, 200, 600) == pytest.approx(font.getlength(text), rel=0.02)
    assert text_path(" ", (0, 0), 10) == ""


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
