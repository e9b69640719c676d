"""Tightening: worked examples, the best of all cuts tried one by one, and what always holds.

The scenario is invented: a handball semi-final filmed from the baseline (A) and from overhead (B), and a
work of its own (C).
"""

import io
import json
import random
from dataclasses import replace
from fractions import Fraction as F

import pytest
from django.core.management import CommandError, call_command
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from breakdowns.excerpts.cut_limits import RULES_MET
from breakdowns.excerpts.intervals import IntervalSet
from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import (
    ExcerptSegment,
    Narration,
    OwnSegment,
    Plan,
    PlanError,
    PlanSource,
    View,
    plan_from_json,
)
from breakdowns.excerpts.policies import Limit, Policy
from breakdowns.excerpts.rules import rules
from breakdowns.excerpts.tighten import Impossible, Tightened, tighten
from breakdowns.excerpts.verdicts import judge
from breakdowns.excerpts.whole_program import Linear, Patience, WholeProgram, common_step, constant
from tests.excerpts.cut_oracle import best_of_all, segment_choices, size, worth
from tests.excerpts.plans import own, piece, shot, source


def limit(rule, value, scope=None, sense=None):
    about = rules()[rule]
    return Limit(rule, scope or about.scopes[0], sense or about.senses[0], F(value))


def cut(plan, *limits):
    return tighten(plan, Policy("test", "Test", tuple(limit(*one) for one in limits)))


def spans(found):
    return [
        (str(it.main.start), str(it.main.end), str(it.main.hold))
        for it in found.plan.segments
        if isinstance(it, ExcerptSegment)
    ]


# --- worked examples ---------------------------------------------------------------------------


def test_a_plan_within_its_limits_stays_as_it_is():
    plan = piece(own("3"), shot("A", "0", "4", hold="1"), shot("A", "2", "6"))
    found = cut(plan, ("union_seconds", 6), ("longest_excerpt_seconds", 4))
    assert (found.plan, found.changes, found.gap) == (plan, (), 0)


def test_a_long_excerpt_loses_its_end_and_keeps_its_moments():
    found = cut(piece(shot("A", "0", "10", keep=((F(6), F(7)),))), ("longest_excerpt_seconds", 4))
    assert spans(found) == [("3", "7", "0")]
    found = cut(piece(shot("A", "0", "10")), ("longest_excerpt_seconds", 4))
    assert spans(found) == [("0", "4", "0")]


def test_the_dearer_excerpt_is_cut_last():
    plan = piece(shot("A", "0", "10", weight=F(2)), shot("A", "20", "30"))
    assert spans(cut(plan, ("union_seconds", 12))) == [("0", "10", "0"), ("20", "22", "0")]


def test_a_replay_costs_nothing_where_only_the_union_is_limited():
    plan = piece(shot("A", "0", "6"), shot("A", "0", "6", speed="1/2"), shot("A", "20", "28"))
    found = cut(plan, ("union_seconds", 8))
    assert spans(found) == [("0", "6", "0"), ("0", "6", "0"), ("20", "22", "0")]
    assert found.kept == 14


def test_too_many_replays_are_dropped_or_moved_apart():
    plan = piece(shot("A", "0", "4"), shot("A", "1", "3"), shot("A", "0", "4", weight=F(3)))
    found = cut(plan, ("times_repeated", 0))
    assert found.numbers == (2,)
    assert [(change.segment, change.what, change.after) for change in found.changes] == [
        (0, "dropped", None),
        (1, "dropped", None),
    ]


def test_a_run_is_parted_by_what_stands_between():
    # Without the excerpt of C the run of A would be 8 s, so C stays although the piece has too much on screen.
    plan = piece(shot("A", "0", "4"), shot("C", "0", "4"), shot("A", "10", "14"))
    found = cut(plan, ("longest_timeline_run_seconds", 4), ("excerpt_screen_seconds", "8.1", "piece"))
    assert found.kept == F(81, 10)
    assert len(found.numbers) == 3


def test_holds_are_shortened_before_anything_that_moves():
    plan = piece(shot("A", "0", "6", hold="3"))
    found = cut(plan, ("longest_excerpt_screen_seconds", "6.5"))
    assert spans(found) == [("0", "6", "1/2")]
    assert [(it.what, it.before, it.after) for it in found.changes] == [("hold", 3, F(1, 2))]


def test_points_inside_a_frame_move_inwards_to_whole_frames():
    found = cut(piece(shot("A", "0.05", "6.05")), ("union_seconds", 60))
    assert spans(found) == [("1/10", "6", "0")]
    assert {change.because for change in found.changes} == {"whole frames"}


def test_a_source_without_a_name_goes_and_naming_it_is_said_to_be_enough():
    sources = [source("A", attributed=True), source("B")]
    plan = piece(shot("A", "0", "4"), shot("B", "0", "4"), sources=sources)
    found = cut(plan, ("source_named", 1))
    assert found.numbers == (0,)
    assert "name source B" in found.as_json()["without_cutting"][0]["mend"]


def test_own_footage_is_not_touched():
    sources = [source("A"), source("B", terms="own")]
    both = shot("A", "0", "9", beside=View("B", F(0), F(5)))
    found = cut(piece(both, shot("B", "0", "30"), sources=sources), ("union_seconds", 0))
    assert spans(found) == [("0", "5", "0"), ("0", "30", "0")]
    assert [change.what for change in found.changes] == ["main dropped"]


def test_rules_that_can_not_be_met_together_are_named_and_no_others():
    keep = ((F(0), F(9)),)
    plan = piece(shot("A", "0", "9", keep=keep), shot("A", "20", "25"))
    found = cut(plan, ("longest_excerpt_seconds", 20), ("sum_union_seconds", 8), ("union_seconds", 30))
    assert isinstance(found, Impossible)
    assert (found.rules, found.keeping, found.proved) == (("sum_union_seconds",), (0,), True)


def test_two_rules_can_be_impossible_only_together():
    # What stands between the two long shots parts their run, but nobody has said what it is needed for.
    long = {"keep": ((F(0), F(4)),), "purpose": "how the shoulder leads"}
    plan = piece(shot("A", "0", "4", **long), shot("C", "0", "4"), shot("A", "0", "4", **long))
    both = (("longest_timeline_run_seconds", 5), ("union_seconds", 9), ("purposes_unstated", 0))
    assert cut(plan, *both).rules == ("longest_timeline_run_seconds", "purposes_unstated")


def test_a_limit_on_a_date_that_no_cut_can_change():
    found = cut(
        piece(shot("A", "0", "4"), sources=[source("A", event="cup", event_age_hours=F(1))]),
        ("event_age_hours", 2, "event", "min"),
    )
    assert found.plan.segments == ()


def test_a_source_without_a_rate_is_refused():
    with pytest.raises(PlanError) as caught:
        cut(piece(shot("A", "0", "4"), sources=[PlanSource("A", F(60))]), ("union_seconds", 1))
    assert (caught.value.code, caught.value.segment) == ("rate_missing", 0)


def test_every_rule_of_the_vocabulary_can_be_met():
    assert set(rules()) == RULES_MET


# --- against every cut -------------------------------------------------------------------------

RATE = F(2)
HALVES = st.integers(0, 8).map(lambda n: F(n, 2))


@st.composite
def small_views(draw, keys="AAAB"):
    start = draw(HALVES)
    frames = draw(st.sampled_from([0, 1, 2, 3, 3, 4]))
    end = start + F(frames, 2)
    keep = ()
    if frames > 1 and draw(st.integers(0, 4)) == 0:
        first = start + F(draw(st.integers(0, frames - 1)), 2)
        keep = ((first, first + draw(st.sampled_from([F(0), F(1, 2)]))),)
    elif frames and draw(st.integers(0, 9)) == 0:
        start += F(1, 8)
    return View(
        draw(st.sampled_from(keys)),
        start,
        end,
        draw(st.sampled_from([F(1), F(1, 2), F(2)])),
        draw(st.sampled_from([F(0), F(0), F(1, 2), F(1), F(3, 4)])),
        muted=draw(st.booleans()),
        reverse=draw(st.booleans()),
        keep=keep,
        weight=draw(st.sampled_from([F(1), F(1), F(2), F(1, 3), F(0)])),
    )


@st.composite
def small_plans(draw):
    sources = tuple(
        PlanSource(
            key,
            F(8),
            RATE,
            event="semi-final" if key != "C" else None,
            attributed=draw(st.booleans()),
            terms=draw(st.sampled_from(["third_party"] * 4 + ["own"])),
            event_age_hours=draw(st.sampled_from([None, F(10), F(40)])),
        )
        for key in "ABC"
    )
    segments = []
    for _ in range(draw(st.integers(1, 3))):
        if draw(st.integers(0, 3)) == 0:
            segments.append(OwnSegment(F(draw(st.integers(0, 2)))))
        beside = draw(st.one_of(st.none(), st.none(), st.none(), small_views(keys="ABC")))
        segments.append(
            ExcerptSegment(
                draw(small_views()),
                beside,
                draw(st.sampled_from(["none", "hold", "all"])),
                draw(st.sampled_from(["", "how the shoulder leads"])),
            )
        )
    spoken = st.lists(st.tuples(st.integers(-2, 14), st.integers(0, 6)), max_size=3).map(
        lambda pairs: Narration(IntervalSet((F(a, 2), F(a + n, 2)) for a, n in pairs))
    )
    words = st.integers(0, 20).map(lambda n: Narration(None, n, F(120)))
    return Plan(sources, tuple(segments), draw(st.one_of(st.just(Narration()), spoken, words)))


VALUES = {
    "share": st.integers(0, 10).map(lambda n: F(n, 10)),
    "ratio": st.integers(0, 8).map(lambda n: F(n, 4)),
    "count": st.integers(0, 2).map(F),
    "yes_no": st.just(F(1)),
    "hours": st.integers(0, 60).map(F),
}
SECONDS = st.integers(0, 24).map(lambda quarters: F(quarters, 4))


@st.composite
def small_policies(draw, names=None):
    made = {}
    for name in names or draw(st.lists(st.sampled_from(sorted(rules())), min_size=1, max_size=3)):
        about = rules()[name]
        scope = draw(st.sampled_from(about.scopes))
        sense = draw(st.sampled_from(about.senses))
        made[name, scope] = Limit(name, scope, sense, draw(VALUES.get(about.unit, SECONDS)))
    return Policy("small", "Small", tuple(made.values()))


def check_against_all(plan, policy):
    """The best of all cuts, tried one by one, or none where the conflict named is a smallest one."""
    found, best = tighten(plan, policy), best_of_all(plan, policy)
    if isinstance(found, Impossible):
        assert best is None
        assert found.proved
        assert best_of_all(plan, Policy("", "", found.limits)) is None
        for one in found.limits:
            fewer = tuple(other for other in found.limits if other is not one)
            assert best_of_all(plan, Policy("", "", fewer)) is not None
        return
    assert isinstance(found, Tightened)
    assert (found.gap, worth(found.plan)) == (0, best)
    assert found.kept == worth(found.plan)[0]


@settings(max_examples=150, deadline=None)
@given(small_plans(), small_policies())
def test_the_answer_is_the_best_of_all_cuts(plan, policy):
    assume(size(plan) <= 1500)
    check_against_all(plan, policy)


@pytest.mark.parametrize("rule", sorted(rules()))
@settings(max_examples=8, deadline=None)
@given(plan=small_plans(), data=st.data())
def test_each_rule_alone_is_met_in_the_best_way(rule, plan, data):
    assume(size(plan) <= 600)
    check_against_all(plan, data.draw(small_policies(names=[rule])))


def test_a_window_of_an_hour_slides_over_a_long_piece():
    # Two excerpts within the hour before, one after: only what shares a window has to share the limit.
    plan = piece(
        shot("A", "0", "1"),
        own("3599"),
        shot("A", "2", "3"),
        own("3599"),
        shot("A", "4", "5"),
        sources=[source("A", rate="2", event="semi-final")],
    )
    policy = Policy("", "", (limit("screen_seconds_in_an_hour", "1"),))
    check_against_all(plan, policy)


# --- what always holds -------------------------------------------------------------------------


@settings(max_examples=150, deadline=None)
@given(small_plans(), small_policies())
def test_nothing_is_broken_lengthened_or_taken_that_must_stay(plan, policy):
    found = tighten(plan, policy)
    if isinstance(found, Impossible):
        assert set(found.limits) <= set(policy.limits)
        return
    assert isinstance(found, Tightened)
    assert not judge(compute(found.plan), policy).over
    assert list(found.numbers) == sorted(set(found.numbers))
    for number, segment in zip(found.numbers, found.plan.segments, strict=True):
        assert segment in segment_choices(plan, plan.segments[number])
    for number, segment in enumerate(plan.segments):
        kept = isinstance(segment, OwnSegment) or any(
            view.keep and plan.source(view.source).counted for view in segment.views
        )
        assert number in found.numbers or not kept


@settings(max_examples=100, deadline=None)
@given(small_plans(), small_policies())
def test_tightening_what_is_tight_changes_nothing(plan, policy):
    found = tighten(plan, policy)
    if isinstance(found, Tightened):
        again = tighten(found.plan, policy)
        assert (again.plan, again.changes) == (found.plan, ())


@settings(max_examples=100, deadline=None)
@given(small_plans(), small_policies())
def test_the_changes_lead_from_the_plan_to_the_answer(plan, policy):
    found = tighten(plan, policy)
    if not isinstance(found, Tightened):
        return
    segments = dict(enumerate(plan.segments))
    for change in found.changes:
        assert change.because
        segment = segments[change.segment]
        role = "beside" if change.what.startswith("beside") else "main"
        what = change.what.removeprefix("beside ").removeprefix("main ")
        if change.what == "dropped":
            assert segment.duration == change.before
            segments[change.segment] = None
        elif what == "dropped":
            left = segment.main if role == "beside" else segment.beside
            segments[change.segment] = replace(segment, main=left, beside=None)
        else:
            name = {"in": "start", "out": "end", "hold": "hold"}[what]
            view = getattr(segment, role)
            assert getattr(view, name) == change.before
            segments[change.segment] = replace(segment, **{role: replace(view, **{name: change.after})})
    assert tuple(segment for segment in segments.values() if segment is not None) == found.plan.segments


def test_a_larger_plan_stays_within_its_limits_with_an_honest_bound():
    chance = random.Random(4)
    segments = []
    for _ in range(15):
        start = chance.randrange(0, 400)
        length = chance.randrange(20, 90)
        segments.append(shot(chance.choice("AB"), str(F(start, 10)), str(F(start + length, 10))))
        segments.append(own(str(chance.choice([0, 1, 3]))))
    plan = piece(*segments)
    found = cut(plan, ("longest_excerpt_seconds", 5), ("sum_union_seconds", 30), ("times_repeated", 2))
    assert not found.judgement.over
    assert 0 < found.kept <= found.given
    shorter = cut(plan, ("longest_excerpt_seconds", 4), ("sum_union_seconds", 30), ("times_repeated", 2))
    assert shorter.kept <= found.kept + found.gap


def test_without_time_the_answer_is_still_within_the_limits_and_bounded():
    segments = [part for n in range(6) for part in (shot("A", str(5 * n), str(5 * n + 9)), own("1"))]
    limits = tuple(limit(*one) for one in (("union_seconds", 17), ("times_repeated", 0)))
    plan, policy = piece(*segments), Policy("", "", limits)
    best, hasty = tighten(plan, policy), tighten(plan, policy, Patience(0, 0))
    assert best.gap == 0
    assert not hasty.judgement.over
    assert 0 < hasty.kept <= best.kept <= hasty.kept + hasty.gap


# --- the program in whole numbers --------------------------------------------------------------


def test_a_program_finds_the_best_whole_point_and_its_bound():
    # 3x + 5y at most 14 with x and y whole: 4 and 0 are worth 12, 3 and 1 are worth 13.
    program = WholeProgram()
    x, y = program.variable(0, 10), program.variable(0, 10)
    program.at_most(x.times(F(3)) + y.times(F(5)), constant(14))
    found = program.maximise(x.times(F(3)) + y.times(F(4)), Patience(10, 1000))
    assert (found.of(x), found.of(y), found.bound) == (3, 1, 13)


def test_a_program_without_a_point_says_so():
    program = WholeProgram()
    x = program.variable(0, 10)
    program.either([x.plus(-2)], [constant(7) - x])
    program.equal(x, constant(5))
    assert program.maximise(x, Patience(10, 1000)).impossible


@given(st.lists(st.fractions(-50, 50, max_denominator=30), max_size=6))
def test_all_values_are_whole_steps(values):
    step = common_step(values)
    assert all((value / step).denominator == 1 for value in values if value)
    assert Linear().constant == 0


# --- the command -------------------------------------------------------------------------------

PLAN = {
    "sources": [
        {"id": "A", "duration": "600", "rate": {"num": 30000, "den": 1001}, "event": "semi-final"},
        {"id": "B", "duration": "600", "rate": "25", "event": "semi-final"},
    ],
    "segments": [
        {"kind": "own", "duration": "10"},
        {"kind": "excerpt", "source": "A", "in": {"frames": 3000}, "out": {"frames": 3600}, "hold": "3"},
        {"kind": "excerpt", "source": "B", "in": "31", "out": "60", "keep": [["40", "41"]], "weight": "2"},
    ],
    "policy": {"limits": [{"rule": "sum_union_seconds", "scope": "event", "value": "30"}]},
}


def ran(plan, tmp_path):
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(plan), encoding="utf-8")
    out = io.StringIO()
    try:
        call_command("tighten", str(path), stdout=out, stderr=io.StringIO())
    except CommandError as fault:
        return fault.returncode, json.loads(out.getvalue()), str(fault)
    return 0, json.loads(out.getvalue()), ""


def test_the_command_answers_with_a_plan_that_can_be_read_again(tmp_path, capfd):
    code, answer, _ = ran(PLAN, tmp_path)
    assert code == 0
    assert capfd.readouterr().out == ""
    assert {verdict["state"] for verdict in answer["verdicts"]} == {"near"}
    # 29 s of B count double; 1 s and no part of a frame is left for A: 29 frames of 1001/30000 s.
    assert answer["weighted_seconds"]["kept"]["exact"] == str(58 + 29 * F(1001, 30000))
    assert (answer["best"], answer["gap"]["exact"]) == (True, "0")
    assert {change["what"] for change in answer["changes"]} == {"out"}
    again = plan_from_json(PLAN | {"segments": answer["segments"]})
    assert compute(again).events["semi-final"].sum_union_seconds <= 30


def test_the_command_names_what_is_impossible(tmp_path):
    segments = [PLAN["segments"][2] | {"keep": [["31", "60"]]}]
    policy = {"limits": [{"rule": "longest_excerpt_seconds", "value": "10"}]}
    code, answer, _ = ran(PLAN | {"segments": segments, "policy": policy}, tmp_path)
    assert (code, answer["impossible"]) == (0, ["longest_excerpt_seconds"])


@pytest.mark.parametrize(
    ("change", "error"),
    [
        ({"segments": [PLAN["segments"][1] | {"in": "700"}]}, ("in_after_out", 0)),
        ({"segments": [PLAN["segments"][2] | {"keep": [["20", "35"]]}]}, ("keep_outside_excerpt", 0)),
        ({"policy": None}, ("policy_missing", None)),
        ({"policy": {"limits": [{"rule": "x"}]}}, ("malformed", None)),
        ({"sources": [{"id": "A", "duration": "600"}], "segments": []}, None),
    ],
)
def test_faulty_plans_exit_2_with_a_code_and_one_line(change, error, tmp_path):
    code, answer, said = ran(PLAN | change, tmp_path)
    if error is None:
        assert (code, answer["segments"]) == (0, [])
        return
    assert (code, answer) == (2, {"error": error[0], "segment": error[1]})
    assert said
    assert "\n" not in said
