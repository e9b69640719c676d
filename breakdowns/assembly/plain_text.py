"""One-line plain text out of what people type, and the same text made safe for Markdown.

Everything that leaves the assembly as text (captions, chapters, show notes, edit lists) goes through
``one_line``, so a control character or a stray line end cannot break a file format.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["file_name", "markdown_escaped", "one_line"]

# A no-break space binds words on purpose (a number and its unit), so it is not folded into a space.
_NO_BREAK = "\u00a0\u202f"
_SPACES = re.compile(rf"[^\S{_NO_BREAK}]+")


def one_line(text: str) -> str:
    """The text on one line: white space folded, control characters and lone surrogates taken out."""
    kept = (
        " " if char.isspace() and char not in _NO_BREAK else char
        for char in text
        if char.isspace() or unicodedata.category(char) not in ("Cc", "Cs")
    )
    return _SPACES.sub(" ", "".join(kept)).strip()


def file_name(path: str) -> str:
    """The last part of a path of either kind (``/`` or ``\\``), on one line: never where it is kept."""
    return one_line(re.split(r"[/\\]", path)[-1])


# Backslash where every reader of Markdown knows it; character references for the rest, because
# not every one of them lets a backslash stand before "<", "|" or "~".
_ALWAYS_BACKSLASHED = frozenset("\\`*_{}[]#")
_ALWAYS_REFERENCED = {"&": "&amp;", "<": "&lt;", ">": "&gt;", "|": "&#124;", "~": "&#126;", "@": "&#64;"}
_REFERENCED_FIRST = {":": "&#58;", "=": "&#61;", "!": "\\!", "+": "\\+", "-": "\\-"}


def markdown_escaped(text: str) -> str:
    """The text on one line, so written that Markdown shows exactly its characters and nothing more.

    No heading, list, emphasis, link, table, HTML or self-made link can come out of it; characters
    that matter only in some places (a hyphen between letters, a full stop after a word) are left
    readable. Source: CommonMark 0.31 §2.4 (backslash escapes) and §2.5 (character references).
    """
    line = one_line(text)
    return "".join(_escaped_char(line, at) for at in range(len(line)))


def _escaped_char(line: str, at: int) -> str:
    char, before = line[at], line[:at].strip()
    if char in _ALWAYS_BACKSLASHED:
        return f"\\{char}"
    if char in _ALWAYS_REFERENCED:
        return _ALWAYS_REFERENCED[char]
    if not before and char in _REFERENCED_FIRST:
        return _REFERENCED_FIRST[char]
    if char == ":" and line[at + 1 : at + 3] == "//":
        return "&#58;"
    if char == "." and line[max(0, at - 3) : at].lower() == "www":
        return "&#46;"
    if char in ".)" and before.isdecimal():
        return f"\\{char}"
    return char
