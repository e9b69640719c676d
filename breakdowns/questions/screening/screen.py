"""A question read for what must not wait."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from breakdowns.questions.screening.actions import action
from breakdowns.questions.screening.lexicon import mended
from breakdowns.questions.screening.reading import sentences_of
from breakdowns.questions.screening.rules import (
    URGENCIES,
    Found,
    Rule,
    facts_asked_for,
    kinds,
    rules,
    sources,
)
from breakdowns.questions.screening.signals import Together, together, weights
from breakdowns.questions.screening.status import Read, holds, read_sentence, settle

SENTENCES_AT_ONCE = 14
"""Facts count together within this many sentences; a longer text is read in stretches that overlap."""
OVERLAP = 4
LONGEST_QUOTE = 90


@dataclass(frozen=True)
class Flag:
    """One sign that must not wait: why, with the words quoted; where they stand; what to do now; and the sources."""

    key: str
    name: str
    region: str
    urgency: str
    because: str
    spans: tuple[tuple[int, int], ...]
    action: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Screening:
    """All flags of a question, the most urgent first, and the urgency of the worst (None: nothing found)."""

    flags: tuple[Flag, ...]
    urgency: str | None


def screen(text: str) -> Screening:
    """Reads ``text`` for signs that must not wait for an answer. Deterministic; it finds signs, it does not diagnose."""
    flags: dict[str, Flag] = {}
    signs = Together(0.0, ())
    for reads in read_stretches(text):
        facts = _facts(reads)
        for rule in rules():
            if rule.flag not in flags and (met := _met(rule, facts)):
                flags[rule.flag] = _flag(rule, met, text)
        if not flags:
            # A sentence that would be flagged alone is not talked down by a kind one beside it.
            signs = max(
                signs, together(reads), *(together([read]) for read in reads), key=lambda one: one.weight
            )
    if not flags and signs.weight >= weights()["limit"]:
        key = "signs_many" if signs.weight >= weights()["high"] else "signs_some"
        flags[key] = _flag_of(
            key, "Several signs together need to be looked at", signs.spans, ("memory_msk",), text
        )
    ordered = sorted(flags.values(), key=lambda flag: URGENCIES.index(flag.urgency))
    return Screening(tuple(ordered), ordered[0].urgency if ordered else None)


def read_stretches(text: str) -> Iterator[list[Read]]:
    """The text in stretches of a few sentences, each settled: what holds, what is denied, past, or told of others."""
    each = (read_sentence(words) for words in sentences_of(text, mended))
    reads = list(islice(each, SENTENCES_AT_ONCE))
    while reads:
        settle(reads)
        yield reads
        more = list(islice(each, SENTENCES_AT_ONCE - OVERLAP))
        if not more:
            return
        reads = reads[-OVERLAP:] + more


def _facts(reads: list[Read]) -> dict[str, list[Found]]:
    wanted = facts_asked_for()
    facts: dict[str, list[Found]] = {}
    for at, read in enumerate(reads):
        for name, start, end in read.found:
            if name in wanted and holds(read, name, start, end):
                span = (read.words[start].start, read.words[end - 1].end)
                facts.setdefault(name, []).append(Found(at, start, end, span))
    return facts


def _met(rule: Rule, facts: dict[str, list[Found]]) -> tuple[Found, ...] | None:
    met = rule.needs.met(facts)
    if met and rule.unless is not None and rule.unless.met(facts):
        return None
    return met


def _flag(rule: Rule, met: tuple[Found, ...], text: str) -> Flag:
    return _flag_of(rule.flag, rule.why, tuple(found.span for found in met), rule.sources, text)


def _flag_of(
    key: str, why: str, places: tuple[tuple[int, int], ...], named: tuple[str, ...], text: str
) -> Flag:
    kind = kinds()[key]
    spans = _merged(places)
    quotes = ", ".join(f"“{_quoted(text[start:end])}”" for start, end in spans)
    return Flag(
        key=key,
        name=kind.name,
        region=kind.region,
        urgency=kind.urgency,
        because=f"{why}: {quotes}.",
        spans=spans,
        action=action(kind.action),
        sources=tuple(sources()[source] for source in named),
    )


def _merged(spans: tuple[tuple[int, int], ...]) -> tuple[tuple[int, int], ...]:
    merged: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return tuple(merged)


def _quoted(words: str) -> str:
    words = " ".join(words.split())
    return words if len(words) <= LONGEST_QUOTE else words[: LONGEST_QUOTE - 1] + "…"
