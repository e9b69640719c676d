"""Setting text in a given room: lines broken by measure, smaller type where it must be, cut at the last.

Nothing here draws. A text is paragraphs (a blank line between them) of lines; a line that begins with
"- ", "* ", "• " or "1. " is a list item with a hanging indent.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from .fonts import Style, line_width, matched

__all__ = ["Leaded", "Room", "SetLine", "SetText", "set_text"]

_ITEM = re.compile(r"^\s*(?:([-*•–])|(\d{1,2})[.)])\s+(.*)$")
_SHRINK = Fraction(24, 25)
_LAST_WORD = re.compile(r"(\S \S+) (\S{1,8})$")  # a short one does not stand in a line of its own


@dataclass(frozen=True)
class Room:
    """Pixels there are for a text."""

    width: float
    height: float


@dataclass(frozen=True)
class Leaded:
    """How to set: style at the wished size, least size, line height and paragraph gap (of the size).

    ``balanced`` makes the lines about equally long, for titles.
    """

    style: Style
    least: int
    leading: Fraction
    paragraph_gap: Fraction = Fraction(0)
    balanced: bool = False


@dataclass(frozen=True)
class SetLine:
    """A line at (x, baseline) from the text's upper left corner."""

    x: float
    baseline: float
    text: str
    style: Style


@dataclass(frozen=True)
class SetText:
    """A text as set. ``cut``: it did not fit even at the least size, and its end is left out."""

    lines: tuple[SetLine, ...]
    height: float
    cut: bool = False


def set_text(text: str, room: Room, how: Leaded) -> SetText:
    """Set ``text`` in ``room``: at the wished size, else smaller, else cut with "…" at the last line."""
    if not text.strip():
        return SetText((), 0)
    for size in _sizes(how):
        found = _laid(text, room.width, how, size)
        if found.height <= room.height:
            return found
    return _cut(found, room, how)


def _sizes(how: Leaded) -> Iterator[int]:
    size = Fraction(how.style.size)
    while size > how.least:
        yield round(size)
        size *= _SHRINK
    yield how.least


def _laid(text: str, width: float, how: Leaded, size: int) -> SetText:
    style = matched(replace(how.style, size=size), text)
    leading, gap = float(how.leading * size), float(how.paragraph_gap * size)
    lines: list[SetLine] = []
    top = 0.0
    for number, paragraph in enumerate(re.split(r"\n[ \t]*\n\s*", text.strip())):
        top += gap if number else 0
        for item in paragraph.split("\n"):
            for x, broken in _item_lines(item, width, style, balanced=how.balanced):
                lines.extend(
                    SetLine(x + at, top + _ascent(leading, size), part, style) for at, part in broken
                )
                top += leading
    return SetText(tuple(lines), top)


def _ascent(leading: float, size: int) -> float:
    """Where the baseline lies below a line's top: the letters stand in the middle of the leading."""
    return leading / 2 + size * 0.34


Parts = tuple[tuple[float, str], ...]


def _item_lines(item: str, width: float, style: Style, *, balanced: bool) -> Iterator[tuple[float, Parts]]:
    """(indent, the parts of a line) of one line of the source text, broken to the measure."""
    found = _ITEM.match(item)
    if not found:
        measure = _balanced_width(item, width, style) if balanced else width
        for line in _broken(item, measure, style):
            yield 0.0, ((0.0, line),)
        return
    sign = f"{found[2]}." if found[2] else "–"
    indent = max(line_width(f"{sign} ", style), style.size * 1.1)
    for number, line in enumerate(_broken(found[3], width - indent, style)):
        yield 0.0, ((0.0, sign), (indent, line)) if number == 0 else ((indent, line),)


def _broken(text: str, width: float, style: Style) -> list[str]:
    """Lines no wider than ``width``, broken at spaces, inside a word only where it has no room at all."""
    lines, line = [], ""
    for word in _LAST_WORD.sub("\\1\u00a0\\2", text).split(" "):
        longer = f"{line} {word}" if line else word
        if line_width(longer, style) <= width:
            line = longer
            continue
        lines += [line] if line else []
        *whole, line = _chopped(word, width, style)
        lines += whole
    return [*lines, line]


def _chopped(word: str, width: float, style: Style) -> list[str]:
    parts = [""]
    for letter in word:
        if parts[-1] and line_width(parts[-1] + letter, style) > width:
            parts.append("")
        parts[-1] += letter
    return parts


def _balanced_width(text: str, width: float, style: Style) -> float:
    """The narrowest measure that takes no more lines than ``width`` does."""
    count = len(_broken(text, width, style))
    return _narrowest(lambda w: len(_broken(text, w, style)) <= count, width / max(count, 1) / 2, width)


def _narrowest(fits: Callable[[float], bool], low: float, high: float) -> float:
    while high - low > 4:
        middle = (low + high) / 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high


def _cut(found: SetText, room: Room, how: Leaded) -> SetText:
    """As many lines as there is room for, the last one ending in "…"."""
    leading = float(how.leading * how.least)
    kept = [
        line for line in found.lines if line.baseline - _ascent(leading, how.least) + leading <= room.height
    ]
    if not kept:
        return SetText((), 0, cut=True)
    last = kept.pop()
    words = last.text
    while words and line_width(f"{words} …", last.style) > room.width - last.x:
        words = words[:-1].rstrip()
    kept.append(replace(last, text=f"{words} …"))
    bottom = last.baseline - _ascent(leading, how.least) + leading
    return SetText(tuple(kept), bottom, cut=True)
