"""The sound track of a piece: mixed, brought to its loudness, encoded, and measured as it was encoded."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import ffmpeg
import numpy as np

from breakdowns.footage.media.guard import file_name

from .cache import Workshop, key_of
from .encoder import EncoderSettings
from .limiter import amplitude, limited
from .loudness import Loudness, measure
from .mix import BeatSound, sample_at, write_mix
from .original_sound import can_sound
from .piece import ExcerptPicture, Piece, PieceSource
from .runs import Runs
from .scratch_voice import is_installed
from .sound_parts import HERTZ, original_part, read_part, scratch_part, take_part
from .source_facts import SourceFacts
from .tables import exact, rows

__all__ = ["SoundTrack", "make_track", "scratch_beats"]

_VERSION = 1
_BLOCK = 1 << 20


@dataclass(frozen=True)
class SoundTrack:
    """A finished AAC track. ``loudness`` is that of the encoded file; ``gain_db`` what was applied."""

    path: Path
    loudness: Loudness
    gain_db: float
    warnings: tuple[str, ...]
    was_cached: bool


def scratch_beats(piece: Piece) -> frozenset[int]:
    """The places (from 0) of the beats that the scratch voice speaks: asked for, words, no recording."""
    if not piece.scratch_voice or not is_installed():
        return frozenset()
    return frozenset(n for n, beat in enumerate(piece.beats) if beat.words.strip() and beat.take is None)


def make_track(
    piece: Piece,
    settings: EncoderSettings,
    shop: Workshop,
    runs: Runs,
    facts_for: Callable[[PieceSource], SourceFacts],
) -> SoundTrack:
    """The track of ``piece``, out of the cache or made now. Raises RenderFailed, RenderStopped."""
    return _Track(piece, settings, shop, runs, facts_for).made()


@dataclass(frozen=True)
class _Level:
    """What is done to the mix: a gain, and a true-peak ceiling for the limiter, both in dB."""

    gain_db: float
    ceiling_db: float


class _Track:
    def __init__(
        self,
        piece: Piece,
        settings: EncoderSettings,
        shop: Workshop,
        runs: Runs,
        facts_for: Callable[[PieceSource], SourceFacts],
    ) -> None:
        self.piece, self.settings, self.shop, self.runs, self.facts_for = (
            piece,
            settings,
            shop,
            runs,
            facts_for,
        )
        self.target = float(piece.loudness_lufs)
        self.ceiling = float(exact("loudness", "ceiling"))

    def made(self) -> SoundTrack:
        sounds = tuple(self._sounds(learn=False))
        key = self._key(sounds)
        path, account = self.shop.take(key, ".m4a"), self.shop.take(key, ".json")
        if path and account:
            return _read_account(path, account, was_cached=True)
        return self._make(key)

    def _key(self, sounds: tuple[BeatSound, ...]) -> str:
        heard = [
            (s.number, s.start, s.end, s.words and s.words.key, s.original and s.original.key) for s in sounds
        ]
        facts = {
            "version": _VERSION,
            "program": self.runs.tools.version,
            "kbps": self.settings.audio_kbps,
            "target": self.target,
            "tables": (rows("sound"), rows("loudness")),
            "heard": heard,
        }
        return key_of(facts)

    def _sounds(self, *, learn: bool) -> Iterator[BeatSound]:
        """The sounds, beat by beat; ``learn`` asks the sources' files what is needed to make them."""
        rate, scratch = self.piece.rate, scratch_beats(self.piece)
        for number, placed in enumerate(self.piece.timeline.placed, start=1):
            beat, record = placed.beat, placed.record
            start, end = sample_at(record.start, rate), sample_at(record.end, rate)
            words = original = None
            if beat.take is not None:
                words = take_part(number, beat)
            elif number - 1 in scratch:
                words = scratch_part(number, beat, self.piece.language)
            if isinstance(beat.picture, ExcerptPicture) and can_sound(beat.picture):
                moving = sample_at(record.start + placed.moving_frames, rate) - start
                facts = self.facts_for(beat.picture.source) if learn else None
                original = original_part(number, beat.picture, facts, moving)
            yield BeatSound(number, start, end, words, original)

    def _make(self, key: str) -> SoundTrack:
        mix = self.shop.new(f"{key}.mix")
        sounds = tuple(self._sounds(learn=True))
        read = lambda part: read_part(part, self.shop, self.runs)  # noqa: E731
        warnings = write_mix(sounds, mix, read, self.runs.stop.is_set)
        before = measure(_raw(mix), "The sound", self.runs)
        level = self._first_level(before, warnings)
        encoded, after = self._encoded(mix, key, level)
        if better := self._corrected(level, after):
            level = better
            encoded, after = self._encoded(mix, key, level)
        warnings.extend(self._shortcomings(after))
        account = self.shop.new(f"{key}.account")
        account.write_text(
            json.dumps({"loudness": asdict(after), "gain_db": level.gain_db, "warnings": warnings})
        )
        path = self.shop.keep(encoded, key, ".m4a")
        return _read_account(path, self.shop.keep(account, key, ".json"), was_cached=False)

    def _first_level(self, before: Loudness, warnings: list[str]) -> _Level:
        margin = float(exact("loudness", "codec_margin"))
        if before.integrated is None:
            return _Level(0.0, self.ceiling - margin)
        gain, most = self.target - before.integrated, float(exact("loudness", "most_gain"))
        if gain > most:
            warnings.append(
                f"The sound is very faint ({before.integrated:.1f} LUFS) and was raised by {most:.0f} dB only; "
                "record the words nearer to the microphone."
            )
        return _Level(min(gain, most), self.ceiling - margin)

    def _corrected(self, level: _Level, after: Loudness) -> _Level | None:
        """What to do otherwise, once, where the encoded file misses the target or passes the ceiling."""
        if after.integrated is None:
            return None
        miss = (
            self.target - after.integrated if level.gain_db < float(exact("loudness", "most_gain")) else 0.0
        )
        over = (after.true_peak or -99.0) - self.ceiling
        if abs(miss) <= float(exact("loudness", "tolerance")) and over <= 0:
            return None
        return _Level(level.gain_db + miss, level.ceiling_db - max(0.0, over + 0.1 if over > 0 else 0.0))

    def _shortcomings(self, after: Loudness) -> Iterator[str]:
        if after.true_peak is not None and after.true_peak > self.ceiling:
            yield f"The sound reaches {after.true_peak:.1f} dBTP, above the ceiling of {self.ceiling:.0f} dBTP."
        if after.integrated is not None and abs(after.integrated - self.target) > 0.5:
            yield f"The sound came out at {after.integrated:.1f} LUFS instead of {self.target:.1f} LUFS."

    def _encoded(self, mix: Path, key: str, level: _Level) -> tuple[Path, Loudness]:
        levelled, encoded = self.shop.new(f"{key}.levelled"), self.shop.new(f"{key}.part.m4a")
        _apply(mix, levelled, level)
        options: dict[str, Any] = {"acodec": "aac", "b:a": f"{self.settings.audio_kbps}k", "format": "mp4"}
        options["movie_timescale"] = HERTZ  # or the length in the edit list is rounded to milliseconds
        output = _raw(levelled).output(file_name(encoded), **options)
        self.runs.ffmpeg(ffmpeg.get_args(output, overwrite_output=True), what="The sound")
        heard = ffmpeg.input(file_name(encoded), format="mov", protocol_whitelist="file")["a:0"]
        return encoded, measure(heard, "The sound", self.runs)


def _raw(path: Path) -> Any:
    return ffmpeg.input(file_name(path), format="f32le", ar=HERTZ, ac=2, protocol_whitelist="file")["a:0"]


def _apply(mix: Path, out: Path, level: _Level) -> None:
    """Gain and limiter, block by block with enough of the neighbours that no seam can be heard."""
    samples = np.memmap(mix, "<f4", "r").reshape(-1, 2) if mix.stat().st_size else np.zeros((0, 2), "<f4")
    gain, ceiling = np.float32(amplitude(level.gain_db)), amplitude(level.ceiling_db)
    reach = int(exact("loudness", "lookahead") * HERTZ)
    edge = 4 * reach
    with open(out, "wb") as file:
        for start in range(0, len(samples), _BLOCK):
            first, last = max(0, start - edge), min(len(samples), start + _BLOCK + edge)
            block = samples[first:last] * gain
            if (
                np.abs(block).max(initial=0.0) > ceiling / 2
            ):  # true peaks never pass twice the sample peaks here
                block = limited(block, ceiling, reach)
            file.write(block[start - first : start - first + _BLOCK].astype("<f4").tobytes())


def _read_account(path: Path, account: Path, *, was_cached: bool) -> SoundTrack:
    told = json.loads(account.read_text())
    loudness = Loudness(**told["loudness"])
    return SoundTrack(path, loudness, told["gain_db"], tuple(told["warnings"]), was_cached)
