"""The ledger held against a brute-force count of frames, and its algebra as properties."""

import json
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.excerpts.intervals import IntervalSet
from breakdowns.excerpts.ledger import busiest_window, compute
from breakdowns.excerpts.plan import ExcerptSegment, plan_from_json, plan_to_json
from tests.excerpts.frame_oracle import account
from tests.excerpts.plans import excerpts, plans, with_segments


@settings(max_examples=300, deadline=None)
@given(plans())
def test_every_figure_equals_the_count_of_frames(plan):
    expected = account(plan)
    ledger = compute(plan)
    for key, figures in expected.pop("sources").items():
        for name, value in figures.items():
            assert getattr(ledger.sources[key], name) == value, (key, name)
    for name, value in expected.items():
        assert getattr(ledger, name) == value, name


@given(plans())
def test_sums_of_an_event_add_up_its_counted_sources(plan):
    ledger = compute(plan)
    members = [row for row in ledger.counted if row.source.event == "semi-final"]
    event = ledger.events["semi-final"]
    assert event.sources == len(members)
    assert event.sum_union_seconds == sum(row.union_seconds for row in members)
    assert event.sum_played_seconds == sum(row.played_seconds for row in members)


@given(plans())
def test_used_is_never_more_than_played_nor_than_there_is(plan):
    for row in compute(plan).sources.values():
        assert row.union_seconds <= row.played_seconds
        assert row.union_seconds <= row.source.duration
        assert row.longest_union_stretch_seconds <= row.union_seconds
        assert row.longest_moving_run_seconds <= row.longest_timeline_run_seconds
        assert row.share_of_source <= 1


@given(plans(), st.data())
def test_splitting_an_excerpt_in_two_changes_no_union(plan, data):
    at = [n for n, it in enumerate(plan.segments) if isinstance(it, ExcerptSegment) and it.beside is None]
    if not at:
        return
    n = data.draw(st.sampled_from(at))
    segment = plan.segments[n]
    view = segment.main
    middle = view.start + view.played * data.draw(st.sampled_from([Fraction(1, 3), Fraction(1, 2)]))
    first, second = replace(view, end=middle, hold=Fraction(0)), replace(view, start=middle)
    if view.reverse:
        first, second = replace(view, start=middle, hold=Fraction(0)), replace(view, end=middle)
    halves = [replace(segment, main=half) for half in (first, second)]
    if segment.annotated == "hold":
        halves[0] = replace(halves[0], annotated="none")
    before = compute(plan)
    after = compute(with_segments(plan, [*plan.segments[:n], *halves, *plan.segments[n + 1 :]]))
    for key, row in before.sources.items():
        assert after.sources[key].union == row.union
        assert after.sources[key].played_seconds == row.played_seconds
        assert after.sources[key].longest_timeline_run_seconds == row.longest_timeline_run_seconds
        assert after.sources[key].screen_seconds == row.screen_seconds
    assert after.piece_seconds == before.piece_seconds
    assert after.annotated_excerpt_seconds == before.annotated_excerpt_seconds


ORDERLESS = (
    "union",
    "played_seconds",
    "screen_seconds",
    "hold_seconds",
    "longest_excerpt_seconds",
    "longest_excerpt_screen_seconds",
    "stills_outside_union",
    "original_sound_seconds",
    "share_of_piece",
    "times_repeated",
)


@given(plans(), st.randoms())
def test_order_changes_nothing_but_runs_and_narration(plan, random):
    shuffled = list(plan.segments)
    random.shuffle(shuffled)
    before, after = compute(plan), compute(with_segments(plan, shuffled))
    for key, row in before.sources.items():
        for name in ORDERLESS:
            assert getattr(after.sources[key], name) == getattr(row, name), name
    assert after.excerpt_screen_seconds == before.excerpt_screen_seconds
    assert after.annotated_excerpt_seconds == before.annotated_excerpt_seconds


@given(plans(), st.data())
def test_a_replay_never_raises_the_union(plan, data):
    shown = [it for it in plan.segments if isinstance(it, ExcerptSegment)]
    if not shown:
        return
    again = data.draw(st.sampled_from(shown))
    before, after = compute(plan), compute(with_segments(plan, [*plan.segments, again]))
    for key, row in before.sources.items():
        assert after.sources[key].union == row.union
        assert after.sources[key].stills_outside_union == row.stills_outside_union


@given(plans(), excerpts())
def test_adding_an_excerpt_never_lowers_what_is_used(plan, more):
    before, after = compute(plan), compute(with_segments(plan, [*plan.segments, more]))
    for key, row in before.sources.items():
        assert after.sources[key].union_seconds >= row.union_seconds
        assert after.sources[key].screen_seconds >= row.screen_seconds


@given(plans(), st.sampled_from(["speed", "mirrored", "reverse"]))
def test_treatment_makes_no_new_material(plan, what):
    def treated(segment):
        if not isinstance(segment, ExcerptSegment) or not segment.duration:
            return segment
        value = Fraction(1, 3) if what == "speed" else True
        return replace(segment, main=replace(segment.main, **{what: value}))

    before = compute(plan)
    after = compute(with_segments(plan, [treated(segment) for segment in plan.segments]))
    assert all(after.sources[key].union == row.union for key, row in before.sources.items())
    assert all(after.sources[key].played_seconds == row.played_seconds for key, row in before.sources.items())


def no_floats(value):
    if isinstance(value, dict):
        return all(no_floats(part) for part in value.values())
    if isinstance(value, list):
        return all(no_floats(part) for part in value)
    return value is None or isinstance(value, str | int)


@given(plans())
def test_nothing_in_the_answer_is_a_float(plan):
    answer = compute(plan).as_json()
    assert no_floats(answer)
    assert json.loads(json.dumps(answer)) == answer


@given(plans())
def test_a_plan_written_and_read_again_is_the_same_plan(plan):
    assert plan_from_json(json.loads(json.dumps(plan_to_json(plan)))) == plan


spans = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 12)), max_size=6)


@given(spans, st.integers(1, 30))
def test_the_busiest_window_is_the_best_of_all_windows(pairs, length):
    times = IntervalSet((Fraction(a), Fraction(a + n)) for a, n in pairs)
    windows = [times.within(Fraction(n, 2), Fraction(n, 2) + length).measure for n in range(-80, 160)]
    assert busiest_window(times, Fraction(length))[1] == max(windows)


def test_the_oracle_refuses_plans_off_its_grid():
    from tests.excerpts.plans import piece, shot

    with pytest.raises(AssertionError, match="off the grid"):
        account(piece(shot("A", "0", "1/3")))
