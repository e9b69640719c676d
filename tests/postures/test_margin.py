"""Claims in a beat that shows a still are judged in the posture that somebody kept for it."""

from __future__ import annotations

import pytest

from anatomy.muscles import simulator
from breakdowns.postures.services import posture_delete, posture_keep
from breakdowns.postures.state import read_state
from breakdowns.scripts import services
from breakdowns.scripts.margin import Note
from breakdowns.scripts.models import Breakdown
from breakdowns.scripts.selectors import beats_of, margin_of, script_view
from breakdowns.scripts.wording.selectors import marks_of_words
from breakdowns.stills.services import still_make
from tests.factory import make_source, make_user

WHY = "the open musculoskeletal model is not installed: it comes with the extra “muscles” (myo-sim, mujoco)"
pytestmark = [
    pytest.mark.django_db,
    pytest.mark.media,
    pytest.mark.skipif(not simulator.is_installed(), reason=WHY),
]
WORDS = "Here the piriformis rotates the hip externally."


def claims(breakdown: Breakdown) -> list[Note]:
    margin = margin_of(breakdown, script_view(breakdown, list(beats_of(breakdown))))
    return [note for note in margin.notes if note.check == "claims"]


def test_a_claim_right_in_textbooks_and_wrong_in_this_posture_is_told_so_in_the_margin() -> None:
    """Outwards with the hip straight, inwards at 90 degrees: Delp et al. 1999, J Biomech 32:493."""
    user, source = make_user("editor"), make_source()
    still = still_make(source=source, frame=7, by=user)
    breakdown = services.breakdown_create(by=user, title="The turn")
    beat = services.beat_insert(breakdown, by=user, kind="still", source=source, frame=7)
    services.beat_words_save(breakdown, beat.key, WORDS, base_version=beat.version, by=user)
    assert claims(breakdown) == []
    kept = posture_keep(
        read_state({"side": "right", "hip.flexion": "95 ± 8"}).state, name="deep", still=still, by=user
    )
    (note,) = claims(breakdown)
    assert note.state == "near"
    assert "In textbooks piriformis rotates the hip externally" in note.says
    assert "hip flexion 95 ± 8°" in note.says
    assert "model’s estimate" in note.says
    assert "Rajagopal" in note.cite or "Rajagopal" in note.says
    assert "probably rotates the hip internally" in note.instead
    beat.refresh_from_db()
    (mark,) = marks_of_words(breakdown, beat, WORDS)
    assert mark["note"] == note.id
    assert mark["replace"] is None
    posture_delete(kept)
    assert claims(breakdown) == []


def test_what_hangs_on_posture_is_settled_by_it_and_a_wide_error_settles_nothing() -> None:
    user, source = make_user("editor"), make_source()
    still = still_make(source=source, frame=7, by=user)
    breakdown = services.breakdown_create(by=user, title="The landing")
    beat = services.beat_insert(breakdown, by=user, kind="still", source=source, frame=7)
    words = "Adductor longus extends the hip."
    services.beat_words_save(breakdown, beat.key, words, base_version=beat.version, by=user)
    (before,) = claims(breakdown)
    assert "deeply bent" in before.says
    posture_keep(read_state({"hip.flexion": "100 ± 20"}).state, name="unsure", still=still, by=user)
    assert [note.says for note in claims(breakdown)] == [before.says]
    posture_keep(read_state({"hip.flexion": "100 ± 6"}).state, name="sure", still=still, by=user)
    assert claims(breakdown) == []
