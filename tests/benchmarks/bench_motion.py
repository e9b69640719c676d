"""Measuring one excerpt: 300 frames with 33 landmarks, every measure, the sequence with its errors.

The baseline, in the same run, is what general-purpose tools need for the part that they have: SciPy's filter on every
coordinate, and NumPy's arctan2, unwrap and gradient on the six lines of the sequence, without errors, cut-off search, peaks
or words. Filter alone against filter alone is told as well. Times are the best of several rounds.

    python -m tests.benchmarks.bench_motion [rounds]
"""

from __future__ import annotations

import json
import math
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy import signal

from anatomy.motion.catalogue import SEGMENTS, segment_direction
from anatomy.motion.document import read_request
from anatomy.motion.measure import measure
from anatomy.motion.points import LANDMARKS
from anatomy.motion.smoothing import zero_lag

FRAMES, RATE, CUTOFF = 300, 50.0, 8.0


def excerpt() -> dict[str, Any]:
    """A body of 33 landmarks, each swinging in its own way, clicked with 1.5 px; invented, the same dice each time."""
    dice = np.random.default_rng(9)
    seconds = np.arange(FRAMES) / RATE
    tracks = {}
    for name in LANDMARKS:
        centre, phase, swing = dice.uniform(200, 1000, 2), dice.uniform(0, 6, 2), dice.uniform(20, 120, 2)
        tracks[name] = centre + swing * np.sin(2 * np.pi * 0.9 * seconds[:, None] + phase)
        tracks[name] = tracks[name] + dice.normal(0, 1.5, (FRAMES, 2))
    rows = [
        {"frame": n, "points": {name: track[n].tolist() for name, track in tracks.items()}}
        for n in range(FRAMES)
    ]
    return {
        "rate": "50",
        "width": 1280,
        "height": 720,
        "pixel_aspect": "1",
        "click_sd_px": 1.5,
        "frames": rows,
    }


def best(work: Callable[[], object], rounds: int) -> float:
    """Milliseconds of the fastest round."""
    times = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return 1000 * min(times)


def baseline(document: dict[str, Any]) -> list[np.ndarray]:
    """Filter every coordinate and turn the six lines into angular velocity."""
    tracks = {n: np.array([row["points"][n] for row in document["frames"]]) for n in LANDMARKS}
    warped = math.tan(math.pi * CUTOFF / RATE) / (2**0.5 - 1) ** 0.25
    b, a = signal.butter(2, 2 / math.pi * math.atan(warped))
    smooth = {n: signal.filtfilt(b, a, track, axis=0) for n, track in tracks.items()}
    found = []
    for segment in SEGMENTS:
        direction = segment_direction(segment, "right")
        along = smooth[direction.end.landmarks[0]] - smooth[direction.start.landmarks[0]]
        found.append(np.gradient(np.unwrap(np.arctan2(-along[:, 1], along[:, 0]))) * RATE)
    return found


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    document = excerpt()
    text = json.dumps(document)
    request = read_request(text)
    given = read_request(json.dumps(document | {"filter": {"cutoff_hz": CUTOFF}, "want": []}))
    track = np.array([row["points"]["left_hip"] for row in document["frames"]])
    b, a = signal.butter(2, 0.4)
    rows = {
        "read and check the document": best(lambda: read_request(text), rounds),
        "all measures and the sequence, cut-off chosen": best(lambda: measure(request), rounds),
        "the sequence alone, cut-off given": best(lambda: measure(given), rounds),
        "baseline: SciPy filter, NumPy angular velocity": best(lambda: baseline(document), rounds),
        "zero-lag filter, one landmark": best(lambda: zero_lag(track, CUTOFF, RATE), rounds),
        "the same by SciPy": best(lambda: signal.filtfilt(b, a, track, axis=0), rounds),
    }
    print(f"{FRAMES} frames, {len(LANDMARKS)} landmarks, {len(text) / 1e6:.1f} MB of JSON, best of {rounds}")
    for name, milliseconds in rows.items():
        print(f"{milliseconds:9.2f} ms  {name}")
    whole, base = (
        rows["all measures and the sequence, cut-off chosen"],
        rows["baseline: SciPy filter, NumPy angular velocity"],
    )
    print(f"{whole / base:9.1f} ×   all of it against the baseline")
    print(f"{FRAMES / RATE * 1000 / whole:9.1f} ×   faster than the excerpt runs")


if __name__ == "__main__":
    main()
