from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.db import DatabaseError

from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.management.engine_command import EngineCommand, refused
from anatomy.vocabulary.packaged import packaged_folder
from anatomy.vocabulary.reading import read_vocabulary
from anatomy.vocabulary.services import vocabulary_load


class Command(EngineCommand):
    help = (
        "Load the vocabulary's data files into the database: the packaged ones, or those of FOLDER. Nothing changes "
        "when a file has a fault, and a second run changes nothing. What this site added itself is never touched."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "folder", nargs="?", type=Path, help="a folder of data files; the packaged ones without"
        )
        parser.add_argument("--check", action="store_true", help="only look for faults; load nothing")

    def handle(self, *args: Any, folder: Path | None, check: bool, **options: Any) -> None:
        try:
            if check:
                read_vocabulary(folder or packaged_folder())
                self.print_json({"faults": 0})
                return
            report = vocabulary_load(folder)
        except VocabularyFaults as error:
            for fault in error.faults:
                self.stderr.write(str(fault))
            sys.exit(2)
        except DatabaseError as error:
            why = str(error).splitlines()[0] if str(error) else type(error).__name__
            raise refused(f"The database can't take the vocabulary ({why}): run migrate first.") from None
        totals = {what: report.total(what) for what in ("added", "changed", "removed", "unchanged")}
        tables = {table: asdict(counts) for table, counts in report.counts.items()}
        self.print_json(totals | {"tables": tables, "stamp": report.stamp})
