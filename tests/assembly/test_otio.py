"""The OpenTimelineIO timeline, opened again by OpenTimelineIO itself."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import opentimelineio as otio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.assembly.chapters import chapters_of
from breakdowns.assembly.events import narration_events, picture_events
from breakdowns.assembly.interchange import METADATA_KEY, otio_text
from breakdowns.assembly.piece import ExcerptPicture, Piece, PieceBeat, PlatePicture
from breakdowns.footage.timebase import Span, parse_rational

from .invented import NTSC, RATES, jump_throw, make_source, pieces


def opened(piece: Piece) -> otio.schema.Timeline:
    """Written and read again. Keep it in a variable: its tracks do not outlive it."""
    return otio.adapters.read_from_string(otio_text(piece), "otio_json")


def facts(item) -> dict:
    return item.metadata[METADATA_KEY]


def span(stored) -> Span:
    return Span(int(stored["in"]), int(stored["out"]), parse_rational(stored["rate"]))


def track(timeline, name):
    return next((track for track in timeline.tracks if track.name == name), None)


@given(pieces())
@settings(deadline=None)
def test_durations_come_back_to_the_frame(piece):
    timeline = opened(piece)
    clips = list(track(timeline, "Picture"))
    events = picture_events(piece.timeline)
    assert len(clips) == len(events)
    for clip, event in zip(clips, events, strict=True):
        assert isinstance(clip, otio.schema.Clip)  # no gaps
        assert clip.duration().value == event.record.frame_count
        assert clip.duration().rate == float(piece.rate)
        if piece.beats:
            placed = clip.range_in_parent()
            assert (placed.start_time.value, placed.end_time_exclusive().value) == (
                event.record.start,
                event.record.end,
            )
    if piece.beats:
        assert track(timeline, "Picture").duration().value == piece.timeline.frame_count
        assert timeline.duration().value == piece.timeline.frame_count


@given(pieces())
@settings(deadline=None)
def test_exact_times_stand_in_the_metadata(piece):
    timeline = opened(piece)
    assert parse_rational(facts(timeline)["rate"]) == piece.rate
    assert parse_rational(facts(timeline)["seconds"]) == piece.timeline.seconds
    for clip, event in zip(track(timeline, "Picture"), picture_events(piece.timeline), strict=True):
        assert span(facts(clip)["record"]) == event.record
        assert parse_rational(facts(clip)["speed"]) == event.speed
        if event.footage:
            assert span(facts(clip)["taken"]) == event.footage.span
            assert clip.source_range.start_time.value == event.footage.span.start
            assert clip.source_range.start_time.rate == float(event.footage.source.rate)


@given(pieces())
@settings(deadline=None)
def test_media_speed_and_freezes(piece):
    timeline = opened(piece)
    for clip, event in zip(track(timeline, "Picture"), picture_events(piece.timeline), strict=True):
        timing = [effect for effect in clip.effects if isinstance(effect, otio.schema.TimeEffect)]
        if event.footage is None:
            assert timing == []
            assert not isinstance(clip.media_reference, otio.schema.ExternalReference)
            continue
        source, there = event.footage.source, clip.media_reference.available_range
        assert (there.start_time.value, there.duration.value) == (0, source.frame_count)
        assert there.duration.rate == float(source.rate)
        assert (event.stands, [type(effect) for effect in timing]) in (
            (True, [otio.schema.FreezeFrame]),
            (False, [] if event.speed == 1 else [otio.schema.LinearTimeWarp]),
        )
        assert all(effect.time_scalar == float(event.speed) for effect in timing)
        mirrors = [effect for effect in clip.effects if effect.effect_name == "stancewright.mirror"]
        assert len(mirrors) == event.mirrored


@given(pieces())
@settings(deadline=None)
def test_takes_start_at_their_beats(piece):
    timeline, takes = opened(piece), narration_events(piece.timeline)
    narration = track(timeline, "Narration")
    assert (narration is None) == (not takes)
    clips = list(narration.find_clips()) if narration else []
    for clip, event in zip(clips, takes, strict=True):
        placed = clip.range_in_parent()
        assert placed.start_time.value == event.record.start
        assert placed.end_time_exclusive().value == event.record.end


@pytest.mark.parametrize("rate", RATES)
def test_chapters_are_markers(rate):
    piece = jump_throw(rate)
    timeline = opened(piece)
    markers = timeline.tracks.markers
    assert [(m.name, m.marked_range.start_time.value) for m in markers] == [
        (chapter.title, chapter.span.start) for chapter in chapters_of(piece)
    ]
    assert [span(facts(m)["span"]) for m in markers] == [chapter.span for chapter in chapters_of(piece)]


def test_twenty_nine_ninety_seven_is_the_rate_that_the_library_knows():
    timeline = opened(jump_throw(NTSC))
    # OpenTimelineIO's own list of SMPTE timecode rates.
    rate = timeline.global_start_time.rate
    assert otio.opentime.RationalTime.nearest_smpte_timecode_rate(rate) == rate
    assert timeline.global_start_time.to_timecode() == "00:00:00;00"


def test_original_sound_has_its_own_track():
    timeline = opened(jump_throw())
    sound = track(timeline, "Original sound")
    assert sound.kind == otio.schema.TrackKind.Audio
    (clip,) = sound.find_clips()
    assert facts(clip)["source"] == "B"
    assert clip.range_in_parent().start_time.value == 28 * 30


@pytest.mark.parametrize(
    ("speed", "heard"), [("1/4", False), ("1/2", True), ("1", True), ("2", True), ("3", False)]
)
def test_sound_is_heard_only_at_speeds_that_keep_it(speed, heard):
    picture = ExcerptPicture(make_source(), 0, 100, Fraction(speed), original_sound=True)
    piece = Piece("Sound", "sound", (PieceBeat("b", picture),))
    assert (track(opened(piece), "Original sound") is not None) == heard


def test_media_is_named_by_file_and_never_by_folder():
    text = otio_text(jump_throw())
    assert "semi%20final%20A.mp4" in text
    assert "/kept" not in text
    assert "/takes" not in text


def test_plates_keep_what_they_say():
    plate = PlatePicture("caution", "Care & caution", "First line\nsecond", Fraction(2))
    timeline = opened(Piece("P", "p", (PieceBeat("b", plate),)))
    (clip,) = track(timeline, "Picture")
    assert clip.media_reference.generator_kind == "stancewright.plate.caution"
    assert dict(clip.media_reference.parameters) == {
        "title": "Care & caution",
        "text": "First line\nsecond",
        "disclosure": "",
    }


@given(st.text(max_size=40), st.text(max_size=40))
@settings(deadline=None)
def test_any_text_can_be_written_and_read(title, name):
    source = make_source(title=title, path=f"/x/{name or 'a'}")
    beats = (
        PieceBeat(title, ExcerptPicture(source, 0, 10, name=name), heading=title, phase=name),
        PieceBeat("b", PlatePicture("text", title, name, Fraction(1)), take=f"/y/{name or 'a'}"),
    )
    piece = replace(jump_throw(), title=title, beats=beats)
    assert opened(piece).duration().value == piece.timeline.frame_count


def test_an_empty_piece_opens():
    assert list(track(opened(Piece("Empty", "empty", ())), "Picture")) == []
