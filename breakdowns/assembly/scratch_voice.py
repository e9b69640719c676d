"""A synthetic voice that stands in for recordings not made yet, where espeak-ng is installed.

It is only ever a help for timing: pictures and files that carry it say so.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

from breakdowns.footage.media.child import run
from breakdowns.footage.media.errors import MediaError, MediaStopped
from breakdowns.footage.media.guard import still_bounds

from .faults import RenderFailed, RenderStopped
from .runs import Runs
from .tables import exact

__all__ = ["is_installed", "speak"]

_PROGRAM = "espeak-ng"
_MOST_BYTES = 1 << 30


def is_installed() -> bool:
    """Whether this machine has the scratch voice."""
    return shutil.which(_PROGRAM) is not None


def speak(words: str, language: str, wav: Path, runs: Runs) -> None:
    """Write the words, spoken, to ``wav``. ``language`` is a BCP 47 tag; its first part chooses the voice,
    English where there is none of it. Raises RenderFailed, RenderStopped.
    """
    program, text = shutil.which(_PROGRAM), wav.with_suffix(".txt")
    if program is None:
        raise RenderFailed(f"The scratch voice needs {_PROGRAM}, which is not installed; render without it.")
    text.write_text(words.replace("[[", "[ ["), encoding="utf-8")  # "[[" would begin phoneme codes
    speed = str(int(exact("sound", "scratch_wpm")))
    for voice in (language.split("-")[0].lower(), "en"):
        if _spoken([program, "-v", voice, "-s", speed, "-b", "1", "-f", str(text), "-w", str(wav)], runs):
            return
    raise RenderFailed(f"The scratch voice ({_PROGRAM}) could not speak the words; render without it.")


def _spoken(command: list[str], runs: Runs) -> bool:
    try:
        ended = run(command, replace(still_bounds(), file_bytes=_MOST_BYTES), stopped=runs.stop.is_set)
    except MediaStopped:
        raise RenderStopped from None
    except MediaError as fault:
        raise RenderFailed(f"The scratch voice: {fault}") from fault
    wav = Path(command[-1])
    return ended.code == 0 and wav.exists() and wav.stat().st_size > 44
