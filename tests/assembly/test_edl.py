"""The edit list: a strict reader of the published columns, and two independent readers.

The reader here takes the layout of CMX 3600 as public descriptions and open readers give it: event 3,
2 blanks, reel 8, 1, channels 4, 2, transition 4, 1, length 3, 1, then four times of 11 with one blank
between: 76 characters.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

import opentimelineio as otio
import pycmx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.assembly.edl import MOST_EVENTS, edl_lists, reel_names
from breakdowns.assembly.events import narration_events, picture_events
from breakdowns.assembly.piece import (
    CameraPicture,
    ExcerptPicture,
    Piece,
    PieceBeat,
    PlatePicture,
    StillPicture,
)
from breakdowns.footage.timebase import TimeError, frames_nearest, is_drop_frame_rate, parse_timecode

from .invented import NTSC, RATES, jump_throw, make_source, pieces

COLUMNS = re.compile(
    r"(?P<number>\d{3})  (?P<reel>[A-Z0-9]{8}|AX      ) (?P<channels>V   |A   |A2/V)  (?P<cut>C   ) (?P<length>   ) "
    r"(?P<source_in>.{11}) (?P<source_out>.{11}) (?P<record_in>.{11}) (?P<record_out>.{11})"
)
MOTION = re.compile(r"M2   (?P<reel>.{8})       (?P<speed>\d{3}\.\d)                (?P<at>.{11})")


@dataclass
class Event:
    """One event as read; times in frames at the list's rate."""

    reel: str
    channels: str
    source: tuple[int, int]
    record: tuple[int, int]
    speed: Fraction | None = None
    comments: list[str] = field(default_factory=list)


@dataclass
class Edl:
    title: str
    drop: bool
    events: list[Event]


def read_strictly(text: str, rate: Fraction) -> Edl:
    """Read a list; anything outside the published layout fails."""
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    title, mode, *lines = text.split("\r\n")[:-1]
    assert re.fullmatch(r"TITLE: [\x20-\x7e]{1,70}", title)
    assert mode in ("FCM: DROP FRAME", "FCM: NON-DROP FRAME")
    found = Edl(title[7:], mode == "FCM: DROP FRAME", [])
    for line in lines:
        if line.startswith("* "):
            found.events[-1].comments.append(line[2:])
        elif line.startswith("M2"):
            _read_motion(line, found, rate)
        else:
            _read_event(line, found, rate)
    return found


def _frame(label: str, found: Edl, rate: Fraction) -> int:
    assert (";" in label) == found.drop
    return parse_timecode(label, rate)


def _read_event(line: str, found: Edl, rate: Fraction) -> None:
    assert len(line) == 76
    match = COLUMNS.fullmatch(line)
    assert match, line
    assert int(match["number"]) == len(found.events) + 1
    times = [
        _frame(match[name], found, rate) for name in ("source_in", "source_out", "record_in", "record_out")
    ]
    assert times[0] < times[1]
    assert times[2] < times[3]
    event = Event(
        match["reel"].strip(), match["channels"].strip(), (times[0], times[1]), (times[2], times[3])
    )
    found.events.append(event)


def _read_motion(line: str, found: Edl, rate: Fraction) -> None:
    match, event = MOTION.fullmatch(line), found.events[-1]
    assert match, line
    assert match["reel"].strip() == event.reel
    assert _frame(match["at"], found, rate) == event.source[0]
    assert event.speed is None
    assert not event.comments
    event.speed = Fraction(match["speed"])


def the_list(piece: Piece) -> Edl:
    (text,) = edl_lists(piece)
    return read_strictly(text, piece.rate)


def one_beat(picture, rate=Fraction(25), **more) -> Piece:
    return Piece("One", "one", (PieceBeat("b", picture, **more),), rate)


class TestStrictly:
    def test_the_invented_piece_line_by_line(self):
        (text,) = edl_lists(jump_throw(Fraction(25)))
        reels = reel_names(jump_throw(Fraction(25)))
        a, b, take = reels["A"], reels["B"], reels["/takes/b1 take 2.wav"]
        assert text.split("\r\n")[:14] == [
            "TITLE: Jump throw of number 9",
            "FCM: NON-DROP FRAME",
            "001  AX       V     C        00:00:00:00 00:00:03:00 00:00:00:00 00:00:03:00",
            "* FROM CLIP NAME: Jump throw",
            "* OWN PLATE: TITLE",
            f"002  {a} V     C        00:00:04:00 00:00:14:00 00:00:03:00 00:00:23:00",
            # 25 fps at half speed is 012.5: from memory of published M2 examples; half of 25, computed.
            f"M2   {a}       012.5                00:00:04:00",
            "* FROM CLIP NAME: Plant and release",
            "* SOURCE FILE: semi final A.mp4",
            "* SOURCE FRAMES 100 TO 350 (EXCLUSIVE) AT 25 FRAMES/S",
            "* SPEED 1/2 OF FULL SPEED EXACTLY",
            f"003  {take} A     C        00:00:00:00 00:00:24:00 00:00:03:00 00:00:27:00",
            "* FROM CLIP NAME: NARRATION b1",
            "* SOURCE FILE: b1 take 2.wav",
        ]
        assert text.split("\r\n")[14:16] == [
            f"004  {a} V     C        00:00:13:24 00:00:14:00 00:00:23:00 00:00:28:00",
            f"M2   {a}       000.0                00:00:13:24",
        ]
        assert f"005  {b} A2/V  C" in text

    @given(pieces())
    @settings(deadline=None, max_examples=150)
    def test_every_piece_keeps_the_layout_and_the_timeline(self, piece):
        found = the_list(piece)
        assert found.drop == is_drop_frame_rate(piece.rate)
        shown = [event for event in found.events if event.channels != "A"]
        expected = picture_events(piece.timeline)
        assert [event.record for event in shown] == [(e.record.start, e.record.end) for e in expected]
        heard = [event.record for event in found.events if event.channels == "A"]
        assert heard == [(e.record.start, e.record.end) for e in narration_events(piece.timeline)]
        starts = [event.record[0] for event in found.events]
        assert starts == sorted(starts)
        for event in found.events:
            if event.source[1] - event.source[0] != event.record[1] - event.record[0]:
                assert event.speed is not None  # only an M2 line makes other lengths legal

    @given(pieces())
    @settings(deadline=None)
    def test_source_times_are_the_nearest_frames_at_the_lists_rate(self, piece):
        shown = [event for event in the_list(piece).events if event.channels != "A"]
        for read, event in zip(shown, picture_events(piece.timeline), strict=True):
            if event.footage is None:
                assert (read.reel, read.source[0], read.speed) == ("AX", 0, None)
                continue
            exact = event.footage.span.start_seconds * piece.rate
            assert abs(read.source[0] - exact) <= (Fraction(1, 2) if event.speed != 1 else Fraction(3, 2))
            if event.stands:
                assert (read.speed, read.source[1] - read.source[0]) == (0, 1)
            elif event.speed != 1:
                # The nearest frame, and at least one whole frame of the list behind where it begins.
                assert abs(
                    read.source[1] - event.footage.span.end_seconds_exclusive * piece.rate
                ) <= Fraction(3, 2)
                assert read.speed > 0
                assert abs(read.speed - event.speed * piece.rate) <= Fraction(1, 20)
            else:
                assert read.speed is None

    @pytest.mark.parametrize("rate", [*RATES, Fraction(60000, 1001)])
    def test_total_length_at_every_rate(self, rate):
        piece = jump_throw(rate)
        assert the_list(piece).events[-1].record[1] == piece.timeline.frame_count

    def test_drop_frame_labels_stand_in_a_drop_frame_list(self):
        # One minute of picture at 30000/1001: frame 1800 is 00:01:00;02 (SMPTE ST 12-1, label table).
        piece = Piece(
            "Two", "two",
            (PieceBeat("a", CameraPicture(1800 / NTSC)), PieceBeat("b", CameraPicture(Fraction(2)))), NTSC,
        )  # fmt: skip
        (text,) = edl_lists(piece)
        assert "FCM: DROP FRAME\r\n" in text
        assert "00:00:00;00 00:01:00;02\r\n" in text
        assert [event.record for event in read_strictly(text, NTSC).events] == [(0, 1800), (1800, 1860)]

    def test_comments_name_files_and_never_folders(self):
        (text,) = edl_lists(jump_throw())
        assert "semi final A.mp4" in text
        assert "/kept" not in text
        assert "/takes" not in text
        windows = make_source(path="C:\\Users\\someone\\clip.mov")
        (text,) = edl_lists(one_beat(StillPicture(windows, 3, Fraction(1))))
        assert "* SOURCE FILE: clip.mov\r\n" in text
        assert "someone" not in text

    def test_conversion_and_mirroring_are_said(self):
        picture = StillPicture(make_source(), 7, Fraction(1), mirrored=True)
        (event,) = the_list(one_beat(picture, Fraction(30))).events
        assert "SOURCE TIMES CONVERTED FROM 25 TO 30 FRAMES/S" in event.comments
        assert "SOURCE FRAME 7 AT 25 FRAMES/S, FROZEN" in event.comments
        assert "MIRRORED LEFT TO RIGHT" in event.comments

    @given(st.text(max_size=50), st.text(max_size=50))
    @settings(deadline=None)
    def test_no_name_can_break_a_line(self, title, name):
        source = make_source(title=title, path=f"/x/{name}")
        piece = replace(one_beat(ExcerptPicture(source, 0, 25, name=name), heading=title), title=title)
        (event,) = the_list(piece).events
        assert event.record == (0, 25)

    def test_a_take_that_is_too_long_is_cut_and_said(self):
        piece = one_beat(
            CameraPicture(Fraction(2)), words="Look.", take="/t/a.wav", words_seconds=Fraction(3)
        )
        take = the_list(piece).events[1]
        assert take.record == (0, 50)
        assert "THE LAST 1.00 S OF THIS TAKE DO NOT FIT" in take.comments

    @pytest.mark.parametrize(
        ("speed", "written"),
        [("1/2", "012.5"), ("1/3", "008.3"), ("1/1000", "000.1"), ("2", "050.0"), ("3/10", "007.5")],
    )
    def test_speeds_are_tenths_of_a_frame_a_second_and_never_a_freeze(self, speed, written):
        (event,) = the_list(one_beat(ExcerptPicture(make_source(), 0, 10, Fraction(speed)))).events
        assert event.speed == Fraction(written)


class TestReels:
    def test_names_are_unique_stable_and_eight_letters_or_digits(self):
        sources = [make_source(key, title="Same title", digest="ab" * 32) for key in "ABCDE"]
        beats = tuple(PieceBeat(s.id, StillPicture(s, 1, Fraction(1))) for s in sources)
        names = reel_names(Piece("Many", "many", beats, Fraction(25)))
        assert len(set(names.values())) == 5
        assert all(re.fullmatch(r"[A-Z0-9]{8}", name) for name in names.values())
        alone = reel_names(Piece("Other", "other", beats[:1], Fraction(30)))
        assert alone["A"] == names["A"]

    @pytest.mark.parametrize("title", ["", "Ärger mit ß", "日本", "a b", "--"])
    def test_any_title_gives_a_name(self, title):
        names = reel_names(one_beat(StillPicture(make_source(title=title), 1, Fraction(1))))
        assert re.fullmatch(r"[A-Z0-9]{8}", names["A"])


class TestLimits:
    def long_piece(self, count: int) -> Piece:
        beats = tuple(PieceBeat(f"b{n}", CameraPicture(Fraction(1, 5))) for n in range(count))
        return Piece("Long", "long", beats, Fraction(25))

    def test_more_than_999_events_go_on_in_further_lists(self):
        # 999 is the highest number that three digits hold.
        texts = edl_lists(self.long_piece(2000))
        lists = [read_strictly(text, Fraction(25)) for text in texts]
        assert [len(part.events) for part in lists] == [MOST_EVENTS, MOST_EVENTS, 2]
        assert [part.title for part in lists] == ["Long PART 1", "Long PART 2", "Long PART 3"]
        assert lists[1].events[0].record[0] == lists[0].events[-1].record[1]
        assert lists[2].events[-1].record[1] == 10_000

    def test_exactly_999_events_are_one_list(self):
        assert len(edl_lists(self.long_piece(MOST_EVENTS))) == 1

    def test_an_empty_piece_is_an_empty_list(self):
        assert the_list(Piece("Empty", "empty", (), Fraction(25))).events == []

    @pytest.mark.parametrize(
        ("piece", "says"),
        [
            (one_beat(CameraPicture(Fraction(1)), Fraction(120)), "two digits for frames; 120"),
            (one_beat(CameraPicture(Fraction(90_000))), "24 hours"),
            (
                one_beat(ExcerptPicture(make_source(), 0, 2000, Fraction(50))),
                "more than an edit list can say",
            ),
        ],
    )
    def test_what_a_list_cannot_say_is_one_clear_sentence(self, piece, says):
        with pytest.raises(TimeError, match=says):
            edl_lists(piece)


class TestIndependentReaders:
    @pytest.mark.parametrize("rate", [Fraction(25), Fraction(30), NTSC])
    def test_a_column_reader_finds_the_same_fields(self, rate):
        # pycmx, an independent open reader of the fixed columns.
        piece = jump_throw(rate)
        (text,) = edl_lists(piece)
        theirs, ours = pycmx.parse_cmx3600(io.StringIO(text)), read_strictly(text, rate)
        events = list(theirs.events)
        assert theirs.title == ours.title
        assert theirs.format == "3600"
        assert len(events) == len(ours.events)
        for event, mine in zip(events, ours.events, strict=True):
            (edit,) = event.edits
            assert edit.source == mine.reel
            assert parse_timecode(edit.source_in, rate) == mine.source[0]
            assert parse_timecode(edit.source_out, rate) == mine.source[1]
            assert parse_timecode(edit.record_in, rate) == mine.record[0]
            assert parse_timecode(edit.record_out, rate) == mine.record[1]
            assert edit.transition.cut
            assert edit.channels.video == (mine.channels != "A")
            assert edit.channels.a1 == (mine.channels == "A")
            assert edit.channels.a2 == (mine.channels == "A2/V")
            assert f"FROM CLIP NAME: {edit.clip_name}" in mine.comments

    @pytest.mark.parametrize("rate", [Fraction(24), Fraction(25), Fraction(30), NTSC])
    def test_the_timeline_librarys_reader_finds_the_same_timeline(self, rate):
        # otio-cmx3600-adapter. Two of its faults are stepped round: it cannot read ";" on an M2 line,
        # and takes an M2 line into account only where the two lengths differ.
        piece = jump_throw(rate)
        (text,) = edl_lists(piece)
        readable = re.sub(r"(?m)^(M2.*)$", lambda match: match[0].replace(";", ":"), text)
        theirs = otio.adapters.read_from_string(readable, "cmx_3600", rate=float(rate))
        (video,) = [track for track in theirs.tracks if track.name == "V"]
        assert theirs.name == piece.title
        events = picture_events(piece.timeline)
        clips = list(video)
        assert len(clips) == len(events)
        for clip, event in zip(clips, events, strict=True):
            assert clip.duration().to_frames() == event.record.frame_count
            if event.footage and clip.effects:
                (warp,) = clip.effects
                assert abs(warp.time_scalar - float(event.speed)) < 0.05 / float(rate) + 1e-9
        assert video.duration().to_frames() == piece.timeline.frame_count
        moving = clips[1]
        start = frames_nearest(Fraction(4), rate).count
        assert moving.source_range.start_time.to_frames() == start
        assert moving.effects[0].time_scalar == pytest.approx(0.5, abs=0.002)
        assert clips[2].effects[0].time_scalar == 0

    def test_plates_have_no_reel_there(self):
        piece = one_beat(PlatePicture("text", "A plate", "", Fraction(2)))
        theirs = otio.adapters.read_from_string(edl_lists(piece)[0], "cmx_3600", rate=25)
        (clip,) = theirs.tracks[0]
        assert (clip.name, clip.metadata["cmx_3600"].get("reel")) == ("A plate", None)
