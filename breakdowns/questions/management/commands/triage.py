from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

from django.core.management.base import CommandParser
from django.db import DatabaseError

from anatomy.vocabulary.management.engine_command import EngineCommand, refused
from breakdowns.questions.screening import screen
from breakdowns.questions.selectors import answer_fingerprints
from breakdowns.questions.sorting import Fingerprint, LikenessIndex, fingerprint, sort_question

MOST_SIMILAR = 5
LEAST_SIMILAR = 0.05
# csv.field_size_limit() of Python is 131,072 signs; a question pasted by mistake may be longer.
_LONGEST_FIELD = 64_000_000


class Command(EngineCommand):
    help = (
        "Sort questions: topic, warning signs, likely minutes, and what was asked before (earlier rows, and answers "
        "already given, as answer:KEY). FILE is a CSV table with the columns id and text. Nothing is answered, and "
        "silence about warning signs is no all-clear."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="a CSV table in UTF-8, or - for standard input")

    def handle(self, *args: Any, file: str, **options: Any) -> None:
        rows = questions_of(self.read_text(file))
        prints = [fingerprint(text) for _, text in rows]
        given = self._answers()
        names = [*(f"answer:{key}" for key, _ in given), *(name for name, _ in rows)]
        index = LikenessIndex([*(kept for _, kept in given), *prints])
        answer = []
        for at, (name, text) in enumerate(rows):
            near = index.nearest(prints[at], MOST_SIMILAR, among=len(given) + at)
            found = [(names[place], score) for place, score in near if score >= LEAST_SIMILAR]
            answer.append({"id": name, **_sorted(text), "similar": [{"id": i, "score": s} for i, s in found]})
        self.print_json(answer)

    def _answers(self) -> list[tuple[str, Fingerprint]]:
        try:
            return [(key, Fingerprint.from_json(kept)) for key, kept in answer_fingerprints()]
        except DatabaseError:
            self.stderr.write(
                "Answers already given are left out: the database can't be read. Migrate it first."
            )
            return []


def _sorted(text: str) -> dict[str, Any]:
    screened, found = screen(text), sort_question(text)
    return {
        "topic": found.topic,
        "topic_because": found.topic_because,
        "red_flag": bool(screened.flags),
        "urgency": screened.urgency,
        "flags": [
            {
                "flag": one.key,
                "name": one.name,
                "because": one.because,
                "action": one.action,
                "urgency": one.urgency,
            }
            for one in screened.flags
        ],
        "minutes": found.minutes,
        "minutes_because": found.minutes_because,
        "regions": list(found.regions),
        "joints": list(found.joints),
        "muscles": list(found.muscles),
    }


def questions_of(text: str) -> list[tuple[str, str]]:
    """(id, text) of each row. Ends the command with one line where the table can't be read."""
    before = csv.field_size_limit(_LONGEST_FIELD)
    try:
        return list(_rows(text))
    except csv.Error as error:
        raise refused(
            f"The table is no CSV ({error}): save it as CSV with commas and double quotes."
        ) from None
    finally:
        csv.field_size_limit(before)


def _rows(text: str) -> Iterator[tuple[str, str]]:
    lines = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    header = [one.strip().casefold() for one in next(lines, [])]
    if not header:
        raise refused("The table is empty: its first line has to name the columns, id and text among them.")
    for name in ("id", "text"):
        if header.count(name) != 1:
            there = "more than one column" if name in header else "no column"
            raise refused(
                f"The table has {there} called {name}: its first line has to name each of id and text once."
            )
    id_at, text_at = header.index("id"), header.index("text")
    seen: dict[str, int] = {}
    for cells in lines:
        line = lines.line_num
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) <= max(id_at, text_at):
            raise refused(
                f"The row that ends in line {line} has {len(cells)} of {len(header)} columns: mend or remove it."
            )
        name = cells[id_at].strip()
        if not name:
            raise refused(f"The row that ends in line {line} has no id: give each question one of its own.")
        if name in seen:
            raise refused(
                f"The id {name[:60]!r} stands in line {seen[name]} and in line {line}: give each question one of its own."
            )
        seen[name] = line
        yield name, cells[text_at]
