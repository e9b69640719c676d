from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand

from breakdowns.questions.services import read_again


class Command(BaseCommand):
    help = "Read answers and waiting questions anew, after the sorting or the vocabulary changed."

    def handle(self, *args: Any, **options: Any) -> None:
        answers, questions = read_again()
        self.stdout.write(json.dumps({"answers_changed": answers, "questions_changed": questions}))
