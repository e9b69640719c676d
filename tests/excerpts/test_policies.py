"""Presets from data, a user's own limits, and the texts that stay beside them."""

import json
from fractions import Fraction

import pytest

from breakdowns.excerpts.ledger import EventLedger, Ledger, SourceLedger
from breakdowns.excerpts.policies import (
    Limit,
    Policy,
    PolicyError,
    UnknownPolicy,
    build_presets,
    policy_from_json,
    policy_to_json,
    preset,
    presets,
)
from breakdowns.excerpts.rules import case_facts, choice, rules, wording
from breakdowns.excerpts.tables import DataError, Row


def limits_of(name):
    return {(limit.rule, limit.sense): limit.value for limit in preset(name).limits}


@pytest.mark.parametrize(
    ("name", "rule", "sense", "value"),
    [
        # Directive 2010/13/EU, recital 55: 90 seconds.
        ("eu_short_news", "longest_excerpt_seconds", "max", 90),
        ("eu_short_news", "sum_union_seconds", "max", 90),
        # Austria: 90 s per match, 60 min after the scheduled end; 7 days on demand (§ 5(5)).
        ("at_short_news", "sum_union_seconds", "max", 90),
        ("at_short_news", "event_age_hours", "min", 1),
        ("at_short_news", "hours_online", "max", 7 * 24),
        # Italy, resolutions 667/10 and 392/12: 90 s; 1 h to 48 h after the event.
        ("it_short_news", "event_age_hours", "min", 1),
        ("it_short_news", "event_age_hours", "max", 48),
        # Germany, interstate broadcasting treaty § 5(4): as a rule one and a half minutes.
        ("de_short_report", "sum_union_seconds", "max", 90),
        # An organiser's guideline, 2011: 2 min an hour, 5.5 min a day, 2 repeats, 60 min.
        ("organiser_2011", "screen_seconds_in_an_hour", "max", 120),
        ("organiser_2011", "screen_seconds", "max", 330),
        ("organiser_2011", "times_repeated", "max", 2),
        # Reported demand of a licensee, [2007] FCA 568: 45 s a match, 24 h.
        ("licensee_demand_2007", "sum_union_seconds", "max", 45),
        ("licensee_demand_2007", "event_age_at_withdrawal_hours", "max", 24),
        # Educational multimedia guidelines, 1996: 10 % and 180 s.
        ("edu_multimedia", "share_of_source", "max", Fraction(1, 10)),
        ("edu_multimedia", "union_seconds", "max", 180),
    ],
)
def test_presets_hold_the_published_numbers(name, rule, sense, value):
    assert limits_of(name)[rule, sense] == value


def test_quotation_has_no_number_and_own_is_empty():
    assert set(limits_of("quotation")) == {("source_named", "min"), ("purposes_unstated", "max")}
    assert preset("own").limits == ()
    assert preset("own").source == "no source: your own limits"


def test_every_limit_says_where_it_comes_from_and_whom_it_was_made_for():
    for policy in presets().values():
        for limit in policy.limits:
            assert limit.source
            assert limit.made_for
            assert limit.how_read in ("read", "secondary", "from memory")


def test_every_rule_names_a_figure_of_the_ledger_and_defines_it():
    homes = {"source": SourceLedger, "event": EventLedger, "piece": Ledger}
    special = {"source_named", "event_age_hours", "event_age_at_withdrawal_hours"}
    for rule in rules().values():
        assert rule.definition.endswith(".")
        for scope in rule.scopes:
            assert rule.key in special or hasattr(homes[scope], rule.key), rule.key


def test_markers_of_cases_have_opposite_results():
    facts = {case.seconds: case for case in case_facts()}
    # 709 F.3d 1273; [2016] EWHC 575 (Ch); 108 F.3d 1119; 672 F.2d 1095; 276 F. Supp. 3d 34.
    results = {7: "fair", 8: "not fair", 30: "not fair", 75: "not fair", 195: "fair"}
    assert {seconds: case.result for seconds, case in facts.items()} == results
    assert facts[195].share == Fraction(195, 324)
    assert facts[7].share is None


def test_the_wording_that_must_stay_is_there():
    said = " ".join(wording().values()).lower()
    for words in (
        "not legal advice",
        "no safe harbour",
        "automatic matching by a platform",
        "weighed together",
    ):
        assert words in said


def test_our_own_choices_are_data():
    assert (choice("near_max"), choice("near_min")) == (Fraction(9, 10), Fraction(11, 10))


def test_a_preset_is_found_with_and_without_its_prefix():
    assert preset("preset:quotation") is preset("quotation")
    with pytest.raises(UnknownPolicy):
        preset("fifteen_seconds")


@pytest.mark.parametrize("name", list(presets()))
def test_a_policy_written_and_read_again_is_the_same(name):
    assert policy_from_json(json.loads(json.dumps(policy_to_json(preset(name))))) == preset(name)


def test_scope_and_sense_may_be_left_out_where_there_is_one():
    policy = policy_from_json({"limits": [{"rule": "union_seconds", "value": "45.5"}]})
    assert policy.limits == (Limit("union_seconds", "source", "max", Fraction(91, 2)),)
    assert isinstance(policy, Policy)


@pytest.mark.parametrize(
    ("limits", "faults"),
    [
        ([{"rule": "seconds", "value": 1}], 1),
        ([{"rule": "union_seconds"}], 1),
        ([{"rule": "union_seconds", "value": 1.5}], 1),
        ([{"rule": "union_seconds", "value": "-1"}], 1),
        ([{"rule": "union_seconds", "value": "1", "scope": "event"}], 1),
        ([{"rule": "union_seconds", "value": "1", "sense": "min"}], 1),
        ([{"rule": "screen_seconds", "value": "1"}], 1),
        ([{"rule": "share_of_source", "value": "10"}], 1),
        ([{"rule": "times_repeated", "value": "1/2"}], 1),
        ([{"rule": "source_named", "value": "2"}], 1),
        ([{"rule": "union_seconds", "value": "1", "note": 3}], 1),
        ([{"rule": "union_seconds", "value": "1"}, {"rule": "union_seconds", "value": "2"}], 1),
        (
            [
                {"rule": "event_age_hours", "sense": "min", "value": 3},
                {"rule": "event_age_hours", "sense": "max", "value": 2},
            ],
            1,
        ),
        ([None, 3, "x", {"rule": []}, {"rule": "no"}], 5),
    ],
)
def test_all_faults_of_a_policy_are_reported_at_once(limits, faults):
    with pytest.raises(PolicyError) as caught:
        policy_from_json({"limits": limits})
    assert len(caught.value.faults) == faults
    assert all(fault.endswith(".") for fault in caught.value.faults)


@pytest.mark.parametrize("document", [None, [], "own", 3, {}, {"limits": {}}, {"limits": [], "title": 4}])
def test_what_is_no_policy_is_refused(document):
    with pytest.raises(PolicyError):
        policy_from_json(document)


HEAD = {
    "policy": "p",
    "title": "t",
    "made_for": "m",
    "published_source": "s",
    "how_read": "read",
    "note": "n",
}
LIMIT = {
    "policy": "p",
    "rule": "union_seconds",
    "scope": "source",
    "sense": "max",
    "value": "9",
    "unit": "source_seconds",
    "note": "n",
    "made_for": "m",
    "published_source": "s",
    "how_read": "read",
}


@pytest.mark.parametrize(
    ("head", "limit"),
    [
        ({}, {"policy": "q"}),
        ({}, {"rule": "seconds"}),
        ({}, {"unit": "hours"}),
        ({}, {"value": "many"}),
        ({}, {"made_for": ""}),
        ({}, {"scope": "piece"}),
        ({"how_read": "heard"}, {}),
        ({"title": ""}, {}),
    ],
)
def test_inconsistent_data_is_reported_by_file_and_row(head, limit):
    with pytest.raises(DataError) as caught:
        build_presets([Row("policies.csv, row 2", HEAD | head)], [Row("limits.csv, row 2", LIMIT | limit)])
    assert all(".csv, row 2" in fault for fault in caught.value.faults)


def test_consistent_data_is_taken():
    made = build_presets([Row("policies.csv, row 2", HEAD)], [Row("limits.csv, row 2", LIMIT)])
    assert made["p"].limits[0].value == 9
