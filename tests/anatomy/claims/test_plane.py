"""Planes and axes. Published: OpenStax Anatomy and Physiology 2e, sections 1.6 and 9.5 (planes of the types of movement);
exercise-science course list of movements with their planes (amactraining.co.uk, read)."""

from __future__ import annotations

import pytest

from .stating import agrees, claims, mended, sentences, verdicts

PUBLISHED = {
    "hip flexion": "sagittal",
    "knee flexion": "sagittal",
    "knee extension": "sagittal",
    "elbow flexion": "sagittal",
    "dorsiflexion": "sagittal",
    "plantarflexion": "sagittal",
    "hip abduction": "frontal",
    "hip adduction": "frontal",
    "shoulder abduction": "frontal",
    "lateral flexion of the trunk": "frontal",
    "radial deviation": "frontal",
    "rotation of the trunk": "transverse",
    "neck rotation": "transverse",
    "horizontal adduction": "transverse",
    "horizontal abduction": "transverse",
    "forearm pronation": "transverse",
}
AXES = {"sagittal": "side-to-side", "frontal": "front-to-back", "transverse": "vertical"}


@pytest.mark.parametrize(("verdict", "text"), sentences("plane"))
def test_a_sentence_about_a_plane_gets_its_verdict(verdict: str, text: str) -> None:
    assert agrees("plane", verdict, text)


@pytest.mark.parametrize("plane", AXES)
@pytest.mark.parametrize("motion", PUBLISHED)
def test_only_the_published_plane_of_a_motion_is_right(motion: str, plane: str) -> None:
    wanted = {"right"} if plane == PUBLISHED[motion] else {"wrong"}
    assert verdicts("plane", f"{motion} happens in the {plane} plane.") == wanted
    assert verdicts("plane", f"{motion} is a {plane} plane movement.") == wanted


@pytest.mark.parametrize("plane", AXES)
@pytest.mark.parametrize("motion", [m for m in PUBLISHED if m not in ("forearm pronation",)])
def test_only_the_axis_at_right_angles_to_the_plane_is_right(motion: str, plane: str) -> None:
    wanted = {"right"} if plane == PUBLISHED[motion] else {"wrong"}
    assert verdicts("plane", f"{motion} goes round a {AXES[plane]} axis.") == wanted


@pytest.mark.parametrize("plane", AXES)
@pytest.mark.parametrize("motion", PUBLISHED)
def test_a_denial_turns_the_verdict(motion: str, plane: str) -> None:
    wanted = {"wrong"} if plane == PUBLISHED[motion] else {"right"}
    assert verdicts("plane", f"{motion} is not a {plane} plane movement.") == wanted


@pytest.mark.parametrize("text", [t for v, t in sentences("plane") if v == "wrong"])
def test_what_is_offered_instead_is_no_longer_wrong(text: str) -> None:
    for claim in claims("plane", text):
        if claim.replacement:
            again = claims("plane", mended(claim, text))
            assert all(c.verdict != "wrong" for c in again if c.start == claim.start), again


def test_the_side_of_the_arm_decides_over_shoulder_rotation() -> None:
    """Neumann, Kinesiology of the Musculoskeletal System (from memory)."""
    assert verdicts("plane", "Shoulder rotation is a transverse plane movement.") == {"depends"}
    assert verdicts(
        "plane", "With the arm at the side shoulder rotation is a transverse plane movement."
    ) == {"right"}
    assert verdicts("plane", "In the throwing pose shoulder rotation is a transverse plane movement.") == {
        "wrong"
    }
