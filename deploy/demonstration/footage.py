"""Drawing the demonstration's footage: one clip and one record for each view, complete or not at all.

Frames are painted by worker processes, handed in order to an encoder through a pipe, and each file gets its
name only when it is whole. A view whose clip and record are there already, and match, is left alone.
"""

from __future__ import annotations

import hashlib
import json
import subprocess
import tempfile
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from multiprocessing import get_context
from pathlib import Path

from breakdowns.footage.timebase import rational_text

from .painter import ViewPainter
from .scene import attacker_at
from .sound import hall_sound, write_wav
from .truth import view_record
from .views import View, demonstration_views

__all__ = ["Clip", "EncodingFailed", "FootageSet", "draw_footage"]

Progress = Callable[[int, int], None]
_AHEAD = 6  # frames painted ahead of the encoder: about 17 MB at full size


class EncodingFailed(RuntimeError):
    """The encoder stopped; the message carries its own words."""


@dataclass(frozen=True)
class Clip:
    """One drawn clip and its record (JSON) beside it. ``start`` is the event time of frame 0, exact seconds."""

    view: str
    path: Path
    record_path: Path
    rate: Fraction
    frame_count: int
    size: tuple[int, int]
    start: Fraction
    has_sound: bool

    def record(self) -> dict:
        """The record: moments, chain, landmarks by frame, joints and angles; see ``truth.view_record``."""
        return json.loads(self.record_path.read_text(encoding="utf-8"))


@dataclass(frozen=True)
class FootageSet:
    """The clips by view. ``offset(a, b)``: view b starts that many exact seconds after view a."""

    clips: dict[str, Clip]
    drawn: tuple[str, ...]

    def offset(self, one: str, other: str) -> Fraction:
        return self.clips[other].start - self.clips[one].start


# What decides how a view looks. The story told about the footage may change without drawing it again.
_CODE = [
    "axes",
    "ball",
    "body",
    "camera",
    "court",
    "digits",
    "draw",
    "event",
    "figure",
    "footage",
    "footfalls",
    "motion",
    "painter",
    "scene",
    "shadows",
    "sound",
    "truth",
    "views",
]
_DATA = [
    "ball",
    "body",
    "court",
    "event",
    "footfalls",
    "palette",
    "proportions",
    "steps",
    "tracks_attacker",
    "tracks_blocker",
    "tracks_defender",
    "tracks_keeper",
    "views",
]


@cache
def _drawing_mark(view: View) -> str:
    """A mark of all that decides how a view looks: the code and data of the drawing, and the view itself."""
    digest = hashlib.sha256(repr(view).encode())
    package = files("deploy.demonstration")
    for name in [*(f"{code}.py" for code in _CODE), *(f"data/{table}.csv" for table in _DATA)]:
        digest.update(package.joinpath(*name.split("/")).read_bytes())
    return digest.hexdigest()


def _is_complete(clip: Clip, mark: str) -> bool:
    try:
        drawing = clip.record()["drawing"]
        return drawing["mark"] == mark and drawing["bytes"] == clip.path.stat().st_size
    except (OSError, ValueError, KeyError, TypeError):
        return False


_painters: dict[View, ViewPainter] = {}


def _painted(view: View, frame: int) -> bytes:
    """One frame as raw RGB; each process keeps its painter for the next frame."""
    if view not in _painters:
        _painters.clear()
        _painters[view] = ViewPainter(view)
    return _painters[view].frame(frame).tobytes()


def _frames_of(view: View, pool: ProcessPoolExecutor | None) -> Iterator[bytes]:
    """The view's frames in order, painted here or a few ahead by the pool."""
    if pool is None:
        yield from (_painted(view, n) for n in range(view.frame_count))
        return
    waiting: deque[Future[bytes]] = deque()
    for n in range(view.frame_count):
        waiting.append(pool.submit(_painted, view, n))
        if len(waiting) >= _AHEAD:
            yield waiting.popleft().result()
    while waiting:
        yield waiting.popleft().result()


def _encoder_command(view: View, ffmpeg: str, sound: Path | None, out: Path) -> list[str]:
    width, height = view.camera.size
    picture = ["-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{width}x{height}"]
    picture += ["-r", rational_text(view.rate), "-i", "pipe:0"]
    colour = ["-vf", "scale=out_color_matrix=bt709:out_range=tv", "-colorspace", "bt709"]
    colour += ["-color_primaries", "bt709", "-color_trc", "bt709", "-color_range", "tv"]
    video = ["-c:v", "libx264", "-preset", "veryfast", "-crf", "18", "-pix_fmt", "yuv420p", "-threads", "2"]
    heard = ["-c:a", "aac", "-b:a", "128k", "-ac", "2", "-ar", "48000"] if sound else ["-an"]
    listen = ["-i", str(sound)] if sound else []
    plain = ["-map_metadata", "-1", "-fflags", "+bitexact", "-flags:v", "+bitexact", "-flags:a", "+bitexact"]
    title = ["-metadata", "comment=Invented demonstration footage, drawn by the project"]
    start = [ffmpeg, "-v", "error", "-nostdin", "-y", *picture, *listen]
    return [*start, *colour, *video, *heard, *plain, *title, "-movflags", "+faststart", "-f", "mp4", str(out)]


def _encode(command: list[str], frames: Iterator[bytes], tick: Callable[[], None]) -> None:
    try:
        encoder = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE)
    except OSError as fault:
        raise EncodingFailed(f"The encoder {command[0]!r} could not be started: {fault}.") from fault
    with encoder:
        assert encoder.stdin is not None
        try:
            for frame in frames:
                encoder.stdin.write(frame)
                tick()
            _, words = encoder.communicate()
        except BrokenPipeError:
            _, words = encoder.communicate()
        except BaseException:
            encoder.kill()
            raise
    if encoder.returncode:
        said = words.decode(errors="replace").strip() or f"exit code {encoder.returncode}"
        raise EncodingFailed(f"The demonstration clip could not be encoded: {said}")


def _draw_clip(
    clip: Clip, view: View, ffmpeg: str, pool: ProcessPoolExecutor | None, tick: Callable[[], None]
) -> None:
    """Write clip and record under temporary names, then give both their own: the record last."""
    mark = _drawing_mark(view)
    part = clip.path.with_name(f".{clip.path.name}.part")
    record_part = clip.record_path.with_name(f".{clip.record_path.name}.part")
    try:
        with tempfile.TemporaryDirectory() as folder:
            sound = Path(folder) / "hall.wav" if clip.has_sound else None
            if sound:
                write_wav(sound, hall_sound(float(view.start), float(view.frame_count / view.rate)))
            _encode(_encoder_command(view, ffmpeg, sound, part), _frames_of(view, pool), tick)
        record = view_record(view, attacker_at(view.event_times()), clip.path.name)
        record["drawing"] = {"mark": mark, "bytes": part.stat().st_size}
        record_part.write_text(json.dumps(record, separators=(",", ":"), allow_nan=False), encoding="utf-8")
        clip.record_path.unlink(missing_ok=True)
        part.replace(clip.path)
        record_part.replace(clip.record_path)
    finally:
        part.unlink(missing_ok=True)
        record_part.unlink(missing_ok=True)


def _clip_of(view: View, out_dir: Path) -> Clip:
    path = out_dir / f"{view.name}.mp4"
    with_sound = view.name == "baseline"
    return Clip(
        view.name,
        path,
        path.with_suffix(".json"),
        view.rate,
        view.frame_count,
        view.camera.size,
        view.start,
        with_sound,
    )


def draw_footage(
    out_dir: Path,
    ffmpeg: str,
    progress: Progress,
    *,
    views: dict[str, View] | None = None,
    workers: int = 2,
) -> FootageSet:
    """Draw what is missing of the demonstration's footage into ``out_dir`` and answer the whole set.

    ``progress(done, total)`` counts frames over the clips that have to be drawn; it is not called when there is
    nothing to do. ``workers`` processes paint (0: this one). Raises EncodingFailed when the encoder does not do
    its work; then, as after an interruption, no file is left under its final name that is not whole.
    """
    out_dir.mkdir(parents=True, exist_ok=True)
    views = views or demonstration_views()
    clips = {name: _clip_of(view, out_dir) for name, view in views.items()}
    missing = [name for name in views if not _is_complete(clips[name], _drawing_mark(views[name]))]
    total = sum(views[name].frame_count for name in missing)
    done = 0

    def tick() -> None:
        nonlocal done
        done += 1
        progress(done, total)

    if missing:
        pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn")) if workers else None
        try:
            for name in missing:
                _draw_clip(clips[name], views[name], ffmpeg, pool, tick)
        finally:
            if pool:
                pool.shutdown(wait=True, cancel_futures=True)
    return FootageSet(clips, tuple(missing))
