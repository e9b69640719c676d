"""What screening and sorting say of a text, in the shape in which a question keeps it."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from breakdowns.questions.screening import URGENCIES, Screening, screen
from breakdowns.questions.search.terms import index_words, mark
from breakdowns.questions.search.words import named, search_words

__all__ = [
    "alike",
    "answer_columns",
    "compares_senses",
    "grouped_with",
    "rank_of",
    "read_text",
    "screen_text",
    "topics",
]

_SORTING = "breakdowns.questions.sorting"
_ORDER = ("", *reversed(URGENCIES)) if URGENCIES[0].startswith("emergency") else ("", *URGENCIES)


def rank_of(urgency: str | None) -> int:
    """0 for none, higher for more urgent."""
    return _ORDER.index(urgency or "")


def screen_text(text: str) -> Screening:
    """The flags of a text (Q: breakdowns.questions.screening)."""
    return screen(text)


def _sorting() -> Any:
    """The sorting stage, or None where it is not installed: then questions wait unsorted, in order of time."""
    found = import_module(_SORTING) if find_spec(_SORTING) else None
    return found if hasattr(found, "sort_question") else None


def read_text(text: str) -> dict[str, Any]:
    """Columns of a question or an answer: topic, regions, joints, muscles, minutes, why, fingerprint, words."""
    sorting = _sorting()
    if sorting is None:
        return _plain(text)
    found = sorting.sort_question(text)
    return {
        "topic": found.topic,
        "regions": list(found.regions),
        "joints": list(found.joints),
        "muscles": list(found.muscles),
        "minutes": round(float(found.minutes), 1),
        "sorted": {
            "topic": found.topic,
            "topic_because": found.topic_because,
            "minutes": round(float(found.minutes), 1),
            "minutes_because": found.minutes_because,
        },
        "fingerprint": sorting.fingerprint(text).as_json(),
        "search_words": index_words(sorting.search_words(text)),
    }


def answer_columns(asked: str, words: str, regions: Sequence[str]) -> dict[str, Any]:
    """What an answer is found by: its question, its own words, and a mark for each region."""
    read = read_text(asked)
    marks = [mark("region", one) for one in regions]
    found = " ".join([read["search_words"], read_text(words)["search_words"], *marks])
    return {"fingerprint": read["fingerprint"], "search_words": " ".join(found.split())}


def _plain(text: str) -> dict[str, Any]:
    """Without the sorting: what the vocabulary names, and words to be found by."""
    found = named(text)
    return {
        "joints": [of for kind, of in found if kind == "joint"],
        "muscles": [of for kind, of in found if kind == "muscle"],
        "fingerprint": {},
        "search_words": index_words(search_words(text)),
    }


def _fingerprint(kept: Any) -> Any:
    return _sorting().Fingerprint.from_json(kept)


def alike(
    fingerprint: dict[str, Any], others: Sequence[tuple[Any, dict[str, Any]]], limit: int
) -> list[tuple[Any, float]]:
    """(key, similarity in [0, 1]) of the most similar of ``others`` (key, fingerprint), best first."""
    sorting = _sorting()
    if sorting is None or not fingerprint:
        return []
    mine = _fingerprint(fingerprint)
    scored = [(key, sorting.similarity(mine, _fingerprint(kept))) for key, kept in others if kept]
    return sorted(scored, key=lambda pair: -pair[1])[:limit]


def compares_senses() -> bool:
    """Whether questions are compared by the sense of the whole too, so that they need no word in common."""
    sorting = _sorting()
    return sorting is not None and sorting.sentence_encoder() is not None


def grouped_with(fingerprint: dict[str, Any], others: Sequence[tuple[Any, dict[str, Any]]]) -> list[Any]:
    """Keys of those that ask the same in other words, as grouping sees it."""
    kept = [(key, print_) for key, print_ in others if print_]
    if not kept or not fingerprint or _sorting() is None:
        return []
    prints = [_fingerprint(fingerprint), *(_fingerprint(print_) for _, print_ in kept)]
    for group in _sorting().group_questions(prints):
        places = list(group)
        if 0 in places:
            return [kept[place - 1][0] for place in places if place]
    return []


def topics() -> tuple[str, ...]:
    """The topics that a question may have, in the order of the sorting."""
    usual = (
        "injury advice", "technique", "anatomy", "training load", "equipment", "account/billing", "off-topic",
    )  # fmt: skip
    return tuple(getattr(_sorting(), "TOPICS", usual))
