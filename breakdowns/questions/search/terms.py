"""Words as both databases index them, and which of them are asked for. No database here.

SQLite's FTS5 and PostgreSQL's parser cut words at different signs; so every word becomes small ASCII letters and digits
first, and both see the same terms. What is asked for is a list of clauses, any of which may hold, each a tuple of terms
that must all be there.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations

__all__ = ["Clauses", "as_fts5", "as_tsquery", "asked_for", "index_words", "mark", "ranked", "term"]

Clauses = tuple[tuple[str, ...], ...]
MOST_TERMS = 12
SMALL = 2000  # rows; below it every word may be asked for by itself
_LONGEST = 60
_WIDE = 3  # so many times what is wanted may be expected of all clauses together


def term(word: str) -> str:
    """``Größe`` → ``grxf6xdfe``, ``symptom.pain`` → ``symptomx2epain``; never empty for a word with a sign in it."""
    return "".join(
        sign if sign.isascii() and sign.isalnum() else f"x{ord(sign):x}" for sign in word.casefold()
    )[:_LONGEST]


def mark(kind: str, value: str) -> str:
    """A term that no word is, for a filter: ``mark("region", "upper arm")``."""
    return term(f"{kind}:{value.strip()}")


def index_words(words: str, marks: Iterable[str] = ()) -> str:
    """The terms of space-separated words, in their order, and marks; what the index holds."""
    return " ".join([*(term(word) for word in words.split()), *marks])


def asked_for(
    terms: Sequence[str], shares: Mapping[str, float], rows: int, most: int, must: Sequence[str] = ()
) -> Clauses:
    """Clauses that find what shares most with ``terms`` and are each expected to hold for at most ``most`` rows.

    ``shares`` is the part of all ``rows`` that has a term (a term that is not there is rare). Rare terms stand alone,
    common ones in twos or threes, the rarest first, as long as
    all together stay within a few times ``most``; all of them together are always asked for. ``must`` goes into every clause.
    """
    once = sorted(dict.fromkeys(terms), key=lambda one: (shares.get(one, 0.0), -len(one), one))[:MOST_TERMS]
    if not once:
        return (tuple(must),) if must else ()
    if rows <= SMALL:
        return tuple((one, *must) for one in once)
    found: list[tuple[str, ...]] = []
    room = float(_WIDE * most)
    for size in (1, 2, 3):
        for expected, some in sorted(_expected(once, size, shares, rows), key=lambda one: one[0]):
            if expected <= min(most, room) and not any(set(less) <= set(some) for less in found):
                found.append(some)
                room -= expected
    if not any(set(less) <= set(once) for less in found):
        found.append(tuple(once))
    return tuple((*some, *must) for some in found)


def _expected(
    once: Sequence[str], size: int, shares: Mapping[str, float], rows: int
) -> list[tuple[float, tuple[str, ...]]]:
    """Each choice of ``size`` terms with how many rows have them all, were terms independent."""
    return [
        (math.prod(shares.get(one, 0.0) for one in some) * rows, some) for some in combinations(once, size)
    ]


def as_fts5(clauses: Clauses) -> str:
    """The clauses in the query language of FTS5."""
    return " OR ".join("(" + " AND ".join(f'"{one}"' for one in some) + ")" for some in clauses)


def as_tsquery(clauses: Clauses) -> str:
    """The clauses in the query language of PostgreSQL's full text."""
    return " | ".join("(" + " & ".join(f"'{one}'" for one in some) + ")" for some in clauses)


def ranked(terms: Iterable[str], rows: Mapping[int, str]) -> list[tuple[int, float]]:
    """(key, share of what was asked for in [0, 1]) of each row of terms, best first, then the newest.

    A term weighs by how few of the rows have it (inverse document frequency, Spärck Jones 1972).
    """
    wanted = list(dict.fromkeys(terms))
    has = {key: set(words.split()) for key, words in rows.items()}
    counts = Counter(one for found in has.values() for one in found if one in set(wanted))
    weights = {one: math.log(1 + (len(rows) + 1) / (counts[one] + 0.5)) for one in wanted}
    whole = sum(weights.values()) or 1.0
    scored = [
        (key, sum(weights[one] for one in wanted if one in found) / whole) for key, found in has.items()
    ]
    return sorted(scored, key=lambda pair: (-round(pair[1], 6), -pair[0]))
