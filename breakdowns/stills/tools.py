"""What can be drawn, in the words and with the keys of the page."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TOOLS", "Tool", "landmark_words", "tool_of"]


@dataclass(frozen=True, slots=True)
class Tool:
    """A kind of mark: its name cut at the letter that is its key, and what its points are.

    ``least`` and ``most`` count its points.
    """

    kind: str
    before: str
    key: str
    after: str
    least: int
    most: int
    points: str

    @property
    def name(self) -> str:
        return self.before + self.key + self.after


TOOLS = (
    Tool("point", "", "p", "oint", 1, 1, "the point"),
    Tool("line", "", "l", "ine", 2, 2, "start, end"),
    Tool("polyline", "pol", "y", "line", 2, 50, "corner after corner"),
    Tool("angle", "", "a", "ngle", 3, 3, "end of one side, vertex, end of the other side"),
    Tool("pair", "pai", "r", " of lines", 4, 4, "start and end of the first line, then of the second"),
    Tool("arrow", "arro", "w", "", 2, 2, "tail, head"),
    Tool("turn", "", "t", "urn", 3, 3, "start, a point on the way, end"),
    Tool("freehand", "", "f", "reehand", 2, 2000, "along the line"),
    Tool("label", "la", "b", "el", 1, 1, "where it points to"),
    Tool("zone", "", "z", "one", 3, 100, "corner after corner"),
)
_BY_KIND = {tool.kind: tool for tool in TOOLS}


def tool_of(kind: str) -> Tool:
    """The tool of a kind of mark. Raises KeyError."""
    return _BY_KIND[kind]


def landmark_words(name: str) -> str:
    """A landmark as people say it: ``left_foot_index`` → left toes."""
    words = {"foot_index": "toes", "pinky": "little finger", "index": "index finger"}
    side, _, part = name.partition("_")
    if side not in ("left", "right"):
        return name.replace("_", " ")
    return f"{side} {words.get(part, part.replace('_', ' '))}"
