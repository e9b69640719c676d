"""One disagreement of words and measures. Imports no Django."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Disagreement"]


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Characters [start, end) say what was measured otherwise: ``says`` what was measured, ``instead`` the words to put
    in their place ("" where none are known), ``where`` it was measured."""

    start: int
    end: int
    kind: Literal["angle", "order", "speed"]
    says: str
    instead: str = ""
    where: str = ""
