"""The part of an address that stands for an entry: its standard name in letters, digits and hyphens."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from anatomy.lookup.index import KINDS
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["entry_named", "slug_of"]

_OTHER = re.compile(r"[^a-z0-9]+")


def slug_of(vocabulary: Vocabulary, kind: str, name: str) -> str:
    """``hip: flexion`` → ``hip-flexion``; two names with one slug are told apart by a number. Raises KeyError."""
    return _slugs(vocabulary)[0][kind, name]


def entry_named(vocabulary: Vocabulary, kind: str, slug: str) -> str | None:
    """The standard name behind a slug, or None."""
    return _slugs(vocabulary)[1].get((kind, slug))


Pairs = dict[tuple[str, str], str]


@lru_cache(maxsize=4)
def _slugs(vocabulary: Vocabulary) -> tuple[Pairs, Pairs]:
    """(slug by entry, entry by slug)."""
    there: Pairs = {}
    back: Pairs = {}
    for kind in KINDS:
        for name in sorted(set(vocabulary.names(kind))):
            plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
            stem = _OTHER.sub("-", plain).strip("-") or "entry"
            slug, number = stem, 1
            while (kind, slug) in back:
                number += 1
                slug = f"{stem}-{number}"
            there[kind, name], back[kind, slug] = slug, name
    return there, back
