"""Degrees of motion. Published: American Academy of Orthopaedic Surgeons, Joint Motion (values as listed in open tables
and in Norkin and White, Table A.1; some from memory); 38 CFR 4.71, Plates I and II."""

from __future__ import annotations

import pytest

from .stating import agrees, claims, mended, sentences, verdicts

AAOS = {
    "hip flexion": 120,
    "hip abduction": 45,
    "hip adduction": 30,
    "knee flexion": 135,
    "ankle dorsiflexion": 20,
    "ankle plantarflexion": 50,
    "elbow flexion": 150,
    "forearm pronation": 80,
    "forearm supination": 80,
    "wrist flexion": 80,
    "wrist extension": 70,
    "radial deviation": 20,
    "ulnar deviation": 30,
    "shoulder flexion": 180,
    "shoulder extension": 60,
    "shoulder abduction": 180,
}


@pytest.mark.parametrize(("verdict", "text"), sentences("rom"))
def test_a_sentence_with_degrees_gets_its_verdict(verdict: str, text: str) -> None:
    assert agrees("rom", verdict, text)


@pytest.mark.parametrize("motion", AAOS)
@pytest.mark.parametrize(
    "phrasing",
    [
        "Normal {0} is about {1} degrees.",
        "{1}° of {0} is normal.",
        "{0} gets to about {1} degrees in a healthy adult.",
    ],
)
def test_the_handbook_value_is_right_and_far_from_it_is_wrong(motion: str, phrasing: str) -> None:
    assert verdicts("rom", phrasing.format(motion, AAOS[motion])) == {"right"}
    assert verdicts("rom", phrasing.format(motion, 2 * AAOS[motion] + 20)) == {"wrong"}


@pytest.mark.parametrize("motion", AAOS)
def test_an_angle_of_one_frame_within_what_is_possible_is_no_claim(motion: str) -> None:
    assert not verdicts("rom", f"In this frame we see {AAOS[motion] // 2} degrees of {motion}.")
    assert verdicts("rom", f"In this frame we see {2 * AAOS[motion] + 40} degrees of {motion}.") == {"wrong"}


@pytest.mark.parametrize("text", [t for v, t in sentences("rom") if v == "wrong"])
def test_an_accepted_replacement_is_not_wrong(text: str) -> None:
    for claim in claims("rom", text):
        if claim.verdict == "wrong" and claim.replacement:
            assert "wrong" not in {
                c.verdict for c in claims("rom", mended(claim, text)) if c.start == claim.start
            }


@pytest.mark.parametrize(
    "text",
    [
        "The right knee is bent to about ninety degrees at the release.",
        "The knee is flexed at about 30 degrees when the foot lands.",
        "The front knee bends to about forty degrees.",
        "His arm is abducted about ninety degrees.",
    ],
)
def test_how_somebody_stands_is_no_range_of_motion(text: str) -> None:
    assert "wrong" not in verdicts("rom", text)


@pytest.mark.parametrize("text", ["The front knee bends to 200 degrees.", "The knee is bent to 200 degrees."])
def test_how_nobody_can_stand_is_told(text: str) -> None:
    assert "wrong" in verdicts("rom", text)
