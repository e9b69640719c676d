"""How long the margin takes after a one-beat edit of a 2,000-word, 60-beat script, and cold.

Run: ``python tests/benchmarks/bench_margin.py``. Prints milliseconds and the ratio to a named baseline
measured in the same run: finding the words of the same text once with one regular expression.
"""

from __future__ import annotations

import random
import re
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from breakdowns.excerpts.policies import Limit, Policy, preset
from breakdowns.scripts import speech, spoken_text
from breakdowns.scripts.checks import CHECKS, WORD_CHECKS
from breakdowns.scripts.margin import Margin, MemoryCache, read_margin
from breakdowns.scripts.script import BeatView, ScriptView, SourceView

BEATS, WORDS, EDITS = 60, 2000, 200
VOCABULARY = re.findall(
    r"\S+",
    "the pelvis turns first and trunk a beat later from above you can see shoulder line hip line as arm comes "
    "through infraspinatus externally rotates serratus anterior pulls scapula forward around ribs planting foot "
    "stops everything above it has to go on that gap is stretch he throws with 35° 46 ms left right T10 L4/5",
)
# One policy that typing can't touch and one whose figures depend on when words are spoken.
POLICIES = {
    "no rule about words": preset("eu_short_news"),
    "with a rule about words": Policy(
        "own", "own", (Limit("bare_excerpt_seconds", "piece", "max", Fraction(20)),), note="invented"
    ),
}


def words(random_: random.Random, count: int) -> str:
    said = [random_.choice(VOCABULARY) for _ in range(count)]
    for place in range(9, count, 11):
        said[place] += random_.choice([".", ",", "."])
    return " ".join(said) + "."


def script(policy: Policy) -> ScriptView:
    random_ = random.Random(1)
    beats = []
    for number in range(BEATS):
        said = words(random_, WORDS // BEATS)
        kind = ("excerpt", "still", "plate", "camera")[number % 4]
        start = 300 * number
        beats.append(
            BeatView(
                str(number),
                kind,  # type: ignore[arg-type]
                said,
                seconds=Fraction(13),
                source_id="AB"[number % 8 // 4] if number % 4 < 2 else "",
                source_rate=Fraction(30000, 1001) if number % 4 < 2 else Fraction(0),
                in_frame=start if number % 4 < 2 else 0,
                out_frame=start + 200 if number % 4 == 0 else start + 1,
                hold=Fraction(6),
                mirrored=number % 5 == 0,
            )
        )
    sources = tuple(SourceView(key, key, Fraction(30000, 1001), 100_000, "semi-final") for key in "AB")
    return ScriptView("Late hips", tuple(beats), sources, limits=policy, wished_seconds=Fraction(600))


def milliseconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def forget() -> None:
    """Empty every store of earlier results, as in a process that has just started."""
    from breakdowns.scripts import terms
    from breakdowns.scripts.checks import claims, plain_words
    from breakdowns.scripts.syllables import count_syllables

    for kept in (speech.estimate, spoken_text.read_aloud, spoken_text.measure, count_syllables):
        kept.cache_clear()
    for kept in (claims.claims_in, terms.find_terms, plain_words._technical_terms):
        kept.cache_clear()


def edited(whole: ScriptView, number: int, random_: random.Random) -> ScriptView:
    """One word more in one beat, as after a stop in typing."""
    at = number % BEATS
    beat = whole.beats[at]
    changed = replace(beat, words=f"{beat.words} {random_.choice(VOCABULARY)}{number}.")
    # every request builds its beats afresh from the store, so all of them are new objects here too
    beats = (*whole.beats[:at], changed, *whole.beats[at + 1 :])
    return replace(whole, beats=tuple(replace(one) for one in beats))


def percentile(values: list[float]) -> float:
    """The 95th percentile."""
    return sorted(values)[int(0.95 * len(values)) - 1]


def cold(whole: ScriptView) -> float:
    times = []
    for _ in range(5):
        forget()
        times.append(milliseconds(lambda: read_margin(whole, CHECKS, cache=MemoryCache())))
    return statistics.median(times)


def warm(whole: ScriptView) -> tuple[list[float], list[float], Margin]:
    """(wall, processor) milliseconds of each edit, and the margin after the last."""
    cache, random_ = MemoryCache(), random.Random(2)
    margin = read_margin(whole, CHECKS, cache=cache)
    walls, works = [], []
    for number in range(EDITS):
        whole = edited(whole, number, random_)
        began, worked = time.perf_counter(), time.process_time()
        margin = read_margin(whole, CHECKS, cache=cache)
        walls.append((time.perf_counter() - began) * 1000)
        works.append((time.process_time() - worked) * 1000)
    return walls, works, margin


def one_beat(whole: ScriptView) -> list[float]:
    """Milliseconds for the marks under one beat's words while they are being typed, a new text each time."""
    random_, times = random.Random(3), []
    for number in range(EDITS):
        changed = edited(whole, number, random_)
        alone = replace(changed, beats=(changed.beats[number % BEATS],))
        times.append(milliseconds(lambda alone=alone: read_margin(alone, WORD_CHECKS, cache=MemoryCache())))  # type: ignore[misc]
    return times


def main() -> None:
    text = "\n".join(beat.words for beat in script(next(iter(POLICIES.values()))).beats)
    baseline = statistics.median(milliseconds(lambda: re.findall(r"\w+", text)) for _ in range(50))
    print(
        f"script: {BEATS} beats, {len(text.split())} words, {len(CHECKS)} checks; {EDITS} edits of one beat each"
    )
    print(f"baseline, finding the words of the same text once: {baseline:.3f} ms")
    for name, policy in POLICIES.items():
        whole = script(policy)
        read_margin(whole, CHECKS)  # tables and patterns are read once in a process
        walls, works, margin = warm(whole)
        if margin.failures:
            raise SystemExit(f"checks failed: {margin.failures}")
        print(f"policy {name}: {len(margin.notes)} notes")
        for what, value in (
            ("cold, nothing kept, median of 5", cold(whole)),
            ("after an edit, median", statistics.median(walls)),
            ("after an edit, p95", percentile(walls)),
            ("after an edit, p95 of processor time", percentile(works)),
        ):
            print(f"  {what}: {value:.2f} ms = {value / baseline:.1f} x baseline")
    times = one_beat(script(next(iter(POLICIES.values()))))
    for what, value in (("median", statistics.median(times)), ("p95", percentile(times))):
        print(f"one beat's words alone, {what}: {value:.2f} ms = {value / baseline:.1f} x baseline")


if __name__ == "__main__":
    main()
