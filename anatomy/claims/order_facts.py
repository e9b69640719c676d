"""The facts behind claims about order: published sequences, names of movements and stations, and what a sentence said."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from anatomy.claims.lexicon import listed, rows
from anatomy.claims.phrases import PhraseBook, Sighting
from anatomy.vocabulary.collection import Vocabulary

VERBS = frozenset(
    [
        "starts",
        "start",
        "started",
        "begins",
        "begin",
        "begun",
        "finishes",
        "finish",
        "ends",
        "end",
        "initiated",
        "opens",
        "originates",
    ]
)


@dataclass(frozen=True)
class Sequence:
    """One published order: each station with its rank; equal ranks have no order among them."""

    movement: str
    ranks: dict[str, int]
    stations: tuple[str, ...]
    note: str
    sources: tuple[str, ...]
    varies: bool = False


@dataclass
class Said:
    """What a sentence says of the order of its stations: pairs of numbers, earlier one first.

    ``verbs`` are the stations that only a verb ("starts", "ends") calls first or last.
    """

    pairs: list[tuple[int, int]] = field(default_factory=list)
    first: set[int] = field(default_factory=set)
    last: set[int] = field(default_factory=set)
    verbs: set[int] = field(default_factory=set)

    def mark(self, k: int, sighting: Sighting) -> None:
        """Note that a mark calls station ``k`` the first or the last."""
        (self.first if sighting.value == "first" else self.last).add(k)
        if sighting.words[0] in VERBS:
            self.verbs.add(k)

    def forget(self, k: int) -> None:
        """Take back what a verb alone made of a station: "before the hips have started"."""
        if k in self.verbs:
            self.first.discard(k)
            self.last.discard(k)


class OrderBooks:
    """The phrases and sequences of this kind for one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        gathered: dict[str, list[tuple[str, str]]] = {}
        for row in rows("order_words"):
            gathered.setdefault(row["sort"], []).extend((text, row["value"]) for text in listed(row["words"]))
        self.words = {sort: PhraseBook(entries) for sort, entries in gathered.items()}
        self.stations = PhraseBook.of_table("order_stations", "stations", verbs="")
        self.verbs = PhraseBook.of_table("order_stations", "stations", nouns="verbs")
        self.phases = frozenset(
            station for row in rows("order_sequences") for station in listed(row["order"].replace("|", ";"))
        ) - {segment for chain in vocabulary.chains for segment in chain.order}
        own = PhraseBook.of_table("order_movements", "movements")
        known = {words for words, _ in own.entries}
        entries = [(" ".join(words), value) for words, values in own.entries for value in values]
        for term in vocabulary.terms:
            if term.kind == "chain" and tuple(term.text.casefold().replace("-", " ").split()) not in known:
                entries.append((term.text, term.of))
        self.movements = PhraseBook(entries)
        self.sequences: dict[str, list[Sequence]] = {}
        for row in rows("order_sequences"):
            self._add(
                row["movement"],
                listed(row["order"]),
                row["note"],
                listed(row["sources"]),
                row["varies"] == "yes",
            )
        for chain in vocabulary.chains:
            self._add(chain.movement, list(chain.order), chain.note, chain.sources)

    def _add(
        self, movement: str, order: list[str], note: str, sources: Iterable[str], varies: bool = False
    ) -> None:
        ranks = {name.strip(): rank for rank, names in enumerate(order) for name in names.split("|")}
        stations = tuple(name.strip() for names in order for name in names.split("|"))
        self.sequences.setdefault(movement, []).append(
            Sequence(movement, ranks, stations, note, tuple(sources), varies)
        )


@lru_cache(maxsize=4)
def order_books(vocabulary: Vocabulary) -> OrderBooks:
    """The compiled tables for a vocabulary."""
    return OrderBooks(vocabulary)
