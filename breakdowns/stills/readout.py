"""Numbers with their error as they are written for people: no more digits than the error gives a meaning.

After JCGM 100:2008, clause 7.2.6: an uncertainty is told to at most two significant digits, and its value to the same place.
"""

from __future__ import annotations

__all__ = ["number_text", "places_for", "readout"]

_MINUS = "−"


def number_text(value: float, places: int) -> str:
    """A number for people: ``-31.84`` → ``−31.8``, and never a negative nought."""
    text = f"{abs(value):.{places}f}"
    return _MINUS + text if value < 0 and float(text) else text


def places_for(sd: float | None) -> int:
    """Decimals that the error leaves a meaning: none from 10 on, one, or two below 0.1."""
    if sd is None:
        return 1
    return 0 if sd >= 10 else 2 if sd < 0.1 else 1


def readout(value: float, sd: float | None, unit: str) -> tuple[str, str]:
    """The value with its unit, and its error, such as ("40.1°", "± 1.4"); no error text where there is none."""
    places = places_for(sd)
    sign = {"deg": "°", "": ""}.get(unit, f"\u00a0{unit}")
    return f"{number_text(value, places)}{sign}", "" if sd is None else f"±\u00a0{number_text(sd, places)}"
