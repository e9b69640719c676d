from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.db import DatabaseError

from anatomy.contact.read import SIDES, ContactError, read_contact
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.management.engine_command import EngineCommand, refused
from anatomy.vocabulary.packaged import packaged_vocabulary
from anatomy.vocabulary.selectors import current_vocabulary


class Command(EngineCommand):
    help = (
        "Where a blow landed, in everyday words: the places read, what lies under them and could be hurt, what to watch "
        "for and how urgent it is, the cautions to carry, and what the text leaves open. Sides are the body's own. It "
        "diagnoses nobody."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("text", help="what happened, or - for standard input")
        parser.add_argument("--side", help=f"{', '.join(SIDES)}: answers where the text says no side")

    def handle(self, *args: Any, text: str, side: str | None, **options: Any) -> None:
        given = self.read_text("-") if text == "-" else text
        try:
            reading = read_contact(given, side, _vocabulary())
        except ContactError as fault:
            raise refused(str(fault)) from None
        except VocabularyFaults as fault:
            raise refused(str(fault.faults[0])) from None
        self.print_json(reading.as_json())


def _vocabulary() -> Vocabulary:
    try:
        return current_vocabulary()
    except DatabaseError:
        # A place can be read without a database; there are no terms of the site's own then.
        return packaged_vocabulary()
