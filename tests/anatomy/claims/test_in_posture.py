"""Muscle actions judged in the measured posture of the picture: settled, turned over, or left open."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anatomy.claims.check import check_claims
from anatomy.claims.claim import Claim
from anatomy.muscles import simulator
from anatomy.muscles.known import KnownPosture, known_posture
from anatomy.vocabulary.packaged import packaged_vocabulary
from tests.commands import run_on_file

WHY = "the open musculoskeletal model is not installed: it comes with the extra “muscles” (myo-sim, mujoco)"
with_model = pytest.mark.skipif(not simulator.is_installed(), reason=WHY)


def hip(degrees: float, sd: float = 6.0, side: str = "right") -> KnownPosture:
    return known_posture(side, {"hip": {"flexion": (degrees, sd)}})


def only(text: str, *postures: KnownPosture) -> Claim:
    (claim,) = check_claims(text, packaged_vocabulary(), postures)
    return claim


# Neumann 2010, JOSPT 40:82, and Dostal et al. 1986, Phys Ther 66:351, both from memory: the adductor longus flexes the
# straight hip and extends the deeply bent one. Delp et al. 1999, J Biomech 32:493: the piriformis turns the straight hip
# outwards, the hip bent to 90 degrees inwards.
SETTLED = [
    ("Adductor longus extends the hip.", 100, "right"),
    ("Adductor longus extends the hip.", 15, "wrong"),
    ("The adductor longus flexes the hip.", 15, "right"),
    ("The adductor longus flexes the hip.", 100, "wrong"),
    ("Piriformis rotates the hip externally.", 95, "wrong"),
    ("Piriformis rotates the hip internally.", 95, "right"),
    ("Piriformis rotates the hip externally.", 0, "right"),
]


@with_model
@pytest.mark.parametrize(("text", "degrees", "verdict"), SETTLED)
def test_what_hangs_on_posture_is_judged_in_the_pictures_own(text: str, degrees: float, verdict: str) -> None:
    claim = only(text, hip(degrees))
    assert claim.verdict == verdict
    if verdict == "wrong":
        assert f"hip flexion {degrees} ± 6°" in claim.why
        assert "model’s estimate" in claim.why
        assert "probably" in claim.instead
        assert "rajagopal-2016" in claim.sources
        assert claim.replacement == ""  # an estimate never changes words by one key


@with_model
def test_right_in_textbooks_and_wrong_in_this_posture_says_both_and_where_it_turns() -> None:
    claim = only("Piriformis rotates the hip externally.", hip(95))
    assert claim.why.startswith("In textbooks piriformis rotates the hip externally")
    assert "turns over at about" in claim.why
    assert "of hip flexion" in claim.why


OPEN = [
    ("Adductor longus extends the hip.", (hip(72),)),  # the turn lies within the error
    ("Adductor longus extends the hip.", (hip(100, sd=20),)),
    ("Adductor longus extends the hip.", (known_posture("right", {"knee": {"flexion": (90, 5)}}),)),
    ("Adductor longus extends the hip.", (hip(100), hip(10, side="left"))),  # the sides differ
    ("Adductor longus extends the hip.", (hip(118),)),  # the model is not trusted there
    (
        "Adductor longus extends the hip when the hip is bent.",
        (hip(10),),
    ),  # the words name their own posture
    ("Serratus anterior protracts the shoulder blade.", (hip(90),)),  # the model lacks it
    ("The quadriceps flex the knee.", (known_posture("right", {"knee": {"flexion": (60, 5)}}),)),
]


@pytest.mark.parametrize(("text", "postures"), OPEN)
def test_where_the_measurement_leaves_it_open_the_textbook_stands(
    text: str, postures: tuple[KnownPosture, ...]
) -> None:
    assert only(text, *postures) == only(text)


@with_model
def test_a_side_that_the_words_name_is_judged_by_that_side() -> None:
    both = hip(100), hip(10, side="left")
    assert only("The right adductor longus extends the hip.", *both).verdict == "right"
    assert only("The left adductor longus extends the hip.", *both).verdict == "wrong"


@with_model
def test_a_denial_that_the_posture_bears_out_is_not_wrong() -> None:
    text = "The piriformis does not rotate the hip externally."
    assert only(text).verdict == "wrong"
    assert only(text, hip(95)).verdict == "depends"


def test_without_the_extra_the_textbook_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    from anatomy.muscles import body, known

    def nothing() -> Any:
        raise known.ModelNotInstalled

    known._muscle_here.cache_clear()
    monkeypatch.setattr(known, "open_body", nothing)
    assert only("Piriformis rotates the hip externally.", hip(95)).verdict == "right"
    known._muscle_here.cache_clear()
    assert body.open_body is not nothing


@with_model
@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(
        [text for text, _, _ in SETTLED] + ["Gluteus medius abducts the hip.", "Gracilis flexes the hip."]
    ),
    st.floats(-20, 110),
    st.floats(0, 30),
)
def test_a_larger_error_never_settles_what_a_smaller_one_left_open(
    text: str, degrees: float, sd: float
) -> None:
    sharp, blurred = (only(text, hip(degrees, one)) for one in (sd, sd + 10))
    if not sharp.estimate:
        assert not blurred.estimate
    if blurred.estimate:
        assert blurred.verdict == sharp.verdict


@with_model
@pytest.mark.django_db
def test_the_command_takes_a_posture(tmp_path: Path) -> None:
    posture = tmp_path / "posture.json"
    posture.write_text(json.dumps({"side": "right", "angles": {"hip": {"flexion": [95, 8]}}}))
    status, out, err = run_on_file(
        "check_claims", "Piriformis rotates the hip externally.", tmp_path, "--posture", str(posture)
    )
    assert status == 0, err
    (claim,) = json.loads(out)["claims"]
    assert (claim["verdict"], claim["estimate"]) == ("wrong", "hip flexion 95 ± 8°")


@pytest.mark.parametrize(
    "posture",
    [
        "[]", "{", '{"side": "middle"}', '{"angles": {"hip": {"flexion": 95}}}', '{"angles": {"hip": {"flexion": [200, 5]}}}',
        '{"angles": {"hip": {"flexion": [90, -5]}}}', '{"angles": {"hip": {"wink": [90, 5]}}}', '{"angles": {"hip": 5}}',
    ],
)  # fmt: skip
@pytest.mark.django_db
def test_a_faulty_posture_exits_2_with_one_line(posture: str, tmp_path: Path) -> None:
    file = tmp_path / "posture.json"
    file.write_text(posture)
    status, out, err = run_on_file("check_claims", "x", tmp_path, "--posture", str(file))
    assert (status, out) == (2, "")
    assert err
    assert "\n" not in err
