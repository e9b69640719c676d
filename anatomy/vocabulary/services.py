"""Writes to the vocabulary's tables: the load of the data files, and what a site adds itself. One transaction each."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections, models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from anatomy.vocabulary import models as tables
from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.mirroring import MIRRORS, Row, rows_of
from anatomy.vocabulary.models import OwnEntry, OwnTerm, VocabularyState
from anatomy.vocabulary.naming import fold
from anatomy.vocabulary.own import EntryGiven, OwnFault, TermGiven, entry_faults, term_faults
from anatomy.vocabulary.packaged import packaged_stamp, packaged_vocabulary, vocabulary_stamp
from anatomy.vocabulary.reading import read_vocabulary
from anatomy.vocabulary.selectors import current_vocabulary, vocabulary_without

__all__ = [
    "Counts",
    "LoadReport",
    "add_own_entry",
    "add_own_term",
    "change_own_entry",
    "change_own_term",
    "load_after_migrate",
    "remove_own_entry",
    "remove_own_term",
    "restore_own_entry",
    "restore_own_term",
    "vocabulary_load",
]

_log = logging.getLogger(__name__)
_BATCH = 500


@dataclass
class Counts:
    """What a load did to one table, in rows."""

    added: int = 0
    changed: int = 0
    removed: int = 0
    unchanged: int = 0


@dataclass(frozen=True)
class LoadReport:
    """What a load did, table by table; ``stamp`` is that of the files."""

    stamp: str
    counts: dict[str, Counts]

    def total(self, what: str) -> int:
        """Rows over all tables; ``what`` is added, changed, removed or unchanged."""
        return sum(getattr(counts, what) for counts in self.counts.values())


def vocabulary_load(folder: Path | Traversable | None = None) -> LoadReport:
    """Brings the tables in line with a folder of data files (the packaged ones unless told otherwise).

    A second run with the same files changes nothing. What the site added itself is not touched.
    Raises VocabularyFaults, with the tables as they were, when the files have a fault.
    """
    vocabulary = packaged_vocabulary() if folder is None else read_vocabulary(folder)
    stamp = packaged_stamp() if folder is None else vocabulary_stamp(folder)
    origin = VocabularyState.Origin.PACKAGED if folder is None else VocabularyState.Origin.FOLDER
    with transaction.atomic():
        state = _locked_state()
        report = LoadReport(stamp, _write(rows_of(vocabulary)))
        if (state.loaded_stamp, state.origin) != (stamp, origin):
            state.loaded_stamp, state.origin, state.loaded_at = stamp, origin, timezone.now()
            state.save(update_fields=["loaded_stamp", "origin", "loaded_at"])
    return report


def load_after_migrate(using: str, verbosity: int) -> None:
    """Loads the packaged files once the tables are there, unless they are loaded or the site has files of its own.

    Faulty files are named in the log and change nothing: a migration must not stop half-way for them.
    """
    if using != DEFAULT_DB_ALIAS or not _tables_are_ready(using):
        return
    state = VocabularyState.objects.filter(pk=1).first()
    if state and state.origin == VocabularyState.Origin.FOLDER:
        if verbosity:
            _log.warning(
                "The vocabulary stays as this site loaded it; load_vocabulary takes the packaged one instead."
            )
        return
    if state and state.loaded_stamp == packaged_stamp():
        return
    try:
        vocabulary_load()
    except VocabularyFaults as fault:
        _log.error(
            "The packaged vocabulary was not loaded, %d faults: %s", len(fault.faults), fault.faults[0]
        )


def add_own_term(given: TermGiven, added_by: str = "") -> OwnTerm:
    """Adds another way of saying an entry. ``added_by`` is a name as people read it. Raises OwnFault."""
    with transaction.atomic():
        state = _locked_state()
        _refuse(term_faults(given, current_vocabulary()))
        term = OwnTerm.objects.create(**asdict(given), folded=fold(given.text), added_by=added_by)
        _own_changed(state)
    return term


def change_own_term(pk: int, given: TermGiven) -> OwnTerm:
    """Changes a term of the site's own, one that points to nothing included. Raises OwnFault, OwnTerm.DoesNotExist."""
    with transaction.atomic():
        state = _locked_state()
        term = OwnTerm.objects.get(pk=pk)
        _refuse(term_faults(given, vocabulary_without(term)))
        for name, value in asdict(given).items():
            setattr(term, name, value)
        term.folded = fold(given.text)
        term.save()
        _own_changed(state)
    return term


def remove_own_term(pk: int) -> None:
    """Takes a term of the site's own out again; one that is gone already is no fault."""
    with transaction.atomic():
        state = _locked_state()
        if OwnTerm.objects.filter(pk=pk).delete()[0]:
            _own_changed(state)


def add_own_entry(given: EntryGiven, added_by: str = "") -> OwnEntry:
    """Adds an entry that the vocabulary lacks. Raises OwnFault."""
    with transaction.atomic():
        state = _locked_state()
        _refuse(entry_faults(given, current_vocabulary()))
        # One that an upgrade has made ours is in the way of nobody and stays; its name is refused above.
        entry = OwnEntry.objects.create(**asdict(given), folded=fold(given.name), added_by=added_by)
        _own_changed(state)
    return entry


def change_own_entry(pk: int, given: EntryGiven) -> OwnEntry:
    """Changes an entry of the site's own; the terms that point to it follow its name.

    One that ours has superseded has no terms: those of that name point to ours and stay there.
    Raises OwnFault, OwnEntry.DoesNotExist.
    """
    with transaction.atomic():
        state = _locked_state()
        entry = OwnEntry.objects.get(pk=pk)
        before = (entry.kind, entry.key)
        counted = before in current_vocabulary().own
        # Its own name must not be in its way: it is out while the new one is judged.
        kept = {"pk": pk, "added_by": entry.added_by}
        added_at = entry.added_at
        entry.delete()
        _own_changed(state)
        _refuse(entry_faults(given, current_vocabulary()))
        changed = OwnEntry.objects.create(**asdict(given), folded=fold(given.name), **kept)
        OwnEntry.objects.filter(pk=pk).update(added_at=added_at)
        _own_changed(state)
        after = (changed.kind, changed.key)
        terms = OwnTerm.objects.filter(kind=before[0], of=before[1]) if counted and before != after else ()
        for term in terms:
            change_own_term(term.pk, TermGiven(term.text, *after, term.style, term.gloss, term.note))
    return changed


def restore_own_term(given: TermGiven, added_by: str = "", waits: bool = False) -> OwnTerm:
    """Adds again what was removed; ``waits``: it pointed to nothing then, and may do so again. Raises OwnFault."""
    with transaction.atomic():
        state = _locked_state()
        faults = term_faults(given, current_vocabulary())
        taken = OwnTerm.objects.filter(kind=given.kind, of=given.of, folded=fold(given.text)).exists()
        if taken or not (waits and set(faults) == {"of"}):
            _refuse(faults or ({"text": f"{given.text!r} is there already."} if taken else {}))
        term = OwnTerm.objects.create(**asdict(given), folded=fold(given.text), added_by=added_by)
        _own_changed(state)
    return term


def restore_own_entry(given: EntryGiven, added_by: str = "", idle: bool = False) -> OwnEntry:
    """Adds again what was removed; ``idle``: it did not count then, and need not now. Raises OwnFault."""
    with transaction.atomic():
        state = _locked_state()
        row = {"kind": given.kind, "folded": fold(given.name), "joint": given.joint}
        if OwnEntry.objects.filter(**row).exists():
            _refuse({"name": f"{given.name!r} is there already."})
        if not idle:
            _refuse(entry_faults(given, current_vocabulary()))
        entry = OwnEntry.objects.create(**asdict(given), folded=fold(given.name), added_by=added_by)
        _own_changed(state)
    return entry


def remove_own_entry(pk: int) -> None:
    """Takes an entry of the site's own out; the terms that point to it stay and are shown as pointing to nothing."""
    with transaction.atomic():
        state = _locked_state()
        if OwnEntry.objects.filter(pk=pk).delete()[0]:
            _own_changed(state)


def _refuse(faults: dict[str, str]) -> None:
    if faults:
        raise OwnFault(faults)


def _own_changed(state: VocabularyState) -> None:
    # Random, not counted: a number that a rolled-back change took would be given out a second time.
    state.own_stamp = secrets.token_hex(16)
    state.save(update_fields=["own_stamp"])


def _locked_state() -> VocabularyState:
    """The state row, locked until the transaction ends, so that two writers wait for each other."""
    VocabularyState.objects.get_or_create(pk=1)
    return VocabularyState.objects.select_for_update().get(pk=1)


def _tables_are_ready(using: str) -> bool:
    executor = MigrationExecutor(connections[using])
    leaves = [leaf for leaf in executor.loader.graph.leaf_nodes() if leaf[0] == "vocabulary"]
    if executor.migration_plan(leaves):
        return False
    return VocabularyState._meta.db_table in connections[using].introspection.table_names()


_MODELS: dict[str, type[models.Model]] = {
    "sources": tables.Source,
    "planes": tables.Plane,
    "joints": tables.Joint,
    "motions": tables.Motion,
    "nerves": tables.Nerve,
    "groups": tables.Group,
    "muscles": tables.Muscle,
    "muscle_nerves": tables.MuscleNerve,
    "memberships": tables.Membership,
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


@dataclass(frozen=True)
class _Change:
    """What has to happen to one table."""

    model: type[models.Model]
    gone: list[Any]
    new: list[Row]
    other: list[tuple[Any, Row]]
    same: int


def _write(rows: dict[str, list[Row]]) -> dict[str, Counts]:
    """Makes every table hold these rows. Deletes go first: a name may return under other capitals."""
    changes = {table: _change(table, rows[table]) for table in MIRRORS}
    for change in changes.values():
        for start in range(0, len(change.gone), _BATCH):
            change.model._default_manager.filter(pk__in=change.gone[start : start + _BATCH]).delete()
    for change in changes.values():
        change.model._default_manager.bulk_create(
            [change.model(**row) for row in change.new], batch_size=_BATCH
        )
    for change in changes.values():
        for pk, row in change.other:
            change.model._default_manager.filter(pk=pk).update(**row)
    return {
        table: Counts(len(change.new), len(change.other), len(change.gone), change.same)
        for table, change in changes.items()
    }


def _change(table: str, rows: Sequence[Row]) -> _Change:
    model = _MODELS[table]
    pk = model._meta.pk.attname
    stored = {_key(table, row): row for row in model._default_manager.values()}
    wanted = {_key(table, row): row for row in rows}
    kept = [key for key in wanted if key in stored]
    other = [key for key in kept if any(stored[key][name] != value for name, value in wanted[key].items())]
    return _Change(
        model,
        gone=[row[pk] for key, row in stored.items() if key not in wanted],
        new=[row for key, row in wanted.items() if key not in stored],
        other=[(stored[key][pk], wanted[key]) for key in other],
        same=len(kept) - len(other),
    )


def _key(table: str, row: Row) -> tuple[Any, ...]:
    values = (row[name] for name in MIRRORS[table])
    return tuple(tuple(value) if isinstance(value, list) else value for value in values)
