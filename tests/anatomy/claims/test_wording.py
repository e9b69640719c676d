"""How findings are worded: subject and verb agree, parts and sides are named as clinicians name them.

Which muscle does what is held by the other tests of this folder; here only the English is (common practice, no source).
"""

from __future__ import annotations

import re

import pytest

from anatomy.claims.check import check_claims
from anatomy.claims.naming import gathered, muscle_who
from anatomy.claims.spoken import motion_noun, motions_said
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.packaged import packaged_vocabulary

VOCABULARY: Vocabulary = packaged_vocabulary()

WHY = {
    "Hamstrings extend the knee.": "The hamstrings do not extend the knee; they flex it.",
    "Latissimus dorsi abducts the shoulder.": "Latissimus dorsi does not abduct the shoulder; it adducts it.",
    "The left glute max flexes the hip.": "The left gluteus maximus does not flex the hip; it extends it.",
    "Pronator teres supinates the forearm.": "Pronator teres does not supinate the forearm; it pronates it.",
    "The calf bends the elbow.": "The calf muscles have no action at the elbow; they plantarflex the ankle.",
    "The anterior fibres of gluteus medius rotate the hip externally.": (
        "The anterior fibres of gluteus medius do not rotate the hip externally; they rotate it internally."
    ),
    "The lumbricals extend the knuckles.": (
        "The lumbricals of the hand do not extend the fingers; they flex them."
    ),
    "The hamstrings do not flex the knee.": "The hamstrings do flex the knee.",
    "Gluteus maximus extends the hip.": "Gluteus maximus extends the hip.",
    "The left external oblique turns the trunk to the left.": (
        "The left external oblique does not turn the trunk to the left; it turns it to the right."
    ),
    "The deltoid flexes the shoulder.": (
        "It depends on which part of the deltoid you mean: the anterior deltoid flexes the shoulder; "
        "the middle deltoid and the posterior deltoid do not."
    ),
}


@pytest.mark.parametrize(("text", "why"), WHY.items())
def test_why_is_a_sentence_that_agrees(text: str, why: str) -> None:
    (claim,) = check_claims(text, VOCABULARY)
    assert claim.why == why


def test_who_does_it_instead_is_named_by_the_whole() -> None:
    (claim,) = check_claims("Hamstrings extend the knee.", VOCABULARY)
    assert claim.instead == "The hamstrings flex the knee. Knee extension is the work of the quadriceps."


@pytest.mark.parametrize("name", [*VOCABULARY.groups, *VOCABULARY.muscles])
def test_every_name_agrees_with_its_verb(name: str) -> None:
    who = muscle_who(name)
    assert "(" not in who.text
    assert not who.text.startswith("the the ")
    plural_noun = re.search(
        r"(?:muscles|flexors|extensors|abductors|adductors|rotators|interossei)\b", who.text
    )
    assert who.plural or plural_noun is None
    if who.plural:
        assert who.text.startswith("the ") or " and " in who.text


def test_parts_and_places_are_said_before_their_whole() -> None:
    assert muscle_who("biceps femoris long head").text == "the long head of biceps femoris"
    assert muscle_who("pectoralis major (clavicular part)").text == "the clavicular part of pectoralis major"
    assert muscle_who("lumbricals (hand)").text == "the lumbricals of the hand"
    assert muscle_who("biceps femoris", (), "left").text == "the left biceps femoris"


def test_parts_gather_to_their_whole_and_strangers_stay() -> None:
    heads = [*VOCABULARY.members("triceps brachii"), "anconeus"]
    assert gathered(VOCABULARY, heads) == ["triceps brachii", "anconeus"]
    assert gathered(VOCABULARY, heads[:2]) == heads[:2]


def test_motions_join_as_one_speaks() -> None:
    shoulder = "glenohumeral"
    assert (
        motions_said([(shoulder, "extension"), (shoulder, "adduction")]) == "extends and adducts the shoulder"
    )
    assert (
        motions_said([(shoulder, "abduction"), (shoulder, "external rotation")], "base")
        == "abduct the shoulder and rotate it externally"
    )
    assert motion_noun("knee", "extension") == "knee extension"
    assert motion_noun("scapulothoracic", "retraction") == "retraction of the shoulder blade"
