"""Reads a folder of the vocabulary's data files, gathering every fault before it gives up."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from importlib.resources.abc import Traversable
from pathlib import Path

from anatomy.vocabulary.cells import CellFault, value_of
from anatomy.vocabulary.checks import faults_between
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.faults import Fault, VocabularyFaults
from anatomy.vocabulary.placed import Placed, Rows
from anatomy.vocabulary.tables import TABLES, Table, table_of_file

__all__ = ["data_files", "read_table", "read_vocabulary", "survey"]

_MOST_FAULTS = 500  # of one file: more than anybody mends before looking again


def read_vocabulary(folder: Path | Traversable) -> Vocabulary:
    """The vocabulary in a folder of CSV files. Raises VocabularyFaults with everything that is wrong with it.

    A file that is missing is an empty table; a folder without any of them is a fault.
    """
    vocabulary, faults = survey(folder)
    if faults:
        raise VocabularyFaults(faults)
    return vocabulary


def survey(folder: Path | Traversable) -> tuple[Vocabulary, tuple[Fault, ...]]:
    """What can be read of a folder, and all its faults: for those who are still writing its files."""
    rows: Rows = {name: [] for name in TABLES}
    try:
        files = data_files(folder)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no such path"
        return Vocabulary.of({}), (
            Fault(str(folder), 0, f"the folder can't be read ({why})", "name another"),
        )
    faults = (
        []
        if files
        else [Fault(str(folder), 0, "the folder holds no CSV file", "name the vocabulary's folder")]
    )
    unread = False
    for file in files:
        table = table_of_file(file.name)
        if table is None:
            known = ", ".join(f"{name}.csv" for name in TABLES)
            faults.append(
                Fault(file.name, 0, "no table has this name", f"name the file after one of {known}")
            )
            continue
        found, whole = read_table(file, table, rows)
        faults += found
        unread = unread or not whole
    # Where rows are missing because their file can't be read, whatever names them would be called a fault too.
    if not unread:
        faults += faults_between(rows)
    records = {name: [row.record for row in placed] for name, placed in rows.items()}
    return Vocabulary.of(records), tuple(sorted(set(faults)))


def data_files(folder: Path | Traversable) -> list[Traversable]:
    """The CSV files of a folder by name. Raises OSError when there is no such folder."""
    found: Iterator[Traversable] = folder.iterdir()  # type: ignore[assignment]
    return sorted((file for file in found if file.name.endswith(".csv")), key=lambda file: file.name)


def read_table(file: Traversable, table: Table, rows: Rows) -> tuple[list[Fault], bool]:
    """Adds the rows of a file to ``rows``; gives the faults of the file, and whether it was read to its end."""
    try:
        text = file.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        return [Fault(file.name, line, f"byte {error.start} is not UTF-8", "save the file as UTF-8")], False
    except OSError as error:
        return [
            Fault(file.name, 0, f"the file can't be read ({error.strerror})", "check its permissions")
        ], False
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    faults: list[Fault] = []
    line = 1
    try:
        for cells in reader:
            if line == 1 and tuple(cells) != table.columns:
                mend = f"write {','.join(table.columns)}"
                return [Fault(file.name, 1, "the header line is not that of this table", mend)], False
            if line > 1:
                faults += _take(Placed(file.name, line, None), cells, table, rows)
            if len(faults) >= _MOST_FAULTS:
                faults.append(
                    Fault(file.name, line + 1, "the rest was not read", "mend the faults above first")
                )
                return faults, False
            line = reader.line_num + 1
    except csv.Error as error:
        faults.append(Fault(file.name, line, f"this is no proper CSV ({error})", "mend the quotation marks"))
        return faults, False
    if line == 1 and not faults:
        faults.append(Fault(file.name, 1, "the file is empty", f"write {','.join(table.columns)}"))
        return faults, False
    return faults, True


def _take(place: Placed, cells: list[str], table: Table, rows: Rows) -> list[Fault]:
    """Adds one row to its table, or says why not."""
    if len(cells) != len(table.columns):
        what = f"the row has {len(cells)} cells where the table has {len(table.columns)}"
        return [Fault(place.file, place.line, what, "check for a missing or unquoted comma")]
    values: dict[str, object] = {}
    faults: list[Fault] = []
    for column, cell in zip(table.columns, cells, strict=True):
        try:
            if column in table.needed and not cell.strip():
                raise CellFault(f"the cell “{column}” is empty", "fill it in or take the row out")
            values[column] = value_of(column, cell, table.types[column])
        except CellFault as fault:
            faults.append(Fault(place.file, place.line, fault.what, fault.mend))
    if not faults:
        rows[table.name].append(Placed(place.file, place.line, table.record(**values)))
    return faults
