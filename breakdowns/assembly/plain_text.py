"""One-line plain text out of what people type, and the same text made safe for Markdown.

Everything that leaves the assembly as text (captions, chapters, show notes, edit lists) goes through
``one_line``, so a control character or a stray line end cannot break a file format.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["file_name", "markdown_escaped", "one_line", "spoken_text", "without_marks"]

# A no-break space binds words on purpose (a number and its unit), so it is not folded into a space.
_NO_BREAK = "\u00a0\u202f"
_SPACES = re.compile(rf"[^\S{_NO_BREAK}]+")

_INSIDE = r"(?:[^{0}\n]|\n(?!\s*\n))*"
_MARK_RULES: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, flags), replacement)
    for pattern, replacement, flags in (
        (r"<!--.*?-->", " ", re.DOTALL),
        (r"!\[[^\]\n]*\]\([^)\n]*\)", " ", 0),
        (r"(?<!\\)\[([^\[\]\n]+)\]\([^)\n]*\)", r"\1", 0),
        (r"^[ \t]*(?:(?:-[ \t]*){3,}|(?:\*[ \t]*){3,}|(?:_[ \t]*){3,})$", "", re.MULTILINE),
        (r"^[ \t]{0,3}(?:>[ \t]?)+", "", re.MULTILINE),
        (r"^[ \t]{0,3}#{1,6}[ \t]+", "", re.MULTILINE),
        (r"^[ \t]*[-*+][ \t]+", "", re.MULTILINE),
        (r"^[ \t]*\d{1,3}[.)][ \t]+(?=\D)", "", re.MULTILINE),
        (r"(?<!\\)`+([^`\n]+)`+", r"\1", 0),
        (r"(?<!\\)(\*{1,3})(?=[^\s*])(" + _INSIDE.format("*") + r"[^\s*\\])\1", r"\2", 0),
        (r"(?<![\w\\])(_{1,3})(?=[^\s_])(" + _INSIDE.format("_") + r"[^\s_\\])\1(?!\w)", r"\2", 0),
        (r"(?<!\\)~~(?=\S)([^~\n]*[^\s~])~~", r"\1", 0),
    )
)
_BACKSLASH = re.compile(r"\\([!-/:-@\[-`{-~])")
_DIRECTION = re.compile(r"(?<!\\)\[[^\[\]]*(?<!\\)\]")


def one_line(text: str) -> str:
    """The text on one line: white space folded, control characters and lone surrogates taken out."""
    kept = (
        " " if char.isspace() and char not in _NO_BREAK else char
        for char in text
        if char.isspace() or unicodedata.category(char) not in ("Cc", "Cs")
    )
    return _SPACES.sub(" ", "".join(kept)).strip()


def without_marks(text: str) -> str:
    """Markdown marks taken off, the words left as they stand: emphasis, links, headings, lists, code.

    Paragraphs stay apart. Meant for words that will be read or spoken, not for rendering: where a
    mark is not closed it is left as typed, because nothing that was written may disappear.
    """
    return _BACKSLASH.sub(r"\1", _unmarked(text))


def spoken_text(text: str) -> str:
    """The words of a beat as they are said: no marks, and no stage directions in [square brackets].

    A bracket that is never closed is left, and ``\\[so\\]`` is a spoken text in brackets.
    """
    text = _unmarked(text)
    while (shorter := _DIRECTION.sub(" ", text)) != text:
        text = shorter
    return _BACKSLASH.sub(r"\1", text)


def _unmarked(text: str) -> str:
    """Marks off, escapes still in; three passes, because marks may stand inside marks (**_both_**)."""
    for _ in range(3):
        for pattern, replacement in _MARK_RULES:
            text = pattern.sub(replacement, text)
    return text


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
