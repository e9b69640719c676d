"""Writes of the browser: own terms and entries, taking out and putting back. The rules stand in ``anatomy``."""

from __future__ import annotations

from typing import Any

from anatomy.vocabulary.models import OwnEntry, OwnTerm
from anatomy.vocabulary.own import EntryGiven, OwnFault, TermGiven
from anatomy.vocabulary.selectors import current_vocabulary
from anatomy.vocabulary.services import (
    remove_own_entry,
    remove_own_term,
    restore_own_entry,
    restore_own_term,
)

__all__ = ["put_back", "take_entry_out", "take_term_out"]

_TERM = ("text", "kind", "of", "style", "gloss", "note")
_ENTRY = ("kind", "name", "gloss", "joint", "plane", "side", "note")


def take_term_out(term: OwnTerm) -> dict[str, Any]:
    """Delete a term; what comes back is all that ``put_back`` needs."""
    kept = {name: getattr(term, name) for name in _TERM} | {"what": "term", "added_by": term.added_by}
    kept["shown"] = term.text
    kept["idle"] = not current_vocabulary().has(term.kind, term.of)
    remove_own_term(term.pk)
    return kept


def take_entry_out(entry: OwnEntry) -> dict[str, Any]:
    """Delete an entry; the terms that point to it stay and wait for it."""
    kept = {name: getattr(entry, name) for name in _ENTRY} | {"what": "entry", "added_by": entry.added_by}
    kept["shown"] = entry.name
    kept["idle"] = (entry.kind, entry.key) not in current_vocabulary().own
    remove_own_entry(entry.pk)
    return kept


def put_back(kept: dict[str, Any]) -> OwnTerm | OwnEntry:
    """Add again what was taken out. Raises OwnFault where something else stands in its place by now."""
    by, idle = kept["added_by"], kept.get("idle", False)
    if kept["what"] == "term":
        return restore_own_term(TermGiven(**{name: kept[name] for name in _TERM}), by, waits=idle)
    if kept["what"] == "entry":
        return restore_own_entry(EntryGiven(**{name: kept[name] for name in _ENTRY}), by, idle=idle)
    raise OwnFault({"text": "There is nothing to put back."})
