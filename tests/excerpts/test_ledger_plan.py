"""Reading plans: the fixed codes, and hostile documents, each answered by one sentence."""

import json
from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import PlanError, read_plan

SOURCES = '[{"id": "A", "duration": "600", "rate": {"num": 30000, "den": 1001}}, {"id": "B", "duration": 50}]'


def plan_text(*segments: str, more: str = "") -> str:
    return f'{{"sources": {SOURCES}, "segments": [{", ".join(segments)}]{more}}}'


def excerpt(**changes) -> str:
    return json.dumps({"kind": "excerpt", "source": "A", "in": "10", "out": "20"} | changes)


OWN = '{"kind": "own", "duration": "1"}'


@pytest.mark.parametrize(
    ("segment", "code"),
    [
        (excerpt(source="Z"), "unknown_source"),
        (excerpt(source=7), "unknown_source"),
        (excerpt(source=None), "unknown_source"),
        (excerpt(**{"in": "-1/30"}), "before_source_start"),
        (excerpt(**{"in": {"frames": -1}}), "before_source_start"),
        (excerpt(**{"in": "21"}), "in_after_out"),
        (excerpt(out="600.001"), "beyond_source_end"),
        (excerpt(out={"frames": 17983}), "beyond_source_end"),
        (excerpt(speed="0"), "speed_not_positive"),
        (excerpt(speed=-2), "speed_not_positive"),
        (excerpt(hold="-1"), "negative_hold"),
        ('{"kind": "own", "duration": "-1"}', "negative_duration"),
        (excerpt(beside={"source": "Z", "in": "1", "out": "2"}), "unknown_source"),
        (excerpt(beside={"source": "B", "in": "1", "out": "51"}), "beyond_source_end"),
        (excerpt(beside={"source": "B", "in": "3", "out": "2"}), "in_after_out"),
        (excerpt(keep=[["9", "11"]]), "keep_outside_excerpt"),
    ],
)
def test_faults_have_fixed_codes_and_the_segments_number(segment, code):
    with pytest.raises(PlanError) as caught:
        read_plan(plan_text(OWN, OWN, segment, excerpt(speed="0")))
    assert caught.value.as_json() == {"error": code, "segment": 2}
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)


def test_nothing_is_clipped_at_the_very_end():
    # 17982 frames at 30000/1001 last 599.9994 s: inside; one frame more lies beyond 600 s.
    plan = read_plan(plan_text(excerpt(out={"frames": 17982})))
    assert compute(plan).sources["A"].union.intervals == ((10, Fraction(17982 * 1001, 30000)),)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "null",
        "{",
        '"plan"',
        "NaN",
        "[" * 100_000,
        '{"a":' * 50_000,
        "\x00",
        "{}",
        '{"sources": {}, "segments": []}',
        '{"sources": [], "segments": null}',
        '{"sources": [null], "segments": []}',
        '{"sources": [{"id": "A", "duration": "1"}, {"id": "A", "duration": "2"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": NaN}], "segments": []}',
        '{"sources": [{"id": "A", "duration": Infinity}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1e999999999}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1' + "0" * 5000 + '}], "segments": []}',
        '{"sources": [{"id": "A", "duration": "1' + "0" * 17 + '"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": true}], "segments": []}',
        '{"sources": [{"id": "A", "duration": "1/0"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": "ten"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": []}], "segments": []}',
        '{"sources": [{"id": "", "duration": 1}], "segments": []}',
        '{"sources": [{"id": 4, "duration": 1}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "rate": {"num": 25, "den": 0}}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "rate": "0"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "rate": []}], "segments": []}',
        '{"sources": [{"id": "A", "duration": {"frames": 3}}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "event": 4}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "attributed": "yes"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "terms": "mine"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "event_ended": "yesterday"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": 1, "event_ended": "2024-05-01T20:00:00"}], "segments": []}',
        '{"sources": [{"id": "A", "duration": -1}], "segments": []}',
        '{"sources": [], "sources": [], "segments": []}',
        '{"sources": [{"id": "\\ud800", "duration": 1}], "segments": []}',
        plan_text("null"),
        plan_text('{"kind": "still"}'),
        plan_text('{"kind": ["own"]}'),
        plan_text('{"kind": "own"}'),
        plan_text('{"kind": "own", "duration": {"frames": 3}}'),
        plan_text('{"kind": "excerpt", "source": "A", "in": "1"}'),
        plan_text(excerpt(**{"in": {"frames": 1.5}})),
        plan_text(excerpt(**{"in": {"frames": "one"}})),
        plan_text(excerpt(**{"in": {"frame": 1}})),
        plan_text(excerpt(**{"in": {}})),
        plan_text(excerpt(source="B", out={"frames": 3})),
        plan_text(excerpt(speed="1/10000000000")),
        plan_text(excerpt(speed={"frames": 2})),
        plan_text(excerpt(muted="no")),
        plan_text(excerpt(annotated="some")),
        plan_text(excerpt(annotated={})),
        plan_text(excerpt(beside="B")),
        plan_text(excerpt(beside=[])),
        plan_text(excerpt(keep="all")),
        plan_text(excerpt(keep=[["11"]])),
        plan_text(excerpt(weight="-1")),
        plan_text(excerpt(purpose=3)),
        plan_text(OWN, more=', "narration": []'),
        plan_text(OWN, more=', "narration": {"intervals": [["1"]]}'),
        plan_text(OWN, more=', "narration": {"intervals": [["2", "1"]]}'),
        plan_text(OWN, more=', "narration": {"intervals": [[{"frames": 1}, "1"]]}'),
        plan_text(OWN, more=', "narration": {"words": 3}'),
        plan_text(OWN, more=', "narration": {"words": "3/2", "wpm": "150"}'),
        plan_text(OWN, more=', "narration": {"words": 3, "wpm": 0}'),
        plan_text(OWN, more=', "policy": 3'),
        plan_text(OWN, more=', "published": 3'),
    ],
)
def test_what_cannot_be_read_is_answered_by_one_sentence(text):
    with pytest.raises(PlanError) as caught:
        read_plan(text)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 600


def test_plans_whose_exact_sums_would_explode_are_refused():
    # Two hundred odd denominators near 10^16; their sum would have thousands of digits.
    segments = [excerpt(out=f"{2 * 10**17}/{10**16 + 2 * n + 1}") for n in range(200)]
    with pytest.raises(PlanError, match="unwieldy"):
        read_plan(plan_text(*segments))


def test_numbers_with_a_point_are_exact():
    plan = read_plan('{"sources": [{"id": "A", "duration": 0.1}], "segments": []}')
    assert plan.sources[0].duration == Fraction(1, 10)


def test_keys_that_nobody_reads_are_reported():
    plan = read_plan(plan_text(excerpt(sped="1/2"), more=', "polcy": "own"'))
    assert plan.ignored == ("plan: polcy", "segment 0: sped")


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=6) | st.floats(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)
VALID = json.loads(
    plan_text(
        excerpt(
            speed="1/2", hold="1", keep=[["11", "12"]], weight=2, beside={"source": "B", "in": 1, "out": 2}
        ),
        OWN,
        more=', "narration": {"intervals": [["0", "1"]], "words": 3, "wpm": 150}, "policy": "own"',
    )
)


def _places(value, path=()):
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in items:
        yield from _places(part, (*path, key))


def _replaced(value, path, new):
    if not path:
        return new
    copy = dict(value) if isinstance(value, dict) else list(value)
    copy[path[0]] = _replaced(value[path[0]], path[1:], new)
    return copy


@given(st.sampled_from(list(_places(VALID))), anything)
def test_any_value_anywhere_is_read_or_refused_but_never_crashes(path, value):
    text = json.dumps(_replaced(VALID, path, value))
    with suppress(PlanError):
        json.dumps(compute(read_plan(text)).as_json(), ensure_ascii=False).encode()
