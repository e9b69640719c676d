"""The drawing against the engine: every place reachable, nothing on the wrong side, spots where they belong."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.contact.at_risk import places, structures_under
from anatomy.contact.loading import packaged_facts
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.contacts.body import (
    HEIGHT,
    MIDLINE,
    VIEWS,
    WIDTH,
    Point,
    Spot,
    View,
    outlines,
    spots,
    vertebra_y,
)
from breakdowns.contacts.drawing import CLOSER, best_view, body_svg, cells
from breakdowns.contacts.duties import injuries_named, missing
from breakdowns.contacts.reading import read, sentences
from breakdowns.contacts.state import State, read_rows, read_state, state_rows

SPOTS = [spot for view in VIEWS for spot in spots(view)]
KEYS = [place.key for place in places()]


def inside(corners: tuple[Point, ...], x: float, y: float) -> bool:
    """Even–odd rule."""
    found = False
    for (x1, y1), (x2, y2) in pairwise((*corners, corners[0])):
        if (y1 > y) != (y2 > y) and x < (x2 - x1) * (y - y1) / (y2 - y1) + x1:
            found = not found
    return found


@pytest.mark.parametrize("view", VIEWS)
def test_every_spot_lies_on_its_part_of_the_body(view: View) -> None:
    lines = outlines(view)
    assert [spot for spot in spots(view) if not inside(lines[spot.part], spot.x, spot.y)] == []


def test_every_place_of_the_engine_can_be_reached() -> None:
    """A place with no spot of its own is made of places that have one, or is part of one in the list and the steps."""
    facts = packaged_facts()
    drawn = {spot.place for spot in SPOTS}
    assert [key for key in KEYS if facts.is_leaf(key) and key not in drawn] == []
    assert [key for key in KEYS if best_view(key, "") is None] == []
    assert drawn <= set(KEYS)


def test_a_place_is_drawn_only_in_views_that_show_it() -> None:
    seen = {"front": "front", "back": "back", "left": "side", "right": "side"}
    assert [s for s in SPOTS if seen[s.view] not in packaged_facts().places[s.place].views] == []


@pytest.mark.parametrize("spot", SPOTS, ids=lambda spot: f"{spot.view}-{spot.place}-{spot.side}-{spot.x:g}")
def test_the_side_of_a_spot_is_the_bodys_own(spot: Spot) -> None:
    parity = packaged_facts().places[spot.place].parity
    if spot.view in ("left", "right"):
        assert spot.side in ("", spot.view)
    elif spot.side:
        # Seen from the front, the body's left is on the viewer's right; from behind on the viewer's left.
        assert (spot.x > MIDLINE) == ((spot.side == "left") == (spot.view == "front"))
    assert bool(spot.side) == (parity in ("paired", "left"))


def _fixed_sides() -> dict[str, str]:
    """Names of the vocabulary that lie on one side only, from the vocabulary, not from the contact data."""
    return {
        name: one.side
        for name, one in packaged_vocabulary().structures.items()
        if one.side in ("left", "right")
    }


@pytest.mark.parametrize("spot", SPOTS, ids=lambda spot: f"{spot.view}-{spot.place}-{spot.side}-{spot.x:g}")
def test_no_cell_leads_to_a_structure_of_the_other_side(spot: Spot) -> None:
    fixed, other = _fixed_sides(), {"left": "right", "right": "left"}
    if not spot.side:
        return
    rows = read(State(place=spot.place, side=spot.side)).structures
    assert rows
    wrong = other[spot.side]
    assert [row.name for row in rows if row.side == wrong and fixed.get(row.entry) != row.side] == []
    paired_or_here = [row for row in rows if fixed.get(row.entry) == wrong]
    # What lies on the other side only may be met by a blow here only when the map says that it reaches across.
    assert [
        row.name
        for row in paired_or_here
        if row.entry in ("spleen", "liver", "gallbladder", "left kidney", "right kidney")
    ] == []


def test_spleen_and_liver_are_under_their_own_side_of_the_drawing() -> None:
    """Moore, Clinically Oriented Anatomy (from memory): spleen under left ribs 9 to 11, liver under the right ribs."""
    for view in VIEWS:
        for (place, side), _ in cells(view).items():
            names = {row.entry for row in read(State(place=place, side=side)).structures}
            if place.startswith("lower-ribs"):
                assert ("spleen" in names) == (side == "left"), (view, place, side)
                assert ("liver" in names) == (side == "right"), (view, place, side)


def test_levels_lie_where_the_drawing_puts_them() -> None:
    """Order of the vertebrae, and landmarks: sternal angle T4/5, tip of the breastbone T9, iliac crest L4 (Gray 1918)."""
    ladder = (
        [f"C{n}" for n in range(1, 8)]
        + [f"T{n}" for n in range(1, 13)]
        + [f"L{n}" for n in range(1, 6)]
        + ["S1"]
    )
    heights = [vertebra_y(level) for level in ladder]
    assert heights == sorted(heights)
    crest = [spot.y for spot in SPOTS if spot.place == "hip-rim"]
    assert all(abs(y - vertebra_y("L4")) < 15 for y in crest)
    for spot in SPOTS:
        found = packaged_facts().places[spot.place].vertebrae
        known = [one for one in found if not one.startswith("Co")]
        if known:
            low, high = vertebra_y(known[0]), vertebra_y(known[-1])
            assert low - 22 <= spot.y <= high + 22, (spot, low, high)


@pytest.mark.parametrize("view", VIEWS)
def test_the_cells_cover_the_body_without_gap_or_overlap(view: View) -> None:
    found = cells(view)
    lines = outlines(view)
    for part, line in lines.items():
        for x in range(5, WIDTH, 13):
            for y in range(15, HEIGHT, 13):
                if not inside(line, x, y):
                    continue
                owners = [
                    key
                    for key, shapes in found.items()
                    for p, c in shapes
                    if p == part and inside(c, x + 0.013, y + 0.017)
                ]
                assert len(owners) == 1, (part, x, y, owners)


@pytest.mark.parametrize("view", VIEWS)
def test_the_drawing_is_sound_and_every_control_is_named(view: View) -> None:
    svg = body_svg(
        view, place="flank", side="left", address=lambda place, side: f"?a={place}&b={side}", title="The body"
    )
    root = ElementTree.fromstring(svg)
    links = list(root.iter("{http://www.w3.org/2000/svg}a"))
    names = [link.get("aria-label") for link in links]
    assert len(links) == len(cells(view)) == len({link.get("href") for link in links})
    assert all(names)
    assert len(set(names)) == len(names)


@given(
    st.sampled_from(KEYS),
    st.sampled_from(["", "left", "right", "both"]),
    st.sampled_from(sorted(packaged_facts().mechanisms)),
)
def test_the_page_reads_a_place_as_the_engine_does(key: str, side: str, mechanism: str) -> None:
    state = read_state({"place": key, "side": side, "mechanism": mechanism}).state
    parity = packaged_facts().places[key].parity
    given_side = state.side or (parity if parity in ("left", "right") else None)
    expected = structures_under(key, given_side or None, mechanisms=[mechanism])
    reading = read(state)
    assert set(reading.structures) == set(expected)
    assert sum(len(rows) for _, rows in reading.layers) == len(expected)
    assert read_rows(state_rows(state)) == state


@given(
    st.sampled_from(KEYS),
    st.sampled_from(["left", "right"]),
    st.sampled_from(["", *sorted(packaged_facts().mechanisms)]),
)
def test_sentences_are_hedged_and_never_name_the_other_side(key: str, side: str, mechanism: str) -> None:
    state = read_state({"place": key, "side": side, "mechanism": mechanism, "direction": "behind"}).state
    said = sentences(state, read(state))
    if not said:
        return
    assert "could hurt" in said[0]
    assert "nobody can say" in said[0]
    assert "{" not in "".join(said)
    for line in said[1:]:
        assert any(
            word in line
            for word in (
                "could",
                "may",
                "might",
                "Possible",
                "help at once",
                "not a diagnosis",
                "Bleeding",
                "keep the person",
            )
        )


@given(st.sampled_from(KEYS), st.sampled_from(["left", "right"]))
def test_whoever_says_all_sentences_carries_what_they_owe(key: str, side: str) -> None:
    state = read_state({"place": key, "side": side}).state
    text = " ".join(sentences(state, read(state)))
    assert missing([one.duty for one in injuries_named(text)], [text]) == ()


def test_words_are_read_with_what_is_left_unsure() -> None:
    reading = read(State(text="elbow into the left side, about the tenth rib, towards the back"))
    assert reading.place == "lower-ribs-back"
    assert reading.side == "left"
    names = {row.name for row in reading.structures}
    assert {"spleen", "tenth rib"} <= names
    assert "liver" not in names
    assert reading.reasoning
    assert read(State(text="it was a fine day")).places == ()


def test_larger_windows_show_what_they_name() -> None:
    for _, windows in CLOSER.values():
        for view, (x, y, width, height) in windows.items():
            assert any(x < s.x < x + width and y < s.y < y + height for s in spots(view))  # type: ignore[arg-type]
