"""Levels: roots, vertebrae, ribs, dermatomes, reflexes and counts.

Checked against OpenStax A&P 2e ch. 7 (counts, kinds of ribs) and ch. 13 (plexuses), the key points of the International
Standards for Neurological Classification of Spinal Cord Injury (dermatomes) and printed surface markings (from memory
where no page was read).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.claims.items import sentences_of
from anatomy.claims.kinds.level_facts import level_facts
from anatomy.claims.levels_said import ORDER, between, levels_said, ribs_said
from anatomy.claims.lexicon import listed, rows
from anatomy.vocabulary.packaged import packaged_vocabulary

from .four_kinds import checker, claims, mended, sentences, verdicts

KIND = "level"
VOCABULARY = packaged_vocabulary()
SPOKEN = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
]
NAMES = {"C": "cervical", "T": "thoracic", "L": "lumbar", "S": "sacral"}
ORDINALS = [
    "zeroth",
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
]
# International Standards for Neurological Classification of Spinal Cord Injury, key sensory points.
DERMATOMES = [
    ("thumb", "C6"), ("middle finger", "C7"), ("little finger", "C8"), ("nipple line", "T4"), ("navel", "T10"),
    ("big toe", "L5"), ("little toe", "S1"),
]  # fmt: skip
# OpenStax A&P 2e ch. 13 (plexuses); Moore for the single nerves.
ROOTS = [
    ("brachial plexus", "C5", "T1"), ("phrenic nerve", "C3", "C5"), ("femoral nerve", "L2", "L4"),
    ("obturator nerve", "L2", "L4"), ("sciatic nerve", "L4", "S3"), ("pudendal nerve", "S2", "S4"),
]  # fmt: skip


def said(text: str) -> list[tuple[str, ...]]:
    (found,) = sentences_of(text, checker().lexicon)
    return [one.levels for one in levels_said(found.items, text)]


@pytest.mark.parametrize(("text", "expected"), sentences(KIND))
def test_sentences_of_our_own(text: str, expected: list[str]) -> None:
    assert verdicts(text, KIND) == expected


@given(st.sampled_from([level for level in ORDER if level[:2] != "CO"]))
def test_a_level_is_read_however_it_is_said(level: str) -> None:
    letter, number = level[0], int(level[1:])
    for form in (
        level,
        f"{letter} {SPOKEN[number]}",
        f"{NAMES[letter]} {SPOKEN[number]}",
        f"the {ORDINALS[number]} {NAMES[letter]} vertebra",
    ):
        if letter == "C" and number == 8 and "vertebra" in form:
            continue
        assert said(f"It is {form}") == [(level,)], form


def test_lists_and_ranges_of_levels() -> None:
    assert said("It is C3, 4 and 5") == [("C3", "C4", "C5")]
    assert said("It is C three, four and five") == [("C3", "C4", "C5")]
    assert said("It is T12-L3") == [("T12", "L1", "L2", "L3")]
    assert said("It lies between T12 and L3") == [("T12", "L1", "L2", "L3")]
    assert said("It is L4/5") == [("L4", "L5")]
    assert said("T1 and T2, three minutes") == [("T1", "T2")]


@given(st.sampled_from(ORDER), st.sampled_from(ORDER))
def test_a_range_is_the_same_either_way_round(one: str, other: str) -> None:
    assert between(one, other) == between(other, one)
    assert {one, other} <= set(between(one, other))


def test_ribs_are_read() -> None:
    for text, expected in (
        ("Ribs nine to eleven", [("9", "10", "11")]),
        ("The first seven ribs", [("1", "2", "3", "4", "5", "6", "7")]),
        ("The last two ribs", [("11", "12")]),
        ("The ninth and tenth ribs", [("9", "10")]),
    ):
        (found,) = sentences_of(text, checker().lexicon)
        assert [one.levels for one in ribs_said(found.items)] == expected


@pytest.mark.parametrize(("area", "level"), DERMATOMES)
def test_dermatomes(area: str, level: str) -> None:
    assert verdicts(f"The {area} is the {level} dermatome.", KIND) == ["right"]
    assert verdicts(f"The {area} is the C2 dermatome.", KIND) == ["wrong"]


@pytest.mark.parametrize(("nerve", "first", "last"), ROOTS)
def test_roots_of_nerves(nerve: str, first: str, last: str) -> None:
    assert verdicts(f"The {nerve} comes from {first} to {last}.", KIND) == ["right"]
    assert verdicts(f"The {nerve} comes from T4 to T8.", KIND) == ["wrong"]


@given(
    st.sampled_from(
        sorted(n for n, e in VOCABULARY.nerves.items() if e.kind == "plexus" and e.roots and len(e.roots) > 1)
    )
)
def test_no_plexus_is_denied_its_own_roots(name: str) -> None:
    roots = VOCABULARY.nerves[name].roots
    assert "wrong" not in verdicts(f"The {name} comes from {roots[0]} to {roots[-1]}.", KIND)


def test_one_level_away_is_never_called_wrong() -> None:
    assert "wrong" not in verdicts("The iliac crest is at L3.", KIND)
    assert verdicts("The iliac crest is at L1.", KIND) == ["wrong"]


def test_the_replacement_mends_the_sentence() -> None:
    text = "The femoral nerve comes from L5 to S2."
    (claim,) = claims(text, KIND)
    assert mended(text, claim) == "The femoral nerve comes from L2 to L4."
    assert verdicts(mended(text, claim), KIND) == ["right"]


def test_every_fact_names_a_source_of_the_vocabulary_and_every_word_is_known_to_the_reader() -> None:
    classes = {"skin": "LAREA", "test": "LSIGN", "count": "LCOUNT"}
    words: dict[str, set[str]] = {}
    for row in rows("words_levels"):
        words.setdefault(row["class"], set()).update(listed(row["words"]))
    for kind, facts in level_facts().items():
        for word, fact in facts.items():
            assert fact.sources, fact
            assert set(fact.sources) <= set(VOCABULARY.sources), fact
            if kind in classes and not (kind == "skin" and " of " in word):
                assert word in words[classes[kind]], word
