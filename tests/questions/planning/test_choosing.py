"""What is chosen for the minutes there are: red flags, the oldest, then what helps most."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.questions.planning import Waiting, Weights, plan, usual_weights, weight_table

TODAY = date(2026, 11, 26)
NO_SHARE = Weights.load({"reserved_share": 0})


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def waits(
    key: str, days: int = 0, people: int = 1, minutes: float = 2, urgency: str | None = None, over: int = 0
) -> Waiting:
    return Waiting(key, ago(days), people, urgency, minutes, over)


def made(items, minutes, weights=None, **more):
    return plan(items, minutes, weights, today=TODAY, **more)


queues = st.lists(
    st.builds(
        lambda days, people, tenths, over, flag: (days, people, Fraction(tenths, 10), over, flag),
        st.integers(0, 90), st.integers(1, 8), st.integers(1, 90), st.integers(0, 5),
        st.sampled_from([None] * 9 + ["emergency now", "urgent same day", "see a clinician before training"]),
    ),
    max_size=8,
).map(lambda rows: [Waiting(f"q{n}", ago(days), people, flag, minutes, over) for n, (days, people, minutes, over, flag) in enumerate(rows)])  # fmt: skip


def points(one: Waiting) -> int:
    """By hand, with the usual weights of data/weights.csv."""
    return one.people * (7 + (TODAY - one.asked_on).days) + 3 * one.times_passed_over


@given(queues, st.integers(0, 200))
def test_without_a_share_it_helps_as_many_as_any_subset_could(items, tenths):
    ordinary = [one for one in items if not one.urgency]
    room = Fraction(tenths, 10)
    chosen = set(made(ordinary, room, NO_SHARE).chosen)
    best = max(
        sum(points(one) for one in some)
        for count in range(len(ordinary) + 1)
        for some in combinations(ordinary, count)
        if sum(one.minutes for one in some) <= room
    )
    assert sum(points(one) for one in ordinary if one.key in chosen) == best


@given(queues, st.integers(0, 200), st.randoms())
def test_the_promises_of_every_plan(items, tenths, chance):
    room = Fraction(tenths, 10)
    found = made(items, room)
    assert sorted(found.order) == sorted(one.key for one in items)
    assert found.order == (*found.chosen, *found.left_over)
    assert set(found.why) == set(found.order)
    by_key = {one.key: one for one in items}
    flags = [key for key in found.order if by_key[key].urgency]
    assert list(found.chosen[: len(flags)]) == flags
    spent = sum(by_key[key].minutes for key in flags)
    assert found.minutes == sum(by_key[key].minutes for key in found.chosen)
    assert found.minutes <= max(room, spent)
    assert found.minutes_to_clear == sum(by_key[key].minutes for key in found.left_over)
    shuffled = list(items)
    chance.shuffle(shuffled)
    assert made(shuffled, room) == found


def test_red_flags_come_first_by_urgency_and_then_age_whatever_the_minutes():
    items = [
        waits("many", days=30, people=50, minutes=1),
        waits("see", days=9, urgency="see a clinician before training"),
        waits("day", days=1, urgency="urgent same day"),
        waits("now, younger", urgency="emergency now", minutes=30),
        waits("now", days=1, urgency="emergency now"),
    ]
    found = made(items, 5)
    assert found.chosen == ("now", "now, younger", "day", "see")
    assert found.left_over == ("many",)
    assert "emergency now" in found.why["now"]


def test_the_share_of_the_oldest_is_kept_from_those_who_are_many():
    many = [waits(f"many {n}", people=40) for n in range(20)]
    old = [waits("old", days=3), waits("older", days=4), waits("young", days=1)]
    found = made([*many, *old], 10)  # 4 of 10 minutes belong to the oldest
    assert found.oldest == ("older", "old")
    assert len(found.chosen) == 5
    assert "young" in found.left_over
    assert not {"older", "old"} & set(made([*many, *old], 10, NO_SHARE).chosen)


def test_what_of_the_share_was_used_already_is_not_given_again():
    many = [waits(f"many {n}", people=40) for n in range(20)]
    found = made([*many, waits("old", days=9)], 10, reserved_minutes=0)
    assert found.oldest == ()
    assert "old" in found.left_over


def test_the_promised_stand_before_the_older_in_the_order_of_their_promises():
    first = Waiting("first", ago(5), 1, None, 2, promised_at=datetime(2026, 11, 21, 9, tzinfo=UTC))
    second = Waiting("second", ago(6), 1, None, 2, promised_at=datetime(2026, 11, 21, 10, tzinfo=UTC))
    found = made([second, waits("older", days=40), first], 5)
    assert found.oldest == ("first",)
    assert found.chosen[0] == "first"
    assert "Promised" in found.why["first"]
    assert made([second, waits("older", days=40), first], 10).oldest == ("first", "second")


def test_a_group_counts_all_its_people_and_a_long_answer_its_minutes():
    assert made([waits("one"), waits("group", people=3)], 2, NO_SHARE).chosen == ("group",)
    two_short = [waits("short", minutes=1), waits("short too", minutes=1), waits("long", minutes=2)]
    assert set(made(two_short, 2, NO_SHARE).chosen) == {"short", "short too"}


def test_waiting_and_being_passed_over_weigh_until_it_is_ones_turn():
    assert made([waits("old", days=8), waits("two people", people=2)], 2, NO_SHARE).chosen == ("old",)
    assert made([waits("over", over=3), waits("two people", people=2)], 2, NO_SHARE).chosen == ("over",)
    assert made([waits("over", over=2), waits("two people", people=2)], 2, NO_SHARE).chosen == ("two people",)


def test_ties_fall_to_fewer_minutes_and_then_to_the_older_and_then_to_the_key():
    weights = Weights.load({"reserved_share": 0, "waiting": 0})
    assert made([waits("long", minutes=3), waits("short", minutes=2)], 4, weights).chosen == ("short",)
    assert made([waits("a"), waits("b", days=1)], 3, weights).chosen == ("b",)
    assert made([waits("b"), waits("a")], 3, weights).chosen == ("a",)


def test_no_minutes_no_questions():
    assert made([], 20).order == ()
    nothing = made([waits("a"), waits("b", urgency="urgent same day")], 0)
    assert nothing.chosen == ("b",)
    assert nothing.too_long == ("a",)


def test_one_that_is_longer_than_the_sitting_is_named_and_blocks_nobody():
    found = made([waits("treatise", days=90, minutes=25), waits("short", days=1)], 20)
    assert found.chosen == ("short",)
    assert found.too_long == ("treatise",)
    assert "more than there is" in found.why["treatise"]
    assert found.minutes_to_clear == 25


def test_minutes_are_tenths_never_taken_for_less():
    three = [Waiting(key, TODAY, 1, None, Fraction(1, 3)) for key in "abc"]
    assert len(made(three, 1, NO_SHARE).chosen) == 2  # 0.4 minutes each
    assert made(three, Fraction(12, 10), NO_SHARE).minutes == 1
    assert len(made([waits(key, minutes=0.1) for key in "abc"], 0.3, NO_SHARE).chosen) == 3


def test_answers_that_take_longer_than_estimated_are_reckoned_with():
    twice = Weights.load({"effort": 2, "reserved_share": 0})
    found = made([waits(key) for key in "abcde"], 10, twice)
    assert (len(found.chosen), found.minutes, found.minutes_to_clear) == (2, 8, 12)


@pytest.mark.parametrize(
    ("items", "minutes", "says"),
    [
        ([waits("a")], -1, "below nought"),
        ([waits("a"), waits("a")], 1, "came twice"),
        ([waits("a", people=0)], 1, "at least one person"),
        ([waits("a", minutes=0)], 1, "at least one person"),
        ([waits("a", urgency="soon")], 1, "none of the urgencies"),
        ([waits("a", minutes=float("nan"))], 1, "finite"),
    ],
)
def test_what_means_nothing_is_refused(items, minutes, says):
    with pytest.raises(ValueError, match=says):
        made(items, minutes)


def test_every_weight_has_a_source_a_range_and_can_be_changed():
    assert all(row.source and row.about and row.least <= row.value <= row.most for row in weight_table())
    assert usual_weights()["person"][0] == 7
    assert Weights.load({"person": 2.5}).person == Fraction(5, 2)
    with pytest.raises(ValueError, match="no weight"):
        Weights.load({"beauty": 1})
    with pytest.raises(ValueError, match=r"between 0 and 0\.5"):
        Weights.load({"reserved_share": 0.9})
