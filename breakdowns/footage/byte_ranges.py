"""Which bytes of a file an HTTP request asks for. Source: RFC 9110 (sections 13 and 14)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from email.utils import formatdate, parsedate_to_datetime

__all__ = ["Answer", "RangeNotSatisfiable", "answer_for", "wanted_range"]

_INT_RANGE = re.compile(r"^(\d{1,19})-(\d{0,19})$", re.ASCII)
_SUFFIX = re.compile(r"^-(\d{1,19})$", re.ASCII)
_MOST_RANGES = 100


class RangeNotSatisfiable(ValueError):
    """Every range asked for lies outside the file."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Status and headers, and the bytes [start, end) that the body holds."""

    status: int
    start: int
    end: int
    headers: dict[str, str] = field(default_factory=dict)

    @property
    def length(self) -> int:
        return self.end - self.start


def wanted_range(header: str, size: int) -> tuple[int, int] | None:
    """Half-open [start, end) in bytes, or None where the whole file is to be sent.

    Faulty headers and other units are ignored, and so are several ranges at once, as RFC 9110 14.2
    allows. Raises RangeNotSatisfiable when no range touches the file.
    """
    unit, equals, specs = header.partition("=")
    parts = [part.strip(" \t") for part in specs.split(",") if part.strip(" \t")]
    if unit.strip().lower() != "bytes" or not equals or not 0 < len(parts) <= _MOST_RANGES:
        return None
    touching = []
    for part in parts:
        if whole := _INT_RANGE.match(part):
            first, last = int(whole[1]), int(whole[2]) if whole[2] else None
            if last is not None and last < first:
                return None
            if first < size:
                touching.append((first, size if last is None else min(last + 1, size)))
        elif suffix := _SUFFIX.match(part):
            if int(suffix[1]):
                touching.append((max(0, size - int(suffix[1])), size))
        else:
            return None
    if not touching:
        raise RangeNotSatisfiable
    return touching[0] if len(touching) == 1 and size else None


def answer_for(method: str, asked: Mapping[str, str], *, size: int, etag: str, modified: float) -> Answer:
    """How to answer a GET or HEAD for a file of ``size`` bytes.

    ``etag`` is a strong entity tag with its quotes, ``modified`` seconds since 1970. ``asked`` holds the
    request's headers. Preconditions come in the order of RFC 9110 13.2.2; a range is looked at for
    GET only (14.2).
    """
    whole_second = int(modified)
    common = {"ETag": etag, "Last-Modified": formatdate(whole_second, usegmt=True), "Accept-Ranges": "bytes"}
    if _not_modified(asked, etag, whole_second):
        return Answer(304, 0, 0, common)
    wanted = asked.get("Range", "")
    span = None
    if method == "GET" and wanted and _same_file(asked.get("If-Range"), etag, whole_second):
        try:
            span = wanted_range(wanted, size)
        except RangeNotSatisfiable:
            return Answer(416, 0, 0, {**common, "Content-Range": f"bytes */{size}", "Content-Length": "0"})
    start, end = span or (0, size)
    sent = {**common, "Content-Length": str(end - start)}
    if span:
        return Answer(206, start, end, {**sent, "Content-Range": f"bytes {start}-{end - 1}/{size}"})
    return Answer(200, start, end, sent)


def _not_modified(asked: Mapping[str, str], etag: str, modified: int) -> bool:
    tags = asked.get("If-None-Match")
    if tags is not None:
        known = [tag.strip().removeprefix("W/") for tag in tags.split(",")]
        return "*" in known or etag in known
    since = _seconds(asked.get("If-Modified-Since"))
    return since is not None and modified <= since


def _same_file(if_range: str | None, etag: str, modified: int) -> bool:
    """If-Range (13.1.5): the very same strong tag, or the very same date."""
    if not if_range:
        return True
    if if_range.strip().startswith(('"', "W/")):
        return if_range.strip() == etag
    return _seconds(if_range) == modified


def _seconds(date: str | None) -> int | None:
    if not date:
        return None
    try:
        return int(parsedate_to_datetime(date).timestamp())
    except (TypeError, ValueError, OverflowError):
        return None
