"""Short texts that change exactly when what judges the words does, the same in every process. Imports no Django."""

from __future__ import annotations

from functools import cache, lru_cache
from hashlib import blake2b
from importlib.resources import files
from importlib.resources.abc import Traversable

from anatomy.vocabulary.collection import Vocabulary

__all__ = ["judging_stamp", "vocabulary_stamp"]


@lru_cache(maxsize=4)
def vocabulary_stamp(vocabulary: Vocabulary) -> str:
    """Of every record of a vocabulary; reckoned once for each vocabulary that is put together."""
    whole = blake2b(digest_size=10)
    for name, records in vocabulary.tables().items():
        whole.update(f"{name}\n".encode())
        for record in records:
            whole.update(f"{record!r}\n".encode())
    return whole.hexdigest()


def judging_stamp(vocabulary: Vocabulary) -> str:
    """Of a vocabulary together with the engine that reads claims, so that no verdict outlives either."""
    return f"{vocabulary_stamp(vocabulary)}-{_engine_stamp()}"


@cache
def _engine_stamp() -> str:
    whole = blake2b(digest_size=6)
    for part in ("anatomy.claims", "anatomy.muscles"):
        for file in _files(files(part)):
            whole.update(file.name.encode() + b"\n" + file.read_bytes())
    return whole.hexdigest()


def _files(folder: Traversable) -> list[Traversable]:
    found: list[Traversable] = []
    for each in sorted(folder.iterdir(), key=lambda one: one.name):
        if each.is_dir():
            found += _files(each)
        elif each.name.endswith((".py", ".csv")):
            found.append(each)
    return found
