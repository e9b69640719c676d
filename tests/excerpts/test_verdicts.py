"""Verdicts: states, what is left unjudged, and mends that mend."""

import json
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import Narration, View
from breakdowns.excerpts.policies import Limit, Policy, limit_faults, preset
from breakdowns.excerpts.rules import rules
from breakdowns.excerpts.steps import apply_steps
from breakdowns.excerpts.verdicts import judge, state_of
from tests.excerpts.plans import own, piece, plans, shot, source

F = Fraction


def policy(*limits):
    made = []
    for rule, value, *rest in limits:
        about = rules()[rule]
        scope, sense = [*rest, *[None] * 2][:2]
        made.append(Limit(rule, scope or about.scopes[0], sense or about.senses[0], F(value)))
    return Policy("test", "Test", tuple(made))


def only(plan, *limit):
    verdicts = judge(compute(plan), policy(limit)).verdicts
    assert len(verdicts) == 1
    return verdicts[0]


@pytest.mark.parametrize(
    ("rule", "sense", "limit", "value", "state"),
    [
        ("union_seconds", "max", 90, "80", "within"),
        ("union_seconds", "max", 90, "81", "near"),
        ("union_seconds", "max", 90, "90", "near"),
        ("union_seconds", "max", 90, "90.001", "over"),
        ("union_seconds", "max", 0, "0", "within"),
        ("event_age_hours", "min", 10, "9.9", "over"),
        ("event_age_hours", "min", 10, "10", "near"),
        ("event_age_hours", "min", 10, "11", "near"),
        ("event_age_hours", "min", 10, "11.1", "within"),
        ("source_named", "min", 1, "1", "within"),
        ("source_named", "min", 1, "0", "over"),
    ],
)
def test_states(rule, sense, limit, value, state):
    about = rules()[rule]
    assert state_of(Limit(rule, about.scopes[0], sense, F(limit)), F(value)) == state


# --- mends in words ----------------------------------------------------------------------------


def test_a_long_excerpt_is_trimmed_to_whole_frames():
    verdict = only(piece(shot("A", "0", "10.4")), "longest_excerpt_seconds", "10")
    assert verdict.mend() == "trim 0.4 s (4 frames) from the end of segment 0"


def test_a_long_hold_is_shortened_first():
    verdict = only(piece(own("1"), shot("A", "0", "10", hold="4")), "longest_excerpt_screen_seconds", "11.9")
    assert verdict.mend() == "hold segment 1 2.1 s shorter"


def test_a_run_is_broken_by_own_picture():
    plan = piece(shot("A", "0", "6"), shot("A", "20", "26"))
    verdict = only(plan, "longest_timeline_run_seconds", "8")
    assert verdict.mend() == "put 1 s of your own picture before segment 1"


def test_too_early_means_waiting():
    ended = datetime(2024, 3, 2, 21, 0, tzinfo=UTC)
    sources = [source("A", event="cup", event_ended=ended)]
    plan = piece(shot("A", "0", "5"), sources=sources, published=ended + timedelta(hours=10))
    verdict = only(plan, "event_age_hours", "24", "event", "min")
    assert verdict.value == 10
    assert verdict.mend() == "wait 14 h before publishing"


def test_too_late_means_leaving_the_event_out():
    sources = [source("A", event="cup", event_age_hours=F(50))]
    verdict = only(piece(shot("A", "0", "5"), sources=sources), "event_age_hours", "48", "event", "max")
    assert verdict.mend() == "leave out segment 0"


def test_a_replay_can_be_trimmed_or_left_out():
    plan = piece(shot("A", "0", "5"), shot("A", "0", "5"), shot("A", "0", "5"))
    assert only(plan, "times_repeated", "1").mend() == "leave out segment 2"
    assert only(plan, "replayed_seconds", "9").mend() == "trim 1 s (10 frames) from the end of segment 2"


def test_a_share_is_met_by_shortening_or_by_own_picture():
    verdict = only(piece(own("5"), shot("A", "0", "15")), "excerpt_share_of_piece", "1/2")
    assert verdict.mend() == "trim 10 s (100 frames) from the end of segment 1"
    assert verdict.as_json()["or"][0]["mend"] == "add 10 s of your own picture"


def test_a_user_can_call_segments_what_they_are_called_on_the_page():
    verdict = only(piece(shot("A", "0", "10.4")), "longest_excerpt_seconds", "10")
    assert (
        verdict.mend(lambda number: "the jump throw")
        == "trim 0.4 s (4 frames) from the end of the jump throw"
    )


def test_moments_to_keep_are_cut_last():
    plan = piece(shot("A", "0", "10", keep=((F(7), F(9)),)))
    steps = only(plan, "longest_excerpt_seconds", "4").ways[0]
    view = apply_steps(plan, steps).segments[0].main
    assert (view.start, view.end) == (5, 9)


def test_few_words_are_counted():
    plan = piece(shot("A", "0", "60"), narration=Narration(None, 100, F(150)))
    assert only(plan, "commentary_to_excerpt_ratio", "1").mend() == "write 50 more words"


def test_a_verdict_in_json_is_exact_and_says_where_its_limit_comes_from():
    plan = piece(shot("A", "0", "91"), sources=[source("A", event="cup", attributed=True)])
    judgement = judge(compute(plan), preset("eu_short_news"))
    answer = json.loads(json.dumps(judgement.as_json()))
    row = answer["verdicts"][0]
    assert row["value"] == {"exact": "91", "decimal": "91.000000"}
    assert (row["state"], row["limit"]["exact"]) == ("over", "90")
    assert "recital 55" in row["source"]
    assert row["where"] == {"scope": "source", "name": "A", "sources": ["A"], "segments": [0]}
    assert "Planning aid, not legal advice." in answer["cautions"]


# --- unjudged ----------------------------------------------------------------------------------


def test_what_is_not_known_is_left_unjudged_with_the_reason():
    judgement = judge(compute(piece(shot("A", "0", "5"))), preset("it_short_news"))
    assert [row.limit.rule for row in judgement.not_judged] == ["event_age_hours"] * 2
    assert "event_ended" in judgement.not_judged[0].why
    assert {verdict.limit.rule for verdict in judgement.verdicts} == {"sum_union_seconds"}


def test_a_source_without_an_event_is_an_event_of_its_own():
    judgement = judge(compute(piece(shot("C", "0", "95"))), preset("de_short_report"))
    assert [(verdict.where.name, verdict.where.sources, verdict.state) for verdict in judgement.verdicts] == [
        (None, ("C",), "over")
    ]


def test_own_terms_and_unused_sources_are_not_judged():
    sources = [source("A", terms="own"), source("B")]
    assert (
        judge(compute(piece(shot("A", "0", "99"), sources=sources)), preset("edu_multimedia")).verdicts == ()
    )


# --- mends mend --------------------------------------------------------------------------------

VALUES = {
    "share": st.fractions(0, 1, max_denominator=20),
    "ratio": st.fractions(0, 4, max_denominator=8),
    "count": st.integers(0, 3).map(F),
    "yes_no": st.just(F(1)),
    "hours": st.integers(0, 60).map(F),
}
SECONDS = st.integers(0, 120).map(lambda tenths: F(tenths, 10))


@st.composite
def limits(draw):
    rule = draw(st.sampled_from(list(rules().values())))
    made = Limit(
        rule.key,
        draw(st.sampled_from(rule.scopes)),
        draw(st.sampled_from(rule.senses)),
        draw(VALUES.get(rule.unit, SECONDS)),
    )
    assert not limit_faults(made)
    return made


@settings(max_examples=600, deadline=None)
@given(plans(), limits())
def test_each_way_to_mend_brings_its_figure_within_the_limit(plan, limit):
    made = Policy("one", "One", (limit,))
    for verdict in judge(compute(plan), made).over:
        assert verdict.ways, "a broken limit needs a mend"
        for way in verdict.ways:
            mended = judge(compute(apply_steps(plan, way)), made)
            same = [
                other
                for other in mended.verdicts
                if (other.where.scope, other.where.name) == (verdict.where.scope, verdict.where.name)
                and (verdict.where.name is not None or set(other.where.sources) & set(verdict.where.sources))
            ]
            assert all(other.state != "over" for other in same), verdict.mend()
            assert verdict.mend()


@given(plans(), limits())
def test_only_broken_limits_have_mends_and_every_figure_is_exact(plan, limit):
    judgement = judge(compute(plan), Policy("one", "One", (limit,)))
    for verdict in judgement.verdicts:
        assert isinstance(verdict.value, Fraction)
        assert bool(verdict.ways) == (verdict.state == "over")
    json.dumps(judgement.as_json())


def test_a_long_piece_is_judged_by_its_busiest_hour():
    # common practice, no source: a window of 3600 s slides over the piece.
    segments = [part for n in range(4) for part in (shot("A", str(20 * n), str(20 * n + 20)), own("1500"))]
    plan = piece(*segments)
    verdict = only(plan, "screen_seconds_in_an_hour", "50")
    assert verdict.value == 60
    after = compute(apply_steps(plan, verdict.ways[0]))
    assert after.events["semi-final"].screen_seconds_in_an_hour <= 50


def test_mends_of_side_by_side_views_shorten_both():
    plan = piece(shot("A", "0", "10", beside=View("B", F(0), F(9), hold=F(2))))
    verdict = only(plan, "excerpt_screen_seconds", "8")
    after = compute(apply_steps(plan, verdict.ways[0]))
    assert after.excerpt_screen_seconds == 8
