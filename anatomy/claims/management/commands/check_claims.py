from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser
from django.db import DatabaseError

from anatomy.claims.check import check_claims
from anatomy.muscles.document import read_known
from anatomy.muscles.faults import PostureError
from anatomy.muscles.known import KnownPosture
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.management.engine_command import EngineCommand, refused
from anatomy.vocabulary.packaged import packaged_vocabulary
from anatomy.vocabulary.selectors import current_vocabulary

KEYS = ("start", "end", "text", "kind", "verdict", "why", "instead", "sources", "estimate")


class Command(EngineCommand):
    help = (
        "Find the anatomical statements in a text (plain or Markdown) and judge each against the vocabulary, this "
        "site's own terms included. Offsets count characters of the text as given and are half-open. A verdict is "
        "an aid to whoever signs the words; it diagnoses nobody."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="a UTF-8 text file, or - for standard input")
        parser.add_argument(
            "--posture",
            metavar="FILE",
            help='JSON: the measured posture of the picture, {"side": "right", "angles": {"hip": {"flexion": [95, 8]}}}, '
            "degrees with their standard deviation; what hangs on posture is then judged in it",
        )

    def handle(self, *args: Any, file: str, posture: str | None, **options: Any) -> None:
        text = self.read_text(file)
        known = _known(self.read_text(posture)) if posture else None
        try:
            claims = check_claims(text, _vocabulary(), known)
        except VocabularyFaults as fault:
            raise refused(str(fault.faults[0])) from None
        self.print_json({"claims": [{key: getattr(claim, key) for key in KEYS} for claim in claims]})


def _known(text: str) -> KnownPosture:
    try:
        return read_known(text)
    except PostureError as fault:
        raise refused(str(fault)) from None


def _vocabulary() -> Vocabulary:
    try:
        return current_vocabulary()
    except DatabaseError:
        # Words can be checked without a database; there are no terms of the site's own then.
        return packaged_vocabulary()
