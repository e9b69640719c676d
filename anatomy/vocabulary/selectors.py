"""Reads of the vocabulary as this site has it: what is loaded, with what the site added itself."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from anatomy.vocabulary import models as tables
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.mirroring import vocabulary_of
from anatomy.vocabulary.models import OwnEntry, OwnTerm, VocabularyState
from anatomy.vocabulary.own import EntryGiven, TermGiven, record_of, term_of
from anatomy.vocabulary.packaged import packaged_stamp, packaged_vocabulary

__all__ = [
    "OwnEntryShown",
    "OwnTermShown",
    "current_vocabulary",
    "own_entries",
    "own_terms",
    "vocabulary_without",
]

Stamps = tuple[str, str]


@dataclass(frozen=True)
class _Kept:
    """What was put together last: without and with what the site added."""

    stamps: Stamps
    loaded: Vocabulary
    merged: Vocabulary


# Replaced whole, so that threads need no lock.
_kept: _Kept | None = None


def current_vocabulary() -> Vocabulary:
    """The loaded vocabulary (the packaged one while nothing is loaded) with the site's own terms and entries.

    Kept for each process; one small query tells whether it is still good.
    """
    return _current().merged


def vocabulary_without(term: OwnTerm) -> Vocabulary:
    """The current vocabulary as it would be without one term of the site's own. Not kept."""
    return _merged(_current().loaded, OwnTerm.objects.exclude(pk=term.pk))


def _current() -> _Kept:
    global _kept
    while True:
        stamps, kept = _stamps(), _kept
        if kept and kept.stamps == stamps:
            return kept
        same_files = kept is not None and kept.stamps[0] == stamps[0]
        loaded = kept.loaded if kept and same_files else _loaded_vocabulary(stamps[0])
        fresh = _Kept(stamps, loaded, _merged(loaded, OwnTerm.objects.all()))
        # What was changed while it was being read shows in the stamps, and it is read again.
        if _stamps() == stamps:
            _kept = fresh
            return fresh


@dataclass(frozen=True)
class OwnTermShown:
    """A term of the site's own; ``lost`` when the entry that it points to is no longer there."""

    term: OwnTerm
    lost: bool


@dataclass(frozen=True)
class OwnEntryShown:
    """An entry of the site's own and whether it counts.

    ``superseded``: ours has one of that name by now, which counts instead. ``lost``: its joint is no longer there.
    """

    entry: OwnEntry
    state: Literal["counts", "superseded", "lost"]


def own_terms() -> list[OwnTermShown]:
    """Every term of the site's own by text, those that point to nothing included."""
    vocabulary = current_vocabulary()
    return [OwnTermShown(term, not vocabulary.has(term.kind, term.of)) for term in OwnTerm.objects.all()]


def own_entries() -> list[OwnEntryShown]:
    """Every entry of the site's own by kind and name, those that no longer count included."""
    vocabulary = current_vocabulary()
    return [OwnEntryShown(entry, _state(entry, vocabulary)) for entry in OwnEntry.objects.all()]


def _state(entry: OwnEntry, vocabulary: Vocabulary) -> Literal["counts", "superseded", "lost"]:
    if (entry.kind, entry.key) in vocabulary.own:
        return "counts"
    return "superseded" if vocabulary.entry(entry.kind, entry.key) else "lost"


def _stamps() -> Stamps:
    row = VocabularyState.objects.filter(pk=1).values_list("loaded_stamp", "own_stamp").first()
    return row or ("", "")


def _loaded_vocabulary(stamp: str) -> Vocabulary:
    return packaged_vocabulary() if stamp in ("", packaged_stamp()) else _stored_vocabulary()


def _stored_vocabulary() -> Vocabulary:
    mirrors = {
        "sources": tables.Source,
        "planes": tables.Plane,
        "joints": tables.Joint,
        "motions": tables.Motion,
        "nerves": tables.Nerve,
        "groups": tables.Group,
        "muscles": tables.Muscle,
        "actions": tables.Action,
        "ranges": tables.Range,
        "structures": tables.Structure,
        "contractions": tables.Contraction,
        "phases": tables.Phase,
        "segments": tables.Segment,
        "chains": tables.Chain,
        "concepts": tables.Concept,
        "terms": tables.Term,
    }
    return vocabulary_of({name: list(model._default_manager.values()) for name, model in mirrors.items()})


def _merged(loaded: Vocabulary, terms: Iterable[OwnTerm]) -> Vocabulary:
    given = [TermGiven(t.text, t.kind, t.of, t.style) for t in terms]
    entries = [
        record_of(EntryGiven(e.kind, e.name, e.gloss, e.joint, e.plane, e.side), loaded)
        for e in OwnEntry.objects.all()
    ]
    if not given and not entries:
        return loaded
    return loaded.with_own(map(term_of, given), entries)
