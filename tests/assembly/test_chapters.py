"""Chapters: consecutive from frame 0, plain titles, as WebVTT chapters and Markdown."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import markdown
import pysubs2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.assembly.chapters import chapters_markdown, chapters_of, chapters_webvtt
from breakdowns.assembly.piece import CameraPicture, Piece, PieceBeat
from breakdowns.footage.timebase import Span

from .invented import jump_throw, pieces
from .test_caption_files import parsed_webvtt

RATE = Fraction(30)


def titles(*beats: tuple[str, str]) -> list[tuple[int, str]]:
    """(start second, title) of the chapters of one-second beats given as (heading, phase)."""
    made = tuple(
        PieceBeat(f"b{n}", CameraPicture(Fraction(1)), heading=heading, phase=phase)
        for n, (heading, phase) in enumerate(beats)
    )
    piece = Piece("The piece", "p", made, RATE)
    return [(chapter.span.start // 30, chapter.title) for chapter in chapters_of(piece)]


def test_headings_first_then_new_phases():
    assert titles(("Start here", "load"), ("", "load"), ("", "drive"), ("", ""), ("", "drive"), ("The end", "")) == [
        (0, "Start here"),
        (2, "Drive"),
        (5, "The end"),
    ]  # fmt: skip


def test_the_first_chapter_starts_at_zero_and_bears_the_pieces_title():
    assert titles(("", ""), ("Plant", "")) == [(0, "The piece"), (1, "Plant")]


def test_the_same_title_twice_in_a_row_is_one_chapter():
    assert titles(("Plant", ""), ("Plant", ""), ("Arm", ""), ("Plant", "")) == [
        (0, "Plant"),
        (2, "Arm"),
        (3, "Plant"),
    ]


def test_titles_are_plain_text():
    assert titles(("The *plant*\n & <b>\x07", "")) == [(0, "The *plant* & <b>")]


def test_no_beats_no_chapters():
    piece = Piece("Empty", "empty", (), RATE)
    assert chapters_of(piece) == ()
    assert chapters_markdown(piece) == ""
    assert parsed_webvtt(chapters_webvtt(piece)) == []


@given(pieces())
@settings(deadline=None)
def test_chapters_cover_the_piece_without_gap_or_overlap(piece):
    chapters = chapters_of(piece)
    assert bool(chapters) == bool(piece.beats)
    if chapters:
        assert chapters[0].span.start == 0
        assert chapters[-1].span.end == piece.timeline.frame_count
    assert all(one.span.end == other.span.start for one, other in pairwise(chapters))


@given(pieces())
@settings(deadline=None)
def test_the_file_keeps_to_the_chapter_grammar(piece):
    # W3C WebVTT, "chapter title text": no tags; consecutive cues that do not overlap.
    read = parsed_webvtt(chapters_webvtt(piece))
    assert [lines for _, _, lines in read] == [[chapter.title] for chapter in chapters_of(piece)]
    assert all(one[1] == other[0] for one, other in pairwise(read))


def test_an_independent_reader_agrees():
    text = chapters_webvtt(jump_throw())
    read = pysubs2.SSAFile.from_string(text, format_="vtt")
    assert [(line.start, line.text) for line in read] == [
        (0, "Jump throw of number 9"),
        (3000, "The plant"),
        (28000, "Release"),
        (38000, "Contact"),
        (53000, "Caution"),
    ]


@pytest.mark.parametrize(
    ("frame", "label"), [(0, "0:00"), (2519, "1:23"), (2520, "1:24"), (108_059, "1:00:01")]
)
def test_labels_never_name_a_later_second(frame, label):
    from breakdowns.assembly.chapters import Chapter

    assert Chapter("x", Span(frame, frame + 1, RATE)).start_label == label


@given(st.text(max_size=40))
@settings(deadline=None)
def test_the_list_has_one_entry_a_chapter_whatever_the_title(title):
    beats = (PieceBeat("b0", CameraPicture(Fraction(1)), heading=title),)
    shown = markdown.markdown(
        chapters_markdown(Piece("Safe", "s", beats, RATE)), extensions=["extra", "sane_lists"]
    )
    assert shown.count("<li>") == shown.count("<") / 4 == 1
