"""What the tests of the contact map share: the texts written before the reading code, and an answer cut down to sets."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from anatomy.contact.read import ContactReading, read_contact

TEXTS = Path(__file__).parent / "data" / "texts.csv"


@dataclass(frozen=True)
class Case:
    """A text with the places ("key:side") and structures that a clinician would name; ``set`` says when it was written."""

    text: str
    places: frozenset[str]
    structures: tuple[str, ...]
    set: str


@cache
def cases() -> tuple[Case, ...]:
    """Every text of ``data/texts.csv``."""
    with TEXTS.open(encoding="utf-8", newline="") as file:
        return tuple(
            Case(
                row["text"],
                frozenset(one for one in row["places"].split("; ") if one),
                tuple(one for one in row["structures"].split("; ") if one),
                row["set"],
            )
            for row in csv.DictReader(file)
        )


def places_of(reading: ContactReading) -> frozenset[str]:
    """The places of an answer as "key:side"."""
    return frozenset(f"{hit.key}:{hit.side}" for hit in reading.places)


def names(text: str, side: str | None = None) -> set[str]:
    """The names of the structures at risk."""
    return {row.name for row in read_contact(text, side).structures}
