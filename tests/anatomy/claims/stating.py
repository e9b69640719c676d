"""Sentences of our own with the verdict that each should get, and what the checker says of them."""

from __future__ import annotations

import csv
from functools import cache

from anatomy.claims.check import Claims
from anatomy.claims.claim import Claim
from anatomy.vocabulary.packaged import packaged_vocabulary

from .measuring import DATA


@cache
def checker() -> Claims:
    """The checker for the packaged vocabulary."""
    return Claims(packaged_vocabulary())


def sentences(kind: str) -> list[tuple[str, str]]:
    """Verdict and text of each row of ``sentences_<kind>.csv``; "silent" means no alarm."""
    with (DATA / f"sentences_{kind}.csv").open(encoding="utf-8", newline="") as file:
        return [(row["verdict"], row["text"]) for row in csv.DictReader(file)]


def claims(kind: str, text: str) -> list[Claim]:
    """The claims of one kind found in a text."""
    return [claim for claim in checker().check(text) if claim.kind == kind]


def verdicts(kind: str, text: str) -> set[str]:
    """The verdicts on the claims of one kind in a text."""
    return {claim.verdict for claim in claims(kind, text)}


def agrees(kind: str, verdict: str, text: str) -> bool:
    """Whether a sentence gets the verdict that it should: silence may praise but not alarm."""
    said = verdicts(kind, text)
    if verdict == "silent":
        return not said - {"right"}
    return verdict in said if verdict == "wrong" else said == {verdict}


def mended(claim: Claim, text: str) -> str:
    """The text after the claim's replacement was accepted."""
    return text[: claim.replace_start] + claim.replacement + text[claim.replace_end :]
