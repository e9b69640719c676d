"""What a finished segment says of itself: its frames and its decoder configuration.

Reads just the boxes it needs (ISO/IEC 14496-12; ``avcC``: ISO/IEC 14496-15), so that a segment can be
checked without starting a program. The index stands at the end of a segment: a file that was not
written to its end has none.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

__all__ = ["NotWhole", "TrackFacts", "read_track"]

_VISUAL_ENTRY = 78  # bytes of a VisualSampleEntry before the boxes inside it
_LARGEST_INDEX = 64 << 20


class NotWhole(ValueError):
    """The file is no finished MP4 with one picture track."""


@dataclass(frozen=True)
class TrackFacts:
    """``configuration`` holds the H.264 parameter sets (the whole avcC box)."""

    frame_count: int
    configuration: bytes


def read_track(path: Path) -> TrackFacts:
    """The facts of the first track with H.264 pictures. Raises NotWhole; OSError where it can't be read."""
    index = _index(path)
    for track in _children(index, b"trak"):
        media = _child(track, b"mdia")
        table = _child(_child(media, b"minf"), b"stbl")
        if _child(media, b"hdlr")[8:12] == b"vide":
            entry = _child(_child(table, b"stsd")[8:], b"avc1")
            return TrackFacts(_sample_count(table), _child(entry[_VISUAL_ENTRY:], b"avcC"))
    raise NotWhole("The file holds no picture track.")


def _index(path: Path) -> bytes:
    """The moov box's content, wherever it stands."""
    with open(path, "rb") as file:
        while len(head := file.read(8)) == 8:
            size, kind = struct.unpack(">I4s", head)
            length = size - 8
            if size == 1:
                length = struct.unpack(">Q", file.read(8).rjust(8, b"\0"))[0] - 16
            if length < 0 or (kind == b"moov" and length > _LARGEST_INDEX):
                break
            if kind == b"moov":
                content = file.read(length)
                if len(content) == length:
                    return content
                break
            file.seek(length, 1)
    raise NotWhole("The file has no index.")


def _sample_count(table: bytes) -> int:
    sizes = _child(table, b"stsz")
    if len(sizes) < 12:
        raise NotWhole("The table of frames is cut short.")
    return int(struct.unpack(">I", sizes[8:12])[0])


def _boxes(content: bytes) -> Iterator[tuple[bytes, bytes]]:
    place = 0
    while place + 8 <= len(content):
        size, kind = struct.unpack(">I4s", content[place : place + 8])
        if size < 8:
            return
        yield kind, content[place + 8 : place + size]
        place += size


def _children(content: bytes, kind: bytes) -> Iterator[bytes]:
    return (inner for found, inner in _boxes(content) if found == kind)


def _child(content: bytes, kind: bytes) -> bytes:
    for inner in _children(content, kind):
        return inner
    raise NotWhole(f"The file has no {kind.decode()} box.")
