"""What holds of every screening: explained, deterministic, steady under changes that change nothing, safe with any text."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.questions.screening import URGENCIES, Flag, advice, screen
from breakdowns.questions.screening.actions import action
from breakdowns.questions.screening.rules import kinds, rules, sources
from breakdowns.questions.screening.signals import groups, weights
from tests.questions.measuring import counted, rows, tables

FLAGGED = [
    row["text"]
    for table in (*tables("open"), *tables("fresh"))
    for row in rows(table)
    if row["red_flag"] == "yes" and screen(row["text"]).flags
]
POLITE = ["Thanks for your videos.", "I like the new season.", "Greetings to the team.", "Have a nice day."]


def _keys(text: str) -> set[str]:
    return {flag.key for flag in screen(text).flags}


@given(st.sampled_from(FLAGGED), st.sampled_from(POLITE), st.booleans())
@settings(max_examples=120, deadline=None)
def test_a_polite_sentence_takes_no_flag_away(text: str, polite: str, first: bool) -> None:
    joined = f"{polite} {text}" if first else f"{text.rstrip()}\n{polite}"
    assert screen(joined).flags


@given(st.sampled_from(FLAGGED))
@settings(max_examples=120, deadline=None)
def test_case_and_quotes_change_nothing(text: str) -> None:
    assert _keys(text) == _keys(text.upper()) == _keys(text.replace("'", "’"))


@given(st.sampled_from(FLAGGED))
@settings(max_examples=60, deadline=None)
def test_a_missing_last_stop_and_more_spaces_change_nothing(text: str) -> None:
    assert _keys(text) == _keys(text.rstrip(".?! ")) == _keys(re.sub(" ", "  ", text))


DENIALS = [
    ("I hit my head and have been vomiting", "I hit my head, I have not been vomiting", "head_vomiting"),
    (
        "my back hurts and there is numbness of my saddle",
        "my back hurts, no numbness of my saddle",
        "cauda_equina",
    ),
    ("I hit my head and saw double", "I hit my head and never saw double", "head_vision"),
    ("he fell and lost consciousness", "he fell without losing consciousness", "head_knocked_out"),
    ("my back hurts and I have trouble peeing", "my back hurts and I have no trouble peeing", "cauda_equina"),
    ("chest pain when I run", "no chest pain when I run", "chest_pain_effort"),
    ("I coughed up blood", "I have not coughed up blood", "lung_clot"),
    ("my knee is hot, red and swollen", "my knee is not hot, red or swollen", "hot_joint"),
]


@pytest.mark.parametrize(("said", "denied", "key"), DENIALS)
def test_words_that_deny_a_sign_take_it_away(said: str, denied: str, key: str) -> None:
    assert key in _keys(said)
    assert key not in _keys(denied)


@pytest.mark.parametrize(
    "text",
    [
        "why do boxers get knocked out when they are hit on the chin?",
        "in your video the keeper gets knocked out at 1:20, how can that happen?",
        "I broke my collarbone ten years ago, fully healed. Is bench press fine?",
        "what should I do if a player is ever knocked out?",
        "which drills prevent concussion?",
    ],
)
def test_interest_footage_and_what_is_long_over_stay_silent(text: str) -> None:
    assert screen(text).flags == ()


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("I was concusssed on sunday and feel dizy, can i train", "concussion_symptoms"),
        ("my testical is swolen and realy painfull", "testicle"),
        ("loved the video on chokes. my mate got hit on the head and is vomitting", "head_vomiting"),
        ("the guy next to me on the court collapsed and is not breathing", "not_breathing"),
    ],
)
def test_misspelt_words_and_others_in_danger_are_read(text: str, key: str) -> None:
    assert key in _keys(text)


@given(st.text(max_size=400))
@settings(max_examples=150, deadline=None)
def test_any_text_is_read_and_every_flag_quotes_it(text: str) -> None:
    result = screen(text)
    assert result == screen(text)
    for flag in result.flags:
        assert flag.spans
        assert all(0 <= start < end <= len(text) for start, end in flag.spans)


HOSTILE = [
    "", "🤕🤕 i was knocked out 🤕", "\u202eשלום my head hurts\u202c", "<script>alert('knocked out')</script>",
    "<b>I hit my head</b> and <i>vomited</i>", "a" * 200_000, "cant " * 40_000, "<" * 100_000, "\x00\ud800 pain",
]  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_harmless(text: str) -> None:
    assert screen(text).urgency in (None, *URGENCIES)


def test_markup_hides_nothing() -> None:
    assert "head_vomiting" in _keys("<b>I hit my head</b> and <i>vomited</i>")


def test_a_sign_far_down_a_long_text_is_found() -> None:
    text = "The hall was full and we played well. " * 3000 + "I hit my head and was knocked out."
    assert "head_knocked_out" in _keys(text)


def test_flags_come_most_urgent_first_with_words_quoted() -> None:
    result = screen("I hit my head, feel foggy and have been sick twice. Can I train tomorrow?")
    order = [URGENCIES.index(flag.urgency) for flag in result.flags]
    assert order == sorted(order)
    assert result.urgency == "emergency now"
    flag: Flag = result.flags[0]
    assert "“" in flag.because
    assert flag.because.endswith(".")
    assert flag.sources


DIAGNOSING = re.compile(
    r"\byou have (?:a|an|torn|broken|suffered)\b|\bit is a (?:fracture|concussion)\b", re.I
)
NUMBERS_OF_ONE_COUNTRY = re.compile(r"\b(?:999|911|112|111|000)\b")


@pytest.mark.parametrize("urgency", URGENCIES)
def test_advice_is_calm_and_defers_to_local_services(urgency: str) -> None:
    words = advice(urgency)
    text = " ".join([words.title, *words.lines])
    assert "local" in text
    assert "examination" in text
    assert not DIAGNOSING.search(text)
    assert not NUMBERS_OF_ONE_COUNTRY.search(text)


def test_advice_refuses_an_unknown_urgency_in_one_sentence() -> None:
    with pytest.raises(ValueError, match="no advice"):
        advice("later")


def test_every_kind_has_an_action_and_every_rule_a_source() -> None:
    for kind in kinds().values():
        words = action(kind.action)
        assert not DIAGNOSING.search(words)
        assert not NUMBERS_OF_ONE_COUNTRY.search(words)
    for rule in rules():
        assert all(sources()[key] for key in rule.sources)
        assert not DIAGNOSING.search(rule.why)


def test_every_group_of_signs_has_a_weight() -> None:
    assert set(groups()) <= set(weights())


@pytest.mark.parametrize(("kind", "most"), [("ordinary_open", 0.05), ("ordinary_sealed", 0.08)])
def test_ordinary_questions_of_every_topic_are_left_alone(kind: str, most: float) -> None:
    count = counted(tables(kind))
    assert count.false <= most * (count.false + count.silent)


def test_figures_do_not_fall() -> None:
    for kind in ("open", "sealed", "fresh"):
        count = counted(tables(kind))
        assert count.recall >= 0.98
        assert count.precision >= 0.80
