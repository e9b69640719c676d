"""A small copy for stepping through footage in a browser, frame for frame the same as its source.

Measured by ``tests/benchmarks/bench_browser_copy.py`` (x264 veryfast, Chromium without graphics hardware)
on two real clips: people walking before a fixed camera, 768 × 576 at 10 a second, and a street filmed with
a moving camera, 640 × 272 at 25 a second. Milliseconds are medians to a random frame and one frame back:

    crf  keyframe every   walkers: Mbit/s  SSIM   ms       street: Mbit/s  SSIM   ms
    23          1                  2.83   0.960  40 50             1.31   0.974  17 17
    23          6                  1.54   0.986  20 18             0.73   0.987  17 17
    23         12                  1.11   0.987  17 17             0.58   0.986  17 17
    23         25                  0.79   0.986  27 24             0.49   0.985  17 17
    23         50                  0.65   0.985  43 47             0.45   0.985  17 18
    26         12                  0.77   0.980  17 24             0.42   0.980  17 17

Twelve is the smallest that never takes longer than one refresh of the screen (17 ms), at two fifths of the
size of nothing but keyframes.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from .child import Progress, Stopped
from .convert import Conversion, convert, picture_input, read_back
from .errors import MediaFailed
from .limits import presets
from .locate import Tools, find_ffmpeg
from .output import made_whole
from .picture import even_size, upright
from .probe import Probe
from .sound import SILENT, even_sound

__all__ = ["make_browser_copy"]


def make_browser_copy(
    path: Path | str,
    probe: Probe,
    out: Path | str,
    *,
    tools: Tools | None = None,
    progress: Progress | None = None,
    stopped: Stopped | None = None,
) -> Probe:
    """Write ``out`` (MP4, H.264 4:2:0 8 bit, AAC) and answer what it is, read back.

    Frame n of the copy is frame n of the source and is shown at exactly n / rate seconds, frame 0 at 0.
    The longer side is at most ``copy_long_side``, both sides even, upright, square pixels; no frame
    waits for a later one (no B-frames). Raises MediaFailed (also for variable-rate footage, which
    needs its master first), MediaStopped, MediaToolMissing; then ``out`` is as it was before.
    """
    if probe.is_variable_rate:
        raise MediaFailed("The footage has no even frame rate; make its constant-rate master first.")
    tools = tools or find_ffmpeg()
    picture = picture_input(path)[str(probe.video_stream)]
    picture = upright(picture, probe, even_size(probe, presets().copy_long_side))
    picture = picture.filter("settb", f"{probe.rate.denominator}/{probe.rate.numerator}").filter(
        "setpts", "N"
    )
    kind = Conversion(
        probe.rate,
        crf=presets().copy_crf,
        preset="veryfast",
        keyframe_every=presets().copy_keyframe_every,
        audio_kbps=presets().copy_audio_kbps,
    )
    with made_whole(out) as (part,):
        sound = even_sound(path, probe, probe.duration, part, tools, stopped)
        arguments = kind.arguments(picture, sound, part)
        convert(tools, arguments, part, total=probe.frame_count, progress=progress, stopped=stopped)
        made = read_back(part, tools, stopped)
        _check(made, probe)
    return replace(made, warnings=(*made.warnings, SILENT)) if probe.has_audio and sound is None else made


def _check(made: Probe, source: Probe) -> None:
    same = (made.frame_count, made.rate) == (source.frame_count, source.rate)
    if not same or made.is_variable_rate or made.start_time:
        raise MediaFailed(
            f"The browser copy came out with {made.frame_count} frames at {made.rate} instead of "
            f"{source.frame_count} at {source.rate}; export the footage again and upload that."
        )
