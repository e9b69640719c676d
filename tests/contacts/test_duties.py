"""Which cautions words bring, and when a caution counts as carried."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.contact.loading import packaged_facts
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.contacts.duties import _pattern, carried, duties, injuries_named, missing, of_place

from .data_duties import CARRIES, DOES_NOT_CARRY, NAMES, SILENT


@pytest.mark.parametrize(("text", "expected"), NAMES)
def test_words_that_name_a_possible_injury(text: str, expected: set[str]) -> None:
    found = injuries_named(text)
    assert {one.duty for one in found} >= expected
    assert all(text[one.start : one.end].strip() for one in found)


@pytest.mark.parametrize("text", SILENT)
def test_technique_and_plain_anatomy_bring_nothing(text: str) -> None:
    assert injuries_named(text) == ()


@pytest.mark.parametrize(("text", "expected"), CARRIES)
def test_paraphrases_count(text: str, expected: set[str]) -> None:
    assert carried([text]) == expected


@pytest.mark.parametrize("text", DOES_NOT_CARRY)
def test_what_is_no_caution_does_not_count(text: str) -> None:
    assert carried([text]) == frozenset()


def test_our_own_lines_are_what_they_are_for() -> None:
    for key, duty in duties().items():
        assert key in carried([duty.line]), duty.line
        assert carried([duty.line]) == {key}
        assert set(duty.sources) <= set(packaged_vocabulary().sources)


def test_a_caution_may_stand_anywhere_in_the_piece() -> None:
    words = "The elbow could rupture the spleen."
    needed = [one.duty for one in injuries_named(words)]
    assert [one.key for one in missing(needed, [words])] == ["organ", "no_diagnosis"]
    plate = duties()["organ"].line
    assert [one.key for one in missing(needed, [words, plate])] == ["no_diagnosis"]
    assert missing(needed, [words, plate, duties()["no_diagnosis"].line]) == ()
    assert missing([], [words]) == ()


def test_every_organ_of_the_contact_map_is_guarded() -> None:
    structures = [risk.of for risk in packaged_facts().risks if risk.layer == "organ"]
    guarded = [_pattern("structure", key) for key in ("head", "spine", "organ")]
    assert [name for name in structures if not any(one.search(name) for one in guarded)] == []


def test_places_bring_their_duty() -> None:
    assert of_place("temple") == ("head", "spine")
    assert of_place("neck-front") == ("spine",)
    assert of_place("lower-ribs-side") == ("organ",)
    assert set(of_place("low-spine")) == {"spine", "organ"}
    assert of_place("thigh-front") == ()


@given(st.text(max_size=300))
def test_any_text_is_read(text: str) -> None:
    assert {one.duty for one in injuries_named(text)} <= set(duties())
    assert carried([text]) <= set(duties())


@given(st.lists(st.sampled_from([text for text, _ in CARRIES] + DOES_NOT_CARRY)))
def test_more_texts_never_carry_less(texts: list[str]) -> None:
    for count in range(len(texts)):
        assert carried(texts[:count]) <= carried(texts[: count + 1])
