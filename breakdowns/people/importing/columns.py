"""Which column is what: guessed from the words at the head, to be looked at by a person."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path

FIELDS = {
    "email": "E-mail",
    "name": "Name",
    "given_name": "First name",
    "family_name": "Last name",
    "starts_on": "First day",
    "ends_on": "Last day",
    "gift_from": "Gift from",
}
_DATA = Path(__file__).parent / "data/column_words.csv"
_NOT_A_LETTER = re.compile(r"[\W_]+")


@cache
def column_words() -> dict[str, str]:
    """Words at the head of a column → which field it is (data/column_words.csv)."""
    with _DATA.open(encoding="utf-8", newline="") as file:
        return {row["word"]: row["field"] for row in csv.DictReader(file)}


def has_head(first: Sequence[str]) -> bool:
    """Whether the first row names the columns: no address in it."""
    return not any("@" in cell for cell in first)


def guess_columns(first: Sequence[str], sample: Sequence[Sequence[str]], head: bool) -> dict[str, int]:
    """Field → number of its column (the first is 0). What can't be guessed is left out.

    Without a word for it the e-mail is the column with the most addresses.
    """
    found: dict[str, int] = {}
    if head:
        for number, cell in enumerate(first):
            field = column_words().get(_NOT_A_LETTER.sub(" ", cell.casefold()).strip())
            if field:
                found.setdefault(field, number)
    if "email" not in found and sample:
        counts = [
            sum("@" in row[n] for row in sample if n < len(row))
            for n in range(max(len(row) for row in sample))
        ]
        if any(counts):
            found["email"] = max(range(len(counts)), key=counts.__getitem__)
    if {"given_name", "family_name"} & set(found):
        found.pop("name", None)
    return found
