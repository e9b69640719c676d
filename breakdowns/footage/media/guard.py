"""The one way outside programs are given a file: bounded, without a shell, without other files.

Every line of defence here answers a file that got through without it: play lists and lists of other
files (format and protocol whitelists), picture bombs (pixels, allocation, address space), stream
bombs, endless ones (processor time), growing output (file size). The figures are in
``media_limits.csv``. A name is always made absolute and given ``file:`` in front, so that neither a
leading "-" nor "http:" in it can mean anything.
"""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import ffmpeg

from .limits import limits
from .locate import Tools

__all__ = [
    "FORMATS",
    "PROTOCOLS",
    "Bounds",
    "bounded",
    "environment",
    "ffmpeg_command",
    "ffprobe_command",
    "file_name",
    "header_bounds",
    "opened",
    "still_bounds",
    "thread_count",
    "work_bounds",
]

# Containers that keep their pictures in themselves. Names as ffmpeg's demuxers have them.
FORMATS = ("mov", "matroska", "avi", "mpegts", "mpeg")
PROTOCOLS = ("file",)


@dataclass(frozen=True, slots=True)
class Bounds:
    """What one run may use: seconds of processor and clock, bytes of memory and of one file written."""

    cpu_seconds: int
    wall_seconds: int
    stall_seconds: int
    memory_bytes: int
    file_bytes: int


def _bounds(cpu: int, wall: int, file_bytes: int) -> Bounds:
    return Bounds(cpu, wall, min(wall, limits().stall_seconds), limits().memory_bytes, file_bytes)


def header_bounds() -> Bounds:
    """For reading a header: seconds, and no file written."""
    return _bounds(limits().header_cpu_seconds, limits().header_wall_seconds, 0)


def still_bounds() -> Bounds:
    """For taking out a few frames: minutes, and no file written."""
    return _bounds(limits().still_cpu_seconds, limits().still_wall_seconds, 0)


def work_bounds(*, writes: bool) -> Bounds:
    """For decoding or converting a whole file: hours; ``writes`` allows one large file."""
    size = limits().output_bytes if writes else 0
    return _bounds(limits().work_cpu_seconds, limits().work_wall_seconds, size)


def file_name(path: Path | str) -> str:
    """``file:`` and the absolute name: what ffmpeg takes as nothing but a file."""
    return f"file:{os.path.abspath(path)}"


def _options() -> dict[str, Any]:
    return {
        "protocol_whitelist": ",".join(PROTOCOLS),
        "format_whitelist": ",".join(FORMATS),
        "max_streams": limits().max_streams,
        "max_pixels": limits().max_pixels,
    }


def thread_count() -> int:
    """Threads for one decoder, encoder or graph: what the machine has, within the limit."""
    return min(limits().threads, os.cpu_count() or 1)


def opened(path: Path | str, **more: Any) -> Any:
    """An ffmpeg-python input node of an untrusted file with every guard; ``more`` are input options."""
    return ffmpeg.input(file_name(path), **_options(), threads=thread_count(), **more)


def ffmpeg_command(tools: Tools, arguments: list[str], *, level: str = "warning") -> list[str]:
    """The whole command from an ffmpeg-python graph's arguments. ``level`` is how much ffmpeg says."""
    top = ["-nostdin", "-hide_banner", "-nostats", "-loglevel", level]
    top += ["-filter_complex_threads", str(thread_count()), "-max_alloc", str(limits().max_alloc_bytes)]
    return [tools.ffmpeg, *top, *arguments]


def ffprobe_command(ffprobe: str, path: Path | str, arguments: list[str]) -> list[str]:
    """ffprobe on an untrusted file with the same guards."""
    options = [part for name, value in _options().items() for part in (f"-{name}", str(value))]
    allocation = ["-max_alloc", str(limits().max_alloc_bytes)]
    return [ffprobe, "-hide_banner", "-v", "error", *allocation, *options, *arguments, "-i", file_name(path)]


@cache
def _prlimit() -> str | None:
    return shutil.which("prlimit")


def bounded(command: list[str], bounds: Bounds) -> tuple[list[str], Any]:
    """``(command, preexec_fn)`` that holds the run to its bounds.

    Where prlimit(1) is installed the command is started through it, which is safe in threads; else
    the limits are set between fork and exec; where the system has neither (no ``resource`` module)
    only the clock bounds it. A lower limit that this process already stands under is kept.
    """
    ceilings = _ceilings(bounds)
    if ceilings and _prlimit():
        return [
            str(_prlimit()),
            *(f"--{name}={value}" for name, value in ceilings.items()),
            "--",
            *command,
        ], None
    return list(command), _setter(ceilings) if ceilings else None


def _ceilings(bounds: Bounds) -> dict[str, int]:
    """Limit by the name that prlimit(1) and, as RLIMIT_…, setrlimit(2) have for it."""
    try:
        import resource
    except ImportError:
        return {}
    asked = {"as": bounds.memory_bytes, "cpu": bounds.cpu_seconds, "fsize": bounds.file_bytes, "core": 0}
    hard = {name: resource.getrlimit(getattr(resource, f"RLIMIT_{name.upper()}"))[1] for name in asked}
    return {
        name: value if hard[name] == resource.RLIM_INFINITY else min(value, hard[name])
        for name, value in asked.items()
    }


def _setter(ceilings: dict[str, int]) -> Any:
    import resource

    kinds = {getattr(resource, f"RLIMIT_{name.upper()}"): value for name, value in ceilings.items()}

    def lower() -> None:
        for kind, value in kinds.items():
            resource.setrlimit(kind, (value, value))

    return lower


def environment() -> dict[str, str]:
    """What a child sees of the environment: where programs and libraries are; plain English; few heaps
    (each thread's own would reserve address space that is never used)."""
    kept = ("PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "SYSTEMROOT", "TMPDIR")
    found = {name: os.environ[name] for name in kept if name in os.environ}
    return {**found, "LC_ALL": "C", "AV_LOG_FORCE_NOCOLOR": "1", "MALLOC_ARENA_MAX": "2"}
