"""Marks documents: what is read comes back equal, what is wrong is refused in one sentence."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.stills.document import MOST_MARKS, document_json, read_document
from breakdowns.stills.marks import KINDS, MarksError
from tests.stills.marks_examples import SIZE, every_kind, point

LINE: dict[str, Any] = {"id": "m1", "kind": "line", "points": [point(0, 0), point(10, 10)]}


def test_every_kind_of_mark_is_read_and_written_back() -> None:
    document = read_document(every_kind(), SIZE)
    assert {mark.kind for mark in document.marks} == set(KINDS)
    assert read_document(json.loads(json.dumps(document_json(document))), SIZE) == document


def test_an_empty_object_is_an_empty_document() -> None:
    assert document_json(read_document({}, SIZE)) == {"version": 1, "landmarks": {}, "marks": []}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"kind": "star"}, "is of the kind 'star'"),
        ({"points": [point(0, 0)]}, "has 1 points: it takes 2"),
        ({"points": [point(0, 0), {"at": [1]}]}, "two numbers"),
        ({"points": [point(0, 0), {"at": [float("nan"), 1]}]}, "two numbers"),
        ({"points": [point(0, 0), point(float("inf"), 0)]}, "two numbers"),
        ({"points": [point(0, 0), point(9000, 0)]}, "outside: the picture has 1280 × 720"),
        ({"points": [point(0, 0), {"landmark": "left_wing"}]}, "is no landmark"),
        ({"points": [point(0, 0), {"at": [1, 2], "landmark": "nose"}]}, "or"),
        ({"id": "<b>"}, "use up to 40 letters"),
        ({"text": "x" * 121}, "at most 120 letters"),
        ({"text": 7}, "a text that can't be kept"),
        ({"tone": 4}, "use 1, 2 or 3"),
        ({"tone": True}, "use 1, 2 or 3"),
        ({"shown": "yes"}, "use true or false"),
    ],
)
def test_a_faulty_mark_is_named(change: dict[str, Any], says: str) -> None:
    with pytest.raises(MarksError, match="Mark 1") as fault:
        read_document({"marks": [{**LINE, **change}]}, SIZE)
    assert says in str(fault.value)
    assert "\n" not in str(fault.value)


@pytest.mark.parametrize(
    ("document", "says"),
    [
        ([], "no JSON object"),
        ({"version": 2}, "version 2"),
        ({"marks": {}}, "no list"),
        ({"marks": [LINE, LINE]}, "id 'm1' of an earlier one"),
        ({"marks": [{**LINE, "id": f"m{n}"} for n in range(MOST_MARKS + 1)]}, "delete some"),
        ({"landmarks": {"left_hip": {"at": [0, 0], "state": "sure"}}}, "suggested or confirmed"),
        ({"landmarks": {"left_hip": {"at": [0, 0], "visibility": 2}}}, "from 0 to 1"),
        ({"landmarks": {"tail": {"at": [0, 0]}}}, "no landmark 'tail'"),
        ({"scale": {"points": [point(0, 0), point(1, 1)], "length": "0"}}, "above it"),
        ({"scale": {"points": [point(0, 0), point(1, 1)], "length": "1/0"}}, "zero divisor"),
    ],
)
def test_a_faulty_document_is_refused(document: Any, says: str) -> None:
    with pytest.raises(MarksError) as fault:
        read_document(document, SIZE)
    assert says in str(fault.value)


def test_too_many_points_are_refused() -> None:
    scribble = [
        {"id": f"m{n}", "kind": "freehand", "points": [point(k % 900, n) for k in range(2000)]}
        for n in range(3)
    ]
    with pytest.raises(MarksError, match="6000 points, at most 5000"):
        read_document({"marks": scribble}, SIZE)


def test_signs_that_svg_cannot_hold_are_left_out_of_texts() -> None:
    """XML 1.0, 2.2: control signs, halves of letters and U+FFFE are no characters."""
    dirty = {**LINE, "text": "a\x00\x01\x0b\ud800\ufffe  b\n\tc"}
    assert read_document({"marks": [dirty]}, SIZE).marks[0].text == "a b c"


def test_a_deeply_nested_value_is_refused_shortly() -> None:
    deep: Any = []
    for _ in range(900):
        deep = [deep]
    with pytest.raises(MarksError) as fault:
        read_document({"marks": [deep]}, SIZE)
    assert len(str(fault.value)) < 200


_JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["version", "landmarks", "marks", "at", "points", "kind", "id", "scale", "nose"])
            | st.text(max_size=4),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@given(_JSON)
def test_whatever_is_sent_it_is_read_or_refused(value: Any) -> None:
    try:
        document = read_document(value, SIZE)
    except MarksError:
        return
    assert read_document(document_json(document), SIZE) == document


def test_a_place_in_space_is_kept_and_refused_where_it_can_be_none() -> None:
    row = {"at": [10, 20], "state": "confirmed", "space": [0.1, -0.2, 0.05]}
    made = read_document({"landmarks": {"left_hip": row}}, (640, 480))
    assert made.landmarks["left_hip"].space == (0.1, -0.2, 0.05)
    assert read_document(document_json(made), (640, 480)) == made
    for space in ([1, 2], "x", [1, 2, None], [9, 0, 0], [True, 0, 0]):
        with pytest.raises(MarksError, match="space"):
            read_document({"landmarks": {"left_hip": {"at": [1, 1], "space": space}}}, (640, 480))
