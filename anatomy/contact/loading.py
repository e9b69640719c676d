"""Reads a folder of the contact map's data files, gathering every fault before it gives up."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from anatomy.contact.checks import faults_between
from anatomy.contact.entries import TABLES
from anatomy.contact.facts import ContactFacts
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.faults import Fault, VocabularyFaults
from anatomy.vocabulary.packaged import packaged_vocabulary
from anatomy.vocabulary.placed import Rows
from anatomy.vocabulary.reading import data_files, read_table

__all__ = ["packaged_facts", "read_facts"]


@cache
def packaged_facts() -> ContactFacts:
    """The facts that come with the project, read once for each process."""
    return read_facts(files("anatomy.contact").joinpath("data"), packaged_vocabulary())


def read_facts(folder: Path | Traversable, vocabulary: Vocabulary) -> ContactFacts:
    """The facts in a folder of CSV files, one for each table of ``TABLES``.

    Raises VocabularyFaults with everything that is wrong, each with file, line and mend; OSError without the folder.
    """
    rows: Rows = {name: [] for name in TABLES}
    faults: list[Fault] = []
    found = {file.name: file for file in data_files(folder)}
    for name in found:
        if name.removesuffix(".csv") not in TABLES:
            mend = f"name the file after one of {', '.join(TABLES)}"
            faults.append(Fault(name, 0, "no table of the contact map has this name", mend))
    for name, table in TABLES.items():
        file = found.get(f"{name}.csv")
        if file is None:
            faults.append(Fault(f"{name}.csv", 0, "the file is missing", "put it back"))
            continue
        faults += read_table(file, table, rows)[0]
    # Rows that can't be read would make every row that names them look faulty too.
    if not faults:
        faults += faults_between(rows, vocabulary)
    if faults:
        raise VocabularyFaults(faults)
    return ContactFacts.of({name: [row.record for row in placed] for name, placed in rows.items()})
