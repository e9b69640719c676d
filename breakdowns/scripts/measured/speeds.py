"""What a clause says about how fast a segment turns. Imports no Django."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from breakdowns.scripts.measured.amounts import Unit, allowed
from breakdowns.scripts.measured.orders import Line
from breakdowns.scripts.measured.said import RatioSaid, SpeedSaid

__all__ = ["ratios_said", "speeds_said"]

_SPEED = re.compile(r"N[Vc]*v|vN")
_RATIO = re.compile(r"NV*Rw?N")


def speeds_said(line: Line, units: list[Unit]) -> Iterator[SpeedSaid]:
    """Every speed with the segment that has it; one of a moment is not the fastest."""
    moment = any(unit.is_("INSTANT") or (unit.amount is None and unit.item.text == "still") for unit in units)
    for match in _SPEED.finditer(line.letters):
        places = range(*match.span())
        noun = next(line.nouns[at] for at in places if line.nouns[at] is not None)
        amount = next(line.amounts[at] for at in places if line.amounts[at] is not None)
        assert noun is not None
        assert amount is not None
        yield SpeedSaid(noun, amount, moment)


def ratios_said(line: Line, units: list[Unit]) -> Iterator[RatioSaid]:
    """Every speed told against that of another segment."""
    kinds = {unit.start: unit.item.kinds.get("RATIO", "") for unit in units if unit.amount is None}
    for match in _RATIO.finditer(line.letters):
        first, limit = match.span()
        one, other = line.nouns[first], line.nouns[limit - 1]
        assert one is not None
        assert other is not None
        at = first + match.group().index("R")
        said, amount = kinds.get(line.spans[at][0], ""), line.amounts[at]
        if amount is not None:
            low, high = amount.low, amount.high
        elif said in ("faster", "slower"):
            low, high = (1.0, math.inf) if said == "faster" else (0.0, 1.0)
        elif said:
            low, high = allowed("ratio", "plain", float(said), float(said))
        else:
            continue
        yield RatioSaid(one.start, other.end, one, other, low, high)
