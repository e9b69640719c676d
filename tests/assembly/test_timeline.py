"""The timeline's arithmetic, and the plan of use computed from it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.assembly.framing import frame_picture
from breakdowns.assembly.ledger_plan import plan_from_piece
from breakdowns.assembly.mix import sample_at
from breakdowns.assembly.piece import (
    CameraPicture,
    ExcerptPicture,
    Piece,
    PieceBeat,
    PieceSource,
    PlatePicture,
    StillPicture,
    frame_shown_at,
    source_frame_at,
)
from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import plan_from_json

RATES = st.sampled_from(
    [Fraction(24000, 1001), Fraction(25), Fraction(30000, 1001), Fraction(30), Fraction(60)]
)
SPEEDS = st.sampled_from(
    [Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(2)]
)


def source(rate: Fraction = Fraction(30), frames: int = 3000, **more) -> PieceSource:
    return PieceSource("A", "Baseline", "a.mp4", "0" * 64, rate, frames, 1280, 720, **more)


def piece(*pictures, rate: Fraction = Fraction(30)) -> Piece:
    return Piece("P", "p", tuple(PieceBeat(str(n), p) for n, p in enumerate(pictures)), rate)


@given(RATES, RATES, SPEEDS, st.integers(1, 200), st.fractions(0, 3, max_denominator=1000))
def test_beats_lie_end_to_end_and_each_has_its_own_length(source_rate, rate, speed, taken, hold):
    excerpt = ExcerptPicture(source(source_rate), 10, 10 + taken, speed, hold)
    plate = PlatePicture("text", "", "words", Fraction(7, 3))
    timeline = piece(plate, excerpt, plate, rate=rate).timeline
    assert [p.record.start for p in timeline.placed[1:]] == [p.record.end for p in timeline.placed[:-1]]
    assert timeline.frame_count == sum(p.record.frame_count for p in timeline.placed)
    # A changed neighbour moves a beat but never changes its length.
    alone = piece(excerpt, rate=rate).timeline.placed[0]
    assert timeline.placed[1].record.frame_count == alone.record.frame_count
    # Half a frame of rounding; more only where a part shorter than a frame still gets one.
    assert abs(alone.record.seconds - excerpt.seconds) < 2 / rate


@given(RATES, RATES, SPEEDS, st.integers(1, 200))
def test_a_source_frame_comes_on_where_the_renderer_puts_it(source_rate, rate, speed, taken):
    """The filter graph places source frame N at floor((2N-1)/(2 step)) + 1; the piece asks the other way."""
    excerpt = ExcerptPicture(source(source_rate), 10, 10 + taken, speed)
    moving = piece(excerpt, rate=rate).timeline.placed[0].moving_frames
    step = speed * source_rate / rate
    comes_on = [max(0, floor((2 * n - 1) / (2 * step)) + 1) for n in range(taken)]
    for k in range(moving):
        shown = max(n for n in range(taken) if comes_on[n] <= k)
        assert 10 + shown == source_frame_at(excerpt, k, rate)


def test_full_speed_at_equal_rates_shows_every_frame_once():
    excerpt = ExcerptPicture(source(Fraction(30000, 1001)), 100, 130)
    at_ntsc = [source_frame_at(excerpt, k, Fraction(30000, 1001)) for k in range(30)]
    assert at_ntsc == list(range(100, 130))
    assert [source_frame_at(excerpt, k, Fraction(30)) for k in range(30)] == at_ntsc


def test_a_hold_stands_on_the_last_frame_whatever_the_speed_was():
    fast = piece(ExcerptPicture(source(), 0, 41, Fraction(4), Fraction(1))).timeline.placed[0]
    held = [frame_shown_at(fast, k, Fraction(30)) for k in range(fast.moving_frames, fast.record.frame_count)]
    assert set(held) == {40}
    assert len(held) == fast.record.frame_count - fast.moving_frames
    assert frame_shown_at(piece(CameraPicture(Fraction(1))).timeline.placed[0], 3, Fraction(30)) is None
    assert (
        frame_shown_at(piece(StillPicture(source(), 7, Fraction(1))).timeline.placed[0], 3, Fraction(30)) == 7
    )


@given(RATES, st.lists(st.integers(1, 500), min_size=1, max_size=40))
def test_samples_of_the_beats_add_up_to_the_piece(rate, lengths):
    ends = [sum(lengths[:n]) for n in range(len(lengths) + 1)]
    samples = [sample_at(end, rate) for end in ends]
    assert samples == sorted(samples)
    assert abs(Fraction(samples[-1], 48000) - ends[-1] / rate) <= Fraction(1, 96000)


SIDES = st.integers(100, 2200).map(lambda n: 2 * n)
SHARE = st.fractions(0, 1, max_denominator=100)


@given(SIDES, SIDES, st.sampled_from([Fraction(1), Fraction(16, 15), Fraction(8, 9), Fraction(4, 3)]), SHARE, SHARE,
       st.sampled_from([(1280, 720), (720, 1280), (720, 720), (1920, 1080), (1080, 1920)]))  # fmt: skip
def test_framing_keeps_the_shape_and_stays_inside(width, height, aspect, x, y, output):
    fitted = frame_picture((width, height), aspect, output, "fit", (x, y))
    shape = width * aspect / height
    assert fitted.crop is None
    for place, part, whole in zip(fitted.offset, fitted.scaled, output, strict=True):
        assert place >= 0
        assert place + part <= whole
        assert place % 2 == part % 2 == 0
    assert abs(fitted.scaled[0] - fitted.scaled[1] * shape) <= 1 + shape or min(fitted.scaled) == 2
    filled = frame_picture((width, height), aspect, output, "fill", (x, y))
    left, top, across, down = filled.crop or (0, 0, width, height)
    assert filled.scaled == output
    assert 0 <= left <= left + across <= width
    assert 0 <= top <= top + down <= height
    # One of the two sides is used whole (to the even pixel).
    assert across >= width - 2 or down >= height - 2


def test_focus_moves_the_crop_as_far_as_the_edges_allow():
    crops = [
        frame_picture((1920, 1080), Fraction(1), (720, 1280), "fill", (Fraction(x, 4), Fraction(1, 2))).crop
        for x in range(5)
    ]
    assert [crop[0] for crop in crops] == [0, 176, 656, 1136, 1312]
    assert {crop[1:] for crop in crops} == {(0, 608, 1080)}


def test_the_plan_is_what_the_ledger_reads_and_counts():
    """Definitions: the quantities of the excerpt ledger (union, screen and hold seconds)."""
    a = source(event="cup semi-final", attribution="Baseline camera, invented")
    b = replace(source(), id="B", own_terms=True)
    made = Piece("P", "p", (
        PieceBeat("1", PlatePicture("title", "T", "", Fraction(4))),
        PieceBeat("2", ExcerptPicture(a, 30, 90, Fraction(1, 2), Fraction(2), overlay="o.png"), words_seconds=Fraction(5)),
        PieceBeat("3", ExcerptPicture(a, 60, 120, mirrored=True)),
        PieceBeat("4", StillPicture(a, 200, Fraction(3)), words_seconds=Fraction(9)),
        PieceBeat("5", ExcerptPicture(b, 0, 30)),
        PieceBeat("6", CameraPicture(Fraction(5))),
    ))  # fmt: skip
    plan = plan_from_piece(made)
    assert [segment["kind"] for segment in plan["segments"]] == ["own", *["excerpt"] * 4, "own"]
    assert plan["narration"] == {"intervals": [["4", "9"], ["12", "15"]]}
    read = plan_from_json(plan)
    assert read.ignored == ()
    ledger = compute(read).as_json()
    assert ledger["piece_seconds"]["exact"] == str(made.timeline.seconds)
    used = ledger["sources"]["A"]
    assert used["union_seconds"]["exact"] == "3"  # frames 30 to 120
    assert used["played_seconds"]["exact"] == "4"
    assert used["screen_seconds"]["exact"] == "11"  # 4 + 2, then 2, then 3
    assert used["hold_seconds"]["exact"] == "5"
    assert used["stills_outside_union"] == 1
    assert ledger["annotated_excerpt_seconds"]["exact"] == "2"


@given(RATES, RATES, SPEEDS, st.integers(1, 200), st.fractions(0, 3, max_denominator=1000))
def test_screen_times_of_the_plan_add_up_to_the_piece(source_rate, rate, speed, taken, hold):
    made = piece(
        ExcerptPicture(source(source_rate), 10, 10 + taken, speed, hold),
        StillPicture(source(source_rate), 5, Fraction(22, 7)),
        PlatePicture("text", "", "x", Fraction(10, 3)),
        rate=rate,
    )
    ledger = compute(plan_from_json(plan_from_piece(made))).as_json()
    assert Fraction(ledger["piece_seconds"]["exact"]) == made.timeline.seconds


def test_sound_that_nobody_hears_is_told_as_muted():
    def muted(**how) -> bool:
        picture = ExcerptPicture(source(has_audio=how.pop("has_audio", True)), 0, 60, **how)
        return plan_from_piece(piece(picture))["segments"][0]["muted"]

    assert not muted(original_sound=True)
    assert not muted(original_sound=True, speed=Fraction(1, 2))
    assert muted(original_sound=True, speed=Fraction(1, 3))
    assert muted(original_sound=True, has_audio=False)
    assert muted()


def test_an_empty_picture_is_refused():
    with pytest.raises(ValueError, match="does not lie inside"):
        ExcerptPicture(source(frames=20), 10, 21)
