"""Everything that words say about their picture, sentence by sentence. Imports no Django."""

from __future__ import annotations

from breakdowns.scripts.measured.amounts import with_amounts
from breakdowns.scripts.measured.angles import angles_said
from breakdowns.scripts.measured.items import sentences_of
from breakdowns.scripts.measured.mentions import mentions_of
from breakdowns.scripts.measured.orders import line_of, orders_said
from breakdowns.scripts.measured.said import AngleSaid, OrderSaid, RatioSaid, Said, SpeedSaid
from breakdowns.scripts.measured.silence import clauses_of
from breakdowns.scripts.measured.speeds import ratios_said, speeds_said

__all__ = ["said_in"]


def said_in(text: str) -> Said:
    """What the text states of angles, orders and speeds; spans are half-open characters of ``text``."""
    angles: list[AngleSaid] = []
    orders: list[OrderSaid] = []
    speeds: list[SpeedSaid] = []
    ratios: list[RatioSaid] = []
    for sentence in sentences_of(text.replace("’", "'")):
        for clause in clauses_of(sentence):
            units = with_amounts(clause)
            mentions = mentions_of(units)
            line = line_of(units, mentions)
            angles += angles_said(units, mentions)
            orders += orders_said(line)
            speeds += speeds_said(line, units)
            ratios += ratios_said(line, units)
    return Said(tuple(angles), tuple(orders), tuple(speeds), tuple(ratios))
