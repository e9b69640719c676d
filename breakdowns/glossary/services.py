"""Writes of the browser: own terms and entries, taking out and putting back. The rules stand in ``anatomy``."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from anatomy.vocabulary.models import OwnEntry, OwnTerm
from anatomy.vocabulary.own import EntryGiven, OwnFault, TermGiven
from anatomy.vocabulary.services import (
    add_own_entry,
    add_own_term,
    change_own_term,
    remove_own_entry,
    remove_own_term,
)

__all__ = ["change_own_entry", "put_back", "take_entry_out", "take_term_out"]

_TERM = ("text", "kind", "of", "style", "gloss", "note")
_ENTRY = ("kind", "name", "gloss", "joint", "plane", "side", "note")


@transaction.atomic
def change_own_entry(entry: OwnEntry, given: EntryGiven) -> OwnEntry:
    """Change an entry of the site's own; the terms that point to it follow its name. Raises OwnFault."""
    before, added_by = (entry.kind, entry.key), entry.added_by
    terms = list(OwnTerm.objects.filter(kind=entry.kind, of=entry.key))
    remove_own_entry(entry.pk)
    changed = add_own_entry(given, added_by)
    for term in terms if before != (changed.kind, changed.key) else ():
        change_own_term(
            term.pk,
            TermGiven(term.text, changed.kind, changed.key, term.style, term.gloss, term.note),
        )
    return changed


def take_term_out(term: OwnTerm) -> dict[str, Any]:
    """Delete a term; what comes back is all that ``put_back`` needs."""
    kept = {name: getattr(term, name) for name in _TERM} | {"what": "term", "added_by": term.added_by}
    kept["shown"] = term.text
    remove_own_term(term.pk)
    return kept


def take_entry_out(entry: OwnEntry) -> dict[str, Any]:
    """Delete an entry; the terms that point to it stay and wait for it."""
    kept = {name: getattr(entry, name) for name in _ENTRY} | {"what": "entry", "added_by": entry.added_by}
    kept["shown"] = entry.name
    remove_own_entry(entry.pk)
    return kept


def put_back(kept: dict[str, Any]) -> OwnTerm | OwnEntry:
    """Add again what was taken out. Raises OwnFault where something else stands in its place by now."""
    by = kept["added_by"]
    if kept["what"] == "term":
        return add_own_term(TermGiven(**{name: kept[name] for name in _TERM}), by)
    if kept["what"] == "entry":
        return add_own_entry(EntryGiven(**{name: kept[name] for name in _ENTRY}), by)
    raise OwnFault({"text": "There is nothing to put back."})
