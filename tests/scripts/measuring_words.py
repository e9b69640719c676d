"""How many false statements about a picture are found, and how many true ones are objected to.

``python -m tests.scripts.measuring_words`` prints both for each file of sentences, and every sentence that went wrong.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from breakdowns.scripts.measured.disagreement import disagreements
from tests.scripts.measured_picture import FIRST_PICTURE, PICTURE

FOLDER = Path(__file__).parent / "data"
FILES = ("built_with", "first", "more", "held_out")
_MARK = re.compile(r"\[([^\]]+)\]")


@dataclass(frozen=True)
class Outcome:
    """One sentence: what should be objected to ("" nothing) and what was."""

    text: str
    wanted: str
    found: tuple[str, ...]


def outcomes(name: str) -> list[Outcome]:
    """Every sentence of one file, read."""
    picture = FIRST_PICTURE if name in ("first", "more") else PICTURE
    found = []
    for row in (FOLDER / f"measured_{name}.txt").read_text(encoding="utf-8").splitlines():
        if not row.startswith(("! ", "- ")):
            continue
        marked = row[2:]
        match = _MARK.search(marked) if row.startswith("!") else None
        text = _MARK.sub(r"\1", marked) if match else marked
        told = tuple(text[one.start : one.end] for one in disagreements(text, picture))
        found.append(Outcome(text, match.group(1) if match else "", told))
    return found


def figures(rows: list[Outcome]) -> tuple[int, int, int, int, int]:
    """(false statements, found, found with exactly the right span, true ones, objected to)."""
    false = [row for row in rows if row.wanted]
    true = [row for row in rows if not row.wanted]
    return (
        len(false),
        sum(bool(row.found) for row in false),
        sum(row.found == (row.wanted,) for row in false),
        len(true),
        sum(bool(row.found) for row in true),
    )


def main() -> None:
    """Print it."""
    for name in FILES:
        rows = outcomes(name)
        false, found, exact, true, alarms = figures(rows)
        print(
            f"{name}: {len(rows)} sentences; found {found} of {false}, exact span {exact}; false alarms {alarms} of {true}"
        )
        for row in rows:
            if row.found != ((row.wanted,) if row.wanted else ()):
                print(f"   {row.text}\n      wanted {row.wanted!r}, found {row.found}")


if __name__ == "__main__":
    main()
