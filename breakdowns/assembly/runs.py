"""Running ffmpeg for a render: frames counted as they are encoded, stopped at once, failures in words."""

from __future__ import annotations

import errno
import signal
from collections.abc import Callable
from pathlib import Path
from threading import Event

from breakdowns.footage.media.child import run
from breakdowns.footage.media.errors import MediaError, MediaStopped
from breakdowns.footage.media.guard import ffmpeg_command, work_bounds
from breakdowns.footage.media.locate import Tools

from .faults import RenderFailed, RenderStopped

__all__ = ["Runs"]

Line = Callable[[str], bool]


class Runs:
    """The programs of one render. ``stop`` is set to end all of them."""

    def __init__(self, tools: Tools, stop: Event, folder: Path) -> None:
        self.tools, self.stop, self.folder = tools, stop, folder

    def ffmpeg(
        self,
        arguments: list[str],
        *,
        what: str,
        on_frames: Callable[[int], None] | None = None,
        on_line: Line | None = None,
    ) -> str:
        """Run ffmpeg to its end; answers what it said last (standard error).

        ``what`` names the work in the sentence of a failure ("Beat 3"). ``on_frames`` gets the number of
        frames encoded so far. With ``on_line`` ffmpeg also says what it says at level info. Raises
        RenderFailed, RenderStopped.
        """
        told = ["-progress", "pipe:1", "-stats_period", "0.2"] if on_frames else []
        level = "info" if on_line else "warning"
        command = ffmpeg_command(self.tools, [*told, *arguments], level=level)
        return self._run(command, what, _Frames(on_frames).take if on_frames else None, on_line)

    def _run(
        self, command: list[str], what: str, on_output: Callable[[bytes], bool] | None, on_line: Line | None
    ) -> str:
        try:
            ended = run(
                command,
                work_bounds(writes=True),
                on_line=on_line,
                on_output=on_output,
                stopped=self.stop.is_set,
            )
        except MediaStopped:
            raise RenderStopped from None
        except MediaError as fault:
            raise RenderFailed(f"{what}: {fault}") from fault
        if ended.code:
            raise self._failure(ended.code, ended.words, what)
        return ended.words

    def _failure(self, code: int, words: str, what: str) -> RenderFailed:
        """ffmpeg 6 and newer exit with the system's error number."""
        if "No space left on device" in words or code == 256 - errno.ENOSPC:
            name = self.folder.name or str(self.folder)
            return RenderFailed(f"The disk is full at {name}: free some space there and render again.")
        if "Unknown encoder" in words or "Encoder not found" in words:
            return RenderFailed("This ffmpeg can't write H.264 or AAC; install one that has libx264.")
        if code in (-signal.SIGXCPU, -signal.SIGKILL, -signal.SIGXFSZ):
            return RenderFailed(f"{what} used up its time, memory or file size; make it shorter.")
        last = next((line for line in reversed(words.splitlines()) if line.strip()), "no reason given")
        return RenderFailed(f"{what} could not be encoded (ffmpeg says: {last.strip()[:160]}).")


class _Frames:
    """Reads ``-progress`` output, lines of key=value, for ``frame=``."""

    def __init__(self, tell: Callable[[int], None]) -> None:
        self.tell, self.rest, self.done = tell, b"", 0

    def take(self, data: bytes) -> bool:
        *lines, self.rest = (self.rest + data).split(b"\n")
        before = self.done
        for line in lines:
            if line.startswith(b"frame=") and line[6:].strip().isdigit():
                self.done = int(line[6:])
        if self.done != before:
            self.tell(self.done)
        return self.done != before
