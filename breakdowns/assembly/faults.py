"""How a render can end other than well."""

from __future__ import annotations

import errno
from pathlib import Path

__all__ = ["RenderFailed", "RenderStopped", "disk_fault"]


class RenderFailed(Exception):
    """The piece can't be rendered. ``sentence`` (also ``str``) says what, where and how to mend it."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class RenderStopped(Exception):
    """Somebody asked the render to stop; no process runs on and nothing half-made is left."""


def disk_fault(error: OSError, folder: Path) -> RenderFailed:
    """What to tell of a file that could not be written."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return RenderFailed(
            f"The disk is full at {folder.name or folder}: free some space there and render again."
        )
    return RenderFailed(
        f"The folder {folder.name or folder} can't be written ({error.strerror}): mend its rights or its disk."
    )
