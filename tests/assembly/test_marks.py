"""The marks of a still in the video: where the browser shows them, whichever way the footage is framed."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

from breakdowns.assembly.encoder import EncoderSettings
from breakdowns.assembly.marks_coming import in_turn, reveal_at, within
from breakdowns.assembly.marks_layer import MarksLayer, marks_picture, marks_svg
from breakdowns.assembly.picture_filters import look_of
from breakdowns.assembly.piece import ExcerptPicture, PieceSource, StillPicture
from breakdowns.assembly.segments import segment_of
from breakdowns.assembly.selectors import NotReady, piece_source
from breakdowns.assembly.selectors import piece_of as stored_piece
from breakdowns.scripts import services
from breakdowns.stills.document import read_document
from breakdowns.stills.drawing import draw
from breakdowns.stills.measures import measures_of
from breakdowns.stills.models import Still
from breakdowns.stills.picture import PictureFacts
from breakdowns.stills.raster import raster
from tests.assembly.rendering import SIZE, footage, numbers, piece_of, rendered, seen
from tests.factory import make_excerpt, make_source, make_user
from tests.stills.test_parity import similarity

pytestmark = [pytest.mark.once, pytest.mark.media]

HALF = Fraction(1, 2)
FINE = EncoderSettings("veryfast", "high", 8, 1, 250, 96)
MARKS = [
    {"id": "a", "kind": "line", "points": [{"at": [90, 40]}, {"at": [220, 100]}], "text": "hips", "value": True},
    {"id": "b", "kind": "angle", "points": [{"at": [120, 120]}, {"at": [160, 60]}, {"at": [210, 130]}],
     "tone": 2, "value": True},
    {"id": "c", "kind": "arrow", "points": [{"at": [240, 120]}, {"at": [215, 60]}], "tone": 3, "text": "throw"},
]  # fmt: skip


def layer(marks=MARKS, picture=None) -> MarksLayer:
    facts = picture or PictureFacts(SIZE)
    document = read_document({"version": 1, "landmarks": {}, "marks": marks}, facts.size)
    return MarksLayer(document, facts, tuple(measures_of(document, facts)))


def render_last(tmp_path, *pictures, **more) -> np.ndarray:
    rendered(piece_of(*pictures, **more), tmp_path, settings=FINE)
    return seen(tmp_path / "out.mp4").pictures


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("size", [(320, 180), (640, 360), (320, 320)], ids=str)
def test_the_video_shows_the_drawing_over_the_frame(tmp_path, size, mirrored):
    """Against Pillow's own composite of the bare video frame and the drawing, put where the footage stands."""
    marks, bare = layer(), StillPicture(footage(), 40, HALF, mirrored)
    frames = render_last(tmp_path, bare, replace(bare, marks=marks), width=size[0], height=size[1])
    plain, ours = Image.fromarray(frames[0]), Image.fromarray(frames[-1])
    high = size[0] * 9 // 16  # all of 16:9 across the width
    svg = draw(marks.document, marks.picture, width_px=size[0], mirrored=mirrored, measures=marks.measures)
    expected = plain.convert("RGBA")
    expected.alpha_composite(raster(svg, (size[0], high)), (0, (size[1] - high) // 2))
    figures = similarity(ours, expected.convert("RGB")), similarity(ours, plain)
    print(f"{size} mirrored={mirrored}: {figures[0]:.4f}, without marks {figures[1]:.4f}")
    assert figures[0] >= 0.98
    assert figures[1] < 0.97


def test_a_cut_picture_keeps_its_marks_on_the_things_they_mark(tmp_path):
    """A square cut of 16:9 round the left third: source x 17 … 197 is seen (from 2·round), scaled by 320/180."""
    disc = [{"id": "p", "kind": "point", "points": [{"at": [90, 45]}]}]
    bare = StillPicture(footage(), 40, HALF, focus=(Fraction(1, 3), HALF))
    frames = render_last(tmp_path, bare, replace(bare, marks=layer(disc)), width=320, height=320, fill="fill")
    changed = np.abs(frames[-1].astype(int) - frames[0]).max(axis=2) > 60
    ys, xs = np.nonzero(changed)
    left = 2 * round((320 / 3 - 90) / 2)
    assert xs.mean() == pytest.approx((90 - left) * 320 / 180, abs=1.5)
    assert ys.mean() == pytest.approx(45 * 320 / 180, abs=1.5)


def test_letters_are_not_mirrored_with_the_footage():
    """A label alone gives the same outline either way, only elsewhere."""
    label = layer([{"id": "l", "kind": "label", "points": [{"at": [160, 90]}], "text": "FLIGHT"}])
    plain, turned = (
        np.asarray(raster(draw(label.document, label.picture, width_px=320, mirrored=m), SIZE))[..., 3]
        for m in (False, True)
    )

    def trimmed(alpha):
        ys, xs = np.nonzero(alpha)
        return alpha[ys.min() : ys.max() + 1, xs.min() : xs.max() + 1]

    assert np.abs(trimmed(plain).astype(int) - trimmed(turned)).mean() < 3
    assert np.abs(trimmed(plain).astype(int) - trimmed(turned)[:, ::-1]).mean() > 20


def test_marks_lie_over_the_hold_only(tmp_path):
    excerpt = ExcerptPicture(footage(), 0, 6, hold=Fraction(1, 5))
    plain = render_last(tmp_path, excerpt)
    marked = render_last(tmp_path, replace(excerpt, marks=layer()))
    assert numbers(marked) == [0, 1, 2, 3, 4, 5, *[5] * 6]
    differs = [np.abs(a.astype(int) - b).max() > 80 for a, b in zip(plain, marked, strict=True)]
    assert differs == [False] * 6 + [True] * 6


def key(picture) -> str:
    piece = piece_of(picture)
    return segment_of(1, piece.timeline.placed[0], piece, FINE, "a build", is_scratch=False).key


def test_pictures_without_marks_keep_the_keys_of_before_there_were_marks():
    """Reckoned with the state of the code before marks could be shown: nobody's cache is thrown away."""
    source = PieceSource("s", "S", "none.mp4", "0" * 64, Fraction(30), 120, 320, 180)
    before = "253417559a77e899c8b535dcac802bce68ad528957e64a9b71a45255d75009f0"
    held_before = "dd4e079800ed0eaca00106ff6184520bfb2b5400682428ecf1257e5ada0c23d3"
    assert key(StillPicture(source, 40, HALF)) == before
    assert key(ExcerptPicture(source, 0, 6, hold=Fraction(1, 5))) == held_before


def test_the_cache_knows_marks_by_what_is_drawn():
    bare = StillPicture(footage(), 40, HALF)
    shifted = [{**MARKS[0], "points": [{"at": [91, 40]}, {"at": [220, 100]}]}, *MARKS[1:]]
    keys = [key(bare), key(replace(bare, marks=layer())), key(replace(bare, marks=layer(shifted)))]
    assert len(set(keys)) == 3
    assert key(replace(bare, marks=layer())) == keys[1]
    moving = ExcerptPicture(footage(), 0, 6)
    assert key(moving) == key(replace(moving, marks=layer()))  # nothing stands: nothing is drawn


@pytest.mark.django_db
def test_a_stored_beat_brings_the_marks_of_its_still():
    editor, source = make_user("editor"), make_source()
    breakdown = services.breakdown_create(by=editor, title="Marks")
    beat = breakdown.beats.get()
    document = {"version": 1, "landmarks": {}, "marks": MARKS}
    still = Still.objects.create(source=source, frame=29, document=document)
    shown = {"kind": "still", "source_id": source.pk, "frame": 29, "still_id": still.pk}
    services.beat_picture_save(breakdown, beat.key, by=editor, **shown)
    found = stored_piece(breakdown).beats[0].picture.marks
    assert [mark.id for mark in found.document.marks] == ["a", "b", "c"]
    assert found.measures
    services.beat_picture_save(breakdown, beat.key, by=editor, frame=30)
    assert stored_piece(breakdown).beats[0].picture.marks is None
    excerpt = make_excerpt(source)  # ends with frame 29
    held = {"kind": "excerpt", "excerpt_id": excerpt.pk, "hold_ms": 1000}
    services.beat_picture_save(breakdown, beat.key, by=editor, **held)
    assert stored_piece(breakdown).beats[0].picture.marks is not None
    services.beat_picture_save(breakdown, beat.key, by=editor, hold_ms=0)
    assert stored_piece(breakdown).beats[0].picture.marks is None


@pytest.mark.django_db
def test_footage_stored_on_its_side_is_placed_as_it_is_shown():
    source = make_source()
    source.rotation, source.pixel_aspect_num, source.pixel_aspect_den = 90, 4, 3
    placed = piece_source(source)
    assert (placed.width, placed.height) == (180, 320)
    assert placed.pixel_aspect == Fraction(3, 4)


def covered(marks: MarksLayer, picture: StillPicture) -> list[int]:
    """Pixels that the drawing covers on each of the first 50 frames at 25 a second."""
    framing = look_of(picture, piece_of(picture)).framing
    found = []
    for frame in range(50):
        parts = reveal_at(marks.starts, frame, Fraction(25))
        svg = marks_svg(marks, framing, mirrored=picture.mirrored, parts=parts)
        found.append(int((np.asarray(marks_picture(svg, framing, SIZE))[..., 3] > 128).sum()))
    return found


@pytest.mark.parametrize("mirrored", [False, True])
def test_marks_come_one_after_another_and_only_grow(tmp_path, mirrored):
    """Three marks over two seconds: nothing at first, more on every frame of a growth, then the whole drawing."""
    marks = layer()
    turn = replace(marks, starts=in_turn(3, Fraction(2)))
    assert turn.starts == (0, Fraction(2, 5), Fraction(4, 5))
    bare = StillPicture(footage(), 40, Fraction(2), mirrored)
    frames = render_last(
        tmp_path, bare, replace(bare, marks=turn), replace(bare, marks=marks), rate=Fraction(25)
    )
    assert len(frames) == 150
    plain, whole = Image.fromarray(frames[10]), Image.fromarray(frames[-1])
    coming = frames[50:100]
    changed = [int((np.abs(one.astype(int) - frames[10]).max(axis=2) > 60).sum()) for one in coming]
    assert changed[0] == 0
    # An arrow's head moves on over other marks, so the video may show a hundredth less; what is drawn never does.
    assert all(later >= earlier - max(changed) / 100 for earlier, later in pairwise(changed))
    assert all(later >= earlier for earlier, later in pairwise(covered(turn, bare)))
    assert changed[5] > 50
    assert changed[34] > changed[15] + 50
    end = 35  # 4/5 s + 3/5 s at 25 frames a second
    assert similarity(Image.fromarray(coming[end]), whole) >= 0.98
    assert similarity(Image.fromarray(coming[end - 10]), whole) < 0.995
    assert similarity(Image.fromarray(coming[0]), plain) >= 0.98
    key_turn, key_once = key(replace(bare, marks=turn)), key(replace(bare, marks=marks))
    assert key_turn != key_once
    assert key_turn != key(replace(bare, marks=replace(marks, starts=(Fraction(0),) * 3)))


def test_every_mark_is_whole_before_its_picture_goes():
    assert within([Fraction(-1), Fraction(1), Fraction(9)], Fraction(3)) == (0, 1, Fraction(12, 5))
    assert in_turn(2, HALF) == (0, 0)
    assert reveal_at((Fraction(0), Fraction(2, 5)), 3, Fraction(10)) == (HALF, 0)


@pytest.mark.django_db
def test_marks_come_when_their_words_are_spoken():
    editor, source = make_user("editor"), make_source()
    breakdown = services.breakdown_create(by=editor, title="Marks")
    beat = breakdown.beats.get()
    still = Still.objects.create(
        source=source, frame=29, document={"version": 1, "landmarks": {}, "marks": MARKS}
    )
    shown = {"kind": "still", "source_id": source.pk, "frame": 29, "still_id": still.pk, "seconds_ms": 9000}
    services.beat_words_save(
        breakdown, beat.key, "First the hips, then the trunk.", base_version=1, by=editor
    )
    services.beat_picture_save(
        breakdown, beat.key, by=editor, **shown, marks_way="words", marks_at="hips, trunk"
    )
    starts = stored_piece(breakdown).beats[0].picture.marks.starts
    assert 0 < starts[0] < starts[1] == starts[2] < 3
    beat.refresh_from_db()
    beat.word_times, beat.spoken_ms = [0, 400, 700, 1300, 1700, 2100], 2600
    beat.save()
    assert stored_piece(breakdown).beats[0].picture.marks.starts == tuple(
        Fraction(ms, 1000) for ms in (700, 2100, 2100)
    )
    services.beat_picture_save(breakdown, beat.key, by=editor, marks_at="trunk, hips")
    with pytest.raises(NotReady, match="“hips”, at which a mark should come"):
        stored_piece(breakdown)
