"""How well breakdown and moment are proposed: ``python -m tests.questions.about.measuring``.

The breakdowns and the questions are invented for this. ``about_open.csv`` was looked at while numbers were chosen,
``about_sealed.csv`` is only counted.
"""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from breakdowns.questions.about.proposing import TITLE, Proposal, Spoken, propose
from breakdowns.questions.sorting import fingerprint

DATA = Path(__file__).with_name("data")


@dataclass
class Figures:
    """Of those that ask about a breakdown: right breakdown, right moment; of moments proposed: wrong ones; of strangers: proposed."""

    about: int = 0
    breakdown: int = 0
    moments: int = 0
    moment: int = 0
    wrong_moment: int = 0
    strangers: int = 0
    mistaken: int = 0

    def line(self, name: str) -> str:
        return (
            f"{name}: breakdown {self.breakdown} of {self.about}, moment {self.moment} of {self.moments} "
            f"(wrong {self.wrong_moment}), proposed for {self.mistaken} of {self.strangers} strangers"
        )


def breakdowns() -> list[dict[str, Any]]:
    return json.loads((DATA / "breakdowns.json").read_text(encoding="utf-8"))


def spoken_of(pages: list[dict[str, Any]]) -> list[Spoken]:
    found = []
    for page in pages:
        found.append(Spoken(page["slug"], page["title"], TITLE, 0, "", fingerprint(page["title"])))
        for place, beat in enumerate(page["beats"]):
            words = f"{beat['heading']}. {beat['words']}"
            found.append(
                Spoken(
                    page["slug"],
                    page["title"],
                    place,
                    beat["start_frame"],
                    beat["heading"],
                    fingerprint(words),
                )
            )
    return found


def rates_of(pages: list[dict[str, Any]]) -> dict[Any, tuple[Fraction, int]]:
    return {page["slug"]: (Fraction(page["rate"]), page["frame_count"]) for page in pages}


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def measured(name: str) -> tuple[Figures, list[tuple[dict[str, str], Proposal | None]]]:
    pages = breakdowns()
    spoken, rates, figures, told = spoken_of(pages), rates_of(pages), Figures(), []
    starts = {
        (page["slug"], str(n)): beat["start_frame"] for page in pages for n, beat in enumerate(page["beats"])
    }
    for row in rows(name):
        found = propose(row["text"], fingerprint(row["text"]), spoken, rates=rates, newest=pages[-1]["slug"])
        right = found is not None and found.release == row["slug"]
        if not row["slug"]:
            figures.strangers += 1
            figures.mistaken += found is not None
        else:
            figures.about += 1
            figures.breakdown += right
            if row["beat"]:
                figures.moments += 1
                hit = right and found is not None and found.frame == starts[row["slug"], row["beat"]]
                figures.moment += hit
                figures.wrong_moment += found is not None and found.frame is not None and not hit
        told.append((row, found))
    return figures, told


if __name__ == "__main__":
    for name in ("about_open", "about_sealed"):
        print(measured(name)[0].line(name))
