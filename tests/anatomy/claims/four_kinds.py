"""What the tests of nerve supply, levels, sides and contractions share."""

from __future__ import annotations

import csv
from functools import cache

from anatomy.claims.check import Claim, Claims
from anatomy.vocabulary.packaged import packaged_vocabulary

from .measuring import DATA


@cache
def checker() -> Claims:
    """One checker for all tests of a process."""
    return Claims(packaged_vocabulary())


def claims(text: str, kind: str) -> list[Claim]:
    """The claims of one kind in a text."""
    return [claim for claim in checker().check(text) if claim.kind == kind]


def verdicts(text: str, kind: str) -> list[str]:
    """The verdicts of one kind in a text, sorted."""
    return sorted(claim.verdict for claim in claims(text, kind))


def sentences(kind: str) -> list[tuple[str, list[str]]]:
    """Sentences of our own with the verdicts expected, in data/sentences_KIND.csv."""
    with (DATA / f"sentences_{kind}.csv").open(encoding="utf-8", newline="") as file:
        return [
            (row["text"], sorted(v.strip() for v in row["verdicts"].split(";") if v.strip()))
            for row in csv.DictReader(file)
        ]


def mended(text: str, claim: Claim) -> str:
    """The text after a claim's replacement was accepted."""
    return text[: claim.replace_start] + claim.replacement + text[claim.replace_end :]
