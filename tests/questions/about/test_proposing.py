"""Breakdown and moment proposed for a question: figures on labelled questions, and what may never happen."""

from __future__ import annotations

import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st

from breakdowns.questions.about.proposing import propose, time_said
from breakdowns.questions.sorting import fingerprint, sentence_encoder
from tests.questions.about.measuring import breakdowns, measured, rates_of, spoken_of

PAGES = breakdowns()
SPOKEN, RATES = spoken_of(PAGES), rates_of(PAGES)


# The questions are invented for this; the sealed table is counted and was not looked at while numbers were chosen.
@pytest.mark.parametrize("name", ["about_open", "about_sealed"])
def test_what_is_proposed_is_mostly_right_and_seldom_for_a_stranger(name: str) -> None:
    figures, _ = measured(name)
    with_encoder = sentence_encoder() is not None
    assert figures.breakdown / figures.about >= (0.95 if with_encoder else 0.85)
    assert figures.moment / figures.moments >= (0.8 if with_encoder else 0.65)
    assert figures.wrong_moment <= (1 if with_encoder else 3)
    assert figures.mistaken <= 1


def test_the_reason_names_words_that_the_question_says() -> None:
    for row, found in measured("about_open")[1]:
        if found is None or "shares" not in found.because:
            continue
        shared = found.because.split("“")[1].split("”")[0]
        assert shared in row["text"].casefold()


def proposed(text: str, **how):
    return propose(text, fingerprint(text), SPOKEN, rates=RATES, newest="grip-and-finger", **how)


def test_a_time_that_is_said_is_the_moment() -> None:
    found = proposed("At 0:26 of the jump throw video the arm is back. Is that not too far?")
    assert found is not None
    assert (found.release, found.frame) == ("late-hips", 26 * 25)
    assert "0:26" in found.because


def test_a_time_past_the_end_or_of_something_else_is_no_moment() -> None:
    past = proposed("In your jump throw video at 55:10, is the planting foot flat?")
    assert past is None or past.frame is None or past.frame < RATES[past.release][1]
    pace = proposed("I run 4:30 a kilometre and adductor longus hurts near the pubic bone.")
    assert pace is not None
    assert "4:30" not in pace.because


def test_the_newest_one_is_the_one_released_last() -> None:
    found = proposed("In your last video, what was that about hands and the W?")
    assert found is not None
    assert found.release == "grip-and-finger"
    assert found.because.endswith("the newest one.")


def test_where_the_breakdown_is_given_only_the_moment_is_looked_for() -> None:
    found = proposed("What does the towel do for the warm-up?", given="split-save")
    assert found is not None
    assert (found.release, found.frame) == ("split-save", 700)
    assert proposed("How do I change my card?", given="split-save") is None


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("at 0:26 you show it", 26), ("at 1:05", 65), ("26 seconds in", 26), ("around 15 seconds", 15), ("second 40", 40),
        ("hold it for 30 seconds", None), ("at 90 degrees", None), ("three sets of 12", None), ("at 19:30 pm", None),
        ("on 12:30:45", None), ("", None),
    ],
)  # fmt: skip
def test_times_are_read_as_they_are_said(text: str, seconds: int | None) -> None:
    assert time_said(text) == seconds


@any_of(
    st.text(max_size=200)
    | st.lists(
        st.sampled_from(["your", "last", "video", "at", "0:26", "knee", "groin", "spleen", "99:59", "in"])
    ).map(" ".join)
)
def test_a_proposal_is_of_a_breakdown_that_there_is_and_inside_its_video(text: str) -> None:
    found = proposed(text)
    assert found == proposed(text), "the same text gives the same proposal"
    if found is not None:
        assert found.frame is None or 0 <= found.frame < RATES[found.release][1]
        assert found.because.endswith(".")


def test_nothing_released_nothing_proposed() -> None:
    text = "Where does adductor longus tear?"
    assert propose(text, fingerprint(text), [], rates={}) is None
