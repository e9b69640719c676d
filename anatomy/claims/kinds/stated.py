"""Facts that have no table of their own, read from what is said of a thing: "the left ventricle pumps into the lungs".

A row of stated_facts.csv names the thing, the words that make a statement of it right or wrong, and words without which
the sentence is about something else. In these patterns ``|`` parts words that may stand for each other and ``..`` is a
gap of a few words. A row without a thing is a whole statement by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding, Kind, Verdict
from anatomy.claims.inflection import singular_forms
from anatomy.claims.items import Item
from anatomy.claims.lexicon import listed, rows
from anatomy.claims.phrases import Stream
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence

GAP = 4
"""Words that ``..`` may stand for."""
REACH = 14
"""Words that may stand between a thing and what is said of it."""
STOPS = frozenset({",", ":", "but", "–", "—"})
APART = frozenset({"but", "unlike", "whereas", "while", "than", "because", "if", "when", "where", "which"})
ONE_PERSON = frozenset(
    {
        "newborn",
        "baby",
        "babies",
        "infant",
        "infants",
        "his",
        "her",
        "he",
        "she",
        "patient",
        "patient's",
        "him",
    }
)
NEGATIONS = frozenset({"not", "no", "never", "isn't", "aren't", "doesn't", "don't", "nor", "neither", "cannot", "can't", "won't", "without"})  # fmt: skip

Pattern = tuple[frozenset[str], ...]
"""Words in a row, each one of several; an empty set is a gap."""


@dataclass(frozen=True, eq=False)
class StatedFact:
    """One row of the stated facts."""

    kind: Kind
    about: tuple[Pattern, ...]
    need: frozenset[str]
    said: tuple[tuple[Verdict, Pattern], ...]
    why: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class _Place:
    """Words ``i`` to ``j`` of the sentence."""

    i: int
    j: int
    fact: StatedFact
    verdict: Verdict = "unknown"


def _patterns(cell: str) -> tuple[Pattern, ...]:
    return tuple(
        tuple(frozenset() if word == ".." else frozenset(word.split("|")) for word in text.split())
        for text in listed(cell)
    )


@lru_cache(maxsize=1)
def stated_facts() -> tuple[StatedFact, ...]:
    """The rows of data/stated_facts.csv."""
    found: list[StatedFact] = []
    for row in rows("stated_facts"):
        said: list[tuple[Verdict, Pattern]] = []
        verdicts: tuple[Verdict, ...] = ("wrong", "right", "depends")
        for verdict in verdicts:
            said += [(verdict, pattern) for pattern in _patterns(row[verdict])]
        found.append(
            StatedFact(
                row["kind"],  # type: ignore[arg-type]
                _patterns(row["about"]),
                frozenset(listed(row["need"])),
                tuple(said),
                row["why"],
                tuple(listed(row["sources"])),
            )
        )
    return tuple(found)


@lru_cache(maxsize=1)
def _firsts() -> dict[str, list[tuple[StatedFact, Pattern]]]:
    """By its first word, each thing's name; a statement without a thing stands for its own name."""
    found: dict[str, list[tuple[StatedFact, Pattern]]] = {}
    for fact in stated_facts():
        for pattern in fact.about or tuple(pattern for _, pattern in fact.said):
            for word in pattern[0]:
                found.setdefault(word, []).append((fact, pattern))
    return found


@lru_cache(maxsize=1)
def _openings() -> dict[str, frozenset[str]]:
    """First words of things, and words that a whole statement needs, with the words that must follow: none, if it stands alone."""
    found: dict[str, set[str]] = {}
    alone: set[str] = set()
    for fact in stated_facts():
        for pattern in fact.about:
            for word in pattern[0]:
                if len(pattern) == 1:
                    alone.add(word)
                else:
                    found.setdefault(word, set()).update(pattern[1])
        if not fact.about:
            alone |= {word.split(" ")[0] for word in fact.need}
    return {word: frozenset() if word in alone else frozenset(found[word]) for word in found.keys() | alone}


@lru_cache(maxsize=20_000)
def _begins(text: str) -> frozenset[str] | None:
    """Which words must follow what an item says for a thing to begin or stand in it; None where none does."""
    openings = _openings()
    words = text.split(" ")
    wanted: set[str] = set()
    for k, word in enumerate(words):
        for form in singular_forms(word):
            after = openings.get(form)
            if after is None:
                continue
            if not after or (k + 1 < len(words) and not after.isdisjoint(singular_forms(words[k + 1]))):
                return frozenset()
            if k + 1 == len(words):
                wanted |= after
    return frozenset(wanted) if wanted else None


def _names_a_thing(items: Sequence[Item]) -> bool:
    for k, item in enumerate(items):
        wanted = _begins(item.text)
        if wanted is not None and (
            not wanted
            or (k + 1 < len(items) and not wanted.isdisjoint(singular_forms(items[k + 1].text.split(" ")[0])))
        ):
            return True
    return False


def _matched(pattern: Pattern, stream: Stream, place: int) -> int:
    """Where a pattern that begins at a word ends; -1 where it does not stand there."""
    words, forms = stream.words, stream.forms
    k, gap = place, 0
    for wanted in pattern:
        if not wanted:
            gap = GAP
            continue
        while k < len(words) and words[k] not in wanted and wanted.isdisjoint(forms[k]):
            if not gap or (words[k] in STOPS and "," not in wanted):
                return -1
            k, gap = k + 1, gap - 1
        if k >= len(words):
            return -1
        k, gap = k + 1, 0
    return k


def claim_stated(reading: Reading) -> None:
    """Adds the sentence's claims about facts of stated_facts.csv; they stand before others of their kind."""
    if not _names_a_thing(reading.items):
        return
    reading = without_asides(reading)
    stream = reading.stream
    if not ONE_PERSON.isdisjoint(stream.at):
        return
    things = _things(stream)
    if not things:
        return
    used: list[tuple[int, int]] = []
    for first, last, fact, verdict in sorted(_statements(stream, things), key=lambda s: (s[0] - s[1], s[0])):
        if any(a < last and first < b for a, b in used):
            continue
        used.append((first, last))
        _add(reading, stream, first, last, fact, verdict)


def _things(stream: Stream) -> list[_Place]:
    found: list[_Place] = []
    firsts = _firsts()
    for word in firsts.keys() & stream.at.keys():
        for fact, pattern in firsts[word]:
            if fact.need and fact.need.isdisjoint(stream.at) and not _needed(fact, stream):
                continue
            for place in stream.at[word]:
                end = _matched(pattern, stream, place)
                if end > 0:
                    found.append(_Place(place, end, fact))
    return [
        one for one in found
        if not any(o.i <= one.i and one.j <= o.j and o.j - o.i > one.j - one.i and o.fact.about for o in found)
        or not one.fact.about
    ]  # fmt: skip


def _needed(fact: StatedFact, stream: Stream) -> bool:
    said = " ".join(stream.words)
    return any(" " in word and word in said for word in fact.need)


def _statements(stream: Stream, things: list[_Place]) -> Iterator[tuple[int, int, StatedFact, Verdict]]:
    for fact in dict.fromkeys(thing.fact for thing in things):
        own = [thing for thing in things if thing.fact is fact]
        for place in _said_of(fact, stream):
            if not fact.about:
                yield place.i, place.j, fact, place.verdict
                continue
            thing = _nearest(place, own, things, stream)
            if thing is not None:
                yield min(thing.i, place.i), max(thing.j, place.j), fact, place.verdict


def _said_of(fact: StatedFact, stream: Stream) -> list[_Place]:
    """What is said, the longest words of each stretch."""
    found: list[_Place] = []
    for verdict, pattern in fact.said:
        for word in pattern[0] & stream.at.keys():
            for place in stream.at[word]:
                end = _matched(pattern, stream, place)
                if end > 0:
                    found.append(_Place(place, end, fact, verdict))
    found.sort(key=lambda p: p.i - p.j)
    kept: list[_Place] = []
    for one in found:
        if not any(a.i < one.j and one.i < a.j for a in kept):
            kept.append(one)
    return kept


def _nearest(said: _Place, own: list[_Place], things: list[_Place], stream: Stream) -> _Place | None:
    """The thing that something is said of: the last one before it with no other between."""
    before = [t for t in own if t.j <= said.i and said.i - t.j <= REACH]
    if before:
        thing = max(before, key=lambda t: t.j)
        between = stream.words[thing.j : said.i]
        other = any(
            thing.j <= t.i and t.j <= said.i and t.fact is not said.fact and t.fact.kind == said.fact.kind
            and t.fact.about for t in things
        )  # fmt: skip
        return None if other or not APART.isdisjoint(between) else thing
    after = [t for t in own if said.j <= t.i and t.i - said.j <= 5]
    if not after:
        return None
    thing = min(after, key=lambda t: t.i)
    between = stream.words[said.j : thing.i]
    linked = any(
        word in ("is", "are", "lies", "sits", "runs", "goes", "of", "for", "you", "find") for word in between
    )
    return thing if linked and not {",", *APART} & set(between) else None


def _add(reading: Reading, stream: Stream, first: int, last: int, fact: StatedFact, verdict: Verdict) -> None:
    i, j = stream.places[first], stream.places[last - 1] + 1
    own = set(stream.words[first:last])
    before = stream.words[max(0, first - 3) : first]
    clause = max((k for k in range(first, last) if stream.words[k] in STOPS), default=first)
    commas = any("," in words for _, pattern in fact.said for words in pattern)
    denials = sum(word in NEGATIONS for word in stream.words[first if commas else clause : last])
    denials -= any(pattern and "no" in pattern[0] and "no" in own for _, pattern in fact.said)
    denials += any(word in NEGATIONS for word in before[-2:])
    if denials > 0 and verdict != "depends":
        verdict = "right" if verdict == "wrong" else "wrong"
    elif denials > 0:
        return
    why = sentence(fact.why)
    a, b = reading.items[i].start, reading.items[j - 1].end
    beside = [c for c in reading.claims if c.kind == fact.kind and c.start < b and a < c.end]
    if beside and (verdict == "right" or any(c.verdict == verdict for c in beside)):
        return
    reading.claims[:] = [c for c in reading.claims if c.kind != fact.kind or c.end <= a or b <= c.start]
    reading.add(fact.kind, i, j, Finding(verdict, why, why if verdict == "wrong" else "", fact.sources))
