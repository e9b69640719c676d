"""One bar for each source: which of its seconds a piece shows, repeats stacked."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from breakdowns.footage.timebase import decimal_text

from .account import sources_of
from .piece import ExcerptPicture, Piece, PieceSource, views_of

WIDTH = 1000  # user units of the drawing
ROW = 10


@dataclass(frozen=True)
class Block:
    """A showing on the bar, in user units; ``beat`` counts from 1."""

    beat: int
    x: float
    width: float
    row: int
    is_still: bool

    @property
    def y(self) -> int:
        return self.row * ROW

    @property
    def height(self) -> int:
        return ROW - 2


@dataclass(frozen=True)
class Bar:
    """A source and its blocks; showings of the same seconds lie in rows above one another."""

    source: PieceSource
    blocks: tuple[Block, ...]

    @property
    def height(self) -> int:
        return ROW * (1 + max((block.row for block in self.blocks), default=0))


def figure_text(value: Fraction, unit: str) -> str:
    """A figure of the ledger as a person reads it, after the unit its rule names."""
    if unit == "yes_no":
        return "yes" if value else "no"
    if unit == "count":
        return str(int(value))
    if unit == "share":
        return f"{decimal_text(value * 100, 1)} %"
    return decimal_text(value, 1) + {"hours": " h", "ratio": ""}.get(unit, " s")


def bars_of(piece: Piece) -> list[Bar]:
    """The bars in the order of first use."""
    return [Bar(source, tuple(_blocks(piece, source))) for source in sources_of(piece)]


def _blocks(piece: Piece, source: PieceSource) -> list[Block]:
    blocks: list[Block] = []
    ends: list[int] = []  # for each row, the frame where its last block so far ends
    for start, end, number, is_still in sorted(_showings(piece, source)):
        row = next((row for row, last in enumerate(ends) if last <= start), len(ends))
        ends[row : row + 1] = [end]
        x = WIDTH * start / source.frame_count
        blocks.append(Block(number, x, max(2.0, WIDTH * (end - start) / source.frame_count), row, is_still))
    return blocks


def _showings(piece: Piece, source: PieceSource) -> list[tuple[int, int, int, bool]]:
    shown = []
    for number, beat in enumerate(piece.beats, start=1):
        for view in views_of(beat.picture):
            if view.source.id != source.id:
                continue
            if isinstance(view, ExcerptPicture):
                shown.append((view.in_frame, view.out_frame, number, False))
            else:
                shown.append((view.frame, view.frame + 1, number, True))
    return shown
