"""Technique trade-offs as plain values: what could be better, and what would it cost. No Django here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

__all__ = ["FIELDS", "MOST", "TRADEOFF_TITLE", "plate_text", "said"]

FIELDS = ("change", "effect", "joint", "mechanism", "source")
MOST = 8
"""Trade-offs of one beat; own choice, no source."""
TRADEOFF_TITLE = "What could be better, and what would it cost"


def said(one: Mapping[str, Any]) -> str:
    """One trade-off as a sentence: the change, what it should bring, and the risk where one is told."""
    risk = ", ".join(part for part in (str(one.get("joint", "")), str(one.get("mechanism", ""))) if part)
    first = f"{_stopless(one['change'])}: {_stopless(one['effect'])}."
    return f"{first} The cost could be: {_stopless(risk)}." if risk else f"{first} No cost is known to us."


def plate_text(rows: Iterable[Mapping[str, Any]]) -> str:
    """The text of a plate: a list, each with its source."""
    lines = []
    for one in rows:
        source = f" ({one['source']})" if one.get("source") else ""
        lines.append(f"- {said(one)}{source}")
    return "\n".join(lines)


def _stopless(text: str) -> str:
    return " ".join(str(text).split()).rstrip(".")
