"""How many of the clinician's minutes an answer will probably take, and why. The numbers are ``data/effort.csv``."""

from __future__ import annotations

from functools import cache

from breakdowns.questions.sorting.reading import Reading
from breakdowns.questions.sorting.words import table

__all__ = ["minutes_for"]


@cache
def _numbers() -> dict[str, float]:
    return {row["name"]: float(row["minutes"]) for row in table("effort.csv")}


def minutes_for(topic: str, reading: Reading) -> tuple[float, str]:
    """(minutes, to halves, at least 1; one sentence that says why)."""
    numbers = _numbers()
    minutes = numbers[f"topic {topic}"]
    because = [f"questions of this kind ({topic}) mostly take {minutes:g}"]
    words = len(reading.words)
    longer = max(0.0, words - numbers["words included"]) / 10 * numbers["ten more words"]
    if longer >= 0.25:
        minutes += longer
        because.append(f"there are {words} words to read")
    asked = reading.text[:20_000].count("?")
    if asked > 1:
        minutes += min(asked - 1, 4) * numbers["another question mark"]
        because.append(f"it asks {asked} things")
    if any(
        found.key.startswith(("care.scan", "condition.surgery", "condition.meds")) for found in reading.found
    ):
        minutes += numbers["findings to weigh"]
        because.append("scans, operations or medicines have to be weighed")
    rounded = min(max(round(minutes * 2) / 2, 1.0), numbers["most"])
    return rounded, f"About {rounded:g} min: {'; '.join(because)}."
