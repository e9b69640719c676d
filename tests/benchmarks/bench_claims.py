"""How long checking the claims of a script takes, against a general language pipeline, and how it grows with the text.

The script: 2,000 words of the invented handball breakdown, put together from development sentences and ordinary talk.
The baseline is spaCy on the same text in the same run, where it is installed: with an installed English pipeline
(tagger, parser, entities: what a general tool needs before it could look for a claim), otherwise its blank pipeline
with the components that need no download. It is no dependency of the project; to compare, install it beside:
``pip install spacy`` and one English pipeline of the package index. Growth is processor time per character at 10 kB,
100 kB and 1 MB, for ordinary text and for texts made to hurt; some growth is the machine's (its caches are small), so
the rule that holds, counted in steps, is in ``tests/anatomy/claims/test_any_text.py``.

    python -m tests.benchmarks.bench_claims [--no-growth]
"""

from __future__ import annotations

import csv
import gc
import os
import random
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from anatomy.claims.check import READERS, Claims
from anatomy.vocabulary.packaged import packaged_vocabulary
from tests.anatomy.claims.hurting_texts import hurting_texts, repeated

DEVELOPMENT = Path(__file__).resolve().parents[1] / "anatomy" / "claims" / "data" / "development.csv"
WORDS, BEAT_WORDS, RUNS = 2000, 60, 100
GOAL_SCRIPT, GOAL_BEAT, GOAL_RATIO, GOAL_GROWTH = 40.0, 5.0, 20.0, 1.6
SIZES = (10_000, 100_000, 1_000_000)
TALK = """
Two days ago, last minute of the semi-final, one goal behind, and the ball goes out to the left back.
We have two cameras on this, one behind the goal and one hanging from the roof.
Watch the defender first, because she decides how much room there will be.
I have slowed this down to a quarter, and I will stop it three times.
There is nothing wrong with the throw, she scores, so let me be fussy about it.
Look at the shoulder line and the hip line here, and how far apart they are when the foot lands.
If you only ever change one thing in your own throwing, change this.
Nobody got hurt, and I am not going to guess what anybody felt.
The goalkeeper has seen all of this a hundred times, and she still goes the wrong way.
Now the same thing from above, where it's easier to count.
Your coach may teach it differently, and that's fine, there is more than one good way.
Put the phone down, stand up and try it slowly with me.
That was quick, so here it is again, one frame at a time.
Three steps, then the jump, then everything happens in less than a second.
"""


def script_beats() -> list[str]:
    """Beats of about 60 words, 2,000 in all; the same ones in every run."""
    random_ = random.Random(20)
    with DEVELOPMENT.open(encoding="utf-8", newline="") as file:
        rows = [(int(row["n_claims"]), row["text"]) for row in csv.DictReader(file)]
    claims = [text for count, text in rows if count]
    talk = [text for count, text in rows if not count] + TALK.strip().split("\n")
    beats: list[str] = []
    said: list[str] = []
    while sum(len(beat.split()) for beat in beats) + sum(len(s.split()) for s in said) < WORDS:
        said.append(random_.choice(claims if random_.random() < 0.4 else talk))
        if sum(len(s.split()) for s in said) >= BEAT_WORDS - 8:
            beats.append(" ".join(said))
            said = []
    return [*beats, " ".join(said)] if said else beats


def milliseconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def processor_milliseconds(work: Callable[[], object]) -> float:
    """What the work costs this process, whatever else the machine does meanwhile."""
    began = time.process_time()
    work()
    return (time.process_time() - began) * 1000


def times_of(work: Callable[[], object], runs: int) -> tuple[float, float, float]:
    """(median, 95th percentile, best) in milliseconds after two runs that don't count.

    The best is what the work costs; the others also tell what else the machine was doing.
    """
    work()
    work()
    gc.collect()
    times = sorted(milliseconds(work) for _ in range(runs))
    return statistics.median(times), times[int(0.95 * len(times)) - 1], times[0]


def general_pipeline() -> tuple[str, Callable[[str], object]] | None:
    """What spaCy offers here, with a line that says which."""
    try:
        import spacy
    except ImportError:
        return None
    installed = [name for name in spacy.util.get_installed_models() if name.startswith("en")]
    if installed:
        pipeline = spacy.load(installed[0])
        return f"spaCy {spacy.__version__} with {installed[0]}: {', '.join(pipeline.pipe_names)}", pipeline
    pipeline = spacy.blank("en")
    pipeline.add_pipe("sentencizer")
    return f"spaCy {spacy.__version__}, blank (no English pipeline installed): tokens and sentences", pipeline


def check_speed(claims: Claims, beats: list[str]) -> bool:
    text = "\n\n".join(beats)
    print(f"{len(text.split())} words, {len(text)} characters, {len(beats)} beats; {len(READERS)} readers")
    middle, high, best = times_of(lambda: claims.check(text), RUNS)
    print(
        f"whole script: p50 {middle:.1f} ms, p95 {high:.1f} ms (goal {GOAL_SCRIPT:.0f}), best {best:.1f} ms, {len(claims.check(text))} claims"
    )
    each = [times_of(lambda beat=beat: claims.check(beat), 20) for beat in beats]  # type: ignore[misc]
    slowest = max(p95 for _, p95, _ in each)
    print(
        f"one beat: p50 {statistics.median(m for m, _, _ in each):.2f} ms, slowest p95 {slowest:.2f} ms (goal {GOAL_BEAT:.0f})"
    )
    ok = high <= GOAL_SCRIPT and slowest <= GOAL_BEAT
    general = general_pipeline()
    if general is None:
        print("no comparison: spaCy is not installed beside")
        return ok
    name, pipeline = general
    ours, others = [], []
    pipeline(text)
    for _ in range(20):
        ours += [processor_milliseconds(lambda: claims.check(text)) for _ in range(5)]
        others.append(processor_milliseconds(lambda: pipeline(text)))
    best, ratio = min(others) / min(ours), statistics.median(others) / statistics.median(ours)
    print(name)
    print(
        f"  in turn, processor time: {statistics.median(others):.1f} ms against {statistics.median(ours):.1f} ms,"
        f" {ratio:.1f} x ours (goal {GOAL_RATIO:.0f} x); best runs {min(others):.1f} and {min(ours):.1f} ms, {best:.1f} x"
    )
    return ok and ratio >= GOAL_RATIO


def check_growth(claims: Claims, beats: list[str]) -> bool:
    print(f"microseconds of processor per character at {', '.join(f'{size:,}' for size in SIZES)} characters")
    ok = True
    texts = {"ordinary": repeated("\n\n".join(beats) + "\n\n"), **hurting_texts()}
    for name, make in texts.items():
        per = []
        for size in SIZES:
            text = make(size)
            runs = 5 if size <= SIZES[0] else 3 if size <= SIZES[1] else 1
            best = min(processor_milliseconds(lambda: claims.check(text)) for _ in range(runs))  # noqa: B023
            per.append(best / size * 1000)
        growth = per[-1] / per[0]
        ok = ok and growth <= GOAL_GROWTH
        line = "  ".join(f"{value:7.3f}" for value in per)
        print(
            f"  {name:30} {line}   x {growth:.2f}{'' if growth <= GOAL_GROWTH else '  NOT LINEAR'}",
            flush=True,
        )
    return ok


def main() -> None:
    began = time.perf_counter()
    claims = Claims(packaged_vocabulary())
    claims.check("The biceps flexes the elbow.")
    print(f"ready after {1000 * (time.perf_counter() - began):.0f} ms; load {os.getloadavg()[0]:.1f}")
    beats = script_beats()
    ok = check_speed(claims, beats)
    if "--no-growth" not in sys.argv:
        ok = check_growth(claims, beats) and ok
    sys.exit(not ok)


if __name__ == "__main__":
    main()
