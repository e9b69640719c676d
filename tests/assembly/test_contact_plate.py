"""The contact plate: what lies there, the marker on the drawing, in any shape, and as it stands in a finished file."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from anatomy.contact.at_risk import places
from breakdowns.assembly.account import account_of
from breakdowns.assembly.piece import PieceBeat, PlatePicture
from breakdowns.assembly.plate_sheet import OVER, PAPER
from breakdowns.assembly.plates import draw_plate, plate_faults
from breakdowns.assembly.show_notes import show_notes
from breakdowns.contacts.plate import CAVEAT, ContactPlate, contact_plate
from breakdowns.scripts.tradeoffs.notes import TRADEOFF_TITLE, TradeOff, plate_text
from tests.assembly.rendering import piece_of, rendered, seen

FLANK = ["place=lower-ribs-back", "side=left", "mechanism=blow", "level=10"]
WIDE = (1280, 720)
SHAPES = [WIDE, (720, 1280), (720, 720)]


def picture(rows: list[str] = FLANK, seconds: Fraction = Fraction(1)) -> PlatePicture:
    plate = contact_plate(rows)
    return PlatePicture("contact", plate.heading, plate.text, seconds, content=plate)


def red(image: object) -> np.ndarray:
    """Where the ink of warnings stands."""
    wanted = np.array([int(OVER[place : place + 2], 16) for place in (1, 3, 5)])
    return np.abs(np.asarray(image).astype(int) - wanted).sum(axis=2) < 40


def test_the_marker_stands_on_the_side_that_was_hit():
    """Seen from behind, the body's left is the viewer's left (the anatomical position, common practice, no source)."""
    drawing = slice(140, 580), slice(100, 490)
    columns = {
        side: np.nonzero(red(draw_plate(picture(["place=lower-ribs-back", f"side={side}"]), WIDE))[drawing])[1].mean()
        for side in ("left", "right")
    }  # fmt: skip
    assert columns["left"] + 40 < columns["right"]


@pytest.mark.parametrize("size", SHAPES)
def test_the_organs_and_what_needs_help_are_never_left_out(size):
    """A spleen under the left lower ribs is what the plate is for (Ann Emerg Med 2005, left lower rib injuries)."""
    assert not any("organ" in fault or "help" in fault for fault in plate_faults(picture(), size))
    assert "spleen" in dict(contact_plate(FLANK).layers)["organ"]


@pytest.mark.parametrize("size", SHAPES)
def test_every_place_is_drawn_within_its_room(size):
    """Each place in turn a few sizes: nothing may be cut, and what is left out is never what is most urgent."""
    for place in places():
        plate = contact_plate([f"place={place.key}"])
        faults = plate_faults(
            PlatePicture("contact", plate.heading, plate.text, Fraction(1), content=plate), size
        )
        assert not [one for one in faults if "too long" in one], place.key
        assert not [one for one in faults if f"{plate.spared[-1]};" in one], place.key


def test_it_reads_small():
    """A viewer's phone: the marker is still seen at 320 pixels, and the drawing does not touch the edge."""
    small = draw_plate(picture(), (320, 180))
    shown = np.asarray(small).astype(int)[35:145, 25:122]
    assert (shown[..., 0] - shown[..., 1] > 45).sum() > 50
    edge = np.asarray(small)[:, :4]
    paper = np.array([int(PAPER[place : place + 2], 16) for place in (1, 3, 5)])
    assert (edge == paper).all()


def test_the_text_says_the_same_for_who_sees_no_picture():
    plate = contact_plate(FLANK)
    assert all(name in plate.text for _, names in plate.layers for name in names.split(", "))
    assert plate.watch in plate.text
    assert CAVEAT in plate.text


def test_the_notes_name_every_source_and_the_account_what_is_owed():
    piece = piece_of(PieceBeat("a", picture()))
    notes = show_notes(piece)
    assert "1 contact plate" in notes
    assert len(contact_plate(FLANK).sources) > 3
    row = account_of(piece)["beats"][0]
    assert row["owed"] == ["organ", "no_diagnosis"]
    assert row["plate_sources"] == list(contact_plate(FLANK).sources)


def test_trade_offs_stand_in_the_notes_with_their_source_and_hedged():
    one = TradeOff("Plant *further* out.", "more time to turn", "knee", "falls inwards", "own judgement")
    none = TradeOff("Land softly", "less noise", "None known.", "", "own judgement")
    notes = show_notes(piece_of(PieceBeat("a", picture(), tradeoffs=(one, none)), PieceBeat("b", picture(), tradeoffs=(one,))))  # fmt: skip
    assert f"## {TRADEOFF_TITLE}" in notes
    assert notes.count("Possible cost: knee, falls inwards. (own judgement)") == 1
    assert "Plant \\*further\\* out. Expected: more time to turn." in notes
    assert "No cost is known to us." in notes


def test_three_trade_offs_fit_on_a_plate_at_reading_size():
    long = TradeOff("x" * 40, "more time for the hips to turn", "knee, inner side", "it could fall inwards", "own judgement")  # fmt: skip
    text = plate_text([long, long._replace(change="y" * 40), long._replace(change="z" * 40)])
    assert plate_faults(PlatePicture("text", TRADEOFF_TITLE, text, Fraction(8)), WIDE) == ()


@pytest.mark.media
def test_a_finished_file_shows_it_as_drawn(tmp_path):
    rendered(piece_of(PieceBeat("a", picture(seconds=Fraction(1, 2)))), tmp_path)
    frames = seen(tmp_path / "out.mp4").pictures
    drawn = np.asarray(draw_plate(picture(), (320, 180))).astype(int)
    assert np.abs(frames[5].astype(int) - drawn).mean() < 6  # H.264 at a small size is no exact copy
    empty = ContactPlate(
        "", "", (), "", (), contact_plate(["place=knee", "side=right"]).figure, "from the front"
    )
    other = draw_plate(PlatePicture("contact", "", "", Fraction(1), content=empty), (320, 180))
    assert np.abs(frames[5].astype(int) - np.asarray(other).astype(int)).mean() > 6
