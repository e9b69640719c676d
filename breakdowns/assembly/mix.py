"""All sounds of a piece on one track: exactly as many samples as the picture is long."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from breakdowns.footage.timebase import decimal_text, frames_nearest

from .limiter import amplitude
from .sound_parts import HERTZ, Part, Samples
from .tables import exact

__all__ = ["BeatSound", "sample_at", "write_mix"]


@dataclass(frozen=True)
class BeatSound:
    """What is heard during one beat: samples [start, end) of the track, words and original sound.

    The words begin with the beat; what is longer than the beat is cut at its end. Original sound is
    heard while the picture moves, turned down under words.
    """

    number: int
    start: int
    end: int
    words: Part | None = None
    original: Part | None = None


def sample_at(frame: int, rate: Fraction) -> int:
    """The sample at which an output frame begins, to the nearest."""
    return frames_nearest(frame / rate, Fraction(HERTZ)).count


def write_mix(
    sounds: tuple[BeatSound, ...], path: Path, read: Callable[[Part], Samples], stopped: Callable[[], bool]
) -> list[str]:
    """Write the track, raw float32 stereo; answers one sentence for each recording that was cut."""
    warnings: list[str] = []
    with open(path, "wb") as file:
        for sound in sounds:
            if stopped():
                break
            file.write(_mixed(sound, read, warnings).astype("<f4").tobytes())
    return warnings


def _mixed(sound: BeatSound, read: Callable[[Part], Samples], warnings: list[str]) -> Samples:
    track = np.zeros((sound.end - sound.start, 2), np.float32)
    if sound.words:
        words = read(sound.words)
        warnings.extend(_cut_warning(sound, words))
        _add(track, words, "take_fade_in", "take_fade_out", 1.0, always_fade=len(words) > len(track))
    if sound.original:
        under = amplitude(float(exact("sound", "original_under_words_db"))) if sound.words else 1.0
        _add(track, read(sound.original), "original_fade", "original_fade", under, always_fade=True)
    return track


def _add(track: Samples, part: Samples, rise: str, fall: str, level: float, *, always_fade: bool) -> None:
    """Add a part at the track's start, cut at its end. Rising always, falling where it was cut."""
    heard = part[: len(track)] * np.float32(level)
    up = min(len(heard), int(exact("sound", rise) * HERTZ))
    heard[:up] *= np.linspace(0, 1, up, dtype=np.float32)[:, None]
    down = min(len(heard), int(exact("sound", fall) * HERTZ)) if always_fade else 0
    heard[len(heard) - down :] *= np.linspace(1, 0, down, dtype=np.float32)[:, None]
    track[: len(heard)] += heard


def _cut_warning(sound: BeatSound, words: Samples) -> Iterator[str]:
    """Words beyond the beat's end are told of; room tone after the last word is not."""
    loud = np.flatnonzero(np.abs(words[sound.end - sound.start :]).max(axis=1, initial=0.0) > _unheard())
    if len(loud):
        over = decimal_text(Fraction(int(loud[-1]) + 1, HERTZ), 1)
        yield f"Beat {sound.number}: its words are {over} s longer than its picture and are cut at its end."


def _unheard() -> float:
    return amplitude(float(exact("sound", "unheard_db")))
