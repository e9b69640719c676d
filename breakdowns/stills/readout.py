"""Numbers with their error as they are written for people: no more digits than the error gives a meaning.

JCGM 100:2008, clause 7.2.6: an uncertainty is told to at most two significant digits, and its value to the same place.
Which of the two it is goes after the Particle Data Group (Phys. Rev. D 98, 030001, Introduction, 5.3): errors whose three
leading digits lie between 100 and 354 keep two digits, up to 949 one, and from 950 on they are 1.0 of the next power.
Halves go to the even digit (ISO 80000-1:2009, annex B, rule A).
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Context, Decimal

__all__ = ["number_text", "places_for", "readout"]

_MINUS = "−"
_EXACTLY = Context(prec=60)
_MOST = 4  # decimals, however small the error
_EXACT = 2  # decimals of what has an error of nought


def number_text(value: float, places: int) -> str:
    """A number for people: ``-31.84`` to 1 place → ``−31.8``, to −1 → ``−30``, and never a negative nought."""
    rounded = Decimal(repr(abs(float(value)))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN, _EXACTLY)
    text = f"{rounded:.{max(0, places)}f}"
    return _MINUS + text if value < 0 and float(text) else text


def places_for(sd: float | None) -> int:
    """Decimals that the error leaves a meaning; -1 for tens, -2 for hundreds."""
    if sd is None:
        return 1
    if not math.isfinite(sd) or sd <= 0:
        return _EXACT
    power = math.floor(math.log10(sd))
    leading = sd / 10**power
    two = leading < 3.545 or leading >= 9.495
    return min(_MOST, (1 if two else 0) - power - (1 if leading >= 9.495 else 0))


def readout(value: float, sd: float | None, unit: str) -> tuple[str, str]:
    """The value with its unit, and its error, such as ("40.1°", "± 1.4"); no error text where there is none."""
    places = places_for(sd)
    sign = {"deg": "°", "": ""}.get(unit, f"\u00a0{unit}")
    return f"{number_text(value, places)}{sign}", "" if sd is None else f"±\u00a0{number_text(sd, places)}"
