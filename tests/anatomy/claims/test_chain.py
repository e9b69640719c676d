"""Open and closed chains. Published: Steindler (1955), a chain is closed where the far end is fixed (from memory);
exercise lists as in NSCA's Essentials of Personal Training, kinetic chains (from memory)."""

from __future__ import annotations

import pytest

from .stating import agrees, claims, mended, sentences, verdicts

CLOSED = ["squat", "lunge", "push-up", "pull-up", "step-up", "deadlift", "plank", "handstand"]
OPEN = [
    "leg extension",
    "leg curl",
    "biceps curl",
    "lateral raise",
    "straight leg raise",
    "triceps pushdown",
    "lat pulldown",
]
DISPUTED = ["bench press", "leg press"]
"""Authors class these either way."""


@pytest.mark.parametrize(("verdict", "text"), sentences("chain"))
def test_a_sentence_about_a_chain_gets_its_verdict(verdict: str, text: str) -> None:
    assert agrees("chain", verdict, text)


@pytest.mark.parametrize(
    "phrasing",
    ["The {0} is {1} chain.", "A {0} is an exercise in the {1} kinetic chain.", "{1} chain, that's the {0}."],
)
@pytest.mark.parametrize("said", ["open", "closed"])
@pytest.mark.parametrize("exercise", [*CLOSED, *OPEN])
def test_an_exercise_has_its_published_kind(exercise: str, said: str, phrasing: str) -> None:
    good = (exercise in CLOSED) == (said == "closed")
    assert verdicts("chain", phrasing.format(exercise, said)) == {"right" if good else "wrong"}


@pytest.mark.parametrize("said", ["open", "closed"])
@pytest.mark.parametrize("exercise", DISPUTED)
def test_what_authors_dispute_depends(exercise: str, said: str) -> None:
    assert verdicts("chain", f"The {exercise} is {said} chain.") == {"depends"}


@pytest.mark.parametrize("text", [t for v, t in sentences("chain") if v == "wrong"])
def test_an_accepted_replacement_is_right(text: str) -> None:
    for claim in claims("chain", text):
        if claim.verdict == "wrong" and claim.replacement:
            assert "wrong" not in {
                c.verdict for c in claims("chain", mended(claim, text)) if c.start == claim.start
            }
