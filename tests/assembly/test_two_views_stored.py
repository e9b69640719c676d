"""A stored beat of two views with a curve, all the way into the file: exact frames in both halves, the curve at the
source's own time, its gaps, and the browser's drawing against the video's."""

from __future__ import annotations

import base64
import io
import json
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from PIL import Image

from breakdowns.assembly.curve_layer import box_of
from breakdowns.assembly.halves import halves_of
from breakdowns.assembly.interchange import otio_text
from breakdowns.assembly.make import ledger_of
from breakdowns.assembly.selectors import NotReady, ledger_page
from breakdowns.assembly.selectors import piece_of as stored_piece
from breakdowns.assembly.show_notes import show_notes
from breakdowns.footage.models import Source
from breakdowns.footage.services import sources_tie
from breakdowns.scripts import services
from breakdowns.scripts.page.selectors import script_of
from breakdowns.stills.models import Still
from breakdowns.tracks.models import Track
from breakdowns.tracks.plot import plot_svg
from breakdowns.tracks.plot_cursor import cursor_words
from tests.assembly.rendering import number_in, rendered, seen
from tests.assembly.test_marks import FINE
from tests.factory import make_event, make_excerpt, make_source, make_user
from tests.stills.test_parity import similarity

pytestmark = [pytest.mark.once, pytest.mark.media, pytest.mark.django_db]

FIRST, SECOND = (17, 41)  # frames of one instant in the two clips
SIZE = (640, 360)


@pytest.fixture
def views():
    """Two numbered clips of one event at 30 and at 25 frames a second, tied (rights invented)."""
    event = make_event()
    first = make_source(
        rate=Fraction(30),
        frame_count=60,
        event=event,
        rights_holder="",
        attribution="League pictures (invented)",
    )
    second = make_source(
        rate=Fraction(25),
        frame_count=75,
        event=event,
        view="overhead",
        rights_holder="Hall camera club (invented)",
    )
    sources_tie(first, FIRST, second, SECOND)
    first.refresh_from_db()
    second.refresh_from_db()
    return first, second


@pytest.fixture
def beat(views):
    """Frames 10 to 40 of the first view at half speed with a hold, the second one beside it."""
    editor, (first, second) = make_user("editor"), views
    breakdown = services.breakdown_create(by=editor, title="Two views")
    excerpt = make_excerpt(first, in_frame=10, out_frame=40)
    shown = {"kind": "excerpt", "excerpt_id": excerpt.pk, "speed_num": 1, "speed_den": 2, "hold_ms": 500}
    key = breakdown.beats.get().key
    return services.beat_picture_save(breakdown, key, by=editor, **shown, beside_source_id=second.pk)


def piece_with(beat, **fields):
    if fields:
        services.beat_picture_save(beat.breakdown, beat.key, by=beat.changed_by, **fields)
    return replace(stored_piece(beat.breakdown), width=SIZE[0], height=SIZE[1])


def frames_of(piece, folder):
    rendered(piece, folder, settings=FINE)
    pictures = seen(folder / "out.mp4").pictures
    assert len(pictures) == piece.timeline.frame_count
    return pictures


def numbers_in(frame, picture):
    """What the bars say in each half; a half's 16:9 stands in its middle."""
    found = []
    for half in halves_of(picture, SIZE):
        cut = frame[half.at[1] : half.at[1] + half.size[1], half.at[0] : half.at[0] + half.size[0]]
        high = round(half.size[0] * 9 / 16 / 2) * 2
        top = (cut.shape[0] - high) // 4 * 2
        found.append(number_in(np.asarray(Image.fromarray(cut[top : top + high]).resize((320, 180)))))
    return found


def test_both_halves_show_the_same_instant_on_every_frame_of_the_file(tmp_path, beat):
    """Read off the file and reckoned anew: both views at half speed, and never more than two frames apart in time.

    Each half shows the frame of its own clock that is nearest to the output frame's moment, the second from its frame
    nearest to the first's beginning; so half a frame of rounding in each, and half for where the second begins.
    """
    piece = piece_with(beat, beside_mirrored=True)
    picture = piece.timeline.placed[0].beat.picture
    frames = frames_of(piece, tmp_path)
    moving = 60  # 30 frames at 30 a second, half speed, 30 frames a second
    start = round(SECOND + Fraction(10 - FIRST, 30) * 25)
    for k, frame in enumerate(frames):
        left, right = numbers_in(frame, picture)
        assert left == min(10 + -(-(k - 1) // 2), 39)
        assert right.startswith("mirrored ")
        there = int(right.removeprefix("mirrored "))
        if k < moving - 2:
            moment = start + Fraction(k, 30) / 2 * 25
            assert abs(there - moment) <= Fraction(1, 2)
            apart = Fraction(there - SECOND, 25) - Fraction(left - FIRST, 30)
            assert abs(apart) <= Fraction(1, 2) * (Fraction(1, 30) + Fraction(2, 25))
    left, right = numbers_in(frames[-1], picture)
    last = Fraction(int(right.removeprefix("mirrored ")) - SECOND, 25) - Fraction(left - FIRST, 30)
    assert abs(last) <= Fraction(1, 50)  # what stands in the end is the same instant, to half a frame


def test_a_still_stands_beside_the_same_instant(tmp_path, beat, views):
    first, _second = views
    still = {"kind": "still", "source_id": first.pk, "frame": 35, "seconds_ms": 200}
    piece = piece_with(beat, **still)
    frames = frames_of(piece, tmp_path)
    goal = min(range(75), key=lambda n: abs(Fraction(n - SECOND, 25) - Fraction(35 - FIRST, 30)))
    assert numbers_in(frames[0], piece.timeline.placed[0].beat.picture) == [35, goal]


def test_a_nudge_of_the_tie_moves_the_second_view_and_nothing_else(tmp_path, beat, views):
    before = piece_with(beat).timeline.placed[0].beat.picture
    Source.objects.filter(pk=views[1].pk).update(sync_frame=SECOND + 1)
    after = piece_with(beat).timeline.placed[0].beat.picture
    assert (after.in_frame, after.out_frame) == (before.in_frame, before.out_frame)
    assert after.beside.in_frame - before.beside.in_frame == 1


def test_ledger_interchange_and_notes_name_both_sources(beat, views):
    _first, second = views
    piece = piece_with(beat)
    by_hand = {str(one.key) for one in views}
    assert set(ledger_of(piece)["sources"]) == by_hand
    live = script_of(beat.breakdown).ledger.sources
    rendered_ledger = ledger_page(beat.breakdown)["account"]["sources"]
    for key in by_hand:
        # What the margin counts while writing is what is rendered.
        assert rendered_ledger[key]["union_seconds"]["exact"] == str(live[key].union_seconds)
        assert rendered_ledger[key]["screen_seconds"]["exact"] == str(live[key].screen_seconds)
    assert {"League pictures (invented)", "Hall camera club (invented)"} <= set(_words(show_notes(piece)))
    assert str(second.key) in json.dumps(json.loads(otio_text(piece)))


def _words(text: str) -> list[str]:
    return [name for name in ("League pictures (invented)", "Hall camera club (invented)") if name in text]


def test_a_view_that_lost_its_tie_is_refused_in_one_sentence(beat, views):
    Source.objects.filter(pk=views[1].pk).update(sync_frame=None)
    with pytest.raises(NotReady, match=r"Beat 1: .* is no longer tied"):
        stored_piece(beat.breakdown)


def test_marks_of_a_still_of_the_second_view_lie_over_its_half(tmp_path, beat, views):
    second = views[1]
    piece = piece_with(beat)
    stands = piece.timeline.placed[0].beat.picture.beside.out_frame - 1
    line = {"id": "a", "kind": "line", "points": [{"at": [90, 60]}, {"at": [230, 120]}]}
    still = Still.objects.create(
        source=second, frame=stands, document={"version": 1, "landmarks": {}, "marks": [line]}
    )
    plain = frames_of(piece, tmp_path / "plain")
    marked = frames_of(piece_with(beat, beside_still_id=still.pk), tmp_path / "marked")
    left, right = halves_of(piece.timeline.placed[0].beat.picture, SIZE)
    changed = np.abs(plain[-1].astype(int) - marked[-1]).max(axis=2) > 90
    assert changed[:, right.at[0] :].sum() > 100
    assert not changed[:, : left.size[0]].any()
    assert np.abs(plain[50].astype(int) - marked[50]).max() < 60


# --- the curve -----------------------------------------------------------------------------------

GAP = range(22, 30)


@pytest.fixture
def track(views):
    """A shoulder line of the first view that turns by 2° a frame, with nothing marked in a gap (invented)."""
    rows = {}
    for n in range(60):
        if n in GAP:
            continue
        turn = np.radians(2 * n)
        x, y = 60 * np.cos(turn), 60 * np.sin(turn)
        rows[str(n)] = {
            "left_shoulder": [160 - x, 90 - y, "placed"],
            "right_shoulder": [160 + x, 90 + y, "placed"],
        }
    return Track.objects.create(
        source=views[0], name="turning", in_frame=0, out_frame=60, landmarks=rows, smoothing="none"
    )


@pytest.mark.parametrize("place", ["lower", "left", "right"])
def test_the_cursor_stands_at_the_source_time_and_the_gap_is_empty(tmp_path, beat, track, place):
    """Against the same piece without a curve: where the cursor is seen, and that the line runs nowhere in the gap."""
    piece = piece_with(beat, beside_source_id=None, curve_track_id=track.pk, curve_place=place)
    layer = piece.timeline.placed[0].beat.picture.curve
    assert [curve.label for curve in layer.plot.curves] == ["trunk"]
    values = layer.plot.curves[0]
    inside = (values.across > (GAP[0] - 10) / 30 - 1e-9) & (values.across < (GAP[-1] - 10) / 30 + 1e-9)
    assert np.isnan(values.values[inside]).all()
    known = values.values[np.isfinite(values.values)]
    assert np.allclose(known, -60)  # 2° a frame at 30 a second; y runs downwards, so it turns clockwise
    frames = frames_of(piece, tmp_path)
    left, top, width, height = box_of(place, SIZE)
    rows = slice(
        top + round(height * 0.45), top + round(height * 0.85)
    )  # the line runs at −60, near the foot
    seen_at, shown = [], (6, 20, 40, 58)
    for k in shown:
        # The cursor is an upright line over all of the plot: the only column that is light nearly all the way down.
        columns = np.median(frames[k][rows, left : left + width].min(axis=2), axis=0)
        assert columns.max() > 120
        seen_at.append(int(columns.argmax()))
    source_frames = [min(10 + -(-(k - 1) // 2), 39) for k in shown]
    slope, at_nought = np.polyfit(source_frames, seen_at, 1)
    assert slope > 0
    assert (
        np.abs(slope * np.array(source_frames) + at_nought - seen_at).max() <= 1
    )  # evenly with the source's frames

    def lightest(n):
        column = left + round(slope * n + at_nought)
        return int(frames[6][rows, column - 1 : column + 2].max())

    assert max(lightest(n) for n in GAP) < 110
    assert min(lightest(n) for n in (16, 18, 33, 36)) > 150


def test_beside_the_cursor_stands_the_value_with_its_error_and_in_the_gap_that_there_is_none(beat, track):
    layer = piece_with(beat, curve_track_id=track.pk).timeline.placed[0].beat.picture.curve
    said = cursor_words(layer.plot, layer.seconds(15))
    assert said.startswith("0.17 s: −60")
    assert "±" in said
    assert "°/s" in said
    assert cursor_words(layer.plot, layer.seconds(25)) == "0.50 s, nothing measured"
    assert layer.plot.unit_says == "°/s, counter-clockwise above 0 · band ± 1 SD"
    turned = piece_with(beat, mirrored=True).timeline.placed[0].beat.picture.curve
    assert turned.plot.unit_says.startswith("°/s, clockwise above 0")


def test_the_curve_of_the_second_view_follows_the_second_clock(beat, views, track):
    Track.objects.filter(pk=track.pk).update(source=views[1])
    picture = piece_with(beat, curve_track_id=track.pk).timeline.placed[0].beat.picture
    assert picture.curve.follows_beside
    assert (picture.curve.rate, picture.curve.first) == (Fraction(25), picture.beside.in_frame)
    assert picture.curve.seconds(picture.beside.out_frame - 1) <= picture.curve.plot.span[1] + 1e-9


@pytest.mark.browser
def test_browser_and_video_draw_the_same_curve(tmp_path, beat, track, chromium):
    """Chromium's drawing of the same SVG over the bare video frame against the frame with its curve."""
    bare = frames_of(piece_with(beat, beside_source_id=None), tmp_path / "bare")
    piece = piece_with(beat, curve_track_id=track.pk)
    ours = frames_of(piece, tmp_path / "curve")
    layer = piece.timeline.placed[0].beat.picture.curve
    left, top, width, height = box_of("lower", SIZE)
    figures = []
    page = chromium.new_page(viewport={"width": width, "height": height})
    for k in (0, 13, 31, 44, 70):
        at = layer.seconds(min(10 + -(-(k - 1) // 2), 39))
        svg = plot_svg(
            layer.plot, (width, height), at, backing=0.82, cursor_says=cursor_words(layer.plot, at)
        )
        cut = Image.fromarray(bare[k][top : top + height, left : left + width])
        file = io.BytesIO()
        cut.save(file, "PNG")
        page.set_content(
            '<body style="margin:0"><div style="position:relative"><img style="display:block">'
            '<div id="d" style="position:absolute;inset:0"></div></div>'
        )
        page.evaluate(
            "async ([png, svg]) => { const i = document.querySelector('img');"
            "i.src = 'data:image/png;base64,' + png; await i.decode();"
            "document.getElementById('d').innerHTML = svg; }",
            [base64.b64encode(file.getvalue()).decode(), svg],
        )
        theirs = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        shown = Image.fromarray(ours[k][top : top + height, left : left + width])
        figures.append((similarity(shown, theirs), similarity(shown, cut)))
    print("similarity of the curve:", ", ".join(f"{same:.4f}" for same, _ in figures))
    assert min(same for same, _ in figures) >= 0.98
    assert all(plain < 0.9 for _, plain in figures)
