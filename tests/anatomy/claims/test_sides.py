"""Sides: organs by OpenStax A&P 2e ch. 1 and 22 to 25 (quadrants, organs), limbs by ch. 7 to 9; from memory where not read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.claims.kinds.side_facts import side_facts
from anatomy.claims.lexicon import listed, rows
from anatomy.vocabulary.packaged import packaged_vocabulary

from .four_kinds import claims, mended, sentences, verdicts

KIND = "side"
VOCABULARY = packaged_vocabulary()
# OpenStax A&P 2e ch. 1 (quadrants) and ch. 23.
ORGANS = [
    ("spleen", "left"), ("liver", "right"), ("gallbladder", "right"), ("appendix", "right"), ("caecum", "right"),
    ("stomach", "left"), ("descending colon", "left"), ("ascending colon", "right"), ("sigmoid colon", "left"),
]  # fmt: skip
OTHER = {"left": "right", "right": "left"}
FORMS = (
    "The {o} is on the {s}.",
    "The {o} lies on the {s} side.",
    "The {o} sits under the {s} ribs.",
    "On the {s} lies the {o}.",
    "He was hit on the {s}, and the {o} sits there.",
    "That is low on the {s}, where the {o} is.",
)


@pytest.mark.parametrize(("text", "expected"), sentences(KIND))
def test_sentences_of_our_own(text: str, expected: list[str]) -> None:
    assert verdicts(text, KIND) == expected


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(("organ", "side"), ORGANS)
def test_an_organ_on_its_side_is_right_and_on_the_other_wrong(organ: str, side: str, form: str) -> None:
    assert verdicts(form.format(o=organ, s=side), KIND) == ["right"]
    assert verdicts(form.format(o=organ, s=OTHER[side]), KIND) == ["wrong"]


@given(
    st.sampled_from(
        sorted(
            n
            for n, e in VOCABULARY.structures.items()
            if e.side in OTHER and e.kind in ("organ", "vessel") and not n.startswith(("left", "right"))
        )
    )
)
def test_no_structure_is_denied_its_own_side(name: str) -> None:
    side = VOCABULARY.structures[name].side
    assert "wrong" not in verdicts(f"The {name} is on the {side}.", KIND)


@pytest.mark.parametrize(
    "text",
    [
        "On the left of the picture stands the keeper, and his liver is safe.",
        "The left back hit the post with his spleen side.",
        "His left knee was hurt on the inside.",
        "The right wing runs behind the defender.",
    ],
)
def test_sides_of_the_picture_the_team_and_the_athlete_are_no_claims(text: str) -> None:
    assert verdicts(text, KIND) == []


def test_the_replacement_mends_the_sentence() -> None:
    for text, better in (
        ("The spleen lies on the right.", "The spleen lies on the left."),
        ("The MCL is on the outer side of the knee.", "The MCL is on the inner side of the knee."),
    ):
        (claim,) = claims(text, KIND)
        assert mended(text, claim) == better
        assert verdicts(better, KIND) == ["right"]


def test_every_fact_names_a_source_of_the_vocabulary_and_every_word_is_known_to_the_reader() -> None:
    words: dict[str, set[str]] = {}
    for row in rows("words_sides"):
        words.setdefault(row["class"], set()).update(listed(row["words"]))
    for kind, facts in side_facts().items():
        for fact in facts:
            assert fact.sources, fact
            assert set(fact.sources) <= set(VOCABULARY.sources), fact
            if kind == "place":
                assert set(fact.words) <= words["SPLACE"], fact
            if kind == "attribute":
                assert set(fact.words) <= words["SSUBJ"], fact
