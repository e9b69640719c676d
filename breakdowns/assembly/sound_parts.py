"""Single sounds as raw samples: recordings of words, original sound of excerpts, the scratch voice.

A part is a file of little-endian float32 frames, stereo, at 48 kHz, cached by what it was made from.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import ffmpeg
import numpy as np

from breakdowns.footage.media.guard import PROTOCOLS, file_name, opened
from breakdowns.footage.timebase import decimal_text

from .cache import Workshop, key_of
from .faults import RenderFailed
from .piece import ExcerptPicture, PieceBeat, PieceSource
from .runs import Runs
from .scratch_voice import speak
from .source_facts import SourceFacts
from .tables import exact

__all__ = ["HERTZ", "Part", "Samples", "original_part", "read_part", "scratch_part", "take_part"]

_VERSION = 1
HERTZ = int(exact("sound", "hertz"))
SUFFIX = ".f32"
Samples = np.ndarray  # float32, (frames, 2)

# Containers of recordings. Names as ffmpeg's demuxers have them; all keep their sound in themselves.
_RECORDINGS = ("wav", "w64", "aiff", "flac", "ogg", "mp3", "aac", "mov", "matroska", "caf")


@dataclass(frozen=True)
class Part:
    """A sound to be: ``key`` names it in the cache, ``node`` is the ffmpeg graph that makes it.

    ``spoken``: (words, language) where the scratch voice has to speak first.
    """

    key: str
    what: str
    node: Any = None
    spoken: tuple[str, str] | None = None


def take_part(number: int, beat: PieceBeat) -> Part:
    """The recording of a beat's words. Raises RenderFailed where the file is missing."""
    path = Path(beat.take or "")
    try:
        with open(path, "rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        raise RenderFailed(
            f"Beat {number}: the recording of its words is missing; record it again."
        ) from None
    return Part(
        key_of({"version": _VERSION, "take": digest}), f"The recording of beat {number}", _recording(path)
    )


def scratch_part(number: int, beat: PieceBeat, language: str) -> Part:
    """The scratch voice speaking a beat's words."""
    facts = {
        "version": _VERSION,
        "words": beat.words,
        "language": language,
        "wpm": exact("sound", "scratch_wpm"),
    }
    return Part(key_of(facts), f"The scratch voice of beat {number}", spoken=(beat.words, language))


def original_part(number: int, picture: ExcerptPicture, facts: SourceFacts | None, frames: int) -> Part:
    """The sound of an excerpt while it moves, ``frames`` samples long, at its speed and its own pitch.

    ``facts`` may be None to learn the key only.
    """
    source = picture.source
    said = {
        "version": _VERSION,
        "source": (source.digest, source.rate, source.start),
        "cut": (picture.in_frame, picture.out_frame),
        "speed": picture.speed,
        "frames": frames,
    }
    node = _original(source, picture, facts, frames) if facts else None
    return Part(key_of(said), f"The sound of beat {number}", node)


def _recording(path: Path) -> Any:
    guards = {
        "protocol_whitelist": ",".join(PROTOCOLS),
        "format_whitelist": ",".join(_RECORDINGS),
        "max_streams": 8,
    }
    limit = decimal_text(exact("sound", "longest_take"), 0)
    return _house(ffmpeg.input(file_name(path), **guards, t=limit)["a:0"])


def _original(source: PieceSource, picture: ExcerptPicture, facts: SourceFacts, frames: int) -> Any:
    begin = (facts.start or Fraction(0)) + picture.in_frame / source.rate
    seconds = (picture.out_frame - picture.in_frame) / source.rate
    how: dict[str, Any] = {"copyts": None, "noaccurate_seek": None, "seek_timestamp": 1}
    entry = max(facts.start or Fraction(0), begin - 1)
    node = opened(source.path, **how, ss=decimal_text(entry, 6))["a:0"]
    node = node.filter("asetpts", f"PTS-({decimal_text(begin, 9)})/TB").filter("atrim", start=0)
    node = node.filter("aresample", HERTZ, **{"async": 1, "first_pts": 0})
    node = node.filter("atrim", end=decimal_text(seconds, 6))
    if picture.speed != 1:
        node = node.filter("atempo", decimal_text(picture.speed, 9))
    return _house(node).filter("apad").filter("atrim", end_sample=frames)


def _house(node: Any) -> Any:
    return node.filter("aresample", HERTZ).filter("aformat", sample_fmts="flt", channel_layouts="stereo")


def read_part(part: Part, shop: Workshop, runs: Runs) -> Samples:
    """The samples of a part, out of the cache or made now. Raises RenderFailed, RenderStopped."""
    path = shop.take(part.key, SUFFIX) or _made(part, shop, runs)
    return np.fromfile(path, "<f4").reshape(-1, 2)


def _made(part: Part, shop: Workshop, runs: Runs) -> Path:
    node, half = part.node, shop.new(f"{part.key}.sound")
    if part.spoken:
        spoken = shop.new(f"{part.key}.wav")
        speak(*part.spoken, spoken, runs)
        node = _recording(spoken)
    arguments = ffmpeg.get_args(
        node.output(file_name(half), format="f32le", acodec="pcm_f32le"), overwrite_output=True
    )
    runs.ffmpeg(arguments, what=part.what)
    return shop.keep(half, part.key, SUFFIX)
