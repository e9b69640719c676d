"""The table of who gets which answer where, and what it is held against: the site's own list of addresses.

``access_table.csv`` has a row for each name of the URL conf and a column for each kind of person. A cell is
one answer, or two with a stroke between (for reading and for writing, ``open/sign-in``):

    open      the page is there for this person (or says that the thing or the method is not there)
    own only  open, and only with what belongs to this person; what is another's is hidden or refused
    sign-in   sent to the door, which leads back afterwards
    refused   403
    hidden    404, as if it were not there
"""

from __future__ import annotations

import csv
import uuid
from collections.abc import Iterator
from pathlib import Path

from django.urls import URLPattern, URLResolver, get_resolver

PEOPLE = ["anonymous", "lapsed", "member", "other", "editor", "owner"]
ANSWERS = {"open", "own only", "sign-in", "refused", "hidden"}
FILE = Path(__file__).with_suffix(".csv")
SAMPLES = {"int": 1, "uuid": uuid.UUID(int=7), "slug": "copy", "str": "video"}
EXAMPLE = "sign-in,refused,refused,refused,open,open,"


def walk(patterns: list, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for one in patterns:
        if isinstance(one, URLResolver):
            yield from walk(one.url_patterns, f"{one.namespace}:" if one.namespace else space)
        else:
            yield f"{space}{one.name}", one


ROUTES = list(walk(get_resolver().url_patterns))


def sample_arguments(pattern: URLPattern) -> dict[str, object]:
    """Arguments of the right kinds for an address; nothing of that key need exist."""
    kinds = {
        part: type(converter).__name__.removesuffix("Converter").lower().replace("string", "str")
        for part, converter in pattern.pattern.converters.items()
    }
    return {part: SAMPLES[kind] for part, kind in kinds.items()}


def read_table(text: str) -> dict[str, dict[str, tuple[str, str]]]:
    """Name → person → (answer to a safe method, answer to an unsafe one). Raises ValueError with a sentence."""
    table: dict[str, dict[str, tuple[str, str]]] = {}
    for number, row in enumerate(csv.DictReader(text.splitlines()), 2):
        name = row["name"]
        if name in table:
            raise ValueError(f"tests/access_table.csv, line {number}: {name} has a row already; keep one.")
        table[name] = {}
        for who in PEOPLE:
            answers = (row[who] or "").split("/")
            if not set(answers) <= ANSWERS or len(answers) > 2:
                raise ValueError(
                    f"tests/access_table.csv, line {number}: {row[who]!r} under {who} is no answer; write one of "
                    f"{', '.join(sorted(ANSWERS))}, or two of them as safe/unsafe."
                )
            table[name][who] = (answers[0], answers[-1])
    return table


def gaps(names: set[str], table: dict[str, dict[str, tuple[str, str]]]) -> list[str]:
    """A sentence for each address without a row and each row without an address."""
    missing = [
        f"{name} has no row in tests/access_table.csv: say for each person what answer it gets, for instance "
        f"{name},{EXAMPLE}"
        for name in sorted(names - set(table))
    ]
    return missing + [
        f"{name} stands in tests/access_table.csv and no address has that name: take the row out."
        for name in sorted(set(table) - names)
    ]


def load_table() -> dict[str, dict[str, tuple[str, str]]]:
    return read_table(FILE.read_text(encoding="utf-8"))
