"""Which words stand together in a cue, and how they are set in lines: least cost over all ways.

Costs are small whole numbers or floats that only rank layouts; no time is made from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise
from math import inf

from breakdowns.assembly.caption_norms import CaptionNorms, break_costs
from breakdowns.assembly.caption_timing import WordTime
from breakdowns.assembly.caption_words import CaptionWord, joined, word_count

__all__ = ["DraftCue", "draft_cues"]


@dataclass(frozen=True)
class DraftCue:
    """Lines of text with the exact seconds in which their words are spoken."""

    lines: tuple[str, ...]
    start: Fraction
    end: Fraction

    @property
    def characters(self) -> int:
        """Spaces and punctuation counted, the line break not."""
        return sum(map(len, self.lines))

    @property
    def words(self) -> int:
        return sum(map(word_count, self.lines))


def draft_cues(
    words: Sequence[CaptionWord], times: Sequence[WordTime], norms: CaptionNorms, latest: Fraction
) -> list[DraftCue]:
    """The words cut into cues. ``latest`` is the end of the time there is for the last of them.

    Every word is used once and in order; no cue has more lines or longer lines than the norms allow
    (words longer than a line have to come in parts already).
    """
    row = _Row(words, times, norms, latest)
    best: list[tuple[float, tuple[int, ...]]] = [(0, (0,))]
    for end in range(1, len(words) + 1):
        best.append(_best_cue_ending(row, end, best))
    cuts = [best[-1][1]]
    while cuts[0][0]:
        cuts.insert(0, best[cuts[0][0]][1])
    return [row.draft(cut) for cut in cuts if len(cut) > 1]


def _best_cue_ending(
    row: _Row, end: int, best: Sequence[tuple[float, tuple[int, ...]]]
) -> tuple[float, tuple[int, ...]]:
    """Cost of the best cues for words [0, end), with the line cuts of the last of them."""
    choice: tuple[float, tuple[int, ...]] = (inf, ())
    for start in range(end - 1, -1, -1):
        ways = row.set_in_lines(start, end)
        if ways is None:
            break
        cost, cuts = ways
        choice = min(choice, (best[start][0] + cost + row.cue_cost(start, end), cuts))
    return choice


class _Row:
    """A beat's words with their places in the running text, so that any stretch is measured at once."""

    def __init__(
        self,
        words: Sequence[CaptionWord],
        times: Sequence[WordTime],
        norms: CaptionNorms,
        latest: Fraction,
    ) -> None:
        self.words, self.times, self.norms = words, times, norms
        self.costs = break_costs()
        # Costs only rank, so they are reckoned in floats: exact times would make this many times slower.
        self.begins = [float(time.start) for time in times]
        self.stops = [float(time.end) for time in times]
        self.following = [*self.begins[1:], float(latest)]
        self.linger, self.longest = float(norms.linger_seconds), float(norms.longest_seconds)
        self.shortest = float(norms.shortest_seconds)
        self.per_character = 1 / float(norms.characters_per_second)
        self.per_word = 60 / float(norms.words_per_minute)
        silent = (then - stop > self.linger for then, stop in zip(self.following, self.stops, strict=True))
        self.silences = list(accumulate(silent, initial=0))
        blanks = [0 if at == 0 or word.joined else 1 for at, word in enumerate(words)]
        self.ends = list(accumulate(b + len(w.text) for b, w in zip(blanks, words, strict=True)))
        self.starts = [end - len(word.text) for end, word in zip(self.ends, words, strict=True)]
        self.counts = list(accumulate((word_count(word.text) for word in words), initial=0))
        self.sentence_ends = list(accumulate((word.ends_sentence for word in words), initial=0))

    def length(self, start: int, end: int) -> int:
        """Characters of words [start, end) on one line."""
        return self.ends[end - 1] - self.starts[start]

    def draft(self, cuts: tuple[int, ...]) -> DraftCue:
        lines = tuple(joined(self.words[a:b]) for a, b in pairwise(cuts))
        return DraftCue(lines, self.times[cuts[0]].start, self.times[cuts[-1] - 1].end)

    def set_in_lines(self, start: int, end: int) -> tuple[float, tuple[int, ...]] | None:
        """The best line cuts (start, …, end) in as few lines as hold the words; None if none does."""
        for count in range(1, self.norms.lines + 1):
            ways = [(self.lines_cost(cuts), cuts) for cuts in self.ways(start, end, count)]
            if ways:
                return min(ways)
        return None

    def ways(self, start: int, end: int, count: int) -> Iterator[tuple[int, ...]]:
        """All cuts of words [start, end) into ``count`` lines that fit."""
        longest = self.norms.line_characters
        if self.length(start, end) > count * (longest + 1):
            return
        if count == 1 and self.length(start, end) <= longest:
            yield (start, end)
        for cut in range(start + 1, end) if count > 1 else ():
            if self.length(start, cut) > longest:
                return
            yield from ((start, *rest) for rest in self.ways(cut, end, count - 1))

    def lines_cost(self, cuts: tuple[int, ...]) -> float:
        """Breaks inside the cue, sentences that end inside a line, and uneven lines."""
        lengths = [self.length(a, b) for a, b in pairwise(cuts)]
        inside = sum(self.sentence_ends[b - 1] - self.sentence_ends[a] for a, b in pairwise(cuts))
        uneven = (max(lengths) - min(lengths)) // 2
        return (
            sum(self.words[cut - 1].cost for cut in cuts[1:-1])
            + inside * self.costs["sentence_inside_line"]
            + uneven * self.costs["unbalanced_character"]
        )

    def cue_cost(self, start: int, end: int) -> float:
        """What it costs to make words [start, end) one cue, its lines apart."""
        costs, begins = self.costs, self.begins[start]
        spoken = self.stops[end - 1] - begins
        room = max(min(self.following[end - 1] - begins, spoken + self.linger), 0.001)
        characters, words = self.length(start, end), self.counts[end] - self.counts[start]
        needed = max(self.shortest, characters * self.per_character, words * self.per_word)
        return (
            costs["each_cue"]
            + self.words[end - 1].cost
            + costs["sentence_inside_cue"] * (self.sentence_ends[end - 1] - self.sentence_ends[start])
            + costs["too_short"] * max(0.0, 1 - room / self.shortest)
            + costs["too_fast"] * min(max(0.0, needed / room - 1), 3)
            + costs["too_long"] * (spoken > self.longest)
            + costs["silence_inside"] * (self.silences[end - 1] - self.silences[start])
        )
