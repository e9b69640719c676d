"""The tones that a plot is drawn in: on the dark ground of footage, and on the paper of a plate."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DARK", "PAPER", "Palette"]

_DASHES = ("", "7 4", "9 3 2 3", "1.5 3.5")


@dataclass(frozen=True)
class Palette:
    """Colours of the look. ``tones`` are those of curves, each with dashes of its own; ``case`` lies under every stroke."""

    tones: tuple[tuple[str, str], ...]
    quiet: str
    rule: str
    ground: str
    case: str
    cursor: str
    second: str


def _tones(*colours: str) -> tuple[tuple[str, str], ...]:
    return tuple(zip(colours, _DASHES, strict=True))


DARK = Palette(
    _tones("#ffffff", "#ffd97a", "#9fc3c9", "#e8e4da"),
    quiet="#a9aea9",
    rule="#4d5455",
    ground="#26292a",
    case="#000000",
    cursor="#ffffff",
    second="#ffd97a",
)
PAPER = Palette(
    _tones("#1b2326", "#8a5a00", "#24606b", "#56615f"),
    quiet="#56615f",
    rule="#d8d0bf",
    ground="#f5f1e7",
    case="#f5f1e7",
    cursor="#9b3222",
    second="#8a5a00",
)
