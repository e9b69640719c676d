"""Chapters of a piece: where they start, as WebVTT chapters and as a Markdown list."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from breakdowns.assembly.caption_files import TimedText, webvtt_document
from breakdowns.assembly.piece import Piece
from breakdowns.assembly.plain_text import markdown_escaped, one_line
from breakdowns.footage.timebase import Span, clock_label

__all__ = ["Chapter", "chapters_markdown", "chapters_of", "chapters_webvtt"]


@dataclass(frozen=True)
class Chapter:
    """A named stretch of the piece; ``title`` is plain text on one line, ``span`` whole output frames."""

    title: str
    span: Span

    @property
    def start_label(self) -> str:
        """Minutes and whole seconds, rounded down, so that a jump there never lands after the start."""
        whole = self.span.start_seconds.numerator // self.span.start_seconds.denominator
        return clock_label(Fraction(whole), 0)


def chapters_of(piece: Piece) -> tuple[Chapter, ...]:
    """The chapters in order: they follow each other without gaps from frame 0 to the end.

    A beat with a heading starts one; without a heading a new phase does. The first chapter starts at
    frame 0 and is named after the piece where the first beat names nothing. A chapter that would be
    called like the one before it is one with it. No beats: no chapters.
    """
    starts = list(_starts(piece))
    ends = [start for start, _ in starts[1:]] + [piece.timeline.frame_count] * bool(starts)
    return tuple(
        Chapter(title, Span(start, end, piece.rate)) for (start, title), end in zip(starts, ends, strict=True)
    )


def _starts(piece: Piece) -> Iterator[tuple[int, str]]:
    phase, current = "", None
    for placed in piece.timeline.placed:
        heading = one_line(placed.beat.heading)
        new_phase = one_line(placed.beat.phase)
        title = heading or (_capitalised(new_phase) if new_phase != phase else "")
        phase = new_phase or phase
        if not title and current is None:
            title = one_line(piece.title) or "Start"
        if title and title != current:
            yield placed.record.start, title
            current = title


def _capitalised(text: str) -> str:
    return text[:1].upper() + text[1:]


def chapters_webvtt(piece: Piece) -> str:
    """A WebVTT chapters file: plain text titles, consecutive cues that do not overlap.

    Source: W3C WebVTT, "WebVTT file using chapter title text".
    """
    texts = [
        TimedText(chapter.span.start_seconds, chapter.span.end_seconds_exclusive, [chapter.title])
        for chapter in chapters_of(piece)
    ]
    return webvtt_document(texts, title=f"{piece.title} (chapters)", language=piece.language)


def chapters_markdown(piece: Piece) -> str:
    """One line a chapter, ``- 1:23 Title``, escaped; an empty text without chapters."""
    return "".join(
        f"- {chapter.start_label} {markdown_escaped(chapter.title)}\n" for chapter in chapters_of(piece)
    )
