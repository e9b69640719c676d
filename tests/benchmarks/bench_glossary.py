"""How long the vocabulary browser takes: a search, and where an entry is used in 200 breakdowns of 60 beats.

Run: ``python tests/benchmarks/bench_glossary.py``. Prints milliseconds and the ratio to a named baseline
measured in the same run: one compiled regular expression over all the words.
"""

from __future__ import annotations

import random
import re
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from anatomy.lookup.index import SearchIndex, index_of
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.glossary.usage import BeatWords, UsageIndex

BREAKDOWNS, BEATS, WORDS = 200, 60, 45
PLAIN = "the front foot stops and what is above it goes on so that the arm comes late and far behind"
QUESTIONS = [
    "what turns the arm out",
    "glute max",
    "gluteus maximis",
    "hip flexion",
    "qqqqq",
    "bend the knee",
]


def milliseconds(work: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - start))
    return statistics.median(taken)


def main() -> None:
    vocabulary = packaged_vocabulary()
    names = sorted(vocabulary.muscles)
    pick = random.Random(7)
    plain = PLAIN.split()
    beats = []
    for number in range(BREAKDOWNS * BEATS):
        words = [pick.choice(plain) for _ in range(WORDS)]
        words[pick.randrange(WORDS)] = pick.choice(names)
        beats.append(BeatWords(number, number // BEATS, " ".join(words)))
    versions = dict.fromkeys(range(BREAKDOWNS), 1)

    index = UsageIndex()
    cold = milliseconds(lambda: index.replace(versions, beats), 1)
    sought = ("gluteus maximus", *vocabulary.synonyms("muscle", "gluteus maximus"))
    warm = milliseconds(lambda: index.find(sought), 50)
    one = [beat for beat in beats if beat.breakdown == 5]
    again = milliseconds(lambda: index.replace({5: 2}, one), 20)
    pattern = re.compile(rf"\b(?:{'|'.join(map(re.escape, sought))})\b", re.IGNORECASE)
    base = milliseconds(lambda: [beat.beat for beat in beats if pattern.search(beat.words)], 5)
    assert {place.beat for place in index.find(sought)} == {b.beat for b in beats if pattern.search(b.words)}
    print(f"{BREAKDOWNS} breakdowns of {BEATS} beats, {WORDS} words each, {len(sought)} names")
    print(f"  regular expression over all words (baseline) {base:8.1f} ms")
    print(f"  index built from nothing                     {cold:8.1f} ms  {cold / base:6.2f} x")
    print(f"  one breakdown read again                     {again:8.1f} ms  {again / base:6.2f} x")
    print(f"  where an entry is used                       {warm:8.1f} ms  {warm / base:6.2f} x")

    made = milliseconds(lambda: SearchIndex(vocabulary), 3)
    print(f"search over {len(index_of(vocabulary).sayings)} sayings; index made in {made:.0f} ms")
    for question in QUESTIONS:
        taken = milliseconds(lambda q=question: index_of(vocabulary).search(q), 20)  # type: ignore[misc]
        print(f"  {question:28} {taken:8.1f} ms")


if __name__ == "__main__":
    main()
