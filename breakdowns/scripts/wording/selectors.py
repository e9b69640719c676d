"""What the words column asks while one types: marks under one beat's words, the terms there are, what one means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Term
from anatomy.vocabulary.naming import fold
from breakdowns.scripts.checks import WORD_CHECKS
from breakdowns.scripts.citations import cited_briefly
from breakdowns.scripts.margin import Note, read_margin
from breakdowns.scripts.models import AnsweredNote, Beat, Breakdown
from breakdowns.scripts.plate_content import AnatomyTable, NoEntry, TableRow, anatomy_table
from breakdowns.scripts.selectors import SharedFindings, script_view
from breakdowns.scripts.terms import everyday_words, meanings_of

__all__ = ["Meaning", "marks_of_words", "meanings_shown", "terms_listed"]

_MOST_MEANINGS = 4
_MOST_ROWS = 4


# --- marks under the words of one beat -------------------------------------------------------------


def marks_of_words(breakdown: Breakdown, beat: Beat, words: str) -> list[dict[str, Any]]:
    """What the checks of words say of ``words`` as the words of ``beat``; nothing is stored.

    Offsets are characters of ``words``, half-open. ``note`` is the id of the note that stands in the margin
    once the words are saved; ``replace`` is [start, end, text] where one key may put it in.
    """
    whole = script_view(breakdown, [beat])
    view = whole.beats[0]
    if words != view.words:
        view = replace(view, words=words, take_seconds=None, word_starts=())
    answered = dict(AnsweredNote.objects.filter(breakdown=breakdown).values_list("note_id", "reason"))
    script = replace(whole, beats=(view,))
    margin = read_margin(script, WORD_CHECKS, cache=SharedFindings(), answered=answered)
    return [_mark(note, *note.span) for note in margin.notes if note.span]


def _mark(note: Note, start: int, end: int) -> dict[str, Any]:
    replacement = next((_placed(dict(one.arguments)) for one in note.actions if _is_one_key(one)), None)
    said = {"note": note.id, "state": note.state, "says": note.says}
    return {**said, "start": start, "end": end, "replace": replacement}


def _is_one_key(action: Any) -> bool:
    return bool(action.key) and action.command == "replace_words"


def _placed(given: Mapping[str, Any]) -> list[Any]:
    return [given["start"], given["end"], given["text"]]


# --- the terms there are ----------------------------------------------------------------------------


@lru_cache(maxsize=2)
def terms_listed(vocabulary: Vocabulary) -> Mapping[str, Any]:
    """``terms``: [text, kind, standard name, style] each; ``ordinary``: words over which no list comes up."""
    rows = [[term.text, term.kind, term.of, term.style] for term in vocabulary.terms if term.kind != "chain"]
    return {"terms": rows, "ordinary": sorted(everyday_words("body", "speech"))}


# --- what a term means ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Meaning:
    """One entry as the pop-up shows it."""

    term: Term
    kind: str
    name: str
    table: AnatomyTable

    @property
    def rows(self) -> tuple[TableRow, ...]:
        return self.table.rows[:_MOST_ROWS]

    @property
    def more(self) -> int:
        return max(0, self.table.total - _MOST_ROWS)

    @property
    def cite(self) -> str:
        return cited_briefly(self.table.sources, 3)

    @property
    def as_said(self) -> str:
        """What was said, where that is not the entry's own name."""
        return "" if fold(self.term.text) == fold(self.table.heading) else self.term.text


def meanings_shown(text: str, vocabulary: Vocabulary) -> list[Meaning]:
    """Everything that a text may stand for, as far as the vocabulary can show it."""
    found: dict[tuple[str, str], Meaning] = {}
    for term in meanings_of(text, vocabulary):
        for kind, of in _entries_of(vocabulary, term):
            table = _table(vocabulary, kind, of)
            if table is not None:
                found.setdefault((kind, of), Meaning(term, kind, of, table))
    return list(found.values())[:_MOST_MEANINGS]


def _table(vocabulary: Vocabulary, kind: str, name: str) -> AnatomyTable | None:
    """The entry as a plate shows it; its plain words alone where plates have no table for its kind."""
    try:
        return anatomy_table(vocabulary, kind, name)
    except NoEntry:
        entry = vocabulary.entry(kind, name)
    gloss = getattr(entry, "gloss", "")
    if entry is None or not gloss:
        return None
    return AnatomyTable(
        f"{name[:1].upper()}{name[1:]}", gloss=gloss, sources=tuple(vocabulary.cite(entry.sources))
    )


def _entries_of(vocabulary: Vocabulary, term: Term) -> list[tuple[str, str]]:
    """The entries behind a term: a motion without its joint is one at each joint, an axis belongs to its plane."""
    if term.kind == "motion" and vocabulary.entry("motion", term.of) is None:
        return [("motion", f"{motion.joint}: {motion.name}") for motion in vocabulary.motions_named(term.of)]
    if term.kind == "axis":
        return [("plane", plane.name) for plane in vocabulary.planes.values() if plane.axis == term.of]
    return [(term.kind, term.of)]
