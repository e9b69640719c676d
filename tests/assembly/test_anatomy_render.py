"""Plates made from data in a finished file: they stand in it as drawn, follow a correction, count as own picture."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from django.core.management import call_command

from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.assembly.piece import PieceBeat, PlatePicture
from breakdowns.assembly.plates import draw_plate
from breakdowns.scripts import services
from breakdowns.scripts.plate_content import AnatomyTable, Correction, anatomy_table
from tests.assembly.rendering import piece_of, rendered, seen
from tests.factory import make_user

pytestmark = pytest.mark.media
SECONDS = Fraction(1, 2)


def anatomy(table: AnatomyTable) -> PlatePicture:
    return PlatePicture("anatomy", table.heading, table.text, SECONDS, content=table)


def test_a_corrected_fact_is_drawn_again_and_nothing_else_is(tmp_path):
    table = anatomy_table(packaged_vocabulary(), "muscle", "gluteus maximus", ["hip: extension"])
    card = Correction("The accessory nerve.", "The thoracodorsal nerve.", "Gray 1918")
    fixed = PieceBeat("b", PlatePicture("correction", "Correction", card.text, SECONDS, content=card))
    first = rendered(piece_of(PieceBeat("a", anatomy(table)), fixed), tmp_path)
    frames = seen(tmp_path / "out.mp4").pictures
    drawn = np.asarray(draw_plate(anatomy(table), (320, 180))).astype(int)
    assert np.abs(frames[7].astype(int) - drawn).mean() < 6  # H.264 at a small size is no exact copy
    assert np.abs(frames[20].astype(int) - drawn).mean() > 6
    assert [beat.was_cached for beat in first.beats] == [False, False]

    mended = replace(table, rows=(replace(table.rows[0], right="assists"),))
    again = rendered(piece_of(PieceBeat("a", anatomy(mended)), fixed), tmp_path)
    assert [beat.was_cached for beat in again.beats] == [False, True]
    assert [
        beat.was_cached for beat in rendered(piece_of(PieceBeat("a", anatomy(table)), fixed), tmp_path).beats
    ] == [
        True,
        True,
    ]


@pytest.mark.django_db
def test_the_command_assembles_such_plates_as_own_picture(tmp_path):
    editor = make_user()
    breakdown = services.breakdown_create(by=editor, title="Late hips")
    made = {"plate": "anatomy", "plate_entry_kind": "muscle", "plate_entry": "gluteus maximus"}
    services.plate_insert(breakdown, seconds_ms=500, by=editor, **made)
    right = {
        "plate": "correction",
        "plate_said": "The accessory nerve.",
        "plate_text": "The thoracodorsal nerve.",
    }
    services.plate_insert(breakdown, seconds_ms=500, by=editor, **right)
    out = tmp_path / "late.mp4"
    call_command("assemble", breakdown.slug, "--out", str(out))
    assert len(seen(out).pictures) == 30 * 6  # the camera beat of five seconds, then both plates
    ledger = json.loads(out.with_suffix(".ledger.json").read_text())
    assert ledger["sources"] == {}
    assert Fraction(ledger["excerpt_screen_seconds"]["exact"]) == 0
    assert Fraction(ledger["piece_seconds"]["exact"]) == 6
    notes = out.with_suffix(".md").read_text()
    assert "1 anatomy plate" in notes
    assert "OpenStax" in notes
    assert "1 correction" in notes
