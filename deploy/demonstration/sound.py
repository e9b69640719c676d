"""The sound of the hall: people murmuring, the ball, steps, the blow, the net and the whistle. All synthesised.

Every sound is made from a fixed seed, so that two runs give the same samples. Times are event seconds.
"""

from __future__ import annotations

import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .axes import Floats
from .ball import bounce_times, net_time, release_point
from .event import key_moments
from .footfalls import footfalls_of
from .motion import smooth_rise

__all__ = ["SAMPLE_RATE", "Sounding", "event_sounds", "hall_sound", "write_wav"]

SAMPLE_RATE = 48000
_WHISTLE = 6.15


@dataclass(frozen=True, slots=True)
class Sounding:
    """One short sound: what it is, when it starts (event seconds), how loud (0-1), where (-1 left to 1 right)."""

    what: str
    seconds: float
    loudness: float
    side: float


def event_sounds() -> list[Sounding]:
    """All short sounds of the event in order of time."""
    moments = {name: float(seconds) for name, seconds in key_moments().items()}
    found = [Sounding("bounce", t, 0.30, 0.25) for t in bounce_times()]
    found += [Sounding("catch", 2.62, 0.10, 0.25), Sounding("throw", moments["release"], 0.08, 0.1)]
    found += [Sounding("blow", moments["contact"], 0.20, 0.1)]
    found += [
        Sounding("net", net_time(float(release_point()[1])), 0.22, -0.6),
        Sounding("whistle", _WHISTLE, 0.16, 0.4),
    ]
    for figure, loudness, side in (("attacker", 0.13, 0.1), ("defender", 0.09, 0.2)):
        for foot in ("l", "r"):
            steps = [fall for fall in footfalls_of(figure, foot) if fall.start > 0]
            found += [Sounding("step", float(step.start), loudness, side) for step in steps]
    return sorted(found, key=lambda sound: (sound.seconds, sound.what))


def _smoothed(noise: Floats, low: float, high: float) -> Floats:
    """Noise between two frequencies (Hz), by its spectrum, at root mean square 1."""
    spectrum = np.fft.rfft(noise)
    hertz = np.fft.rfftfreq(len(noise), 1 / SAMPLE_RATE)
    gain = 1 / (1 + (low / np.maximum(hertz, 1)) ** 4) / (1 + (hertz / high) ** 3)
    shaped = np.fft.irfft(spectrum * gain, len(noise))
    return shaped / np.sqrt(np.mean(shaped**2))


def _crowd(times: Floats, dice: np.random.Generator) -> Floats:
    """(2, N) murmur that rises with the throw and falls silent after the blow."""
    release, contact = (float(key_moments()[n]) for n in ("release", "contact"))
    rise = (
        1
        + 1.3 * smooth_rise((times - release + 1.2) / 1.2)
        - 1.5 * smooth_rise((times - contact - 0.3) / 1.5)
    )
    swell = 1 + 0.15 * np.sin(2 * np.pi * times / 3.7) + 0.1 * np.sin(2 * np.pi * times / 1.9 + 1)
    both = _smoothed(dice.standard_normal(len(times)), 180, 900)
    sides = [_smoothed(dice.standard_normal(len(times)), 250, 1400) for _ in range(2)]
    return 0.018 * rise * swell * np.stack([0.7 * both + 0.7 * side for side in sides])


def _thud(since: Floats, hertz: float, decay: float) -> Floats:
    pitch = hertz * (1 + 0.6 * np.exp(-since / 0.02))
    return np.sin(2 * np.pi * np.cumsum(pitch) / SAMPLE_RATE) * np.exp(-since / decay)


def _whistle(since: Floats) -> Floats:
    """Two close tones that beat, as a pea does."""
    envelope = smooth_rise(since / 0.03) * smooth_rise((0.85 - since) / 0.06)
    trill = 1 + 0.35 * np.sin(2 * np.pi * 34 * since)
    return (
        0.5 * envelope * trill * (np.sin(2 * np.pi * 2480 * since) + 0.6 * np.sin(2 * np.pi * 2620 * since))
    )


def _shape(what: str, since: Floats, dice: np.random.Generator) -> Floats:
    noise = dice.standard_normal(len(since))
    if what == "bounce":
        return _thud(since, 92, 0.075) + 0.20 * noise * np.exp(-since / 0.006)
    if what == "blow":
        return _thud(since, 70, 0.06) + 0.10 * noise * np.exp(-since / 0.012)
    if what == "step":
        return 0.7 * _thud(since, 120, 0.03) + 0.25 * noise * np.exp(-since / 0.010)
    if what == "net":
        return 0.35 * noise * smooth_rise(since / 0.02) * np.exp(-since / 0.12)
    if what == "whistle":
        return _whistle(since)
    return 0.35 * noise * np.exp(-since / 0.014) + 0.5 * _thud(since, 150, 0.03)


def hall_sound(start: float, seconds: float) -> Floats:
    """(2, N) samples, -1 to 1, at 48 kHz, of ``seconds`` from event second ``start``."""
    count = round(seconds * SAMPLE_RATE)
    times = start + np.arange(count) / SAMPLE_RATE
    dice = np.random.default_rng(11)
    sound = _crowd(times, dice)
    for one in event_sounds():
        first = round((one.seconds - start) * SAMPLE_RATE)
        since = np.arange(SAMPLE_RATE) / SAMPLE_RATE
        shape = one.loudness * _shape(one.what, since, dice)
        last = min(first + SAMPLE_RATE, count)
        if 0 <= first < last:
            angle = np.pi / 4 * (1 + one.side)
            sound[:, first:last] += np.outer([np.cos(angle), np.sin(angle)], shape[: last - first])
    return np.tanh(1.1 * sound) / 1.1


def write_wav(path: Path, samples: Floats) -> None:
    """Write (2, N) samples as 16-bit stereo at 48 kHz."""
    whole = np.clip(np.rint(samples.T * 32767), -32768, 32767).astype("<i2")
    with wave.open(str(path), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(SAMPLE_RATE)
        out.writeframes(whole.tobytes())
