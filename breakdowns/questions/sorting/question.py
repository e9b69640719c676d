"""One question sorted: topic, what of the body it names, and the minutes that it will take."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from breakdowns.questions.search.words import named
from breakdowns.questions.search.words import search_words as words_and_entries
from breakdowns.questions.sorting.effort import minutes_for
from breakdowns.questions.sorting.lexicon import with_parents
from breakdowns.questions.sorting.reading import Reading, read
from breakdowns.questions.sorting.topics import topic_of
from breakdowns.questions.sorting.words import LONGEST_READ, table

__all__ = ["Sorted", "concepts", "search_words", "sort_question"]


@dataclass(frozen=True, slots=True)
class Sorted:
    """What the machine says of a question; every field may be corrected by a person.

    ``joints`` and ``muscles`` are standard names of the vocabulary, ``regions`` everyday names of parts of the body.
    """

    topic: str
    topic_because: str
    regions: tuple[str, ...]
    joints: tuple[str, ...]
    muscles: tuple[str, ...]
    minutes: float
    minutes_because: str


def sort_question(text: str) -> Sorted:
    """Sorts a text of any length by its first ``LONGEST_READ`` signs."""
    reading = read(text[:LONGEST_READ])
    topic = topic_of(reading)
    minutes, because = minutes_for(topic.name, reading)
    entries = named(text[:LONGEST_READ])
    return Sorted(
        topic=topic.name,
        topic_because=topic.because,
        regions=_regions(reading),
        joints=tuple(of for kind, of in entries if kind == "joint"),
        muscles=tuple(of for kind, of in entries if kind in ("muscle", "group")),
        minutes=minutes,
        minutes_because=because,
    )


def concepts(text: str) -> tuple[str, ...]:
    """Keys of what a text names, each once, in order; what it denies is left out."""
    return tuple(dict.fromkeys(found.key for found in read(text[:LONGEST_READ]).found if not found.denied))


def search_words(text: str) -> str:
    """What the full-text index holds: stems and entries of the vocabulary, then the concepts with the wider ones."""
    keys = [wider for key in concepts(text) for wider in with_parents(key)]
    return " ".join(
        dict.fromkeys([*words_and_entries(text).split(), *(key.replace(" ", "-") for key in keys)])
    )


@cache
def _region_names() -> dict[str, str]:
    return {row["concept"]: row["name"] for row in table("region_names.csv")}


def _regions(reading: Reading) -> tuple[str, ...]:
    keys = (found.key for found in reading.found if found.kind == "region")
    return tuple(dict.fromkeys(_region_names()[key] for key in keys))
