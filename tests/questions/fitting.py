"""Weights for the groups of warning signs, fitted to the labelled tables that are not sealed: ``python -m tests.questions.fitting``.

Logistic regression with a penalty on large weights, by plain gradient steps, so that anybody can make the numbers anew.
"""

from __future__ import annotations

import math
import sys

from breakdowns.questions.screening.screen import read_stretches
from breakdowns.questions.screening.signals import START, groups, groups_in
from tests.questions.measuring import rows, tables

STEPS = 500
RATE = 0.8
PENALTY = 3.0


def examples() -> list[tuple[frozenset[str], bool]]:
    """For each question of a table that is not sealed: its groups, and whether it must not wait."""
    found = []
    for table in tables():
        if "sealed" not in table.stem:
            for row in rows(table):
                groups_found: set[str] = set()
                for reads in read_stretches(row["text"]):
                    groups_found |= set(groups_in(reads))
                found.append((frozenset(groups_found), row["red_flag"] == "yes"))
    return found


def fitted(known: list[tuple[frozenset[str], bool]]) -> dict[str, float]:
    """The weight of each group and of the start."""
    weights = dict.fromkeys((START, *groups()), 0.0)
    for _ in range(STEPS):
        slopes = dict.fromkeys(weights, 0.0)
        for found, wanted in known:
            total = weights[START] + sum(weights[group] for group in found)
            error = 1 / (1 + math.exp(-total)) - wanted
            slopes[START] += error
            for group in found:
                slopes[group] += error
        for group, slope in slopes.items():
            pull = PENALTY * weights[group] if group != START else 0.0
            weights[group] -= RATE * (slope + pull) / len(known)
    return weights


if __name__ == "__main__":
    for group, weight in sorted(fitted(examples()).items()):
        sys.stdout.write(f"{group},{weight:.2f},fitted to the labelled questions\n")
