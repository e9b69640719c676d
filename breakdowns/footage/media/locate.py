"""Which ffmpeg to use on this machine."""

from __future__ import annotations

import os
import shutil
import subprocess
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from .errors import MediaToolMissing

__all__ = ["VARIABLE", "Tools", "find_ffmpeg"]

VARIABLE = "STANCEWRIGHT_FFMPEG"
_HOW = f"Install ffmpeg 5.1 or newer, or the Python package imageio-ffmpeg, or set {VARIABLE} to its path."


@dataclass(frozen=True, slots=True)
class Tools:
    """Paths of the programs. ``ffprobe`` is None where it is not beside ffmpeg; all works without it."""

    ffmpeg: str
    ffprobe: str | None
    version: str


def find_ffmpeg() -> Tools:
    """The ffmpeg named by STANCEWRIGHT_FFMPEG, else the one on PATH, else imageio-ffmpeg's own.

    ffprobe is taken only from the same folder, so that the two always match. The answer is kept for
    the life of the process, by what the environment says. Raises MediaToolMissing with one sentence.
    """
    return _find(os.environ.get(VARIABLE, ""), os.environ.get("PATH", ""))


@cache
def _find(named: str, search_path: str) -> Tools:
    if named:
        found = shutil.which(named)
        if not found:
            raise MediaToolMissing(f"{VARIABLE} names {named!r}, which is no program that can be run. {_HOW}")
    else:
        found = shutil.which("ffmpeg", path=search_path) or _packaged()
    if not found:
        raise MediaToolMissing(f"No ffmpeg was found on this machine. {_HOW}")
    return Tools(os.path.abspath(found), _beside(found), _version(found))


def _packaged() -> str | None:
    try:
        import imageio_ffmpeg

        return imageio_ffmpeg.get_ffmpeg_exe()
    except (ImportError, RuntimeError):
        return None


def _beside(ffmpeg: str) -> str | None:
    path = Path(ffmpeg)
    return shutil.which(str(path.with_name(path.name.replace("ffmpeg", "ffprobe"))))


def _version(ffmpeg: str) -> str:
    """The word after "ffmpeg version", e.g. ``5.1.9-0+deb12u1``."""
    try:
        done = subprocess.run(
            [ffmpeg, "-version"], capture_output=True, text=True, timeout=30, check=True, errors="replace"
        )
        first, _, rest = done.stdout.partition("ffmpeg version ")
    except (OSError, subprocess.SubprocessError):
        raise MediaToolMissing(f"{ffmpeg!r} does not run as ffmpeg. {_HOW}") from None
    if first.strip() or not rest:
        raise MediaToolMissing(f"{ffmpeg!r} does not answer as ffmpeg does. {_HOW}")
    return rest.split()[0]
