from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.listing import LISTINGS, counts
from anatomy.vocabulary.management.engine_command import EngineCommand, refused
from anatomy.vocabulary.packaged import packaged_vocabulary


class Command(EngineCommand):
    help = (
        "Say what the packaged vocabulary holds, with the source of each fact. Without an option: everything, "
        "and how many records there are of each kind. The database is not asked."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        which = parser.add_mutually_exclusive_group()
        which.add_argument(
            "--muscles",
            action="store_true",
            help="one row for each muscle, joint and motion it produces there",
        )
        which.add_argument("--joints", action="store_true", help="joints with their motions")
        which.add_argument(
            "--motions", action="store_true", help="motions with planes, muscles and published ranges"
        )
        which.add_argument("--structures", action="store_true", help="structures with sides and levels")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            vocabulary = packaged_vocabulary()
        except VocabularyFaults as fault:
            raise refused(str(fault.faults[0])) from None
        asked = next((name for name in LISTINGS if options[name]), None)
        if asked:
            self.print_json(LISTINGS[asked](vocabulary))
        else:
            everything = {name: listing(vocabulary) for name, listing in LISTINGS.items()}
            self.print_json({"counts": counts(vocabulary)} | everything)
