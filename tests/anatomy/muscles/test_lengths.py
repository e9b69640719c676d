"""The sarcomere's curve against its published landmarks, and what a fibre length is called."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.muscles.lengths import length_says, sarcomere_landmarks, sarcomere_share

GHJ = "Gordon, Huxley & Julian 1966, J Physiol 184:170"


@pytest.mark.parametrize(
    ("length", "least", "most", "what"),
    [
        (1.27, 0.0, 0.0, "no force below; drawing after McMahon 1984"),
        (1.67, 0.8, 0.88, "the kink on the short side: length from the abstract, share from memory"),
        (2.05, 1.0, 1.0, "the plateau begins, abstract"),
        (2.2, 1.0, 1.0, "the plateau ends, abstract"),
        (3.65, 0.0, 0.0, "no overlap left; drawing after McMahon 1984"),
    ],
)
def test_the_curve_passes_the_published_landmarks(
    length: float, least: float, most: float, what: str
) -> None:
    assert least <= float(sarcomere_share(length)) <= most, f"{GHJ}: {what}"


def test_on_the_long_side_force_falls_on_a_straight_line() -> None:
    """In proportion to the overlap of the filaments, the paper's main result: Gordon, Huxley & Julian 1966."""
    for length in (2.4, 2.6, 2.95, 3.2, 3.5):
        assert float(sarcomere_share(length)) == pytest.approx((3.65 - length) / (3.65 - 2.25), abs=1e-9)


@given(st.floats(0, 6))
def test_the_share_is_one_at_most_and_falls_to_either_side(length: float) -> None:
    share = float(sarcomere_share(length))
    assert 0 <= share <= 1
    further = length + (0.01 if length > 2.25 else -0.01)
    if not 2.0 <= length <= 2.25:
        assert float(sarcomere_share(further)) <= share + 1e-12


def test_peoples_plateau_lies_at_longer_sarcomeres_than_the_frogs() -> None:
    """2.6 to 2.8 against 2.0 to 2.2 micrometres: Fridén & Lieber, second-hand; Walker & Schrodt 1974, from memory."""
    frog, human = (
        [m.length_um for m in sarcomere_landmarks(one) if m.share == 1] for one in ("frog", "human")
    )
    assert max(frog) < min(human)
    assert 2.6 <= min(human) <= max(human) <= 2.82
    # At rest at 50° of knee flexion 2.84 ± 0.16 µm: Chen et al. 2016, J Biomech 49:2989; on the plateau or just beyond.
    assert min(human) <= 2.84 <= max(human) + 0.16


def test_the_words_for_a_length_follow_it() -> None:
    said = [length_says(value) for value in (0.5, 0.85, 1.0, 1.15, 1.6)]
    assert said[2] == length_says(1.05)
    assert len(set(said)) >= 3
