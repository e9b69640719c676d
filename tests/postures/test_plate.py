"""The posture plate: what it says, that its pixels follow the posture, and how it gets into a script, a video and a page."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.management import call_command
from django.urls import reverse

from anatomy.muscles import body, simulator
from anatomy.muscles.faults import PostureError
from breakdowns.assembly.account import account_of
from breakdowns.assembly.piece import Piece, PieceBeat, PlatePicture
from breakdowns.assembly.plates import draw_plate, plate_faults, plate_identity
from breakdowns.assembly.selectors import NotReady, piece_of, plate_picture
from breakdowns.assembly.show_notes import show_notes
from breakdowns.postures.models import Posture
from breakdowns.postures.plate import CAVEAT, PosturePlate, posture_plate, state_rows
from breakdowns.postures.state import read_state
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.selectors import plate_query
from breakdowns.scripts.services import breakdown_create, plate_insert, revision_undo
from tests.assembly.rendering import seen
from tests.factory import make_user

WHY = "the open musculoskeletal model is not installed: it comes with the extra “muscles” (myo-sim, mujoco)"
with_model = pytest.mark.skipif(not simulator.is_installed(), reason=WHY)
ADDUCTOR = {"side": "right", "hip.flexion": "85 ± 10", "motion": "hip.extension", "muscle": "addlong", "sweep": "hip.flexion"}  # fmt: skip
SIZES = [(1280, 720), (720, 1280), (720, 720), (320, 180)]


def rows_of(given: dict[str, str]) -> list[str]:
    return state_rows(read_state(given).state)


def picture(given: dict[str, str]) -> PlatePicture:
    plate = posture_plate(rows_of(given))
    return PlatePicture("posture", plate.heading, plate.text, Fraction(6), content=plate)


@with_model
def test_the_plate_says_what_the_model_says_and_hedges_it() -> None:
    plate = posture_plate(rows_of(ADDUCTOR))
    assert plate.where == "Hip flexion 85 ± 10°, right side"
    # A flexor of the straight hip, an extensor of the bent one: Dostal et al. 1986, Phys Ther 66:351, from memory.
    turn = re.fullmatch(
        r"Adductor longus: flexor of the hip up to about (\d+)° of hip flexion, extensor beyond\.",
        plate.turns,
    )
    assert turn is not None
    assert 50 <= int(turn[1]) <= 80
    assert CAVEAT in plate.text
    assert "Rajagopal" in plate.sources[0]
    assert plate.lever.says.endswith("for hip extension.")


@with_model
def test_where_the_curve_can_not_be_read_the_plate_says_why_instead() -> None:
    plate = posture_plate(rows_of({"motion": "hip.extension", "muscle": "semimem", "hip.flexion": "80"}))
    assert plate.force is None
    assert plate.why_no_force in plate.text
    assert "arms" not in plate.sources[0]


@with_model
@pytest.mark.parametrize("size", SIZES)
def test_the_plate_fits_every_shape(size: tuple[int, int]) -> None:
    for given in (ADDUCTOR, {"talocrural.dorsiflexion": "10", "muscle": "soleus", "side": "left"}):
        assert plate_faults(picture(given), size) == ()
        assert draw_plate(picture(given), size).size == size


@with_model
def test_its_pixels_and_its_identity_follow_the_posture() -> None:
    bent, straight = picture(ADDUCTOR), picture(ADDUCTOR | {"hip.flexion": "20"})
    first, again, other = (
        np.asarray(draw_plate(one, (640, 360))) for one in (bent, picture(ADDUCTOR), straight)
    )
    assert (first == again).all()
    assert (first != other).any()
    assert plate_identity(bent) == plate_identity(picture(ADDUCTOR)) != plate_identity(straight)


def test_a_plate_without_a_posture_or_with_a_spoilt_one_says_so() -> None:
    with pytest.raises(PostureError, match="No posture is chosen"):
        posture_plate(())
    with pytest.raises(PostureError, match=r"hip\.flexion.*-30 to 120"):
        posture_plate(("side=right", "hip.flexion=400"))


# --- in a script -----------------------------------------------------------------------------------


@pytest.fixture
def studio(client: Any, db: None) -> Any:
    client.force_login(make_user("editor"))
    return client


@pytest.fixture
def breakdown(studio: Any) -> Breakdown:
    return breakdown_create(title="Jump throw", by=None)


@with_model
def test_a_plate_is_put_into_a_script_from_the_page_and_undone(studio: Any, breakdown: Breakdown) -> None:
    page = studio.get(reverse("postures:look"), ADDUCTOR).content.decode()
    link = re.search(rf'href="({reverse("scripts:put_posture")}\?[^"]+)"', page)
    assert link is not None
    address = link[1].replace("&amp;", "&")
    assert studio.get(address).status_code == 200
    given = {"breakdown": breakdown.pk, "after": "", "name": "adductor, bent", "seconds": "8"}
    assert studio.post(address, given | {"seconds": "none"}).status_code == 422
    assert studio.post(address, given | {"after": "9"}).status_code == 422
    assert studio.post(address, given).status_code == 302
    beat = breakdown.beats.get(plate="posture")
    assert (beat.kind, beat.seconds, beat.plate_entry) == ("plate", 8, "adductor, bent")
    script = studio.get(breakdown.get_absolute_url()).content.decode()
    assert "posture: adductor, bent" in script
    made = plate_picture(beat)
    assert isinstance(made.content, PosturePlate)
    assert made.title == "Adductor longus"
    revision_undo(breakdown, by=None)
    assert not breakdown.beats.filter(plate="posture").exists()


@with_model
def test_the_plate_is_drawn_for_the_page_and_told_where_it_can_not_be(
    studio: Any, breakdown: Breakdown
) -> None:
    shown = plate_query({"plate": "posture", "plate_rows": rows_of(ADDUCTOR)}, "16:9")
    answer = studio.get(f"{reverse('assembly:plate')}?{shown}")
    assert answer["Content-Type"] == "image/png"
    empty = plate_query({"plate": "posture"}, "16:9")
    assert studio.get(f"{reverse('assembly:plate')}?{empty}").status_code == 404
    with pytest.raises(NotReady, match="No posture is chosen"):
        plate_picture(Beat(kind="plate", plate="posture", position=0, seconds_ms=6000))


@with_model
def test_a_kept_posture_is_chosen_in_the_form_of_the_picture(studio: Any, breakdown: Breakdown) -> None:
    state = read_state(ADDUCTOR).state
    studio.post(reverse("postures:keep"), {"state": state.query(), "name": "Landing"})
    kept = Posture.objects.get(name="Landing")
    beat = plate_insert(breakdown, seconds_ms=6000, by=None, plate="text", plate_title="x")
    address = reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])
    given = {"kind": "plate", "plate": "posture", "seconds": "6"}
    answer = studio.post(address, given)
    assert answer.status_code == 422
    assert "Choose a kept posture" in answer.content.decode()
    assert studio.post(address, given | {"plate_posture": kept.pk}).status_code == 302
    beat.refresh_from_db()
    assert (beat.plate, beat.plate_entry) == ("posture", "Landing")
    before = beat.plate_rows
    kept.delete()
    assert studio.post(address, given | {"seconds": "7"}).status_code == 302  # as it is
    beat.refresh_from_db()
    assert (beat.plate_rows, beat.seconds_ms) == (before, 7000)
    assert plate_picture(beat).content is not None


def test_without_the_model_the_page_of_the_plate_says_so(studio: Any, monkeypatch: Any) -> None:
    body.open_body.cache_clear()
    monkeypatch.setattr(simulator, "is_installed", lambda: False)
    said = studio.get(reverse("scripts:put_posture"), ADDUCTOR).content.decode()
    body.open_body.cache_clear()
    assert "No plate can be made here" in said
    assert "muscles" in said


@with_model
def test_show_notes_name_the_plate_and_its_source(breakdown: Breakdown) -> None:
    piece = Piece("Jump throw", "jump-throw", (PieceBeat("a", picture(ADDUCTOR)),))
    notes = show_notes(piece)
    assert "1 posture plate" in notes
    assert "Rajagopal" in notes


@with_model
@pytest.mark.media
def test_the_video_shows_the_plate_as_drawn_and_its_account_says_it_in_words(
    breakdown: Breakdown, tmp_path: Path
) -> None:
    shown = {"plate": "posture", "plate_entry": "adductor", "plate_rows": rows_of(ADDUCTOR)}
    beat = plate_insert(breakdown, seconds_ms=500, by=None, **shown)
    breakdown.beats.exclude(pk=beat.pk).delete()
    out = tmp_path / "throw.mp4"
    call_command("assemble", breakdown.slug, "--out", str(out))
    frame = seen(out).pictures[7].astype(int)
    drawn = np.asarray(draw_plate(plate_picture(beat), frame.shape[1::-1])).astype(int)
    assert np.abs(frame - drawn).mean() < 6  # H.264 is no exact copy
    (row,) = account_of(piece_of(breakdown))["beats"]
    assert "flexor of the hip up to about" in row["plate_text"]
    assert CAVEAT in row["plate_text"]
