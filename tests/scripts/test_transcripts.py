"""Timed transcripts: read against two independent readers, hostile files, beats cut at pauses."""

from __future__ import annotations

import contextlib
import io
from fractions import Fraction
from itertools import pairwise

import pysubs2
import pytest
import webvtt
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.scripts.transcripts import (
    Cue,
    TranscriptError,
    cut_at_pauses,
    cut_into_beats,
    read_transcript,
)

words = st.text("abcdefghij éöß35°,.", min_size=1, max_size=24).map(
    lambda text: " ".join(text.split()) or "word"
)
lines = words.filter(lambda text: not text.isdigit())
payloads = st.lists(lines, min_size=1, max_size=3)


@st.composite
def cue_lists(draw: st.DrawFn) -> list[tuple[int, int, list[str]]]:
    """(start ms, end ms, lines), starts rising, the text of each cue its own."""
    at, cues = 0, []
    for number in range(draw(st.integers(1, 8))):
        at += draw(st.integers(0, 4_000_000))
        length = draw(st.integers(1, 20_000))
        cues.append((at, at + length, [f"cue {number} starts", *draw(payloads)]))
        at += draw(st.integers(1, 30_000))
    return cues


def stamp(ms: int, point: str) -> str:
    seconds, thousandths = divmod(ms, 1000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{point}{thousandths:03d}"


def as_webvtt(cues: list[tuple[int, int, list[str]]]) -> str:
    blocks = [f"{stamp(a, '.')} --> {stamp(b, '.')}\n" + "\n".join(text) for a, b, text in cues]
    return "WEBVTT\n\n" + "\n\n".join(blocks) + "\n"


def as_srt(cues: list[tuple[int, int, list[str]]]) -> str:
    return "\n\n".join(
        f"{number}\n{stamp(a, ',')} --> {stamp(b, ',')}\n" + "\n".join(text)
        for number, (a, b, text) in enumerate(cues, 1)
    )


def rows(transcript) -> list[tuple[Fraction, Fraction, tuple[str, ...]]]:
    return [(cue.start * 1000, cue.end * 1000, cue.lines) for cue in transcript]


class TestAgainstOtherReaders:
    """Independent readers: webvtt-py (W3C WebVTT) and pysubs2 (SubRip)."""

    @given(cue_lists(), st.sampled_from(["\n", "\r\n", "\r"]), st.booleans())
    def test_webvtt_read_back(self, cues: list, line_end: str, marked: bool) -> None:
        text = as_webvtt(cues)
        ours = read_transcript((("\ufeff" if marked else "") + text).replace("\n", line_end).encode())
        assert rows(ours) == [(a, b, tuple(lines)) for a, b, lines in cues]
        theirs = webvtt.from_buffer(io.StringIO(text))
        assert [(cue.start, cue.end, cue.lines) for cue in theirs] == [
            (stamp(int(cue.start * 1000), "."), stamp(int(cue.end * 1000), "."), list(cue.lines))
            for cue in ours
        ]

    @given(cue_lists(), st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
    def test_srt_read_back(self, cues: list, encoding: str) -> None:
        text = as_srt(cues)
        ours = read_transcript(text.encode(encoding))
        assert rows(ours) == [(a, b, tuple(lines)) for a, b, lines in cues]
        theirs = pysubs2.SSAFile.from_string(text, format_="srt")
        assert [(event.start, event.end, event.plaintext.split("\n")) for event in theirs] == [
            (cue.start * 1000, cue.end * 1000, list(cue.lines)) for cue in ours
        ]

    @given(cue_lists())
    @settings(max_examples=30)
    def test_what_pysubs2_writes_is_read(self, cues: list) -> None:
        file = pysubs2.SSAFile()
        for a, b, text in cues:
            file.append(pysubs2.SSAEvent(start=a, end=b, text="\\N".join(text)))
        for form in ("srt", "vtt"):
            assert rows(read_transcript(file.to_string(form))) == [(a, b, tuple(t)) for a, b, t in cues]

    def test_tags_voices_and_entities_as_webvtt_py_shows_them(self) -> None:
        text = (
            "WEBVTT - by hand\n\nSTYLE\n::cue { color: white }\n\nNOTE not spoken\nat all\n\nintro\n"
            "00:01.000 --> 00:03.500 align:start position:10%\n"
            "<v.loud Physio>Look at the <i>left</i> hip &amp; the <c.term>sacrum</c></v>\n"
        )
        (cue,) = read_transcript(text)
        (other,) = webvtt.from_buffer(io.StringIO(text))
        assert cue.text == other.text.replace("&amp;", "&") == "Look at the left hip & the sacrum"
        assert cue.speaker == other.voice == "Physio"
        assert (cue.start, cue.end) == (Fraction(1), Fraction(7, 2))


class TestForgiven:
    def test_no_blank_line_between_cues_nor_at_the_end(self) -> None:
        text = "1\n00:00:01,000 --> 00:00:02,000\nOne.\n2\n00:00:02,000 --> 00:00:03,000\nTwo."
        assert [cue.text for cue in read_transcript(text)] == ["One.", "Two."]

    def test_a_blank_line_inside_an_srt_cue(self) -> None:
        text = (
            "1\n00:00:01,000 --> 00:00:02,000\nOne\n\nmore.\n\n2\n00:00:02,000 --> 00:00:03,000\nTwo.\n\n\n"
        )
        assert [cue.text for cue in read_transcript(text)] == ["One more.", "Two."]

    def test_a_line_of_blanks_inside_a_webvtt_cue_is_no_blank_line(self) -> None:
        # W3C WebVTT: only an empty line ends the payload
        text = "WEBVTT\n\n00:01.000 --> 00:02.000\n \nwords here\n\n00:03.000 --> 00:04.000\nmore\n"
        assert [cue.text for cue in read_transcript(text)] == ["words here", "more"]

    def test_points_for_commas_and_missing_counters(self) -> None:
        text = "00:00:01.5 --> 00:00:02.25\nOne.\n\n0:00:03,000-->0:00:04\nTwo.\n"
        assert [(cue.start, cue.end) for cue in read_transcript(text)] == [
            (Fraction(3, 2), Fraction(9, 4)),
            (Fraction(3), Fraction(4)),
        ]

    def test_overlapping_and_unordered_cues_are_sorted_and_said(self) -> None:
        text = "1\n00:00:05,000 --> 00:00:07,000\nB.\n\n2\n00:00:01,000 --> 00:00:06,000\nA.\n"
        read = read_transcript(text)
        assert [cue.text for cue in read] == ["A.", "B."]
        assert "out of order" in read.remarks[0]

    def test_windows_1252_is_read_and_said(self) -> None:
        read = read_transcript("1\n00:00:01,000 --> 00:00:02,000\nDéjà vu – 35°\n".encode("cp1252"))
        assert read.cues[0].text == "Déjà vu – 35°"
        assert "not UTF-8" in read.remarks[0]

    @pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be", "utf-16", "utf-32"])
    def test_wide_encodings_with_and_without_mark(self, encoding: str) -> None:
        text = "1\n00:00:01,000 --> 00:00:02,000\nThe pelvis turns first.\n"
        assert read_transcript(text.encode(encoding)).cues[0].text == "The pelvis turns first."

    def test_override_tags_of_other_programs_are_no_words(self) -> None:
        read = read_transcript(
            '1\n00:00:01,000 --> 00:00:02,000 X1:10 Y1:20\n{\\an8}<font color="red">Up</font>\n'
        )
        assert read.cues[0].text == "Up"

    def test_a_bare_less_than_stays(self) -> None:
        assert (
            read_transcript("WEBVTT\n\n00:01.000 --> 00:02.000\nflexion < 90°\n").cues[0].text
            == "flexion < 90°"
        )


class TestRefused:
    @pytest.mark.parametrize(
        ("text", "line", "says"),
        [
            ("", 0, "No times"),
            ("hello there", 1, "belongs to no times"),
            ("WEBVTT\n\nhello", 0, "No times"),
            ("1\n00:00:02,000 --> 00:00:01,000\nA\n", 2, "ends before it starts"),
            ("1\n00:00:01,000 --> 00:61:02,000\nA\n", 2, "00 to 59"),
            ("1\n00:00:01,000 --> soon\nA\n", 2, "no pair of times"),
            (
                "1\n00:00:01,000 --> 00:00:02,000\nA\n\nstray words\nmore\n\n2\n00:00:03 --> x\nB",
                9,
                "no pair of times",
            ),
            ("1\n00:00:01,000 --> 00:00:02,000\n<i></i>\n", 0, "no words"),
        ],
    )
    def test_with_one_sentence_and_the_line(self, text: str, line: int, says: str) -> None:
        with pytest.raises(TranscriptError, match=says) as fault:
            read_transcript(text)
        assert fault.value.line == line
        assert str(fault.value).count("\n") == 0

    @pytest.mark.parametrize(
        "data", [b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00", b"\xef\xbb\xbf\xff\xff", b"a" * 5_000_000]
    )
    def test_files_that_are_no_transcript(self, data: bytes) -> None:
        with pytest.raises(TranscriptError):
            read_transcript(data)

    @given(st.binary(max_size=400))
    def test_any_bytes_are_read_or_refused(self, data: bytes) -> None:
        for given_bytes in (data, b"WEBVTT\n\n00:01.000 --> 00:02.000\n" + data):
            try:
                read = read_transcript(given_bytes)
            except TranscriptError:
                continue
            assert all(cue.text and cue.start < cue.end for cue in read)
            cut_into_beats(read)

    @given(st.text("012:.,-> \n<>/v&;abWEBVTTNOE", max_size=300))
    def test_any_soup_of_marks_is_read_or_refused(self, text: str) -> None:
        for soup in (text, "WEBVTT\n\n" + text):
            with contextlib.suppress(TranscriptError):
                cut_into_beats(read_transcript(soup))


ROLLING = """WEBVTT

00:00:00.000 --> 00:00:02.000 align:start position:0%
 
the<00:00:00.500><c> planting</c><00:00:01.000><c> foot</c>

00:00:02.000 --> 00:00:02.010 align:start position:0%
the planting foot
 

00:00:02.010 --> 00:00:04.000 align:start position:0%
the planting foot
stops<00:00:02.500><c> and</c><00:00:03.000><c> stays</c>

00:00:04.000 --> 00:00:04.010 align:start position:0%
stops and stays
 

00:00:04.010 --> 00:00:06.000 align:start position:0%
stops and stays
down<00:00:05.000><c> down</c>
"""


class TestRollUp:
    def test_every_word_of_a_rolling_file_stands_once(self) -> None:
        read = read_transcript(ROLLING)
        assert " ".join(cue.text for cue in read) == "the planting foot stops and stays down down"
        assert [cue.start for cue in read] == [Fraction(0), Fraction(201, 100), Fraction(401, 100)]
        assert any("roll up" in remark for remark in read.remarks)

    def test_inner_timestamps_time_the_words(self) -> None:
        beats = cut_into_beats(read_transcript(ROLLING), max_seconds=Fraction(2), min_seconds=Fraction(0))
        starts = {beat.words.split()[0]: beat.start for beat in beats}
        assert starts["the"] == 0
        assert Fraction(2) <= starts["stops"] <= Fraction(21, 10)

    def test_lines_that_grow_word_by_word(self) -> None:
        grown = ["the hip", "the hip opens", "the hip opens first"]
        text = as_webvtt([(n * 1000, n * 1000 + 1000, [line]) for n, line in enumerate(grown)])
        assert [cue.text for cue in read_transcript(text)] == ["the hip", "opens", "first"]

    def test_three_lines_that_scroll(self) -> None:
        spoken = ["one is", "two are", "three be", "four do", "five go"]
        cues = [(n * 1000, n * 1000 + 1000, spoken[max(0, n - 2) : n + 1]) for n in range(5)]
        assert [cue.text for cue in read_transcript(as_srt(cues))] == spoken

    def test_a_thing_said_twice_stays_said_twice(self) -> None:
        said = [
            "Again.",
            "Again.",
            "The trunk is late.",
            "The arm is early.",
            "It drops.",
            "Why?",
            "Look.",
            "Here.",
            "So.",
            "Yes.",
        ]
        text = as_srt([(n * 1000, n * 1000 + 1000, [line]) for n, line in enumerate(said)])
        assert [cue.text for cue in read_transcript(text)] == said

    def test_exact_doubles_go(self) -> None:
        text = as_srt([(0, 1000, ["One."]), (0, 1000, ["One."]), (2000, 3000, ["Two."])])
        assert [cue.text for cue in read_transcript(text)] == ["One.", "Two."]


def cue(start: float, end: float, text: str, speaker: str = "") -> Cue:
    return Cue(Fraction(str(start)), Fraction(str(end)), (text,), speaker)


@st.composite
def talks(draw: st.DrawFn) -> list[Cue]:
    at, made = Fraction(0), []
    for _ in range(draw(st.integers(1, 14))):
        at += Fraction(draw(st.integers(0, 30)), 10)
        length = Fraction(draw(st.integers(1, 60)), 10)
        text = " ".join(
            draw(
                st.lists(st.sampled_from(["hip", "turns,", "first.", "then", "35°"]), min_size=1, max_size=9)
            )
        )
        made.append(Cue(at, at + length, (text,)))
        at += length - Fraction(draw(st.integers(0, 5)), 100) if length > 1 else length
    return made


class TestBeats:
    def test_cut_at_pauses_between_sentences_with_their_real_time(self) -> None:
        talk = [
            cue(0, 2, "The foot stops."),
            cue(2.1, 4, "The pelvis turns."),
            cue(6, 8, "Now the trunk."),
            cue(8.2, 10, "It is late."),
        ]
        beats = cut_into_beats(talk)
        assert [(beat.words, beat.start, beat.end) for beat in beats] == [
            ("The foot stops. The pelvis turns.", 0, 4),
            ("Now the trunk. It is late.", 6, 10),
        ]
        assert beats[0].spoken_ms == 4000

    def test_a_pause_inside_a_sentence_does_not_cut_it(self) -> None:
        talk = [cue(0, 2, "And then, after all"), cue(4, 6, "that, the arm."), cue(9, 11, "It follows.")]
        assert [beat.words for beat in cut_into_beats(talk)] == [
            "And then, after all that, the arm.",
            "It follows.",
        ]

    def test_without_full_stops_pauses_end_sentences(self) -> None:
        talk = [cue(0, 3, "the foot stops"), cue(5, 8, "the pelvis turns"), cue(8.1, 11, "then the trunk")]
        assert [beat.words for beat in cut_into_beats(talk)] == [
            "the foot stops",
            "the pelvis turns then the trunk",
        ]

    def test_a_long_sentence_is_cut_at_its_longest_pause(self) -> None:
        talk = [
            cue(0, 10, "the foot stops and"),
            cue(10.3, 20, "the pelvis, which is heavy,"),
            cue(20.2, 30, "turns."),
        ]
        beats = cut_into_beats(talk, max_seconds=Fraction(25))
        assert [beat.words for beat in beats] == ["the foot stops and", "the pelvis, which is heavy, turns."]

    def test_a_cut_inside_one_cue_is_timed_in_proportion(self) -> None:
        beats = cut_into_beats(
            [cue(0, 40, "aaaa bbbb. cccc dddd.")], max_seconds=Fraction(25), min_seconds=Fraction(0)
        )
        assert [(beat.words, beat.start) for beat in beats] == [
            ("aaaa bbbb.", 0),
            ("cccc dddd.", Fraction(440, 21)),
        ]

    def test_short_pieces_join_their_neighbour(self) -> None:
        talk = [cue(0, 1, "Look."), cue(2, 6, "The trunk is late."), cue(8, 12, "The arm is not.")]
        assert [beat.words for beat in cut_into_beats(talk)] == [
            "Look. The trunk is late.",
            "The arm is not.",
        ]

    def test_another_voice_is_another_beat(self) -> None:
        talk = [cue(0, 4, "What do you see", "Host"), cue(4, 8, "The hip is late", "Physio")]
        assert [(beat.words, beat.speaker) for beat in cut_into_beats(talk)] == [
            ("What do you see", "Host"),
            ("The hip is late", "Physio"),
        ]

    @given(talks(), st.integers(1, 20), st.integers(3, 40))
    def test_no_word_is_lost_and_time_runs_on(self, talk: list[Cue], pause: int, longest: int) -> None:
        beats = cut_into_beats(talk, Fraction(pause, 10), Fraction(longest), Fraction(1))
        assert " ".join(beat.words for beat in beats) == " ".join(each.text for each in talk)
        assert all(beat.start < beat.end for beat in beats)
        assert all(a.start < b.start for a, b in pairwise(beats))
        assert all(beat.seconds <= longest or len(beat.words.split()) == 1 for beat in beats)

    @given(talks(), st.integers(1, 20))
    def test_no_sentence_is_cut_where_it_need_not_be(self, talk: list[Cue], pause: int) -> None:
        beats = cut_into_beats(talk, Fraction(pause, 10), Fraction(10_000))
        stops = sum(each.text.count(".") for each in talk)
        if stops * 60 >= sum(len(each.text.split()) for each in talk):
            assert all(beat.words.endswith(".") for beat in beats[:-1])

    def test_no_cues_no_beats(self) -> None:
        assert cut_at_pauses([]) == []

    def test_lengths_that_can_not_be(self) -> None:
        with pytest.raises(ValueError, match="above 0"):
            cut_into_beats([], max_seconds=Fraction(0))

    def test_a_hostile_long_file_is_cut_in_good_time(self) -> None:
        talk = [Cue(Fraction(n), Fraction(n) + Fraction(1, 2), ("word",)) for n in range(8_000)]
        beats = cut_into_beats(talk, min_pause=Fraction(60))
        assert sum(len(beat.words.split()) for beat in beats) == 8_000
