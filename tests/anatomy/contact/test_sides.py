"""Left and right are mirror images, but for what lies on one side only."""

from __future__ import annotations

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from anatomy.contact.at_risk import places, structures_under
from anatomy.contact.loading import packaged_facts
from anatomy.contact.read import read_contact
from anatomy.vocabulary.packaged import packaged_vocabulary
from tests.anatomy.contact.reading import cases, places_of

OTHER = {"left": "right", "right": "left"}
ONE_SIDED = re.compile(r"\b(spleen|liver|heart|kidney shot|appendix|breastbone|over the heart)\b")
KEYS = [place.key for place in places()]
PAIRED = [place.key for place in places() if place.parity == "paired"]


def mirrored(text: str) -> str:
    """The text with left and right exchanged."""
    return re.sub(r"\b(left|right)\b", lambda found: OTHER[found[1].lower()], text, flags=re.IGNORECASE)


def swapped(found: frozenset[str]) -> frozenset[str]:
    """Places with their sides exchanged; what is not there on one side only."""
    parity = {place.key: place.parity for place in places()}
    return frozenset(
        f"{key}:{OTHER.get(side, side)}"
        for key, _, side in (one.partition(":") for one in found)
        if parity[key] not in OTHER
    )


def on_both_sides(found: frozenset[str]) -> frozenset[str]:
    """Without the places that are there on one side only."""
    parity = {place.key: place.parity for place in places()}
    return frozenset(one for one in found if parity[one.partition(":")[0]] not in OTHER)


def test_mirroring_a_text_mirrors_its_places() -> None:
    for case in cases():
        if ONE_SIDED.search(case.text.lower()) or "right under" in case.text:
            continue
        other = on_both_sides(places_of(read_contact(mirrored(case.text))))
        assert other == swapped(places_of(read_contact(case.text))), case.text


@given(st.sampled_from(PAIRED), st.sampled_from(["left", "right"]))
@settings(max_examples=150, deadline=None)
def test_what_is_struck_changes_side_and_what_is_on_one_side_comes_and_goes(key: str, side: str) -> None:
    here = {(row.name, row.risk, row.who): row.side for row in structures_under(key, side)}
    there = {(row.name, row.risk, row.who): row.side for row in structures_under(key, OTHER[side])}
    for one in here.keys() & there.keys():
        assert there[one] == OTHER.get(here[one], here[one]) or here[one] == there[one]
    for one, on in here.items():
        if one not in there:
            assert on == side


@given(st.sampled_from(KEYS), st.sampled_from(["left", "right", "both", None]))
@settings(max_examples=300, deadline=None)
def test_no_unpaired_organ_is_ever_on_the_wrong_side(key: str, side: str | None) -> None:
    """The sides of the vocabulary (Gray 1918, Ellis, Moore: spleen left, liver right, appendix right …)."""
    structures = packaged_vocabulary().structures
    for row in structures_under(key, side):
        true = structures[row.entry].side if row.kind == "structure" and row.entry in structures else "both"
        if true in OTHER:
            assert row.side == true or packaged_facts().places[row.places[0]].parity in (
                "midline",
                "across",
                "left",
            )


def test_in_a_paired_place_struck_on_the_other_side_an_unpaired_organ_is_not_named() -> None:
    structures = packaged_vocabulary().structures
    for key in PAIRED:
        for side in ("left", "right"):
            wrong = [
                row.name
                for row in structures_under(key, side)
                if row.kind == "structure" and structures[row.entry].side == OTHER[side]
                if packaged_facts().places[row.places[0]].parity == "paired"
            ]
            assert wrong == [], (key, side)
