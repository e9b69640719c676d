"""The strip of frames: for each landmark where it is placed, suggested, interpolated or missing, as path data.

Told apart by shape: placed and confirmed are solid and full, suggested an open box, interpolated a thin line in the
middle, missing nothing at all. One unit across is one frame, 10 units are the height of a row.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from .document import Points

__all__ = ["StripRow", "runs", "strip_rows"]


@dataclass(frozen=True)
class StripRow:
    """Path data by state, and the same said in words."""

    name: str
    words: str
    placed: str
    suggested: str
    made: str
    says: str


def runs(frames: Iterable[int]) -> list[tuple[int, int]]:
    """Whole numbers as half-open runs: 3, 4, 5, 9 → (3, 6), (9, 10)."""
    found: list[tuple[int, int]] = []
    for frame in sorted(set(frames)):
        if found and found[-1][1] == frame:
            found[-1] = (found[-1][0], frame + 1)
        else:
            found.append((frame, frame + 1))
    return found


def _boxes(frames: Iterable[int], start: int, top: float, bottom: float) -> str:
    return "".join(f"M{a - start} {top}H{b - start}V{bottom}H{a - start}Z" for a, b in runs(frames))


def strip_rows(
    points: Points, names: Sequence[str], span: tuple[int, int], made: Mapping[str, set[int]]
) -> list[StripRow]:
    """A row for each landmark of ``names`` over the frames [start, end) of ``span``."""
    start, end = span
    rows = []
    for name in names:
        states: dict[str, list[int]] = {"placed": [], "suggested": []}
        for frame, row in points.items():
            if name in row:
                states["suggested" if row[name][2] == "suggested" else "placed"].append(int(frame))
        between = made.get(name, set())
        missing = end - start - len(states["placed"]) - len(states["suggested"]) - len(between)
        counts = [
            (len(states["placed"]), "placed"), (len(states["suggested"]), "suggested"),
            (len(between), "interpolated"), (missing, "missing"),
        ]  # fmt: skip
        rows.append(
            StripRow(
                name,
                name.replace("foot_index", "toes").replace("_", " "),
                _boxes(states["placed"], start, 1, 9),
                _boxes(states["suggested"], start, 2.5, 7.5),
                _boxes(between, start, 4.4, 5.6),
                ", ".join(f"{number} {what}" for number, what in counts if number) or "none",
            )
        )
    return rows
