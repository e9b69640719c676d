"""A file of rows as spreadsheets write it: which signs, which separator, which lines. RFC 4180 with its liberties.

Line numbers are those that an editor shows. A quotation mark that is opened and never closed spoils its own line
only: reading goes on with the next.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

ENCODINGS = {
    "utf-8-sig": "UTF-8",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16, little end first",
    "utf-16-be": "UTF-16, big end first",
    "cp1252": "Western European, CP 1252",
    "iso8859-15": "Western European, 8859-15",
    "cp1250": "Central European, CP 1250",
    "cp1251": "Cyrillic, CP 1251",
    "mac-roman": "Western European, Mac",
}
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright stroke"}
MOST_BYTES = 5 * 1024 * 1024  # own choice
MOST_ROWS = 50_000  # own choice
MOST_LINES_IN_A_ROW = 20  # own choice: more lines in one quoted cell are taken for a forgotten mark
_BY_ONE_BYTE = ("cp1252", "iso8859-15", "cp1250", "cp1251", "mac-roman")
_ENDS = re.compile(r"\r\n|\r|\n")


class Unreadable(ValueError):
    """Why a file can't be read as rows, and what to do: one sentence."""


@dataclass(frozen=True)
class Row:
    """The cells of one row, and the line it begins on (the first is 1). ``broken`` says what spoils it."""

    line: int
    cells: tuple[str, ...]
    broken: str = ""

    @property
    def is_blank(self) -> bool:
        return not self.broken and not any(cell.strip() for cell in self.cells)


def encodings_of(data: bytes) -> tuple[str, ...]:
    """How the bytes may be read, the likeliest first; one alone is certain. Raises Unreadable.

    A mark at the beginning settles it (RFC 3629, 6); bytes beyond ASCII that are valid UTF-8 are hardly ever
    anything else; of encodings with one byte for a sign none can be told from another.
    """
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")):
        raise Unreadable("This is a spreadsheet or a document, not a text file; export it as CSV first.")
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return ("utf-16",)
    if b"\x00" in data[:4000]:
        even, odd = data[:4000:2].count(0), data[1:4000:2].count(0)
        return ("utf-16-le",) if odd > even else ("utf-16-be",)
    if _reads(data, "utf-8-sig"):
        return ("utf-8-sig",)
    return tuple(name for name in _BY_ONE_BYTE if _reads(data, name))


def _reads(data: bytes, encoding: str) -> bool:
    try:
        data.decode(encoding)
    except UnicodeDecodeError:
        return False
    return True


def decode(data: bytes, encoding: str) -> str:
    """The text. Raises Unreadable with the line of the first sign that doesn't fit."""
    if encoding not in ENCODINGS:
        raise Unreadable(f"“{encoding}” is no encoding that is known here; choose another.")
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise Unreadable(
            f"Line {line} can't be read as {ENCODINGS[encoding]}; choose another encoding."
        ) from None


def separators_of(text: str) -> tuple[str, ...]:
    """What may separate the cells, the likeliest first: the one that gives the most rows equally many cells."""
    scores = []
    for number, sign in enumerate(SEPARATORS):
        head = [
            len(row.cells) for row, _ in zip(rows(text, sign), range(200), strict=False) if not row.is_blank
        ]
        width, times = Counter(head).most_common(1)[0] if head else (1, 0)
        scores.append((times / len(head) if width > 1 else 0.0, min(width, 50), -number, sign))
    best = sorted(scores, reverse=True)
    likely = tuple(sign for share, _, _, sign in best if share >= 0.5)
    return likely or (",",)


def rows(text: str, separator: str) -> Iterator[Row]:
    """Each row with its line. Raises Unreadable past MOST_ROWS."""
    lines = _ENDS.split(text)
    at = count = 0
    while at < len(lines):
        last = _last_line(lines, at)
        if last is None:
            row = Row(at + 1, (), "A quotation mark is opened here and not closed.")
            last = at
        else:
            row = _row(at + 1, "\n".join(lines[at : last + 1]), separator)
        if not (at == len(lines) - 1 and row.is_blank):
            count += 1
            if count > MOST_ROWS:
                raise Unreadable(f"The file has more than {MOST_ROWS} rows; divide it.")
            yield row
        at = last + 1


def _last_line(lines: list[str], first: int) -> int | None:
    """The last line of the row that begins on ``first``: where the marks are even again."""
    marks = 0
    for at in range(first, min(first + MOST_LINES_IN_A_ROW, len(lines))):
        marks += lines[at].count('"')
        if marks % 2 == 0:
            return at
    return None


def _row(line: int, text: str, separator: str) -> Row:
    if "\x00" in text:
        return Row(line, (), "The line holds a sign of no meaning (NUL).")
    try:
        cells = next(csv.reader([text], delimiter=separator), [])
    except csv.Error:
        return Row(line, (), "A cell of this line is too long to be read.")
    return Row(line, tuple(cells))
