"""One level worked out from another: ribs, vertebrae, landmarks and organs, with the steps said."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anatomy.claims.tokens import tokens_of
from anatomy.contact.levels_said import level_at
from anatomy.contact.loading import packaged_facts
from anatomy.contact.read import read_contact
from tests.anatomy.contact.reading import names


@pytest.mark.parametrize(
    ("said", "levels"),
    [
        ("tenth rib", ("10",)), ("10th rib", ("10",)), ("rib ten", ("10",)), ("rib 10", ("10",)), ("rib number 10", ("10",)),
        ("ribs 9 to 11", ("9", "10", "11")), ("ribs 9-11", ("9", "10", "11")), ("ninth and tenth ribs", ("9", "10")),
        ("9th or 10th rib", ("9", "10")), ("fifth intercostal space", ("5", "6")), ("T10", ("T10",)), ("t10-t12", ("T10", "T11", "T12")),
        ("T12/L1", ("T12", "L1")), ("thoracic ten", ("T10",)), ("fourth lumbar", ("L4",)), ("L3 to L5", ("L3", "L4", "L5")),
        ("rib 13", None), ("rib", None), ("the tenth minute", None), ("L7", None), ("ten", None),
    ],
)  # fmt: skip
def test_levels_as_they_are_said(said: str, levels: tuple[str, ...] | None) -> None:
    found = [level_at(tokens_of(said), place) for place in range(len(tokens_of(said)))]
    first = next((one[1] for one in found if one), None)
    assert first == levels


@pytest.mark.parametrize(
    ("text", "step"),
    [
        # Gray 1918 p. 1311: lung to rib 8 in the mid-axillary line, 10 behind; Duke: pleura two ribs lower
        ("blow to the right side at the eighth rib", "Lungs, mid-axillary line: rib 8"),
        ("blow to the left lower ribs at the back, rib 12", "Pleura, beside the spine: rib 12, T12"),
        # Ellis, Holden: spleen along rib 10, between the spines of T9 and T11
        ("elbow into the left side at the tenth rib, towards the back", "Spleen on the left, from 5 cm off the midline outwards: ribs 9 to 11, T9 to T11"),
        # OpenStax A&P 2e 7.4 (from memory): rib n meets vertebra n
        ("hit at rib 10 on the left, towards the back", "Rib 10 leaves the spine at T10."),
        ("blow at T12, left of the spine", "T12 carries rib 12"),
        # Michigan, Netter: tops of the iliac crests at L4
        ("hit at L4 beside the spine on the left", "Iliac crest, beside the spine: L4"),
        # Uppsala, Ellis: kidneys T12 to L3, left a little higher
        ("knee beside the low spine at L1, left", "Left kidney, 2.5 to 9.5 cm from the midline: ribs 11 to 12, T11 to L3"),
        # Netter: lower tip of the shoulder blade at T7
        ("hit at T7 on the right, inside the shoulder blade", "Inferior angle of scapula, scapular line: rib 7, T7"),
        # Rawling: navel at L3 to L4
        ("blow at the navel", "it spans L3 to L4"),
    ],
)  # fmt: skip
def test_the_steps_are_said(text: str, step: str) -> None:
    reasoning = read_contact(text).reasoning
    assert any(step in one for one in reasoning), reasoning


def test_what_spans_other_levels_is_left_out_and_said_to_be() -> None:
    reading = read_contact("blow beside the lumbar spine at L5 on the left")
    assert "left kidney" not in {row.name for row in reading.structures}
    assert any("left kidney" in one.lower() and "left out" in one for one in reading.reasoning)
    assert "left kidney" in names("blow beside the lumbar spine at L4 on the left")  # one off is still near


def test_the_rib_or_vertebra_said_is_the_one_named() -> None:
    assert "tenth rib" in names("hit on the tenth rib at the left side")
    assert "L4 vertebra" in names("hit on the spine at L4")
    assert "T6 vertebra" in names("kicked in the spine, T6")


@given(st.integers(1, 12), st.sampled_from(["left", "right"]), st.sampled_from(["front", "side", "back"]))
@settings(max_examples=72, deadline=None)
def test_a_rib_leads_to_places_that_span_it(rib: int, side: str, view: str) -> None:
    words = {"front": "at the front", "side": "at the side", "back": "at the back"}[view]
    reading = read_contact(f"blow to rib {rib} on the {side} {words}")
    assert reading.places
    for hit in reading.places:
        place = packaged_facts().places[hit.key]
        assert str(rib) in place.ribs
        assert hit.side in (side, place.parity)
        # Ribs 11 and 12 have no front end (StatPearls, Rib Fracture), so no smallest place in front spans them.
        facts = packaged_facts()
        smallest = [other for key, other in facts.places.items() if facts.is_leaf(key)]
        seen = any(view in other.views and str(rib) in other.ribs for other in smallest)
        assert view in place.views or not seen
