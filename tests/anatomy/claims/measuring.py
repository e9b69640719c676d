"""Measures the claim check on a set of labelled sentences: ``python -m tests.anatomy.claims.measuring FILE.csv …``.

A set has the columns id, text, n_claims, verdicts, claim_spans, why, kind. A wrong claim counts as caught when a claim
judged wrong overlaps its span; a right claim as alarmed when a claim judged wrong or depends overlaps it; a sentence
without claims as alarmed when any of its claims is judged so.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from anatomy.claims.check import Claims
from anatomy.vocabulary.packaged import packaged_vocabulary

DATA = Path(__file__).parent / "data"
LOUD = {"wrong", "depends"}


@dataclass
class Figures:
    """Counts over one or more sets."""

    wrong: int = 0
    caught: int = 0
    right: int = 0
    right_alarmed: int = 0
    silent: int = 0
    silent_alarmed: int = 0
    depends: int = 0
    depends_said: int = 0
    said: int = 0
    said_in_place: int = 0
    by_kind: dict[str, Counter[str]] = field(default_factory=dict)

    @property
    def recall(self) -> float:
        """Share of the wrong claims that were caught."""
        return self.caught / max(1, self.wrong)

    @property
    def alarms(self) -> float:
        """Share of right claims and of sentences without claims that were alarmed."""
        return (self.right_alarmed + self.silent_alarmed) / max(1, self.right + self.silent)

    @property
    def in_place(self) -> float:
        """Share of the loud claims, in sentences that have claims, that overlap a labelled span."""
        return self.said_in_place / max(1, self.said)

    def __str__(self) -> str:
        return (
            f"wrong caught {self.caught}/{self.wrong} ({self.recall:.1%}), "
            f"right alarmed {self.right_alarmed}/{self.right}, without claims alarmed {self.silent_alarmed}/{self.silent} "
            f"({self.alarms:.1%} together), depends said {self.depends_said}/{self.depends}, "
            f"spans in place {self.said_in_place}/{self.said} ({self.in_place:.1%})"
        )


def labelled(row: dict[str, str]) -> Iterator[tuple[str, str, int, int]]:
    """The labelled claims of a row: verdict, kind, start, end."""
    count = int(row["n_claims"])
    if not count:
        return
    verdicts = [part.strip() for part in row["verdicts"].split(";")]
    kinds = [part.strip() for part in row["kind"].split(";")]
    kinds = kinds if len(kinds) == count else kinds * count
    place = 0
    for verdict, kind, span in zip(verdicts, kinds, row["claim_spans"].split("; "), strict=False):
        start = row["text"].find(span.strip(), place)
        start = start if start >= 0 else row["text"].find(span.strip())
        yield verdict, kind, start, start + len(span.strip())
        place = start


def measured(files: list[Path], checker: Claims | None = None) -> Figures:
    """The figures of the packaged vocabulary's checker on these sets."""
    checker = checker or Claims(packaged_vocabulary())
    figures = Figures()
    for file in files:
        with file.open(encoding="utf-8", newline="") as handle:
            for row in csv.DictReader(handle):
                _count(figures, row, checker)
    return figures


def _count(figures: Figures, row: dict[str, str], checker: Claims) -> None:
    found = checker.check(row["text"])
    claims = list(labelled(row))
    loud = [claim for claim in found if claim.verdict in LOUD]
    if not claims:
        figures.silent += 1
        figures.silent_alarmed += bool(loud)
        return
    figures.said += len(loud)
    figures.said_in_place += sum(
        any(c.start < end and start < c.end for _, _, start, end in claims) for c in loud
    )
    for verdict, kind, start, end in claims:
        near = {claim.verdict for claim in found if claim.start < end and start < claim.end}
        counter = figures.by_kind.setdefault(kind, Counter())
        counter[verdict] += 1
        if verdict == "wrong":
            figures.wrong += 1
            figures.caught += "wrong" in near
            counter["caught"] += "wrong" in near
        elif verdict == "right":
            figures.right += 1
            figures.right_alarmed += bool(near & LOUD)
            counter["alarmed"] += bool(near & LOUD)
        else:
            figures.depends += 1
            figures.depends_said += "depends" in near
            counter["depends said"] += "depends" in near


def main(names: list[str]) -> None:
    """Prints the figures of each set, and by kind."""
    checker = Claims(packaged_vocabulary())
    for name in names or sorted(
        str(path) for path in DATA.glob("*.csv") if path.stem.startswith(("held", "dev"))
    ):
        figures = measured([Path(name)], checker)
        print(f"{Path(name).stem}: {figures}")
        for kind, counter in sorted(figures.by_kind.items()):
            print(f"  {kind:14s} {dict(counter)}")


if __name__ == "__main__":
    main(sys.argv[1:])
