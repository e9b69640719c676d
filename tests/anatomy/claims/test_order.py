"""Orders. Published: proximal-to-distal sequences, Putnam (1993), J Biomech 26 Suppl 1:125-135 (from memory); the
team-handball throw, figure legend in PMC4652456 (read); instep kick, Kellis and Katis (2007), abstract (read)."""

from __future__ import annotations

import pytest

from .stating import agrees, claims, mended, sentences, verdicts

ORDERS = {
    "handball throw": ["pelvis", "trunk", "elbow", "wrist"],
    "instep kick": ["thigh", "shank", "foot"],
    "tennis serve": ["legs", "trunk", "racket arm", "racket"],
    "rowing drive": ["legs", "trunk", "arms"],
    "jump": ["hip", "knee", "ankle"],
    "punch": ["legs", "hips", "trunk", "fist"],
}
PHRASINGS = [
    "In the {0} the {1} goes first, then the {2}, then the {3}.",
    "In the {0} the {1} moves before the {2}.",
    "In the {0} the {2} follows the {1}.",
    "In the {0} the {2} turns after the {1}.",
    "First the {1}, then the {2}, finally the {3}: that's the {0}.",
    "The {0} starts at the {1} and ends at the {3}.",
    "In the {0} the {1} leads, the {2} follows and the {3} comes last.",
]


@pytest.mark.parametrize(("verdict", "text"), sentences("order"))
def test_a_sentence_about_an_order_gets_its_verdict(verdict: str, text: str) -> None:
    assert agrees("order", verdict, text)


@pytest.mark.parametrize("phrasing", PHRASINGS)
@pytest.mark.parametrize("movement", ORDERS)
def test_the_published_order_is_right_and_its_reverse_wrong(movement: str, phrasing: str) -> None:
    order = ORDERS[movement]
    first, second, last = order[0], order[1], order[-1]
    assert verdicts("order", phrasing.format(movement, first, second, last)) == {"right"}
    assert verdicts("order", phrasing.format(movement, last, second, first)) == {"wrong"}


def test_the_movement_of_the_sentence_before_counts() -> None:
    assert verdicts("order", "Look at the backswing. The hips move before the club.") == {"wrong"}
    assert verdicts("order", "Look at the downswing. The hips move before the club.") == {"right"}
    assert verdicts("order", "The shoulders turn before the hips.") == {"depends"}


@pytest.mark.parametrize("text", [t for v, t in sentences("order") if v == "wrong"])
def test_an_accepted_replacement_is_not_wrong(text: str) -> None:
    for claim in claims("order", text):
        if claim.verdict == "wrong" and claim.replacement:
            assert "wrong" not in verdicts("order", mended(claim, text)), mended(claim, text)


def test_a_bare_list_is_put_into_its_published_order() -> None:
    text = "First the hand, then the trunk, then the pelvis: that's the handball throw."
    (claim,) = claims("order", text)
    assert (
        mended(claim, text) == "First the pelvis, then the trunk, then the hand: that's the handball throw."
    )
