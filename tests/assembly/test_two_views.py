"""Two views beside each other: which frame each half shows, how long, and what every account says of both."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import opentimelineio as otio
import pytest
from PIL import Image

from breakdowns.assembly.account import account_of
from breakdowns.assembly.curve_layer import box_of
from breakdowns.assembly.edl import edl_lists
from breakdowns.assembly.halves import credits_picture, halves_of
from breakdowns.assembly.interchange import otio_text
from breakdowns.assembly.ledger_bars import bars_of
from breakdowns.assembly.ledger_plan import plan_from_piece
from breakdowns.assembly.make import ledger_of
from breakdowns.assembly.marks_coming import in_turn
from breakdowns.assembly.piece import ExcerptPicture, StillPicture, frame_shown_at
from breakdowns.assembly.show_notes import show_notes
from breakdowns.footage.timebase import TimeError
from tests.assembly.rendering import footage, number_in, piece_of, rendered, seen
from tests.assembly.test_marks import FINE, layer
from tests.stills.test_parity import similarity

pytestmark = pytest.mark.media

WIDE, TALL, SQUARE = (640, 360), (360, 640), (360, 360)


def sources():
    """Two numbered clips of different rates, with who holds their rights (invented)."""
    first, second = footage(Fraction(30)), footage(Fraction(25))
    return (
        replace(first, view="baseline", attribution="League pictures (invented)"),
        replace(second, view="overhead", rights_holder="Hall camera club (invented)"),
    )


def pair(**more) -> ExcerptPicture:
    first, second = sources()
    beside = ExcerptPicture(second, 50, 70, speed=Fraction(1, 2), mirrored=more.pop("beside_mirrored", False))
    return ExcerptPicture(first, 10, 40, speed=Fraction(1, 2), beside=beside, **more)


def frames_of(tmp_path, *pictures, size=WIDE, **more):
    piece = piece_of(*pictures, width=size[0], height=size[1], **more)
    rendered(piece, tmp_path, settings=FINE)
    frames = seen(tmp_path / "out.mp4").pictures
    assert len(frames) == piece.timeline.frame_count
    return piece, frames


def cut(frame: np.ndarray, half) -> np.ndarray:
    return frame[half.at[1] : half.at[1] + half.size[1], half.at[0] : half.at[0] + half.size[0]]


def without_credit(half: np.ndarray, size) -> np.ndarray:
    """What lies above the line with the credit."""
    return half[: size[1] - max(24, min(WIDE) // 12)]


@pytest.mark.parametrize("halves", ["fit", "fill"])
@pytest.mark.parametrize("size", [WIDE, TALL, SQUARE], ids=str)
def test_each_half_is_the_view_as_it_would_be_alone(tmp_path, size, halves):
    """Both halves against each view rendered alone in a picture of the half's size."""
    both = pair(halves=halves, hold=Fraction(1, 2))
    piece, frames = frames_of(tmp_path / "both", both, size=size)
    placed = piece.timeline.placed[0]
    parts = halves_of(both, size)
    for n, (half, view) in enumerate(zip(parts, (replace(both, beside=None), both.beside), strict=True)):
        alone = replace(view, hold=Fraction(3))
        single, plain = frames_of(tmp_path / f"alone{n}", alone, size=half.size, fill=halves)
        for k in (0, 7, 33, placed.record.frame_count - 1):
            ours = without_credit(cut(frames[k], half), half.size)
            theirs = without_credit(plain[k], half.size)
            assert frame_shown_at(placed, k, piece.rate, beside=bool(n)) == frame_shown_at(
                single.timeline.placed[0], k, piece.rate
            )
            assert np.abs(ours.astype(int) - theirs).mean() < 1.5
            assert np.percentile(np.abs(ours.astype(int) - theirs), 99.9) < 40


def test_each_half_shows_its_own_frames_and_the_shorter_one_stays(tmp_path):
    """30 frames at 30/s and 20 at 25/s, both at half speed: 60 and 48 output frames; the second stays for 12."""
    both = pair(beside_mirrored=True)
    piece, frames = frames_of(tmp_path, both)
    placed, parts = piece.timeline.placed[0], halves_of(both, WIDE)
    assert (placed.record.frame_count, placed.moving_frames, placed.moving_beside) == (60, 60, 48)
    shown = [[number_in(_picture(cut(frame, half))) for half in parts] for frame in frames]
    for k, (left, right) in enumerate(shown):
        assert left == frame_shown_at(placed, k, piece.rate)
        assert right == f"mirrored {frame_shown_at(placed, k, piece.rate, beside=True)}"
    assert {right for _, right in shown[48:]} == {"mirrored 69"}


def _picture(half: np.ndarray) -> np.ndarray:
    """The 16:9 picture in the middle of a half of 318 × 360."""
    high = 178
    top = (half.shape[0] - high) // 4 * 2
    return np.asarray(Image.fromarray(half[top : top + high]).resize((320, 180)))


def test_the_longer_view_beside_makes_the_beat_longer_and_the_first_stays(tmp_path):
    both = replace(pair(), out_frame=20)
    piece, frames = frames_of(tmp_path, both)
    placed = piece.timeline.placed[0]
    assert (placed.record.frame_count, placed.moving_frames) == (48, 20)
    left = halves_of(both, WIDE)[0]
    assert {number_in(_picture(cut(frame, left))) for frame in frames[20:]} == {19}
    (segment,) = plan_from_piece(piece)["segments"]
    assert Fraction(segment["hold"]) == Fraction(28, 30)


def test_two_stills_with_their_marks(tmp_path):
    first, second = sources()
    bare = StillPicture(first, 40, Fraction(1), beside=StillPicture(second, 33, Fraction(1)))
    marked = replace(bare, marks=layer(), beside=replace(bare.beside, marks=layer()))
    _, frames = frames_of(tmp_path, bare, marked)
    for half in halves_of(bare, WIDE):
        plain, ours = cut(frames[0], half), cut(frames[-1], half)
        assert np.abs(plain.astype(int) - ours).max() > 100
    assert [number_in(_picture(cut(frames[0], half))) for half in halves_of(bare, WIDE)] == [40, 33]


def test_marks_beside_wait_until_both_views_stand(tmp_path):
    """The second view stands 12 frames before the first: its marks come with those of the first, none before."""
    bare = pair(hold=Fraction(1))
    marks = replace(layer(), starts=in_turn(3, Fraction(1)))
    both = replace(bare, marks=marks, beside=replace(bare.beside, marks=marks))
    once = replace(bare, marks=layer(), beside=replace(bare.beside, marks=layer()))
    plain = frames_of(tmp_path / "plain", bare)[1]
    for name, picture, first in (("turn", both, 64), ("once", once, 60)):
        frames = frames_of(tmp_path / name, picture)[1]
        for half in halves_of(bare, WIDE):
            changed = [
                np.abs(cut(a, half).astype(int) - cut(b, half)).max() > 90
                for a, b in zip(plain, frames, strict=True)
            ]
            assert not any(changed[:60]), (name, half)
            assert all(changed[first:]), (name, half)


def test_both_credits_stand_on_the_picture_throughout(tmp_path):
    both = pair()
    _, frames = frames_of(tmp_path, both)
    labels = credits_picture(both, WIDE)
    box = np.asarray(labels)[..., 3] > 0
    for half in halves_of(both, WIDE):
        assert cut(box, half).any()
    ground = Image.new("RGBA", WIDE, "#26292a")
    ground.alpha_composite(labels)
    rows = slice(WIDE[1] - 24, WIDE[1])
    wanted = np.asarray(ground.convert("RGB"))[rows]
    for frame in (frames[0], frames[-1]):
        assert similarity(Image.fromarray(frame[rows]), Image.fromarray(wanted)) > 0.97


def test_a_changed_view_beside_is_made_again_and_nothing_else(tmp_path):
    both, other = pair(), StillPicture(sources()[0], 5, Fraction(1, 2))
    rendered(piece_of(both, other), tmp_path)
    same = rendered(piece_of(both, other), tmp_path)
    assert [beat.was_cached for beat in same.beats] == [True, True]
    for changed in (
        replace(both, beside=replace(both.beside, in_frame=51)),
        replace(both, beside=replace(both.beside, mirrored=True)),
        replace(both, halves="fill"),
        replace(both, beside=replace(both.beside, source=replace(both.beside.source, rights_holder="Else"))),
    ):
        again = rendered(piece_of(changed, other), tmp_path)
        assert [beat.was_cached for beat in again.beats] == [False, True]


def test_the_ledger_counts_both_views():
    """By hand: 30 frames at 30/s are 1 s, 20 at 25/s are 0.8 s; both are on screen for 2 s."""
    first, second = sources()
    ledger = ledger_of(piece_of(pair()))
    ours, theirs = ledger["sources"][first.id], ledger["sources"][second.id]
    assert [ours["union_seconds"]["exact"], theirs["union_seconds"]["exact"]] == ["1", "4/5"]
    assert [ours["screen_seconds"]["exact"], theirs["screen_seconds"]["exact"]] == ["2", "2"]
    assert theirs["hold_seconds"]["exact"] == "2/5"
    assert ledger["sources_used"] == 2


def test_credits_bars_notes_and_the_rights_account_name_both():
    first, second = sources()
    piece = piece_of(pair())
    account = account_of(piece)
    assert [credit["rights_holder"] for credit in account["credits"]] == ["", "Hall camera club (invented)"]
    assert account["beats"][0]["source"] == f"{first.title} beside {second.title}"
    assert [bar.source.id for bar in bars_of(piece)] == [first.id, second.id]
    notes = show_notes(piece)
    assert "League pictures" in notes
    assert "Hall camera club" in notes


def test_the_open_timeline_has_the_second_view_on_a_track_of_its_own():
    first, second = sources()
    piece = piece_of(StillPicture(first, 3, Fraction(1)), pair(hold=Fraction(1, 2)))
    timeline = otio.adapters.read_from_string(otio_text(piece), "otio_json")
    picture, beside = timeline.tracks[0], timeline.tracks[1]
    assert (picture.name, beside.name, beside.kind) == ("Picture", "Beside", "Video")
    gap, moves, stands = beside
    assert isinstance(gap, otio.schema.Gap)
    assert gap.duration().value == 30
    assert (moves.duration().value, stands.duration().value) == (48, 75 - 48)
    assert moves.source_range.start_time == otio.opentime.RationalTime(50, 25)
    assert isinstance(stands.effects[0], otio.schema.FreezeFrame)
    assert moves.metadata["stancewright"]["half"] == "second"
    assert picture[1].metadata["stancewright"]["half"] == "first"
    assert moves.media_reference.metadata["stancewright"]["source"] == second.id


def test_the_edit_list_tells_the_second_view_in_comments():
    (text,) = edl_lists(piece_of(pair(hold=Fraction(1, 2))))
    first, hold = text.split("\r\n002")
    assert "* IN THE OTHER HALF FOR 48 FRAMES FROM 00:00:00:00" in first
    assert "* BESIDE: SOURCE FRAMES 50 TO 70 (EXCLUSIVE) AT 25 FRAMES/S" in first
    assert "* IN THE OTHER HALF FOR 12 FRAMES FROM 00:00:01:18" in first
    assert "* IN THE OTHER HALF FOR 15 FRAMES FROM 00:00:02:00" in hold
    assert "* BESIDE: SOURCE FRAME 69 AT 25 FRAMES/S, FROZEN" in hold


@pytest.mark.parametrize("size", [(1280, 720), (720, 1280), (720, 720), (1920, 1080), (64, 64)], ids=str)
def test_halves_are_even_alike_and_apart(size):
    left, right = halves_of(pair(), size)
    assert left.size == right.size
    assert all(value % 2 == 0 for half in (left, right) for value in (*half.at, *half.size))
    along, other = (0, 1) if size[0] > size[1] else (1, 0)
    assert (left.at, right.at[other], left.size[other]) == ((0, 0), 0, size[other])
    assert right.at[along] - left.size[along] >= 2
    assert right.at[along] + right.size[along] == size[along]


def test_a_view_beside_has_no_hold_and_no_third_view():
    both = pair()
    with pytest.raises(TimeError, match="neither a hold"):
        replace(both, beside=replace(both.beside, hold=Fraction(1)))
    with pytest.raises(TimeError, match="nor a view beside"):
        replace(both, beside=both)
    assert box_of("lower", WIDE) == (0, 240, 640, 120)
