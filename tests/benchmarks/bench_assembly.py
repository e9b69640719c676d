"""Assembling the 90-second reference piece, against one bare ffmpeg command that draws the same pictures.

Six excerpts at half to full speed, each with a hold under a drawing, narration all along: 1280x720, 30
frames a second, x264 veryfast CRF 20, AAC 160 kbit/s at −16 LUFS. Both run in turn, several times, because
machines are shared; every time is printed, and the ratios of the best. Processor time is told as well: on
a busy machine it is the steadier figure.

    python -m tests.benchmarks.bench_assembly [rounds]
"""

from __future__ import annotations

import hashlib
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
import wave
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from breakdowns.assembly.encoder import house_settings
from breakdowns.assembly.piece import ExcerptPicture, Piece, PieceBeat, PieceSource
from breakdowns.assembly.render import render
from breakdowns.footage.media.locate import find_ffmpeg

SIZE, RATE, HERTZ = (1280, 720), Fraction(30), 48000
# in point, seconds taken, speed, hold
CUTS = [
    (2, 6, Fraction(1), 7), (12, 5, Fraction(1, 2), 7), (25, 7, Fraction(1), 7),
    (40, 4, Fraction(1, 2), 8), (52, 7, Fraction(1), 8), (66, 6, Fraction(3, 4), 8),
]  # fmt: skip
LIMIT_WHOLE, LIMIT_CHANGE = 1.15, 0.25


def make_footage(folder: Path, ffmpeg: str) -> Path:
    """75 s of moving shapes with a camera's noise."""
    path = folder / "s.mp4"
    graph = f"testsrc2=s={SIZE[0]}x{SIZE[1]}:r={RATE}:d=75,noise=alls=8:allf=t,boxblur=1"
    options = ["-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-pix_fmt", "yuv420p"]
    subprocess.run([ffmpeg, "-v", "error", "-f", "lavfi", "-i", graph, *options, str(path)], check=True)
    return path


def make_drawing(folder: Path, number: int) -> Path:
    """Two lines and a label, as marks on a still."""
    image = Image.new("RGBA", SIZE, (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    ends = (300 + 20 * number, 500, 900, 200 + 10 * number)
    draw.line(ends, fill="#000000", width=12)
    draw.line(ends, fill="#ffffff", width=6)
    draw.line((280, 300, 760, 420), fill="#ffd97a", width=6)
    draw.rectangle((800, 100, 1000, 160), fill=(0, 0, 0, 180))
    path = folder / f"o{number}.png"
    image.save(path)
    return path


def make_narration(folder: Path, number: int, seconds: Fraction) -> Path:
    """Bursts of a buzzing voice with pauses between them; speech-like in level, not in sense."""
    t = np.arange(int(seconds * HERTZ)) / HERTZ
    random = np.random.default_rng(number)
    voice = sum(np.sin(2 * math.pi * 120 * k * t + random.random()) / k for k in range(1, 20))
    syllables = np.clip(np.sin(2 * math.pi * 4.2 * t), 0, 1) * (np.sin(2 * math.pi * 0.3 * t) > -0.6)
    samples = 0.12 * voice * syllables + 0.001 * random.standard_normal(len(t))
    path = folder / f"n{number}.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(HERTZ)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def seconds_of(cut: tuple[int, int, Fraction, int]) -> Fraction:
    return cut[1] / cut[2] + cut[3]


def bare_command(folder: Path, ffmpeg: str, out: Path) -> list[str]:
    """One command, as a person who knows ffmpeg would write it."""
    inputs, graph = [], []
    for start, length, _, _ in CUTS:
        inputs += ["-ss", str(start), "-t", str(length), "-i", str(folder / "s.mp4")]
    for n in range(len(CUTS)):
        inputs += ["-i", str(folder / f"o{n}.png")]
    for n, cut in enumerate(CUTS):
        moving = float(cut[1] / cut[2])
        graph.append(
            f"[{n}:v]setpts=(PTS-STARTPTS)/{float(cut[2])},fps=30,tpad=stop_mode=clone:stop_duration={cut[3] + 1},"
            f"trim=end_frame={int(RATE * seconds_of(cut))},setpts=PTS-STARTPTS[p{n}];"
            f"[p{n}][{n + len(CUTS)}:v]overlay=enable='gte(t,{moving})':eof_action=repeat:format=yuv420,setsar=1[v{n}]"
        )
    graph.append(
        "".join(f"[v{n}]" for n in range(len(CUTS))) + f"concat=n={len(CUTS)}:v=1:a=0,format=yuv420p[v]"
    )
    stereo = "aformat=channel_layouts=stereo:sample_rates=48000"
    graph.append(f"[{2 * len(CUTS)}:a]{stereo},loudnorm=I=-16:TP=-1.5:LRA=11,aresample=48000[a]")
    settings = house_settings()
    video = ["-c:v", "libx264", "-preset", settings.preset, "-crf", str(settings.crf), "-r", "30"]
    sound = ["-c:a", "aac", "-b:a", f"{settings.audio_kbps}k", "-movflags", "+faststart"]
    tail = ["-filter_complex", ";".join(graph), "-map", "[v]", "-map", "[a]", *video, *sound, str(out)]
    return [ffmpeg, "-v", "error", "-y", *inputs, "-i", str(folder / "narration.wav"), *tail]


def reference_piece(folder: Path) -> Piece:
    footage = folder / "s.mp4"
    digest = hashlib.sha256(footage.read_bytes()).hexdigest()
    source = PieceSource("s", "Moving shapes", str(footage), digest, RATE, 75 * int(RATE), *SIZE)
    beats = []
    for n, (start, length, speed, hold) in enumerate(CUTS):
        first, last = start * int(RATE), (start + length) * int(RATE)
        picture = ExcerptPicture(
            source, first, last, speed, Fraction(hold), overlay=str(folder / f"o{n}.png")
        )
        beats.append(PieceBeat(str(n), picture, words="…", take=str(folder / f"n{n}.wav")))
    return Piece("Reference", "reference", tuple(beats), RATE, *SIZE)


def prepare(folder: Path, ffmpeg: str) -> None:
    make_footage(folder, ffmpeg)
    takes = []
    for n, cut in enumerate(CUTS):
        make_drawing(folder, n)
        takes.append(make_narration(folder, n, seconds_of(cut)))
    joined = [part for take in takes for part in ("-i", str(take))]
    graph = f"concat=n={len(takes)}:v=0:a=1"
    out = str(folder / "narration.wav")
    subprocess.run([ffmpeg, "-v", "error", *joined, "-filter_complex", graph, out], check=True)


def cpu_seconds() -> float:
    """Processor time of this process and of all children that have ended."""
    own, children = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """(seconds by the clock, seconds of processor)."""
    started, used = time.perf_counter(), cpu_seconds()
    work()
    return time.perf_counter() - started, cpu_seconds() - used


def render_into(piece: Piece, folder: Path, cache: Path) -> None:
    report = render(
        piece, folder / "ours.mp4", cache_dir=cache, tools=find_ffmpeg(),
        progress=lambda done, total, text: None, stopped=lambda: False,
    )  # fmt: skip
    print(f"    {report.frame_count} frames, {report.cached_count} beats cached, {report.loudness_lufs} LUFS")


def with_beat(piece: Piece, number: int, **changes: object) -> Piece:
    """The piece with one beat's picture changed."""
    beats = list(piece.beats)
    beats[number] = replace(beats[number], picture=replace(beats[number].picture, **changes))  # type: ignore[type-var]
    return replace(piece, beats=tuple(beats))


def one_round(folder: Path, ffmpeg: str, *, bare_first: bool) -> dict[str, tuple[float, float]]:
    piece, times = reference_piece(folder), {}
    with tempfile.TemporaryDirectory(dir=folder) as cache:
        works = {
            "bare": lambda: subprocess.run(bare_command(folder, ffmpeg, folder / "bare.mp4"), check=True),
            "whole": lambda: render_into(piece, folder, Path(cache)),
        }
        for name in sorted(works, reverse=not bare_first):
            times[name] = timed(works[name])
        shifted = with_beat(piece, 1, in_frame=390, out_frame=540)
        times["change"] = timed(lambda: render_into(shifted, folder, Path(cache)))
        longer = with_beat(shifted, 3, hold=Fraction(6))
        times["length"] = timed(lambda: render_into(longer, folder, Path(cache)))
        times["nothing"] = timed(lambda: render_into(longer, folder, Path(cache)))
    told = (f"{name} {wall:.2f} s ({cpu:.1f} s of processor)" for name, (wall, cpu) in times.items())
    print("  " + ", ".join(told), flush=True)
    return times


LINES = {
    "bare": "bare command",
    "whole": "render, nothing cached",
    "change": "render, one beat changed",
    "length": "render, a length changed",
    "nothing": "render, nothing changed",
}


def main() -> None:
    rounds, tools = int(sys.argv[1]) if len(sys.argv) > 1 else 3, find_ffmpeg()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prepare(folder, tools.ffmpeg)
        times = [one_round(folder, tools.ffmpeg, bare_first=n % 2 == 0) for n in range(rounds)]
    best = {name: tuple(min(t[name][n] for t in times) for n in (0, 1)) for name in LINES}
    print(f"best of {rounds}; on {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}")
    for name, line in LINES.items():
        against = "bare" if name == "whole" else "whole"
        wall, cpu = (best[name][n] / best[against][n] for n in (0, 1))
        ratio = "" if name == "bare" else f"{wall:5.2f} x {against} (processor {cpu:.2f} x)"
        print(f"{line:26} {best[name][0]:6.2f} s {best[name][1]:6.1f} s of processor {ratio}")
    whole, change = best["whole"][0] / best["bare"][0], best["change"][0] / best["whole"][0]
    print(f"limits: {LIMIT_WHOLE} x bare, {LIMIT_CHANGE} x whole")
    sys.exit(whole > LIMIT_WHOLE or change > LIMIT_CHANGE)


if __name__ == "__main__":
    main()
