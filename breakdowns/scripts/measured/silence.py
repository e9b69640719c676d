"""Which clauses speak of this picture at all.

Questions, what is denied or taken back, what should be, what is usual, what was published or thought, what another
picture shows: none of it is a statement about what stands on the screen. Imports no Django.
"""

from __future__ import annotations

from collections.abc import Iterator

from breakdowns.scripts.measured.items import Item, Sentence

__all__ = ["clauses_of"]

_JOINING = frozenset({",", ":", "–", "—", "-"})


def clauses_of(sentence: Sentence) -> Iterator[Sentence]:
    """The parts of a sentence that speak of this picture; "but" parts what should be from what is."""
    if sentence.question:
        return
    first = 0
    items = sentence.items
    for place in (*(k for k, item in enumerate(items) if item.is_("BUT")), len(items)):
        clause = items[first:place]
        if clause and not _is_silent(clause):
            yield Sentence(sentence.text, clause)
        first = place + 1


def _is_silent(items: tuple[Item, ...]) -> bool:
    if any(item.is_("SILENT", "CORRECT") for item in items):
        return True
    return _is_denied(items) or _is_command(items)


def _is_denied(items: tuple[Item, ...]) -> bool:
    """A denial; "No: the knee is …" answers and then states."""
    for place, item in enumerate(items):
        if item.is_("NEG") or item.text.endswith("n't"):
            answers = place == 0 and len(items) > 1 and items[1].text in _JOINING and item.text == "no"
            if not answers:
                return True
    return False


def _is_command(items: tuple[Item, ...]) -> bool:
    """ "Keep the elbow at ninety": told to do, not told to be so."""
    place = 0
    while place < len(items) and (
        items[place].text in ("so", "then", "now", "just", "and") or items[place].text == ","
    ):
        place += 1
    if place >= len(items) or not items[place].is_("IMPERATIVE"):
        return False
    follows = items[place + 1] if place + 1 < len(items) else None
    return follows is None or not (follows.text in ("of", ":", ",") or follows.is_("NUM", "BE"))
