"""Finished parts kept for the next render, under names that say all that went into them.

The folder holds whole files only, named ``<key><suffix>``, and one ``work-…`` folder for each render
that is going on. A part is made in its work folder and renamed into the cache when it is whole. What a
render takes out of the cache is linked into its work folder, so that trimming can't take it away. A
work folder is locked for as long as its process lives, however that ends: what is not locked is
rubbish. File locks: POSIX flock(2).
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from .faults import disk_fault

try:
    import fcntl
except ImportError:  # a system without flock: work folders are then cleared by their own render alone
    fcntl = None  # type: ignore[assignment]

__all__ = ["Workshop", "key_of", "link", "open_workshop", "trim_cache"]

_PREFIX = "work-"
_LOCK = "lock"
_DOOR = ".door"
_UNWRITABLE = (errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM)


def key_of(facts: dict[str, Any]) -> str:
    """The name of a part: SHA-256 over what made it, as JSON with sorted keys. Exact numbers as text."""
    text = json.dumps(facts, sort_keys=True, ensure_ascii=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).hexdigest()


class Workshop:
    """One render's folder and its view of the cache. Safe to use from several threads."""

    def __init__(self, cache: Path, folder: Path) -> None:
        self.cache, self.folder = cache, folder

    def new(self, name: str) -> Path:
        """Where to write a part; ``name`` is unique within this render."""
        return self.folder / name

    def take(self, key: str, suffix: str) -> Path | None:
        """The cached part, linked into the work folder and marked as used just now; None without one."""
        kept, mine = self.cache / f"{key}{suffix}", self.folder / f"{key}{suffix}"
        with contextlib.suppress(FileNotFoundError):
            os.utime(kept)
            if not mine.exists():
                link(kept, mine)
        return mine if mine.exists() else None

    def keep(self, part: Path, key: str, suffix: str) -> Path:
        """Put a whole part into the cache under its key; answers its name in the work folder.

        Two renders that make the same part both succeed: the later one replaces an equal file.
        """
        mine, twin = self.folder / f"{key}{suffix}", self.folder / f"{key}{suffix}.keep"
        with open(part, "rb+") as file:
            os.fsync(file.fileno())
        os.replace(part, mine)
        link(mine, twin)
        os.replace(twin, self.cache / f"{key}{suffix}")
        return mine

    def drop(self, key: str, suffix: str) -> None:
        """Take a part out that turned out not to be good."""
        (self.cache / f"{key}{suffix}").unlink(missing_ok=True)
        (self.folder / f"{key}{suffix}").unlink(missing_ok=True)


def link(kept: Path, mine: Path) -> None:
    """A second name for the same file, or a copy where the disk has no such thing."""
    mine.unlink(missing_ok=True)
    try:
        os.link(kept, mine)
    except FileNotFoundError:
        raise
    except OSError:
        shutil.copy2(kept, mine)


@contextlib.contextmanager
def open_workshop(cache: Path) -> Iterator[Workshop]:
    """A work folder inside ``cache``, gone afterwards. Clears what killed renders have left.

    Raises RenderFailed where the folder is full or can't be written.
    """
    try:
        cache.mkdir(parents=True, exist_ok=True)
        with _work_folder(cache) as folder:
            yield Workshop(cache, folder)
    except OSError as error:
        if error.errno in _UNWRITABLE:
            raise disk_fault(error, cache) from error
        raise


@contextlib.contextmanager
def _work_folder(cache: Path) -> Iterator[Path]:
    with contextlib.ExitStack() as held:
        with _door(cache):
            _clear_abandoned(cache)
            folder = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=cache))
            held.callback(shutil.rmtree, folder, ignore_errors=True)
            _flock(held.enter_context(open(folder / _LOCK, "wb")))
        yield folder


@contextlib.contextmanager
def _door(cache: Path) -> Iterator[None]:
    """One at a time: no folder is looked at between its making and its locking."""
    with open(cache / _DOOR, "ab") as door:
        _flock(door)
        yield


def _flock(file: IO[bytes], *, wait: bool = True) -> None:
    if fcntl:
        fcntl.flock(file, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))


def _clear_abandoned(cache: Path) -> None:
    """Remove the work folders whose render is no longer alive. The door must be held."""
    for folder in cache.glob(f"{_PREFIX}*") if fcntl else ():
        with contextlib.suppress(OSError), open(folder / _LOCK, "ab") as lock:
            _flock(lock, wait=False)
            shutil.rmtree(folder, ignore_errors=True)


def trim_cache(cache: Path, most_bytes: int) -> int:
    """Delete the parts used longest ago until the cache holds ``most_bytes`` at most; answers bytes freed.

    Renders that are going on keep what they have taken.
    """
    if not cache.is_dir():
        return 0
    with _door(cache):
        _clear_abandoned(cache)
    parts = sorted(_parts(cache))
    held, freed = sum(size for _, size, _ in parts), 0
    for _, size, part in parts:
        if held - freed <= most_bytes:
            break
        part.unlink(missing_ok=True)
        freed += size
    return freed


def _parts(cache: Path) -> Iterator[tuple[int, int, Path]]:
    """(when used last in nanoseconds, bytes, path) of every part."""
    for path in cache.iterdir():
        with contextlib.suppress(FileNotFoundError):
            if path.is_file() and path.name != _DOOR:
                found = path.stat()
                yield found.st_mtime_ns, found.st_size, path
