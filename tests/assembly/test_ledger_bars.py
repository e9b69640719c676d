"""The bars of the ledger page and how its figures read."""

from fractions import Fraction

import pytest

from breakdowns.assembly.ledger_bars import bars_of, figure_text
from breakdowns.assembly.piece import ExcerptPicture, Piece, PieceBeat, PieceSource, StillPicture

SOURCE = PieceSource("a", "A", "a.mp4", "0", Fraction(25), 1000, 320, 180)


def piece(*pictures) -> Piece:
    return Piece("T", "t", tuple(PieceBeat(str(n), picture) for n, picture in enumerate(pictures)))


def test_repeats_are_stacked_and_neighbours_share_a_row() -> None:
    (bar,) = bars_of(
        piece(
            ExcerptPicture(SOURCE, 100, 200),
            ExcerptPicture(SOURCE, 200, 300),
            ExcerptPicture(SOURCE, 150, 250, speed=Fraction(1, 2)),
            StillPicture(SOURCE, 999, Fraction(2)),
        )
    )
    rows = {block.beat: (block.x, block.width, block.row) for block in bar.blocks}
    assert rows[1] == (100, 100, 0)
    assert rows[2] == (200, 100, 0)
    assert rows[3] == (150, 100, 1)
    assert [block.is_still for block in bar.blocks if block.beat == 4] == [True]
    assert bar.height == 20


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (Fraction(1, 10), "share", "10.0 %"),
        (Fraction(36, 25), "source_seconds", "1.4 s"),
        (Fraction(1), "yes_no", "yes"),
        (Fraction(3), "count", "3"),
        (Fraction(97, 2), "hours", "48.5 h"),
    ],
)
def test_figures_read_as_people_write_them(value: Fraction, unit: str, text: str) -> None:
    assert figure_text(value, unit) == text
