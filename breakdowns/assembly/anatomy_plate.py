"""The anatomy plate: one entry of the vocabulary as a typeset table, readable on a phone.

Everything is set before anything is drawn. The type gives way first, then the plain gloss, then rows
from the end; how many rows are shown of how many always stands on the plate.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from breakdowns.scripts.citations import short_citation
from breakdowns.scripts.plate_content import AnatomyTable, TableRow

from .fonts import Style, line_width, plain
from .piece import PlatePicture
from .plate_sheet import INK, RULE, SOFT, Sheet
from .tables import exact
from .typeset import Leaded, Room, SetText, set_text

__all__ = ["draw_anatomy", "short_sources"]

_SHRINK = Fraction(24, 25)
_ENDLESS = float("inf")
_FEWEST_ROWS = 3
_COLUMNS = (0.42, 0.36, 0.22)  # title, under, right: shares of the width where the picture is wide


@dataclass(frozen=True)
class _Part:
    """A set text at its place in a block, with its ink."""

    left: float
    top: float
    text: SetText
    ink: str


@dataclass(frozen=True)
class _Block:
    """Parts that stay together; ``line`` is the ink of the rule below them, "" for none."""

    parts: tuple[_Part, ...]
    height: float
    line: str = ""


def draw_anatomy(sheet: Sheet, picture: PlatePicture) -> None:
    """Heading and Latin name on a strong rule, the table, what belongs to the whole, the source line."""
    table = picture.content
    assert isinstance(table, AnatomyTable)
    head, foot = _heading(sheet, table), _source_line(sheet, table)
    room = sheet.height - head.height - foot.height - 2.0 * sheet.gap
    body = _fitted(sheet, table, room)
    height = head.height + sum(block.height for block in body) + foot.height + 2.0 * sheet.gap
    top = sheet.first_line(height)
    top = _drawn(sheet, head, top) + sheet.gap * 0.5
    sheet.rule(top, INK, sheet.pixels("rule"))
    top += sheet.gap * 0.5
    for block in body:
        top = _drawn(sheet, block, top)
    _drawn(sheet, foot, top + sheet.gap)


def _drawn(sheet: Sheet, block: _Block, top: float) -> float:
    for part in block.parts:
        sheet.write(part.text, sheet.left + part.left, top + part.top, part.ink)
    if block.line:
        sheet.rule(top + block.height - sheet.pixels("hair"), block.line, sheet.pixels("hair"))
    return top + block.height


def _fixed(sheet: Sheet, size: int, *, bold: bool = False, serif: bool = False) -> Leaded:
    style = Style("serif" if serif else "sans", 600 if bold else 400, size)
    return Leaded(style, size, exact("plate_measures", "table_leading"))


@lru_cache(maxsize=4096)
def _set(text: str, width: float, how: Leaded) -> SetText:
    """One text in a column without an end; kept, since a fit asks for the same text again and again."""
    return set_text(plain(text), Room(width, _ENDLESS), how)


def _heading(sheet: Sheet, table: AnatomyTable) -> _Block:
    title = sheet.set(
        "name",
        table.heading,
        Room(sheet.width, sheet.height * 0.3),
        sheet.how("heading", "serif", 600, title=True),
    )
    how = _fixed(sheet, sheet.pixels("table_label", 4), serif=True)
    latin = _set(table.latin, sheet.width, how)
    parts = [_Part(0, 0, title, INK)]
    if latin.lines and title.height + latin.height < sheet.height * 0.4:
        parts.append(_Part(0, title.height + sheet.gap * 0.1, latin, SOFT))
        return _Block(tuple(parts), title.height + sheet.gap * 0.1 + latin.height)
    return _Block(tuple(parts), title.height)


def _source_line(sheet: Sheet, table: AnatomyTable) -> _Block:
    """At most two lines; sources that find no room are counted."""
    if not table.sources:
        return _Block((), 0)
    how = _fixed(sheet, sheet.pixels("mark_size", 3))
    most = 2 * float(how.leading * how.least) + 1
    for said in short_sources(table.sources):
        found = _set(said, sheet.width, how)
        if found.height <= most:
            return _Block((_Part(0, 0, found, SOFT),), found.height)
    found = sheet.set("source line", said, Room(sheet.width, most), how)
    return _Block((_Part(0, 0, found, SOFT),), found.height)


def short_sources(citations: Sequence[str]) -> Iterator[str]:
    """The source line from the fullest to the shortest: all whole, all short, the first few, a number.

    What is left out is counted, never dropped.
    """
    yield "Sources: " + "; ".join(citations)
    short = list(dict.fromkeys(short_citation(one) for one in citations))
    for count in range(len(short), 0, -1):
        more = len(short) - count
        yield "Sources: " + "; ".join(short[:count]) + (f"; and {more} more" if more else "")
    yield f"Sources: {len(short)}, listed with the video"


def _fitted(sheet: Sheet, table: AnatomyTable, room: float) -> list[_Block]:
    """The body at the largest type at which everything fits; else, at the least, as much as fits."""
    for size in _sizes(sheet):
        blocks = _body(sheet, table, size, table.rows, with_gloss=True)
        if _height(blocks) <= room:
            return blocks
    if table.rows:
        blocks = _body(sheet, table, size, table.rows, with_gloss=False)
        if _height(blocks) <= room:
            return blocks
    return _shortened(sheet, table, size, room)


def _shortened(sheet: Sheet, table: AnatomyTable, size: int, room: float) -> list[_Block]:
    """As many rows as find room; facts from the end give way where hardly a row would be left."""
    for facts in range(len(table.facts), -1, -1):
        shorter = replace(table, facts=table.facts[:facts])
        count, blocks = _most_rows(sheet, shorter, size, room)
        if blocks is not None and (count >= min(_FEWEST_ROWS, len(table.rows)) or facts == 0):
            _tell(sheet, table, count, facts)
            return blocks
    return _cut_to(sheet, _body(sheet, table, size, (), with_gloss=not table.rows), room)


def _most_rows(sheet: Sheet, table: AnatomyTable, size: int, room: float) -> tuple[int, list[_Block] | None]:
    for count in range(len(table.rows), -1, -1):
        blocks = _body(sheet, table, size, table.rows[:count], with_gloss=not table.rows)
        if _height(blocks) <= room:
            return count, blocks
    return 0, None


def _tell(sheet: Sheet, table: AnatomyTable, count: int, facts: int) -> None:
    if count < len(table.rows):
        sheet.left_out.append(
            f"only {count} of {len(table.rows)} {table.counted} find room; choose the rows to show, "
            "or make a second plate for the rest."
        )
    for label, _ in table.facts[facts:]:
        sheet.left_out.append(f"there is no room for “{label}”; choose fewer rows or a taller picture.")


def _cut_to(sheet: Sheet, blocks: list[_Block], room: float) -> list[_Block]:
    """Whole blocks from the top for as long as there is room; what is left out is told."""
    kept: list[_Block] = []
    for block in blocks:
        if _height(kept) + block.height > room:
            sheet.left_out.append("a part of it finds no room in this picture; choose a larger one.")
            break
        kept.append(block)
    return kept


def _height(blocks: Sequence[_Block]) -> float:
    return sum(block.height for block in blocks)


def _sizes(sheet: Sheet) -> Iterator[int]:
    size, least = Fraction(sheet.pixels("table_size", 4)), sheet.pixels("table_least", 3)
    while size > least:
        yield round(size)
        size *= _SHRINK
    yield least


def _body(
    sheet: Sheet, table: AnatomyTable, size: int, rows: Sequence[TableRow], *, with_gloss: bool
) -> list[_Block]:
    blocks = (
        [_paragraph(sheet, table.gloss[:1].upper() + table.gloss[1:], size, serif=True)]
        if with_gloss and table.gloss
        else []
    )
    wide = sheet.size[0] > sheet.size[1] * 1.2
    if rows:
        if wide:
            blocks.append(_column_heads(sheet, table, size))
        blocks += [(_wide_row if wide else _narrow_row)(sheet, row, size) for row in rows]
    if len(rows) < table.total:
        blocks.append(
            _paragraph(sheet, f"{len(rows)} of {table.total} {table.counted} shown", size, ink=SOFT)
        )
    blocks += [_fact(sheet, label, value, size, wide=wide) for label, value in table.facts]
    return blocks


def _paragraph(sheet: Sheet, text: str, size: int, *, serif: bool = False, ink: str = INK) -> _Block:
    found = _set(text, sheet.width, _fixed(sheet, size, serif=serif))
    space = size * 0.3
    return _Block((_Part(0, space, found, ink),), found.height + 2 * space)


def _column_heads(sheet: Sheet, table: AnatomyTable, size: int) -> _Block:
    how = _fixed(sheet, min(size, sheet.pixels("table_label", 3)))
    return _columns(sheet, table.heads, (how, how, how), (SOFT, SOFT, SOFT), size, INK)


def _columns(
    sheet: Sheet,
    texts: Sequence[str],
    hows: Sequence[Leaded],
    inks: Sequence[str],
    size: int,
    line: str,
    note: str = "",
) -> _Block:
    """Three columns; the note stands below the first, and takes all the width where it would run long."""
    space, at, parts, depths = size * 0.22, 0.0, [], []
    for text, how, ink, share in zip(texts, hows, inks, _COLUMNS, strict=True):
        width = share * sheet.width
        found = _set(text, width - size * 0.7, how)
        parts.append(_Part(at, space, found, ink))
        depths.append(found.height)
        at += width
    depth = max(depths)
    if note:
        how = _fixed(sheet, size)
        found = _set(note, _COLUMNS[0] * sheet.width - size * 0.7, how)
        start = depths[0]
        if len(found.lines) > 1:
            found, start = _set(note, sheet.width, how), depth
        parts.append(_Part(0, space + start, found, SOFT))
        depth = max(depth, start + found.height)
    return _Block(tuple(parts), depth + 2 * space + sheet.pixels("hair"), line)


def _wide_row(sheet: Sheet, row: TableRow, size: int) -> _Block:
    name, other = _fixed(sheet, size, bold=True), _fixed(sheet, size)
    texts = (row.title, row.under, row.right)
    return _columns(sheet, texts, (name, other, other), (INK, SOFT, INK), size, RULE, row.note)


def _narrow_row(sheet: Sheet, row: TableRow, size: int) -> _Block:
    """Name and role on one line, plane and axis below, then what it depends on."""
    name, other = _fixed(sheet, size, bold=True), _fixed(sheet, size)
    space, parts, depth = size * 0.22, [], 0.0
    right = _set(row.right, sheet.width, other)
    taken = max((line_width(line.text, line.style) for line in right.lines), default=0.0)
    beside = len(right.lines) == 1 and taken < sheet.width * 0.42
    title = _set(row.title, sheet.width - (taken + size if beside else 0), name)
    parts.append(_Part(0, space, title, INK))
    if beside:
        parts.append(_Part(sheet.width - taken, space, right, INK))
    depth += title.height
    below = [] if beside else [row.right]
    for text in (*below, row.under, row.note):
        if text:
            found = _set(text, sheet.width, other)
            parts.append(_Part(0, space + depth, found, SOFT))
            depth += found.height
    return _Block(tuple(parts), depth + 2 * space + sheet.pixels("hair"), RULE)


def _fact(sheet: Sheet, label: str, value: str, size: int, *, wide: bool) -> _Block:
    how, space = _fixed(sheet, size), size * 0.25
    if wide:
        across = _COLUMNS[0] * 0.6 * sheet.width
        name = _set(label, across - size * 0.5, how)
        found = _set(value, sheet.width - across, how)
        height = max(name.height, found.height)
        return _Block((_Part(0, space, name, SOFT), _Part(across, space, found, INK)), height + space)
    name, found = _set(label, sheet.width, how), _set(value, sheet.width, how)
    parts = (_Part(0, space, name, SOFT), _Part(0, space + name.height, found, INK))
    return _Block(parts, space + name.height + found.height)
