"""Kinds of contraction, by OpenStax A&P 2e section 10.4: shortening lifts, lengthening lowers and brakes, holding keeps the length."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.claims.kinds.exercises import exercises
from anatomy.claims.lexicon import listed, rows
from anatomy.vocabulary.packaged import packaged_vocabulary

from .four_kinds import claims, mended, sentences, verdicts

KIND = "contraction"
VOCABULARY = packaged_vocabulary()
# OpenStax A&P 2e 10.4: the curl and the squat are its examples; the rest is common practice, no source.
LIFTS = [
    ("the curl", "the biceps"), ("the squat", "the quads"), ("the push-up", "the triceps"), ("the calf raise", "soleus"),
    ("the lateral raise", "the deltoid"), ("the hip thrust", "gluteus maximus"),
]  # fmt: skip
PHASES = [
    ("On the way up in", "concentrically", "shorten"),
    ("On the way down in", "eccentrically", "lengthen"),
]


@pytest.mark.parametrize(("text", "expected"), sentences(KIND))
def test_sentences_of_our_own(text: str, expected: list[str]) -> None:
    assert verdicts(text, KIND) == expected


@given(st.sampled_from(LIFTS), st.sampled_from(PHASES), st.sampled_from(PHASES))
def test_the_phase_settles_the_kind(
    lift: tuple[str, str], phase: tuple[str, str, str], said: tuple[str, str, str]
) -> None:
    text = f"{phase[0]} {lift[0]} {lift[1]} works {said[1]}."
    assert verdicts(text, KIND) == (["right"] if phase == said else ["wrong"])


@pytest.mark.parametrize(("exercise", "muscle"), LIFTS)
@pytest.mark.parametrize("kind", ["concentric", "eccentric"])
def test_a_movement_with_two_phases_depends_on_the_phase(exercise: str, muscle: str, kind: str) -> None:
    assert verdicts(f"{exercise.capitalize()} is {kind} for {muscle}.", KIND) == ["depends"]


@pytest.mark.parametrize("hold", ["the plank", "the wall sit", "the dead hang"])
def test_a_hold_is_isometric(hold: str) -> None:
    assert verdicts(f"{hold.capitalize()} is isometric.", KIND) == ["right"]
    assert verdicts(f"{hold.capitalize()} is concentric.", KIND) == ["wrong"]


def test_a_muscle_that_makes_the_motion_shortens() -> None:
    assert verdicts("As the knee straightens the quads work concentrically.", KIND) == ["right"]
    assert verdicts("As the knee straightens the quads work eccentrically.", KIND) == ["wrong"]


def test_the_replacement_mends_the_sentence() -> None:
    text = "On the way down in a squat the quads work concentrically."
    (claim,) = claims(text, KIND)
    assert mended(text, claim) == "On the way down in a squat the quads work eccentrically."
    assert verdicts(mended(text, claim), KIND) == ["right"]


def test_exercises_name_motions_and_sources_of_the_vocabulary_and_words_that_the_reader_knows() -> None:
    words = {
        word
        for row in rows("words_contraction")
        if row["class"] == "EXERCISE"
        for word in listed(row["words"])
    }
    assert set(exercises()) <= words
    for exercise in exercises().values():
        assert set(exercise.sources) <= set(VOCABULARY.sources)
        for joint, motion in exercise.motions:
            assert f"{joint}: {motion}" in VOCABULARY.motions, exercise
