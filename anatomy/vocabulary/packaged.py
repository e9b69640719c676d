"""The vocabulary that comes with the project."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.reading import data_files, read_vocabulary

__all__ = ["packaged_folder", "packaged_stamp", "packaged_vocabulary", "vocabulary_stamp"]


def packaged_folder() -> Traversable:
    """The folder of data files inside the package."""
    return files("anatomy.vocabulary").joinpath("data")


@cache
def packaged_vocabulary() -> Vocabulary:
    """The packaged vocabulary, read once for each process. Raises VocabularyFaults when its files are faulty."""
    return read_vocabulary(packaged_folder())


@cache
def packaged_stamp() -> str:
    """The stamp of the packaged files, reckoned once for each process."""
    return vocabulary_stamp()


def vocabulary_stamp(folder: Path | Traversable | None = None) -> str:
    """SHA-256 over the names and bytes of a folder's data files (the packaged ones unless told otherwise).

    Raises OSError when the folder can't be read.
    """
    whole = hashlib.sha256()
    for file in data_files(packaged_folder() if folder is None else folder):
        content = file.read_bytes()
        whole.update(f"{file.name}\n{len(content)}\n".encode())
        whole.update(content)
    return whole.hexdigest()
