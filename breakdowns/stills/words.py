"""Words on a picture: broken into lines, put in their place, written as outlines with a casing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .faces import Anchor, settable, text_path, text_width
from .figures import Word
from .labels import FAR, Box, Layout, Placed, Wanted
from .pen import CASING, TONES, Pen
from .svg import line_svg, number

__all__ = ["placed_word"]

_HIGH, _UNDER = (
    0.96,
    0.2,
)  # of the size: the box of a line of words, and its baseline above the box's lower edge
_LEADING = 1.12
_WIDEST, _LETTERS = 0.4, 9  # of the picture's width and, at least, in sizes: where lines of words are broken
_NARROW = 0.7  # of its width: a name that has no room on one line
_SMALL = 0.68  # of the size: the error after a value


@dataclass(frozen=True)
class _Block:
    """Words as they are set: their lines, and the error after the last one."""

    lines: tuple[str, ...]
    small: str
    size: float
    weight: int
    width: float

    @property
    def height(self) -> float:
        return self.size * (_HIGH + _LEADING * (len(self.lines) - 1))


def placed_word(word: Word, pen: Pen, layout: Layout) -> str:
    """The SVG of words at the best place that is left, which is taken from then on.

    Where they have no room by their mark they are set narrower: a value without its error, a name on more lines.
    """
    block, placed = _found(_block(word, pen), word, layout)
    if _is_far(placed, block) or not placed.free:
        narrow, other = _found(_block(word, pen, narrow=True), word, layout)
        if other.free and (not placed.free or other.off < placed.off - block.size):
            block, placed = narrow, other
    box = layout.take(placed)
    return _leader(word, block, placed, pen) + _written(word, block, box, placed.of, pen)


def _found(block: _Block, word: Word, layout: Layout) -> tuple[_Block, Placed]:
    wanted = Wanted(block.width, block.height, word.near, word.aimed, block.size * _HIGH)
    return block, layout.find(wanted)


def _block(word: Word, pen: Pen, narrow: bool = False) -> _Block:
    small = "" if narrow else word.small
    size, weight = (pen.value, 700) if word.bold else (pen.text, 650)
    text = settable(word.text, weight)
    room = min(0.92 * pen.width, max(_WIDEST * pen.width, _LETTERS * size))
    even = min(room, _NARROW * text_width(text, size, weight)) if narrow else room
    lines = (text,) if word.bold else _broken(text, size, weight, even)
    widest = max(text_width(line, size, weight) for line in lines)
    if widest > room:  # a single word as wide as that: smaller
        size, widest = size * room / widest, room
    if small:
        widest += _gap(size) + text_width(small, _SMALL * size, 600)
    return _Block(lines, small, size, weight, widest)


def _gap(size: float) -> float:
    return 0.24 * size


def _broken(text: str, size: float, weight: int, room: float) -> tuple[str, ...]:
    """Into the fewest lines that fit, then as even as they get."""
    words = text.split(" ")
    whole = text_width(text, size, weight)
    count = max(1, math.ceil(whole / room))
    return min(
        (_filled(words, size, weight, whole / count * even) for even in (1.0, 1.1, 1.2, 1.35, 1.6)),
        key=lambda lines: (len(lines), max(text_width(line, size, weight) for line in lines)),
    )


def _filled(words: Sequence[str], size: float, weight: int, room: float) -> tuple[str, ...]:
    lines = [words[0]]
    for word in words[1:]:
        longer = f"{lines[-1]} {word}"
        if text_width(longer, size, weight) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def _written(word: Word, block: _Block, box: Box, of: tuple[float, float], pen: Pen) -> str:
    anchor = _anchor(box, of) if len(block.lines) > 1 else "start"
    x = {"start": box.left, "middle": (box.left + box.right) / 2, "end": box.right}[anchor]
    first = box.bottom - _UNDER * block.size - _LEADING * block.size * (len(block.lines) - 1)
    large = "".join(
        text_path(
            line, (x, first + _LEADING * block.size * n), block.size, weight=block.weight, anchor=anchor
        )
        for n, line in enumerate(block.lines)
    )
    parts = [(large, 2.3 * pen.unit)]
    if block.small:
        at = box.left + text_width(block.lines[0], block.size, block.weight) + _gap(block.size), first
        parts.append((text_path(block.small, at, _SMALL * block.size, weight=600), 1.8 * pen.unit))
    colour = TONES[word.tone].colour
    # The casing is a path of its own under the letters, since not every reader knows paint-order.
    return "".join(
        f'<path d="{path}" fill="{CASING}" stroke="{CASING}" stroke-width="{number(2 * case)}" stroke-linejoin="round"/>'
        for path, case in parts
    ) + "".join(f'<path d="{path}" fill="{colour}"/>' for path, _ in parts)


def _anchor(box: Box, of: tuple[float, float]) -> Anchor:
    """Lines of words are flush on the side of the mark that they belong to."""
    quarter = (box.right - box.left) / 4
    if of[0] < box.left + quarter:
        return "start"
    return "end" if of[0] > box.right - quarter else "middle"


def _is_far(placed: Placed, block: _Block) -> bool:
    return placed.off > FAR * _HIGH * block.size


def _leader(word: Word, block: _Block, placed: Placed, pen: Pen) -> str:
    """A thin line from words that stand far off to their mark; nothing for words close by."""
    if not _is_far(placed, block):
        return ""
    start, end = placed.box.nearest(placed.of), placed.of
    part = 1 - (pen.disc + 2 * pen.case) / placed.off
    tip = start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part
    return line_svg([start, tip], TONES[word.tone].colour, 0.4 * pen.line, 0.6 * pen.case)
