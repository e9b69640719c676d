"""What a text is searched by where the sorting is not installed: stems, and the entries of the vocabulary that it names.

An entry under any of its names gives the same word, so “lats” finds “latissimus dorsi”. No database here.
"""

from __future__ import annotations

from collections import defaultdict
from functools import cache

from anatomy.lookup.words import EMPTY_WORDS, plain_words, stem, words_of
from anatomy.vocabulary.packaged import packaged_vocabulary

__all__ = ["named", "search_words"]

_KINDS = frozenset({"muscle", "group", "joint", "nerve", "structure"})
_MOST_WORDS = 4000


def _stems(text: str) -> tuple[str, ...]:
    return tuple(stem(word) for word in words_of(text) if word not in EMPTY_WORDS)


@cache
def _phrases() -> dict[str, list[tuple[tuple[str, ...], str, str]]]:
    """First stem → (stems, kind, entry) of every name, the longest first."""
    found: dict[str, set[tuple[tuple[str, ...], str, str]]] = defaultdict(set)
    for one in packaged_vocabulary().terms:
        stems = _stems(one.text) if one.kind in _KINDS else ()
        if stems and one.style != "dictation" and len("".join(stems)) > 2:
            found[stems[0]].add((stems, one.kind, one.of))
    return {first: sorted(rows, key=lambda row: (-len(row[0]), row)) for first, rows in found.items()}


def named(text: str) -> list[tuple[str, str]]:
    """(kind, entry) of the vocabulary's entries that the text names, each once, the longest name at each place."""
    stems, place = _stems(text)[:_MOST_WORDS], 0
    found: dict[tuple[str, str], None] = {}
    while place < len(stems):
        rows = [
            row for row in _phrases().get(stems[place], ()) if stems[place : place + len(row[0])] == row[0]
        ]
        longest = max((len(row[0]) for row in rows), default=1)
        for row in rows:
            if len(row[0]) == longest:
                found[row[1], row[2]] = None
        place += longest
    return list(found)


def search_words(text: str) -> str:
    """Stems, what everyday words mean in the trade, and a word for each entry named; each once, in order."""
    stems = _stems(text)[:_MOST_WORDS]
    means = [meant for one in stems for meant in sorted(plain_words().get(one, ()))]
    entries = [f"{kind}.{of.replace(' ', '-')}" for kind, of in named(text)]
    return " ".join(dict.fromkeys([*stems, *means, *entries]))
