"""Pictures fitted to words: the frame, the limits, what is preferred, and every way tried one by one.

The scenario is invented: a jump throw in a handball match, filmed from the baseline and from overhead.
"""

import io
import json
from fractions import Fraction as F
from itertools import pairwise

import pytest
from django.core.management import CommandError, call_command
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from breakdowns.excerpts.fit import Fitted, Missing, fit
from breakdowns.excerpts.fit_plan import FitLimits, FitPlan, Picture, default_limits, fit_plan_from_json
from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import PlanError, plan_from_json
from breakdowns.footage.timebase import frames_nearest
from tests.excerpts.fit_oracle import best_of_all

THROW = {"source": "baseline", "in": "10", "out": "16", "marks": ["12", "14"]}
PLAN = {
    "rate": "30",
    "picture": [THROW, {"source": "overhead", "in": "3", "out": "6"}],
    "words_seconds": "14.2",
    "limits": {"min_speed": "1/4", "max_hold": "6"},
}


def fitted(**changes):
    return fit(fit_plan_from_json(PLAN | changes))


def shape(found):
    return [(str(part.start), str(part.end), str(part.speed), str(part.hold)) for part in found.parts]


# --- worked examples ---------------------------------------------------------------------------


def test_longer_words_stop_the_picture_at_its_marks():
    found = fitted()
    # 9 s of picture at full speed; 5.2 s left, in two stops of 2.6 s (78 frames at 30 a second).
    assert shape(found) == [
        ("10", "12", "1", "13/5"),
        ("12", "14", "1", "13/5"),
        ("14", "16", "1", "0"),
        ("3", "6", "1", "0"),
    ]
    assert (found.frames, found.seconds) == (426, F(71, 5))


def test_holds_are_whole_frames_the_earlier_ones_longer():
    found = fitted(words_seconds="14.1")
    assert [part.hold * 30 for part in found.parts if part.hold] == [77, 76]


def test_what_marks_can_not_take_slows_the_picture_down():
    found = fitted(limits={"max_hold": "2"})
    assert [part.hold for part in found.parts] == [2, 2, 0, 0]
    assert found.speed == F(9, F(71, 5) - 4)


def test_less_than_a_stop_slows_the_picture_down():
    found = fitted(words_seconds="9.5")
    assert {(part.speed, part.hold) for part in found.parts} == {(F(18, 19), 0)}


def test_what_the_slowest_speed_can_not_take_is_held_at_the_last_end():
    picture = [{"source": "baseline", "in": "0", "out": "2"}]
    found = fitted(picture=picture, words_seconds="10", limits={"min_speed": "1/4"})
    assert shape(found) == [("0", "2", "1/4", "2")]
    assert found.elsewhere == 2


def test_shorter_words_speed_the_picture_up():
    found = fitted(words_seconds="8")
    assert {part.speed for part in found.parts} == {F(9, 8)}


def test_missing_picture_is_said_exactly():
    found = fitted(words_seconds="60", limits={"min_speed": "1/3", "max_hold": "6", "max_holds": "2"})
    # 9 s at a third of the speed are 27 s, and two stops of 6 s: 39 s.
    assert isinstance(found, Missing)
    assert (found.what, found.seconds, found.most) == ("picture", 21, 39)
    answer = found.as_json()
    assert answer["missing_seconds"] == {"exact": "21", "decimal": "21.000000"}


def test_missing_words_are_said_exactly():
    found = fitted(words_seconds="7", limits={"max_speed": "9/8"})
    assert isinstance(found, Missing)
    assert (found.what, found.seconds, found.least) == ("words", 1, 8)


def test_with_few_stops_each_picture_gets_one_before_any_gets_two():
    second = {"source": "overhead", "in": "3", "out": "6", "marks": ["5"]}
    found = fitted(picture=[THROW, second], words_seconds="13", limits={"max_holds": "2"})
    assert [part.end for part in found.parts if part.hold] == [12, 5]


def test_a_mark_at_the_start_is_a_still_before_the_movement():
    found = fitted(picture=[THROW | {"marks": ["10"]}], words_seconds="8")
    assert shape(found) == [("10", "10", "1", "2"), ("10", "16", "1", "0")]


def test_a_picture_without_movement_is_held():
    still = {"source": "overhead", "in": "5", "out": "5"}
    found = fitted(picture=[THROW | {"marks": []}, still], words_seconds="8")
    assert shape(found) == [("10", "16", "1", "0"), ("5", "5", "1", "2")]


def test_words_between_two_frames_are_taken_to_the_nearest():
    # 8.21 s at 29.97 frames a second are 246.05 frames.
    found = fitted(rate="30000/1001", words_seconds="8.21")
    assert (found.frames, found.seconds) == (246, 246 * F(1001, 30000))


def test_the_segments_are_segments_of_a_ledger_plan():
    answer = fitted().as_json()
    sources = [{"id": key, "duration": "60"} for key in ("baseline", "overhead")]
    plan = plan_from_json({"sources": sources, "segments": answer["segments"]})
    assert compute(plan).piece_seconds == F(71, 5)


# --- limits ------------------------------------------------------------------------------------


def test_the_limits_have_defaults_and_a_given_hold_moves_the_other():
    assert default_limits().min_speed == F(1, 4)
    made = fit_plan_from_json(PLAN | {"limits": {"max_hold": "1/2"}}).limits
    assert (made.min_hold, made.max_hold) == (F(1, 2), F(1, 2))


@pytest.mark.parametrize(
    ("change", "code", "segment"),
    [
        ({"rate": "0"}, "malformed", None),
        ({"rate": None}, "malformed", None),
        ({"words_seconds": "-1"}, "negative_duration", None),
        ({"words_seconds": 1.5}, "malformed", None),
        ({"picture": None}, "malformed", None),
        ({"picture": [THROW, {"source": "baseline", "in": "5", "out": "4"}]}, "in_after_out", 1),
        ({"picture": [{"source": "baseline", "in": "-1", "out": "4"}]}, "before_source_start", 0),
        ({"picture": [THROW | {"marks": ["17"]}]}, "mark_outside_picture", 0),
        ({"picture": [THROW | {"marks": "12"}]}, "malformed", 0),
        ({"picture": [THROW | {"in": {"frames": 3}}]}, "malformed", 0),
        ({"picture": [THROW], "sources": []}, "unknown_source", 0),
        ({"picture": [THROW], "sources": [{"id": "baseline", "duration": "15"}]}, "beyond_source_end", 0),
        ({"limits": {"min_speed": "2"}}, "limits_contradict", None),
        ({"limits": {"min_speed": "0"}}, "limits_contradict", None),
        ({"limits": {"min_hold": "3", "max_hold": "2"}}, "limits_contradict", None),
        ({"limits": {"max_holds": "1/2"}}, "malformed", None),
        (
            {"picture": [{"source": "baseline", "in": "5", "out": "5"}], "limits": {"max_holds": "0"}},
            "too_many_stills",
            0,
        ),
    ],
)
def test_faulty_plans_are_refused_with_a_code(change, code, segment):
    with pytest.raises(PlanError) as caught:
        fitted(**change)
    assert (caught.value.code, caught.value.segment) == (code, segment)


# --- properties --------------------------------------------------------------------------------

RATE = F(2)


@st.composite
def fit_plans(draw, rate=None, longest=4, most=2):
    pictures = []
    for _ in range(draw(st.integers(1, most))):
        start = draw(st.integers(0, 4))
        length = draw(st.integers(0, longest))
        marks = draw(st.lists(st.integers(start, start + length), max_size=2, unique=True))
        pictures.append(
            Picture("A", F(start, 2), F(start + length, 2), tuple(F(m, 2) for m in marks) if length else ())
        )
    low = draw(st.sampled_from([F(0), F(1, 2), F(1)]))
    limits = FitLimits(
        min_speed=draw(st.sampled_from([F(1, 4), F(1, 2), F(3, 4), F(1)])),
        max_speed=draw(st.sampled_from([F(1), F(5, 4), F(2)])),
        min_hold=low,
        max_hold=low + draw(st.sampled_from([F(0), F(1, 2), F(1), F(3)])),
        max_holds=draw(st.integers(0, 3)),
        max_holds_elsewhere=draw(st.integers(0, 2)),
    )
    words = draw(st.integers(0, 12)) / RATE if rate is None else draw(st.fractions(0, 40, max_denominator=60))
    plan = FitPlan(rate or RATE, tuple(pictures), words, limits)
    assume(sum(not picture.seconds for picture in pictures) <= limits.max_holds)
    return plan


def check(plan, found):
    """A fit keeps every limit, takes the words' frames exactly, and shows each picture whole and in order."""
    limits = plan.limits
    assert found.seconds == frames_nearest(plan.words_seconds, plan.rate).seconds
    assert abs(found.seconds - plan.words_seconds) <= 1 / plan.rate / 2
    holds = [part.hold for part in found.parts if part.hold]
    assert all(limits.min_hold <= hold <= limits.max_hold for hold in holds)
    assert len(holds) <= limits.max_holds
    for part in found.parts:
        assert limits.min_speed <= part.speed <= limits.max_speed
    for number, picture in enumerate(plan.pictures):
        parts = [part for part in found.parts if part.picture == number]
        assert (parts[0].start, parts[-1].end) == (picture.start, picture.end)
        assert all(a.end == b.start for a, b in pairwise(parts))
        free = [part for part in parts if part.hold and part.end not in picture.marks and picture.seconds]
        assert all(part.end == picture.end for part in free)


@settings(max_examples=400, deadline=None)
@given(fit_plans(rate=F(30000, 1001), longest=40, most=5))
def test_a_fit_keeps_all_limits_and_ends_with_the_words(plan):
    found = fit(plan)
    if isinstance(found, Fitted):
        check(plan, found)
    else:
        assert found.seconds > 0


@settings(max_examples=300, deadline=None)
@given(fit_plans())
def test_no_other_way_is_better(plan):
    found = fit(plan)
    best = best_of_all(plan, frames_nearest(plan.words_seconds, plan.rate).count)
    if isinstance(found, Missing):
        assert best is None
        return
    check(plan, found)
    mine = (found.elsewhere, max(found.speed, 1 / found.speed))
    assert best is None or mine <= best


@settings(max_examples=200, deadline=None)
@given(fit_plans(rate=F(25), longest=40, most=3))
def test_giving_what_is_missing_makes_it_fit(plan):
    found = fit(plan)
    if isinstance(found, Missing) and plan.words_seconds * 25 % 1 == 0:
        sign = 1 if found.what == "words" else -1
        needed = FitPlan(plan.rate, plan.pictures, plan.words_seconds + sign * found.seconds, plan.limits)
        if needed.words_seconds * 25 % 1 == 0:
            assert isinstance(fit(needed), Fitted)


# --- the command -------------------------------------------------------------------------------


def ran(plan, tmp_path):
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(plan), encoding="utf-8")
    out = io.StringIO()
    try:
        call_command("fit", str(path), stdout=out, stderr=io.StringIO())
    except CommandError as fault:
        return fault.returncode, json.loads(out.getvalue()), str(fault)
    return 0, json.loads(out.getvalue()), ""


def test_the_command_answers_in_json(tmp_path):
    code, answer, _ = ran(PLAN, tmp_path)
    assert code == 0
    assert answer["screen_seconds"] == {"exact": "71/5", "decimal": "14.200000"}
    assert [segment["hold"] for segment in answer["segments"]] == ["13/5", "13/5", "0", "0"]


def test_a_fault_exits_2_with_its_code_and_one_line(tmp_path):
    code, answer, said = ran(PLAN | {"picture": [THROW | {"out": "9"}]}, tmp_path)
    assert (code, answer) == (2, {"error": "in_after_out", "segment": 0})
    assert said
    assert "\n" not in said
