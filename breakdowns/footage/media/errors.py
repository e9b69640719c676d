"""What can go wrong with media, each with one sentence for the person who sees it."""

from __future__ import annotations

__all__ = [
    "DiskFull",
    "MediaError",
    "MediaFailed",
    "MediaRefused",
    "MediaStopped",
    "MediaToolMissing",
    "TookTooLong",
]


class MediaError(Exception):
    """Base of all. ``sentence`` (also ``str``) says what, where and how to mend it."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class MediaToolMissing(MediaError):
    """No ffmpeg that runs was found on this machine."""


class MediaRefused(MediaError):
    """The file can't be used as footage. ``code`` is one short word for programs, e.g. ``"empty"``."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


class MediaFailed(MediaError):
    """The file is good but the work on it did not end well (disk full, encoder missing …)."""


class DiskFull(MediaFailed):
    """No room is left for what is being written."""


class TookTooLong(MediaFailed):
    """The work did not move on, or passed its allowance of time."""


class MediaStopped(MediaError):
    """Somebody asked for the work to stop; nothing was left behind."""

    def __init__(self, sentence: str = "Stopped, as asked; nothing was kept.") -> None:
        super().__init__(sentence)
