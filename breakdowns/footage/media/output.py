"""Whole files or none: results are written beside their target and put in place at the very end."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from .errors import DiskFull, MediaFailed

__all__ = ["disk_full", "made_whole"]


def disk_full(folder: Path) -> DiskFull:
    """The failure of a full disk, with its one sentence."""
    return DiskFull(f"The disk is full at {folder.name or folder}: free some space there and try again.")


@contextlib.contextmanager
def made_whole(*targets: Path | str) -> Iterator[list[Path]]:
    """Names to write to, one for each of ``targets``, which must share a folder.

    They lie in a hidden folder beside the targets, thus on the same disk. When the block ends well all
    are flushed to the disk and renamed to their targets, replacing what was there; when it is left by
    any exception nothing remains. Raises MediaFailed where the disk is full or can't be written.
    """
    goals = [Path(os.path.abspath(target)) for target in targets]
    folder = goals[0].parent
    workshop: Path | None = None
    try:
        workshop = Path(tempfile.mkdtemp(prefix=".making-", dir=folder))
        parts = [workshop / goal.name for goal in goals]
        yield parts
        for part in parts:
            _flush(part)
        for part, goal in zip(parts, goals, strict=True):
            os.replace(part, goal)
    except OSError as error:
        raise _failure(error, folder) from error
    finally:
        if workshop:
            shutil.rmtree(workshop, ignore_errors=True)


def _flush(part: Path) -> None:
    with open(part, "rb+") as file:
        os.fsync(file.fileno())


def _failure(error: OSError, folder: Path) -> MediaFailed:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return disk_full(folder)
    return MediaFailed(
        f"The folder {folder.name or folder} can't be written ({error.strerror}): mend its rights or its disk."
    )
