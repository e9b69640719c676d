"""The working master of variable-rate footage: the same pictures at one exact rate."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from ..timebase import frames_nearest
from .child import Progress, Stopped
from .convert import Conversion, convert, picture_input, read_back
from .errors import MediaFailed
from .limits import presets
from .locate import Tools, find_ffmpeg
from .output import made_whole
from .picture import even_size, upright
from .probe import Probe
from .sound import SILENT, even_sound

__all__ = ["make_constant_rate", "master_frame_count"]


def master_frame_count(probe: Probe) -> int:
    """Frames that a master of this footage holds: its duration at its rate, to the nearest frame, ≥ 1."""
    return max(1, frames_nearest(probe.duration, probe.rate).count)


def make_constant_rate(
    path: Path | str,
    probe: Probe,
    out: Path | str,
    *,
    tools: Tools | None = None,
    progress: Progress | None = None,
    stopped: Stopped | None = None,
) -> Probe:
    """Write ``out`` (MP4, H.264 and AAC) at exactly ``probe.rate`` and answer what it is, read back.

    Each source frame goes to the frame of the even clock nearest to its own time, counted from frame 0;
    a gap repeats the frame before it, and of two that fall on one place the later is kept. Upright,
    square pixels, full size; the sound starts with frame 0 and is as long as the picture. Raises
    MediaFailed, MediaStopped, MediaToolMissing; then ``out`` is as it was before.
    """
    tools, rate, count = tools or find_ffmpeg(), probe.rate, master_frame_count(probe)
    picture = _resampled(picture_input(path)[str(probe.video_stream)], probe, count)
    picture = upright(picture, probe, even_size(probe))
    kind = Conversion(
        rate,
        crf=presets().master_crf,
        preset="veryfast",
        keyframe_every=presets().master_keyframe_every,
        audio_kbps=presets().master_audio_kbps,
    )
    with made_whole(out) as (part,):
        sound = even_sound(path, probe, count / rate, part, tools, stopped)
        arguments = kind.arguments(picture, sound, part)
        convert(tools, arguments, part, total=count, progress=progress, stopped=stopped)
        made = read_back(part, tools, stopped)
        _check(made, rate, count)
    return replace(made, warnings=(*made.warnings, SILENT)) if probe.has_audio and sound is None else made


def _resampled(picture, probe: Probe, count: int):
    """Nearest frame of the even clock, then exactly ``count`` frames of it.

    The last frame is repeated before resampling as well, each repeat one even interval on: ``fps``
    leaves out a last frame of unknown length.
    """
    rate = f"{probe.rate.numerator}/{probe.rate.denominator}"
    tail = f"PREV_OUTPTS+ceil(1/({rate})/TB)"
    return (
        picture.filter("tpad", stop_mode="clone", stop=2)
        .filter("setpts", f"if(lt(N,{probe.frame_count}),PTS-STARTPTS,{tail})")
        .filter("fps", fps=rate, start_time=0, round="near")
        .filter("tpad", stop_mode="clone", stop=count)
        .filter("trim", end_frame=count)
    )


def _check(made: Probe, rate: Fraction, count: int) -> None:
    if made.is_variable_rate or (made.rate, made.frame_count) != (rate, count):
        raise MediaFailed(
            f"The even-rate copy came out with {made.frame_count} frames at {made.rate} instead of {count} at "
            f"{rate}; export the footage at a constant frame rate and upload that."
        )
