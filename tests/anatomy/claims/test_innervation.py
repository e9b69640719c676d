"""Nerve supply. The facts are those of the muscle tables of Moore, Clinically Oriented Anatomy, and OpenStax A&P 2e ch. 13."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.claims.kinds.nerve_supply import nerve_adjectives, nerve_facts, supply_of
from anatomy.claims.lexicon import listed, rows
from anatomy.vocabulary.packaged import packaged_vocabulary

from .four_kinds import claims, mended, sentences, verdicts

KIND = "innervation"
VOCABULARY = packaged_vocabulary()
MUSCLES = sorted(
    name
    for name, muscle in VOCABULARY.muscles.items()
    if muscle.nerve and "rami" not in muscle.nerve and "(" not in name
)
FORMS = (
    "The {m} is supplied by the {n}.",
    "The {n} supplies the {m}.",
    "The {m} gets its nerve from the {n}.",
    "The nerve of the {m} is the {n}.",
)
# OpenStax A&P 2e ch. 13 and Moore's tables: one nerve for each compartment.
TEXTBOOK = [
    ("deltoid", "axillary nerve"),
    ("biceps brachii", "musculocutaneous nerve"),
    ("triceps brachii", "radial nerve"),
    ("flexor carpi radialis", "median nerve"),
    ("flexor carpi ulnaris", "ulnar nerve"),
    ("quadriceps femoris", "femoral nerve"),
    ("adductor longus", "obturator nerve"),
    ("gluteus maximus", "inferior gluteal nerve"),
    ("gluteus medius", "superior gluteal nerve"),
    ("soleus", "tibial nerve"),
    ("tibialis anterior", "deep fibular nerve"),
    ("fibularis longus", "superficial fibular nerve"),
    ("diaphragm", "phrenic nerve"),
    ("trapezius", "accessory nerve"),
    ("serratus anterior", "long thoracic nerve"),
    ("latissimus dorsi", "thoracodorsal nerve"),
]


@pytest.mark.parametrize(("text", "expected"), sentences(KIND))
def test_sentences_of_our_own(text: str, expected: list[str]) -> None:
    assert verdicts(text, KIND) == expected


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(("muscle", "nerve"), TEXTBOOK)
def test_each_textbook_pair_is_right_in_every_form(muscle: str, nerve: str, form: str) -> None:
    if muscle == "diaphragm" and form.startswith("The nerve of"):
        return  # "nerve of the diaphragm" is a name of the phrenic nerve
    assert verdicts(form.format(m=muscle, n=nerve), KIND) == ["right"]


@given(st.sampled_from(TEXTBOOK), st.sampled_from(TEXTBOOK), st.sampled_from(FORMS))
def test_a_muscle_with_another_ones_nerve_is_wrong(
    one: tuple[str, str], other: tuple[str, str], form: str
) -> None:
    if one[0] == "diaphragm" and form.startswith("The nerve of"):
        return  # "nerve of the diaphragm" is a name of the phrenic nerve
    expected = ["right"] if one == other else ["wrong"]
    assert verdicts(form.format(m=one[0], n=other[1]), KIND) == expected


@given(st.sampled_from(MUSCLES), st.sampled_from(FORMS))
def test_no_muscle_is_denied_its_own_nerve(muscle: str, form: str) -> None:
    for nerve in supply_of(VOCABULARY).nerves_of(muscle):
        assert "wrong" not in verdicts(form.format(m=muscle, n=nerve), KIND)


def test_what_a_nerve_branches_from_supplies_the_muscle_too() -> None:
    assert verdicts("Tibialis anterior is supplied by the sciatic nerve.", KIND) == ["right"]


@pytest.mark.parametrize(
    ("text", "better"),
    [
        ("The deltoid is supplied by the radial nerve.", "The deltoid is supplied by the axillary nerve."),
        ("Sartorius is obturator.", "Sartorius is femoral."),
    ],
)
def test_the_replacement_mends_the_sentence(text: str, better: str) -> None:
    (claim,) = claims(text, KIND)
    assert mended(text, claim) == better
    assert verdicts(better, KIND) == ["right"]


def test_every_fact_names_a_source_of_the_vocabulary_and_every_word_is_known_to_the_reader() -> None:
    known = set(VOCABULARY.sources)
    words = {
        word
        for row in rows("words_nerves")
        if row["class"] in ("NREGION", "NSIGN", "NADJ")
        for word in listed(row["words"])
    }
    for fact in nerve_facts():
        assert fact.sources, fact
        assert set(fact.sources) <= known, fact
        if fact.kind in ("region", "extra", "sign"):
            assert {word for word in fact.words if " of " not in word} <= words, fact
    assert set(nerve_adjectives()) <= words
    assert {row["source"] for row in rows("nerve_adjectives")} <= known
