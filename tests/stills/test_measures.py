"""Measures of marks: against SciPy rotations, against clicks thrown at random, and their words."""

from __future__ import annotations

import csv
import io
import itertools
import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from anatomy.motion.catalogue import MEASURES
from breakdowns.stills.document import read_document
from breakdowns.stills.export import marks_csv, marks_json
from breakdowns.stills.measures import CLICK_SD_PX, _names, measures_of
from breakdowns.stills.picture import PictureFacts
from breakdowns.stills.readout import readout
from tests.stills.marks_examples import SIZE, every_kind, landmarks, point

FACTS = PictureFacts(SIZE)


def rows(document: dict, facts: PictureFacts = FACTS):
    return measures_of(read_document(document, facts.size), facts)


def mark(kind: str, *points: tuple[float, float], **more) -> dict:
    return {"id": "a", "kind": kind, "points": [point(x, y) for x, y in points], **more}


@settings(deadline=None)
@given(st.floats(-179, 179), st.floats(40, 300), st.floats(40, 300), st.floats(0.6, 1.7))
def test_an_angle_drawn_by_a_rotation_is_measured(turn: float, one: float, two: float, aspect: float) -> None:
    """SciPy's Rotation (scipy.spatial.transform) turns one side of the angle onto the other, in square pixels."""
    side = Rotation.from_euler("z", turn, degrees=True).apply([two, 0, 0])
    flat = [(640 + one / aspect, 360.0), (640.0, 360.0), (640 + side[0] / aspect, 360 - side[1])]
    facts = PictureFacts(SIZE, aspect)
    (row,) = rows({"marks": [mark("angle", *flat)]}, facts)
    assert row.value == pytest.approx(abs(turn), abs=1e-4)
    (pair,) = rows({"marks": [mark("pair", flat[1], flat[0], flat[1], flat[2])]}, facts)
    assert pair.value == pytest.approx(turn, abs=1e-4)


@pytest.mark.parametrize(
    "drawn",
    [
        mark("line", (200, 300), (420, 260)),
        mark("arrow", (200, 300), (100, 500)),
        mark("angle", (300, 200), (340, 420), (520, 600)),
        mark("pair", (300, 200), (520, 230), (330, 400), (500, 360)),
        mark("polyline", (100, 100), (240, 180), (300, 60), (420, 90)),
    ],
)
@pytest.mark.parametrize("aspect", [1.0, 12 / 11])
def test_the_error_told_is_the_spread_of_many_clicks(drawn: dict, aspect: float) -> None:
    """Monte Carlo after JCGM 101:2008: 1,000 sets of clicks, each off by 1.5 px in both directions of the screen."""
    facts = PictureFacts(SIZE, aspect)
    told = rows({"marks": [drawn]}, facts)[0]
    chance = np.random.default_rng(7)
    points = np.array([spot["at"] for spot in drawn["points"]])
    values = []
    for _ in range(1_000):
        off = points + chance.normal(0, CLICK_SD_PX, points.shape) / (aspect, 1.0)
        values.append(rows({"marks": [mark(drawn["kind"], *off.tolist())]}, facts)[0].value)
    assert np.std(values) == pytest.approx(told.sd, rel=0.1)
    assert np.mean(values) == pytest.approx(told.value, abs=0.2 * told.sd + 0.02 * abs(told.sd) + 0.05)


def test_a_known_length_gives_other_lengths() -> None:
    scale = {"points": [point(100, 700), point(300, 700)], "length": "2", "unit": "m", "sd": "0.02"}
    found = rows({"marks": [mark("line", (100, 100), (100, 400), text="jump")], "scale": scale})
    length = found[1]
    assert (length.value, length.unit) == (pytest.approx(3.0), "m")
    # JCGM 100:2008, 5.1.6: relative variances add.
    clicks = math.hypot(CLICK_SD_PX * math.sqrt(2) / 300, CLICK_SD_PX * math.sqrt(2) / 200)
    assert length.sd == pytest.approx(3 * math.hypot(clicks, 0.02 / 2), rel=1e-4)


def test_the_error_of_a_scaled_way_agrees_with_another_reckoner() -> None:
    """Against the package uncertainties (linear propagation by automatic differentiation, JCGM 100:2008, 5.1)."""
    from uncertainties import ufloat, umath

    chain = [(100, 100), (240, 180), (300, 60), (420, 90)]
    ends, known, sd = [(50, 600), (450, 640)], 3.0, 0.05
    scale = {"points": [point(*p) for p in ends], "length": str(known), "unit": "m", "sd": str(sd)}
    (row,) = rows({"marks": [mark("polyline", *chain)], "scale": scale})

    def clicked(points):
        return [(ufloat(x, CLICK_SD_PX), ufloat(y, CLICK_SD_PX)) for x, y in points]

    def way(points):
        return sum(umath.hypot(b[0] - a[0], b[1] - a[1]) for a, b in itertools.pairwise(points))

    told = way(clicked(chain)) / way(clicked(ends)) * ufloat(known, sd)
    assert (row.value, row.sd) == (pytest.approx(told.n, rel=1e-5), pytest.approx(told.s, rel=1e-4))
    assert row.unit == "m"


def test_a_mark_named_scale_is_not_taken_for_the_known_length() -> None:
    scale = {"points": [point(100, 700), point(300, 700)], "length": "2"}
    drawn = mark("line", (100, 100), (100, 400)) | {"id": "scale"}
    assert rows({"marks": [drawn], "scale": scale})[1].value == pytest.approx(3.0)


def test_a_line_is_told_as_a_share_of_the_trunk() -> None:
    """Worked by hand: mid-hip (500, 500), mid-shoulder (500, 300), so the trunk has 200 px; the line has 50."""
    body = {
        "left_hip": [450, 500], "right_hip": [550, 500], "left_shoulder": [420, 300], "right_shoulder": [580, 300],
    }  # fmt: skip
    document = {
        "landmarks": {name: {"at": at} for name, at in body.items()},
        "marks": [mark("line", (100, 100), (130, 140), text="step")],
    }
    share = next(row for row in rows(document) if row.key == "share")
    assert (share.value, share.unit) == (pytest.approx(25.0), "%")
    # Relative variances add (JCGM 100:2008, 5.1.6); each end of the trunk is the mean of two clicks.
    relative = math.hypot(CLICK_SD_PX * math.sqrt(2) / 50, CLICK_SD_PX * math.sqrt(2 / 2) / 200)
    assert share.sd == pytest.approx(25 * relative, rel=1e-4)
    assert "2 %, 6 %, 13 % short" in share.where  # 1 − cos 10°, 20°, 30°


def test_points_outside_the_picture_are_told_of() -> None:
    found = rows(
        {
            "landmarks": landmarks() | {"left_ankle": {"at": [520, 760]}},
            "marks": [
                mark("line", (-20, 5), (1300, 9)),
                mark("angle", (5, 5), (50, 50), (9, 90)) | {"id": "b"},
            ],
        }
    )
    cautions = {(row.mark_id, row.key): row.caution for row in found}
    assert cautions["a", "angle"] == "2 of its points lie outside the picture"
    assert "outside" not in cautions["b", "angle"]
    assert cautions["", "left_knee_flexion"] == "one of its points lies outside the picture"
    assert "outside" not in cautions["", "left_hip_flexion"]


def test_an_angle_near_straight_says_that_its_spread_is_one_sided() -> None:
    found = rows({"marks": [mark("angle", (300, 300), (400, 300), (500, 300.5))]})
    assert "not symmetrical" in found[0].caution


def test_foreshortening_is_told_for_three_tilts() -> None:
    """Worked by hand: lines 90° apart in the picture, both tilted by t: cos θ = sin² t, so 90° − asin(sin² t) at worst."""
    (row,) = rows({"marks": [mark("pair", (100, 100), (300, 100), (100, 100), (100, 300))]})
    worst = [math.degrees(math.asin(math.sin(math.radians(t)) ** 2)) for t in (10, 20, 30)]
    assert ", ".join(f"{error:.0f}°" for error in worst) == "2°, 7°, 14°"
    assert row.where.endswith("can change it by up to 2°, 7°, 14°")


def test_coincident_points_are_undefined_and_say_why() -> None:
    for drawn in (
        mark("line", (5, 5), (5, 5)),
        mark("angle", (5, 5), (5, 5), (9, 9)),
        mark("polyline", (1, 1), (1, 1)),
        mark("pair", (5, 5), (5, 5), (9, 9), (1, 9)),
    ):
        for row in rows({"marks": [drawn]}):
            assert (row.value, row.sd) == (None, None)
            assert "at one place" in row.why


def test_a_mark_without_its_landmark_says_so() -> None:
    drawn = {"id": "a", "kind": "line", "points": [{"landmark": "left_hip"}, point(9, 9)]}
    for row in rows({"marks": [drawn]}):
        assert row.value is None
        assert row.why == "it follows left hip, not placed on this still"


def test_landmarks_give_measures_in_anatomical_words() -> None:
    found = {row.key: row for row in rows({"landmarks": landmarks()})}
    assert set(_names()) <= set(MEASURES)
    separation = found["hip_shoulder_separation"]
    assert separation.name == "hip–shoulder separation"
    assert separation.suggested
    assert not found["left_knee_flexion"].suggested
    assert "tilts of 10°, 20°, 30°" in separation.where
    assert "of normal flexion, published at" in found["left_knee_flexion"].normal
    assert not any(row.mark_id for row in found.values())


def test_a_pair_on_landmarks_is_the_separation_itself() -> None:
    lines = ("left_hip", "right_hip", "left_shoulder", "right_shoulder")
    pair = {"id": "a", "kind": "pair", "points": [{"landmark": name} for name in lines]}
    drawn, body = rows({"landmarks": landmarks(), "marks": [pair]})[:2]
    assert (drawn.value, drawn.sd) == (body.value, body.sd)


def test_hidden_marks_are_not_measured() -> None:
    assert rows({"marks": [mark("line", (1, 1), (9, 9), shown=False)]}) == []


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 500))
def test_no_digit_is_written_that_the_error_takes_away(value: float, sd: float) -> None:
    """JCGM 100:2008, 7.2.6: rounding must not change the value by more than its error, nor claim digits beyond it."""
    text, error = readout(value, sd, "deg")
    written = float(text.rstrip("°").replace("−", "-"))
    assert abs(written - value) <= max(sd / 2, 0.00005) * (1 + 1e-9)
    assert error.startswith("±")
    assert text not in ("−0°", "−0.0°")


@pytest.mark.parametrize(
    ("value", "sd", "said"),
    [  # the examples of the STAR collaboration's page on the rule of the Particle Data Group, and of pdground's manual
        (0.279008, 0.0123261, ("0.279", "0.012")),
        (12.2135, 0.03215, ("12.214", "0.032")),
        (12.2135, 0.06515, ("12.21", "0.07")),
        # from the rule itself
        (0.827, 0.119, ("0.83", "0.12")),
        (0.827, 0.367, ("0.8", "0.4")),
        (14.674, 0.964, ("14.7", "1.0")),
        (789.6, 61.3, ("790", "60")),
        (40.12, 1.38, ("40.1", "1.4")),
    ],
)
def test_digits_follow_the_published_rule(value: float, sd: float, said: tuple[str, str]) -> None:
    """Particle Data Group, Phys. Rev. D 98, 030001 (2018), Introduction, 5.3."""
    assert readout(value, sd, "") == (said[0], f"±\u00a0{said[1]}")


def test_marks_go_out_as_tables_and_json() -> None:
    document = read_document(every_kind(), SIZE)
    found = measures_of(document, FACTS)
    table = list(csv.DictReader(io.StringIO(marks_csv(document, FACTS, found))))
    assert [row["value"] for row in table if row["what"] == "measure"] == [str(row.value) for row in found]
    assert sum(row["what"] == "landmark" for row in table) == len(document.landmarks)
    back = json.loads(marks_json(document, FACTS, found))
    assert read_document(back["document"], SIZE) == document
    assert len(back["measures"]) == len(found)


def test_a_text_like_a_formula_is_made_harmless() -> None:
    document = read_document({"marks": [mark("label", (1, 1), text="=1+1")]}, SIZE)
    assert "'=1+1" in marks_csv(document, FACTS, [])
