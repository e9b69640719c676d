"""Run one outside program: read both its pipes, hold it to its time, end it and wait for it."""

from __future__ import annotations

import os
import selectors
import subprocess
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from .errors import MediaStopped, TookTooLong
from .guard import Bounds, bounded, environment

__all__ = ["Ended", "Progress", "Stopped", "run"]

Stopped = Callable[[], bool]
Progress = Callable[[int, int], None]

_POLL_SECONDS = 0.1
_CHUNK = 1 << 16
_KEPT_LINES, _KEPT_LENGTH = 200, 400


@dataclass(frozen=True, slots=True)
class Ended:
    """How a run ended: exit ``code`` (negative: the signal), all of standard output that was not
    given to a handler, and the last lines of standard error."""

    code: int
    output: bytes
    words: str


def run(
    command: list[str],
    bounds: Bounds,
    *,
    on_line: Callable[[str], bool] | None = None,
    on_output: Callable[[bytes], bool] | None = None,
    stopped: Stopped | None = None,
) -> Ended:
    """Run ``command`` to its end and answer how it ended; no shell, nothing on standard input.

    ``on_line`` gets each line of standard error, ``on_output`` each piece of standard output; both
    answer True when that shows that the work has moved on. Whatever is raised in them, or by
    ``stopped() → True`` (MediaStopped), or by time running out (TookTooLong), the child is ended and
    waited for before this function is left.
    """
    line, before = bounded(command, bounds)
    process = subprocess.Popen(
        line,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
        cwd="/",
        start_new_session=True,
        preexec_fn=before,
    )
    with process:
        try:
            pump = _Pump(process, bounds, on_line, on_output, stopped)
            pump.drain()
            code = process.wait(timeout=pump.seconds_left())
        except subprocess.TimeoutExpired:
            raise TookTooLong(pump.too_long()) from None
        finally:
            if process.poll() is None:
                process.kill()
    return Ended(code, b"".join(pump.output), "\n".join(pump.kept))


class _Pump:
    """Reads both pipes until they close, watching the clock and ``stopped``."""

    def __init__(self, process, bounds: Bounds, on_line, on_output, stopped: Stopped | None) -> None:
        self.process, self.bounds, self.stopped = process, bounds, stopped
        self.on_line, self.on_output = on_line, on_output
        self.output: list[bytes] = []
        self.kept: deque[str] = deque(maxlen=_KEPT_LINES)
        self.began = self.moved = time.monotonic()
        self.polled = 0.0
        self._rest = b""

    def seconds_left(self) -> float:
        return max(0.0, self.began + self.bounds.wall_seconds - time.monotonic())

    def too_long(self) -> str:
        return (
            f"Reading or converting the file was ended after {time.monotonic() - self.began:.0f} s "
            "without getting on; try again when the machine is less busy, or with a shorter file."
        )

    def drain(self) -> None:
        with selectors.DefaultSelector() as selector:
            selector.register(self.process.stdout, selectors.EVENT_READ, self._take_output)
            selector.register(self.process.stderr, selectors.EVENT_READ, self._take_words)
            while selector.get_map():
                for key, _ in selector.select(_POLL_SECONDS):
                    data = os.read(key.fd, _CHUNK)
                    if not data:
                        selector.unregister(key.fileobj)
                    key.data(data)
                self._watch()

    def _watch(self) -> None:
        now = time.monotonic()
        if self.stopped and now - self.polled >= _POLL_SECONDS:
            self.polled = now
            if self.stopped():
                raise MediaStopped
        if not self.seconds_left() or now - self.moved > self.bounds.stall_seconds:
            raise TookTooLong(self.too_long())

    def _take_output(self, data: bytes) -> None:
        if self.on_output is None:
            self.output.append(data)
        if data and (self.on_output is None or self.on_output(data)):
            self.moved = time.monotonic()

    def _take_words(self, data: bytes) -> None:
        *lines, self._rest = (self._rest + data).split(b"\n")
        if not data and self._rest:
            lines, self._rest = [self._rest], b""
        for raw in lines:
            self._take_line(raw.decode("utf-8", "replace").rstrip("\r"))

    def _take_line(self, line: str) -> None:
        if self.on_line and self.on_line(line):
            self.moved = time.monotonic()
        else:
            self.kept.append(line[:_KEPT_LENGTH])
