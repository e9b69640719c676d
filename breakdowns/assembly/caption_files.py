"""Captions as WebVTT and SRT text.

WebVTT follows the W3C specification to the letter. SRT has no standard: this writes what all common
descriptions agree on. In both, a time is the frame's start cut to whole milliseconds: a frame is
never on screen before its cue has begun, and where one cue ends at the frame at which the next
begins, both get the same number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from breakdowns.assembly.captions import Cue
from breakdowns.assembly.plain_text import one_line
from breakdowns.footage.timebase import TimeError

__all__ = ["TimedText", "srt_text", "timed_texts", "webvtt_document", "webvtt_text"]


class TimedText(NamedTuple):
    """Lines of plain text from ``start`` to ``end``, exact seconds."""

    start: Fraction
    end: Fraction
    lines: Sequence[str]


def timed_texts(cues: Iterable[Cue]) -> list[TimedText]:
    """The cues with their exact seconds."""
    return [TimedText(cue.span.start_seconds, cue.span.end_seconds_exclusive, cue.lines) for cue in cues]


def webvtt_text(cues: Iterable[Cue], *, title: str = "", language: str = "") -> str:
    """A WebVTT captions file (encode it as UTF-8) with a comment that holds title and language.

    Raises TimeError where cues are out of order or shorter than a millisecond.
    """
    return webvtt_document(timed_texts(cues), title=title, language=language)


def webvtt_document(texts: Iterable[TimedText], *, title: str = "", language: str = "") -> str:
    """WebVTT of any timed texts; used for captions and for chapters. Raises TimeError as above.

    The format has no place for a language (the page's ``srclang`` says it), so it stands in the
    comment. Source: W3C WebVTT, §4 "Syntax".
    """
    comment = [f"Title: {title}" if title else "", f"Language: {language}" if language else ""]
    told = "\n".join(_comment_line(line) for line in comment if line)
    blocks = ["WEBVTT", f"NOTE\n{told}" if told else ""]
    for start, end, lines in _in_milliseconds(texts):
        payload = "\n".join(map(_webvtt_escaped, lines))
        blocks.append(f"{_webvtt_time(start)} --> {_webvtt_time(end)}\n{payload}")
    return "\n\n".join(block for block in blocks if block) + "\n"


def srt_text(cues: Iterable[Cue]) -> str:
    """A SubRip file (encode it as UTF-8), CRLF line ends, hours always written.

    Many readers take ``<b>`` and ``{\\an8}`` for marks; a word joiner (U+2060, not seen) after the
    bracket keeps such text as text. Raises TimeError as ``webvtt_text`` does.
    """
    blocks = [
        "\n".join([str(number), f"{_srt_time(start)} --> {_srt_time(end)}", *map(_srt_guarded, lines)])
        for number, (start, end, lines) in enumerate(_in_milliseconds(timed_texts(cues)), start=1)
    ]
    return "".join(f"{block}\n\n" for block in blocks).replace("\n", "\r\n")


def _in_milliseconds(texts: Iterable[TimedText]) -> list[tuple[int, int, list[str]]]:
    """Start and end in whole milliseconds and the lines that hold something, in checked order."""
    rows: list[tuple[int, int, list[str]]] = []
    for text in texts:
        start, end = int(text.start * 1000), int(text.end * 1000)
        if end <= start or start < 0:
            raise TimeError(f"The cue {' '.join(text.lines)[:40]!r} would end before it begins.")
        if rows and start < rows[-1][0]:
            raise TimeError(f"The cue {' '.join(text.lines)[:40]!r} starts before the one ahead of it.")
        if lines := [line for line in map(one_line, text.lines) if line]:
            rows.append((start, end, lines))
    return rows


def _clock(milliseconds: int, separator: str) -> str:
    seconds, thousandths = divmod(milliseconds, 1000)
    minutes, ss = divmod(seconds, 60)
    hours, mm = divmod(minutes, 60)
    return f"{hours:02d}:{mm:02d}:{ss:02d}{separator}{thousandths:03d}"


def _webvtt_time(milliseconds: int) -> str:
    return _clock(milliseconds, ".")


def _srt_time(milliseconds: int) -> str:
    return _clock(milliseconds, ",")


def _webvtt_escaped(line: str) -> str:
    """``>`` is written as a reference too: it keeps ``-->`` out of the text."""
    return line.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _comment_line(line: str) -> str:
    return one_line(line).replace("-->", "→")


_TAKEN_FOR_A_MARK = re.compile(r"<(?=[ /]*[A-Za-z])|\{(?=\\)|--(?=>)")


def _srt_guarded(line: str) -> str:
    return _TAKEN_FOR_A_MARK.sub(lambda match: match[0] + "\u2060", line)
