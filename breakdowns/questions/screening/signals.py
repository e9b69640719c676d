"""Warning signs that no single rule names: broad groups of words with weights, added up.

The rules read what guidance describes. People say it in other ways without end, so a question in which several broad signs
come together, and little that calms, is flagged too. The weights are those of a logistic regression on the labelled questions
(``python -m tests.questions.fitting`` makes them anew); they are data, and the words that count are quoted.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache

from breakdowns.questions.screening.lexicon import lexicon
from breakdowns.questions.screening.reading import DATA
from breakdowns.questions.screening.status import Read, holds, is_denied

CALM = "calm_"
SIGN = "sig_"
DENIED = "denied"
FRAMED = "framed"
START = "start"


@dataclass(frozen=True)
class Together:
    """The sum of the weights, and where the signs that raised it stand in the text."""

    weight: float
    spans: tuple[tuple[int, int], ...]


def groups_in(reads: list[Read]) -> dict[str, tuple[int, int]]:
    """The groups of words found in ``reads``, each with its first place: signs that hold, signs denied, signs told of others."""
    found: dict[str, tuple[int, int]] = {}
    for read in reads:
        for name, start, end in read.found:
            group = _group(read, name, start, end)
            if group:
                found.setdefault(group, (read.words[start].start, read.words[end - 1].end))
    return found


def _group(read: Read, name: str, start: int, end: int) -> str:
    if name.startswith(CALM):
        return name
    if not name.startswith(SIGN):
        return ""
    if holds(read, name, start, end):
        return name
    return DENIED if is_denied(read, start, end) else FRAMED


def together(reads: list[Read]) -> Together:
    """The weight of all groups in a stretch of sentences."""
    found = groups_in(reads)
    table = weights()
    total = table[START] + sum(table.get(group, 0.0) for group in found)
    spans = tuple(
        place for group, place in found.items() if table.get(group, 0.0) > 0 and group.startswith(SIGN)
    )
    return Together(total if spans else 0.0, spans)


def groups() -> tuple[str, ...]:
    """The names of all groups that can have a weight."""
    return (*(name for name in lexicon().kind if name.startswith((SIGN, CALM))), DENIED, FRAMED)


@cache
def weights() -> dict[str, float]:
    """The weight of each group, of the ``start``, and the ``limit`` and ``high`` at which signs are flagged."""
    with (DATA / "signals.csv").open(encoding="utf-8", newline="") as file:
        return {row["group"]: float(row["weight"]) for row in csv.DictReader(file)}
