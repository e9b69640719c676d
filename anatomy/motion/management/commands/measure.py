from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from anatomy.motion.document import MeasureError, read_request
from anatomy.motion.measure import measure
from anatomy.vocabulary.faults import VocabularyFaults
from anatomy.vocabulary.management.engine_command import EngineCommand, refused
from anatomy.vocabulary.packaged import packaged_vocabulary


class Command(EngineCommand):
    help = (
        "Measure marked points: angles in the picture plane with the standard deviation that the clicks bring, and, "
        "from three frames on, which segment reached its greatest angular velocity first. Points are in pixels, y "
        "down. What the camera sees foreshortened reads wrong; the answer says by how much at most. Beside the keys "
        "of the contract it reads: rotation (degrees, counter-clockwise, that make the picture upright), key_frames "
        "(frames between which gaps are filled on a straight line), lengths (name, between, of, known, known_sd, "
        "unit) and normal_ranges (true for shares of the published ranges)."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="a JSON file, or - for standard input")

    def handle(self, *args: Any, file: str, **options: Any) -> None:
        try:
            request = read_request(self.read_text(file))
            answer = measure(request, packaged_vocabulary() if request.normal_ranges else None)
        except MeasureError as fault:
            raise refused(str(fault)) from None
        except VocabularyFaults as fault:
            raise refused(str(fault.faults[0])) from None
        if request.ignored:
            self.stderr.write(f"Nothing reads these keys: {', '.join(request.ignored)}.")
        self.print_json(answer)
