"""Names of files that people hand in, and files on the server that may be registered."""

from __future__ import annotations

import os
import stat
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

__all__ = ["SUFFIXES", "NotInFolder", "ServerFile", "clean_name", "find_file", "list_files", "safe_suffix"]

# Suffixes of the containers that the media layer opens.
SUFFIXES = frozenset(
    {".mp4", ".m4v", ".mov", ".mkv", ".webm", ".avi", ".ts", ".mts", ".m2ts", ".mpg", ".mpeg"}
)
_LONGEST = 255
_MOST_LISTED = 500


class NotInFolder(ValueError):
    """The name does not lead to a file inside one of the footage folders."""


@dataclass(frozen=True, slots=True)
class ServerFile:
    """``name`` is the folder's number, a colon and the way inside it; ``path`` is resolved."""

    name: str
    shown: str
    path: Path
    byte_size: int


def safe_suffix(name: str) -> str:
    """The suffix in small letters when it is one of ``SUFFIXES``, else nothing."""
    suffix = os.path.splitext(name)[1].lower()
    return suffix if suffix in SUFFIXES else ""


def clean_name(name: str) -> str:
    """A name to show, never to open: the last part, without control or format characters, ≤ 255 long."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    kept = "".join(
        character
        for character in last
        if unicodedata.category(character) not in ("Cc", "Cf", "Cs", "Zl", "Zp")
    )
    return kept.strip()[:_LONGEST] or "unnamed"


def find_file(folders: Sequence[Path], name: str) -> ServerFile:
    """The file that ``name`` ("0:cup/baseline.mp4") means. Raises NotInFolder with one sentence.

    Links are followed first, so that neither ``..`` nor a link leads out of the folder.
    """
    number, colon, inside = name.partition(":")
    unknown = NotInFolder("That file isn't in the footage folders any more; choose one from the list.")
    if not colon or not number.isascii() or not number.isdigit() or len(number) > 4 or "\0" in inside:
        raise unknown
    if int(number) >= len(folders):
        raise unknown
    try:
        folder = folders[int(number)].resolve(strict=True)
        path = (folder / inside).resolve(strict=True)
        found = path.stat()
    except (OSError, RuntimeError, ValueError):
        raise unknown from None
    if not path.is_relative_to(folder) or not stat.S_ISREG(found.st_mode) or not safe_suffix(path.name):
        raise unknown
    return ServerFile(name, clean_name(path.name), path, found.st_size)


def list_files(folders: Sequence[Path]) -> list[ServerFile]:
    """What may be registered, at most 500 files, by folder and name."""
    return list(islice(_walk(folders), _MOST_LISTED))


def _walk(folders: Sequence[Path]) -> Iterator[ServerFile]:
    for number, folder in enumerate(folders):
        for parent, below, files in os.walk(folder):
            below[:] = sorted(name for name in below if not name.startswith("."))
            for file in sorted(files):
                inside = Path(parent, file).relative_to(folder).as_posix()
                try:
                    found = find_file(folders, f"{number}:{inside}")
                except NotInFolder:
                    continue
                yield ServerFile(found.name, inside, found.path, found.byte_size)
