"""Pronouns and answers of the claim check: what a sentence leaves out is put in before it is judged.

Anatomy: OpenStax A&P 2e, ch. 7, 21 and 23 (spleen, heart, vertebrae); roots and nerves of motions from Moore, Clinically
Oriented Anatomy (from memory).
"""

from __future__ import annotations

import pytest

from anatomy.claims.check import check_claims
from anatomy.vocabulary.packaged import packaged_vocabulary

SAID = [
    ("The spleen is a delicate organ. It sits on the right.", "wrong", "It sits on the right"),
    ("The spleen is a delicate organ. It sits on the left.", "right", "It sits on the left"),
    ("Mind the spleen, which is under the right ribs.", "wrong", "which is under the right ribs"),
    ("Which side is the spleen on? Right side, under the ribs.", "wrong", "Right side"),
    ("The heart? Right side of the chest.", "wrong", "Right side"),
    ("Where does the cord end? At L4.", "wrong", "At L4"),
    ("Push-ups are great. They're open chain.", "wrong", "open chain"),
    ("The stomach is on the liver side.", "wrong", "The stomach is on the liver side"),
    ("The appendix is on the same side as the liver.", "right", "same side as the liver"),
    ("The spleen and liver are on the left and right respectively.", "right", "liver"),
    ("C7 lifts the arm sideways.", "wrong", "C7 lifts the arm sideways"),
    ("C5 lifts the arm sideways.", "right", "C5 lifts the arm sideways"),
    ("If C7 is gone she can't straighten the elbow.", "right", "C7"),
    ("The tibial nerve lifts the foot.", "wrong", "tibial nerve lifts the foot"),
    ("Without the ulnar nerve you cannot straighten the elbow.", "wrong", "ulnar nerve"),
]
NOTHING_CLAIMED = [
    "Put a hand on the spleen. It may feel odd on the right.",
    "Which side is the spleen on? Think about it.",
    "We taped the liver on the left of the poster.",
    "She had surgery at L4. It went well.",
]


@pytest.mark.parametrize(("text", "verdict", "words"), SAID)
def test_what_is_left_out_is_put_in(text: str, verdict: str, words: str) -> None:
    found = check_claims(text, packaged_vocabulary())
    place = text.index(words)
    assert any(c.verdict == verdict and c.start < place + len(words) and place < c.end for c in found), found
    assert all(text[c.start : c.end] == c.text and c.start < c.end for c in found)


@pytest.mark.parametrize("text", NOTHING_CLAIMED)
def test_a_mere_mention_stays_silent(text: str) -> None:
    assert [c for c in check_claims(text, packaged_vocabulary()) if c.verdict in ("wrong", "depends")] == []


def test_no_replacement_is_offered_for_words_that_were_put_in() -> None:
    text = "The heart? It's on the right."
    for claim in check_claims(text, packaged_vocabulary()):
        replaced = text[claim.replace_start : claim.replace_end] if claim.replace_start >= 0 else "right"
        assert replaced == "right"
