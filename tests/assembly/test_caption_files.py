"""WebVTT and SRT: against the specification's grammar and two independent readers."""

from __future__ import annotations

import html
import io
import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pysubs2
import pytest
import webvtt
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.assembly.caption_files import TimedText, srt_text, webvtt_document, webvtt_text
from breakdowns.assembly.captions import Cue, captions_of
from breakdowns.assembly.plain_text import one_line
from breakdowns.footage.timebase import Span, TimeError

from .invented import RATES, jump_throw, pieces

NTSC = Fraction(30000, 1001)
WORD_JOINER = "\u2060"
any_text = st.text(max_size=60) | st.sampled_from(
    [
        "a --> b",
        "&amp;",
        "<b>bold</b>",
        "{\\an8}up",
        "\n\n",
        "NOTE",
        "5 < 6",
        "WEBVTT",
        "1",
        "-->",
        "</i>",
        "\ud800",
    ]
)


@st.composite
def cues(draw):
    """Cues in order on whole frames, some touching, with lines of any text."""
    rate, at, found = draw(st.sampled_from(RATES)), 0, []
    for _ in range(draw(st.integers(0, 6))):
        start = at + draw(st.sampled_from([0, 0, 1, 7, 100_000]))
        at = start + draw(st.integers(1, 300))
        found.append(Cue(Span(start, at, rate), tuple(draw(st.lists(any_text, max_size=3))), "b"))
    return found


def cleaned(cue) -> list[str]:
    return [line for line in map(one_line, cue.lines) if line]


# --- the grammar of a WebVTT file, W3C WebVTT (editor's draft of 14 May 2026), § 4 Syntax --------

TIMESTAMP = r"(?:\d{2,}:)?[0-5]\d:[0-5]\d\.\d{3}"
TIMINGS = re.compile(rf"({TIMESTAMP})[ \t]+-->[ \t]+({TIMESTAMP})((?:[ \t]+\S+)*)")
CUE_TEXT = re.compile(r"(?:[^&<\r\n]|&(?:amp|lt|gt|lrm|rlm|nbsp);)*")


def milliseconds(stamp: str) -> int:
    *hours, minutes, rest = stamp.split(":")
    return (int(hours[0]) * 60 if hours else 0) * 60_000 + int(minutes) * 60_000 + int(rest.replace(".", ""))


def parsed_webvtt(text: str) -> list[tuple[int, int, list[str]]]:
    """The cues of a file that keeps to the grammar; anything else fails. Cue text without spans."""
    assert "\0" not in text
    text.encode("utf-8")
    head, *blocks = re.split(r"\n{2,}", text.removesuffix("\n"))
    assert re.fullmatch(r"WEBVTT(?:[ \t][^\n]*)?", head)
    found: list[tuple[int, int, list[str]]] = []
    for block in blocks:
        lines = block.split("\n")
        if re.fullmatch(r"NOTE(?:[ \t].*)?", lines[0]):
            assert "-->" not in block
            continue
        timings = TIMINGS.fullmatch(lines[0])
        assert timings, lines[0]
        start, end = milliseconds(timings[1]), milliseconds(timings[2])
        assert end > start
        assert not found or start >= found[-1][0]
        for line in lines[1:]:
            assert CUE_TEXT.fullmatch(line), line
            assert "-->" not in line
        found.append((start, end, [html.unescape(line) for line in lines[1:]]))
    return found


class TestWebvtt:
    @given(cues(), any_text, any_text)
    @settings(max_examples=200)
    def test_any_text_keeps_to_the_grammar_and_comes_back(self, some, title, language):
        read = parsed_webvtt(webvtt_text(some, title=title, language=language))
        kept = [cue for cue in some if cleaned(cue)]
        assert [lines for _, _, lines in read] == [cleaned(cue) for cue in kept]
        for (start, end, _), cue in zip(read, kept, strict=True):
            assert 0 <= cue.span.start_seconds - Fraction(start, 1000) < Fraction(1, 1000)
            assert 0 <= cue.span.end_seconds_exclusive - Fraction(end, 1000) < Fraction(1, 1000)

    @given(cues())
    def test_touching_cues_touch_and_none_overlaps_after_rounding(self, some):
        read = parsed_webvtt(webvtt_text([cue for cue in some if cleaned(cue)]))
        kept = [cue for cue in some if cleaned(cue)]
        for (one, other), (cue, next_cue) in zip(pairwise(read), pairwise(kept), strict=True):
            assert one[1] <= other[0]
            assert (one[1] == other[0]) == (cue.span.end == next_cue.span.start)

    @given(pieces())
    @settings(deadline=None, max_examples=40)
    def test_times_name_the_frame_again(self, piece):
        found = captions_of(piece).cues
        read = parsed_webvtt(webvtt_text(found, title=piece.title))
        for (start, end, _), cue in zip(read, found, strict=True):
            # The frame on screen at a time cut to milliseconds is the first that starts at or after it.
            assert -(-start * piece.rate // 1000) == cue.span.start
            assert -(-end * piece.rate // 1000) == cue.span.end

    def test_two_independent_readers_agree(self):
        found = captions_of(jump_throw(NTSC)).cues
        text = webvtt_text(found, title="Jump throw", language="en")
        theirs = webvtt.from_buffer(io.StringIO(text))
        others = pysubs2.SSAFile.from_string(text, format_="vtt")
        assert len(theirs) == len(others) == len(found)
        for cue, one, other in zip(found, theirs, others, strict=True):
            assert html.unescape(one.text).split("\n") == list(cue.lines)
            assert html.unescape(other.text.replace("\\N", "\n")).split("\n") == list(cue.lines)
            start = int(cue.span.start_seconds * 1000)
            assert milliseconds(one.start) == other.start == start
            assert milliseconds(one.end) == other.end == int(cue.span.end_seconds_exclusive * 1000)

    def test_the_comment_holds_title_and_language_on_lines_of_their_own(self):
        text = webvtt_text([], title="Throw\n\n--> now", language="en")
        assert text == "WEBVTT\n\nNOTE\nTitle: Throw → now\nLanguage: en\n"
        assert webvtt_text([]) == "WEBVTT\n"

    def test_one_frame_at_29_97(self):
        # Worked: 1001/30000 s are 33.3667 ms; frame 1 is cut to 33 ms and frame 2 to 66 ms.
        text = webvtt_text([Cue(Span(1, 2, NTSC), ("One frame.",), "b")])
        assert "00:00:00.033 --> 00:00:00.066" in text

    def test_hours_above_ninety_nine_stay_whole(self):
        text = webvtt_document([TimedText(Fraction(360_000), Fraction(360_001), ["Late."])])
        assert parsed_webvtt(text)[0][0] == 360_000_000

    @pytest.mark.parametrize(
        ("texts", "says"),
        [
            ([TimedText(Fraction(1), Fraction(1), ["x"])], "end before it begins"),
            ([TimedText(Fraction(2), Fraction(3), ["x"]), TimedText(Fraction(1), Fraction(4), ["y"])], "'y' starts"),
            ([TimedText(Fraction(-1), Fraction(4), ["x"])], "end before it begins"),
        ],
    )  # fmt: skip
    def test_impossible_times_are_refused(self, texts, says):
        with pytest.raises(TimeError, match=says):
            webvtt_document(texts)


# --- SRT has no standard: the grammar that the common descriptions share -------------------------

SRT_TIMES = re.compile(r"(\d{2}):([0-5]\d):([0-5]\d),(\d{3}) --> (\d{2}):([0-5]\d):([0-5]\d),(\d{3})")


def parsed_srt(text: str) -> list[tuple[int, int, list[str]]]:
    assert not re.search(r"(?<!\r)\n|\r(?!\n)", text)
    found = []
    blocks = text.split("\r\n\r\n")
    assert blocks.pop() == ""
    for number, block in enumerate(blocks, start=1):
        count, times, *lines = block.split("\r\n")
        assert count == str(number)
        match = SRT_TIMES.fullmatch(times)
        assert match, times
        hh, mm, ss, ms, *rest = map(int, match.groups())
        start = ((hh * 60 + mm) * 60 + ss) * 1000 + ms
        end = ((rest[0] * 60 + rest[1]) * 60 + rest[2]) * 1000 + rest[3]
        assert end > start
        assert lines
        assert all(line.strip() for line in lines)
        found.append((start, end, lines))
    return found


def read_by_pysubs2(text: str, folder: Path) -> pysubs2.SSAFile:
    """Read as a file, which is how the library takes CRLF."""
    path = folder / "captions.srt"
    path.write_bytes(text.encode("utf-8"))
    return pysubs2.load(str(path), encoding="utf-8")


class TestSrt:
    @given(cues())
    @settings(max_examples=200)
    def test_any_text_keeps_to_the_grammar_and_comes_back(self, some):
        read = parsed_srt(srt_text(some))
        kept = [cue for cue in some if cleaned(cue)]
        shown = [[line.replace(WORD_JOINER, "") for line in lines] for _, _, lines in read]
        assert shown == [[line.replace(WORD_JOINER, "") for line in cleaned(cue)] for cue in kept]
        assert all("-->" not in line for _, _, lines in read for line in lines)
        vtt = parsed_webvtt(webvtt_text(some))
        assert [row[:2] for row in read] == [row[:2] for row in vtt]

    def test_hours_are_always_written(self):
        text = srt_text([Cue(Span(0, 30, Fraction(30)), ("Look.",), "b")])
        assert text == "1\r\n00:00:00,000 --> 00:00:01,000\r\nLook.\r\n\r\n"

    @pytest.mark.parametrize(
        "line", ["a <b>bold</b> word", "5 < 6 and 7 > 3", "< i >", "if <x then y>", "</i> z"]
    )
    def test_an_independent_reader_sees_text_and_no_marks(self, line, tmp_path):
        text = srt_text([Cue(Span(0, 30, Fraction(30)), (line, "second"), "b")])
        (read,) = read_by_pysubs2(text, tmp_path)
        assert read.text.replace(WORD_JOINER, "") == f"{line}\\Nsecond"

    def test_an_independent_reader_agrees_on_times(self, tmp_path):
        found = captions_of(jump_throw(NTSC)).cues
        read = read_by_pysubs2(srt_text(found), tmp_path)
        assert [(line.start, line.end) for line in read] == [
            (int(cue.span.start_seconds * 1000), int(cue.span.end_seconds_exclusive * 1000)) for cue in found
        ]
        assert [line.plaintext.split("\n") for line in read] == [list(cue.lines) for cue in found]
