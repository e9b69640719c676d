from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from anatomy.muscles.answer import answer
from anatomy.muscles.document import read_request
from anatomy.muscles.faults import ModelNotInstalled, PostureError
from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.management.engine_command import EngineCommand, refused
from anatomy.vocabulary.packaged import packaged_vocabulary


class Command(EngineCommand):
    help = (
        "Joint angles in, for every muscle part its length, levers and place on its force–length curve out, by an open "
        "musculoskeletal model of one average adult. Beside the keys of the contract it reads rank (joint, motion: which "
        "muscles can make it here, with their shares) and answers a sweep with flips as well. Needs the extra “muscles”."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="a JSON file, or - for standard input")

    def handle(self, *args: Any, file: str, **options: Any) -> None:
        try:
            request = read_request(self.read_text(file), packaged_vocabulary())
            found = answer(request)
        except (PostureError, ModelNotInstalled) as fault:
            raise refused(str(fault)) from None
        except VocabularyFaults as fault:
            raise refused(str(fault.faults[0])) from None
        if request.ignored:
            self.stderr.write(f"Nothing reads these keys: {', '.join(request.ignored)}.")
        self.print_json(found)
