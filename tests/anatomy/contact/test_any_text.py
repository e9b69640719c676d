"""Whatever is typed, pasted or dictated: the reading answers, what it says is sound, and its work grows as the text does."""

from __future__ import annotations

import json
import sys
from types import FrameType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anatomy.contact.entries import LAYERS, URGENCIES
from anatomy.contact.loading import packaged_facts
from anatomy.contact.read import LONGEST_TEXT, ContactError, ContactReading, read_contact
from anatomy.vocabulary.packaged import packaged_vocabulary
from tests.anatomy.contact.reading import cases

SIDES = ("left", "right", "both", "either", "midline")
WORDS = sorted({word for row in packaged_facts().words for word in row.words})
LEVELS = [
    "tenth rib",
    "rib 9",
    "ribs 3-5",
    "T12",
    "L4",
    "C8",
    "S5",
    "Co1",
    "rib 0",
    "rib 99999999999999999999",
    "10th",
    "²",
    "x" * 40,
]


def sound(text: str, side: str | None = None) -> ContactReading:
    """The reading of a text after everything that must hold for any text has been seen to hold."""
    reading = read_contact(text, side)
    facts, sources = packaged_facts(), packaged_vocabulary().sources
    for hit in reading.places:
        assert hit.key in facts.places
        assert hit.side in SIDES
        assert "{" not in hit.name
        assert 0 <= hit.start <= hit.end <= len(text)
    order = [URGENCIES.index(row.urgency) for row in reading.structures]
    assert order == sorted(order)
    for row in reading.structures:
        assert row.side in SIDES
        assert row.layer in LAYERS
        assert row.watch_for
        assert row.sources
        assert all(key in sources for key in row.sources)
    assert len({(row.name, row.side, row.risk, row.who) for row in reading.structures}) == len(
        reading.structures
    )
    assert bool(reading.structures) == bool(reading.places)
    assert reading.unsure or reading.places
    assert reading.cautions
    json.dumps(reading.as_json(), ensure_ascii=False)
    return reading


@given(st.text(max_size=300))
@settings(max_examples=300, deadline=None)
def test_any_characters_are_read(text: str) -> None:
    if text.strip():
        sound(text)


@given(
    st.lists(
        st.sampled_from([*WORDS, *LEVELS, ",", ".", "\n", "not", "sorry", "and", "left", "right"]),
        min_size=1,
        max_size=40,
    ),
    st.sampled_from([None, "left", "right", "both"]),
)
@settings(max_examples=400, deadline=None)
def test_any_words_of_ours_in_any_order_are_read(words: list[str], side: str | None) -> None:
    text = " ".join(words)
    if text.strip():
        sound(text, side)


HURTING = [
    "a", "head ", "left ", "not ", "sorry, ", "the tenth and ", "rib ", "1 ", "9-", "back of the ", "side ", "elbow into ", "😀\u0301",
    "knee, ", "\ud800", "\x00", "between the ", "left, no, right ", "did not hit the ", "T1-", "opponent's ", "\n", "- ", "#",
    "knee to the left thigh and the right shoulder, sorry, left elbow not the head but the rib ten ",
]  # fmt: skip


@pytest.mark.parametrize("unit", [unit for unit in HURTING if unit.strip()])
def test_the_longest_text_of_anything_is_read(unit: str) -> None:
    sound((unit * (LONGEST_TEXT // len(unit) + 1))[:LONGEST_TEXT])


def calls(text: str) -> int:
    """How many functions are called while a text is read."""
    counted = 0

    def count(frame: FrameType, event: str, arg: object) -> None:
        nonlocal counted
        counted += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        read_contact(text)
    finally:
        sys.setprofile(before)
    return counted


@pytest.mark.parametrize("unit", [unit for unit in HURTING if unit.strip()][::2])
def test_the_work_grows_no_faster_than_the_text(unit: str) -> None:
    """Counted in calls, so that no clock is asked: four times the text, at most four times the calls and a tenth."""
    read_contact(unit)
    small, large = ((unit * (size // len(unit) + 1))[:size] for size in (2_500, 10_000))
    calls(small)  # what is looked up once and kept
    assert calls(large) <= 4.4 * calls(small) + 2_000


def test_reading_twice_gives_the_same() -> None:
    for case in cases()[::7]:
        assert read_contact(case.text).as_json() == read_contact(case.text).as_json()


@pytest.mark.parametrize("text", ["", "  \n\t ", "x" * (LONGEST_TEXT + 1)])
def test_an_empty_and_an_overlong_text_are_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(ContactError) as error:
        read_contact(text)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("side", ["", "middle", "Left", "l\nr", "x" * 500])
def test_an_unknown_side_is_refused_in_one_sentence(side: str) -> None:
    with pytest.raises(ContactError) as error:
        read_contact("knee to the thigh", side)
    assert "\n" not in str(error.value)
    assert len(str(error.value)) < 200
