"""What a file is before any program opens it: empty, text, a picture, a cut-off MP4.

Only the first bytes are read, and of an MP4 the sizes of its outermost boxes (ISO/IEC 14496-12, 4.2).
Nothing here is needed for safety (``guard`` is); it is there to say in one sentence what is wrong.
"""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from .errors import MediaRefused

__all__ = ["FirstLook", "first_look"]

_HEAD = 4096
_EXPORT = "Upload the video itself, as MP4, MOV, MKV, WebM, AVI or MPEG-TS."
_POINTERS = (
    (b"#EXTM3U", "a play list that points to other files"),
    (b"ffconcat", "a list of other files"),
    (b"v=0", "a session description that points to a stream"),
)
_OTHER = (
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\x89PNG", "a PNG picture"),
    (b"GIF8", "a GIF picture"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"ID3", "an MP3 sound file"),
    (b"OggS", "an Ogg file"),
    (b"fLaC", "a FLAC sound file"),
)
_MP4_STARTS = (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot")


@dataclass(frozen=True, slots=True)
class FirstLook:
    """``is_cut_off``: by its own sizes the file should be longer than it is."""

    byte_size: int
    is_cut_off: bool


def first_look(path: Path | str) -> FirstLook:
    """Refuse what plainly is no video, else answer size and whether the end is missing.

    Raises MediaRefused: ``missing``, ``empty``, ``points_elsewhere``, ``not_video``, ``cut_off`` (an
    MP4 without its index, of which nothing can be read).
    """
    size = _regular_size(path)
    with open(path, "rb") as file:
        head = file.read(_HEAD)
        _refuse_text(head)
        for magic, kind in _OTHER:
            if head.startswith(magic):
                raise MediaRefused("not_video", f"The file is {kind}, not a video. {_EXPORT}")
        if head[4:8] in _MP4_STARTS:
            return FirstLook(size, _mp4_is_cut_off(file, size))
    return FirstLook(size, _avi_is_cut_off(head, size))


def _regular_size(path: Path | str) -> int:
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        raise MediaRefused("missing", "The file is not there any more; upload it again.") from None
    if not stat.S_ISREG(found.st_mode):
        raise MediaRefused("missing", "That name belongs to a folder or a device, not to a video file.")
    if found.st_size == 0:
        raise MediaRefused(
            "empty", "The file is empty (0 bytes); copy it again from the camera and upload it."
        )
    return found.st_size


def _refuse_text(head: bytes) -> None:
    kind = _text_kind(head)
    if kind is None:
        return
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    for sign, what in _POINTERS:
        if start.startswith(sign):
            raise MediaRefused("points_elsewhere", f"The file is {what}, not a video. {_EXPORT}")
    if b"<MPD" in head:
        raise MediaRefused(
            "points_elsewhere", f"The file is a streaming manifest that points to other files. {_EXPORT}"
        )
    raise MediaRefused("not_video", f"The file is {kind}, not a video, whatever its name says. {_EXPORT}")


def _text_kind(head: bytes) -> str | None:
    """What sort of text ``head`` is, or None for anything else."""
    if b"\x00" in head:
        return None
    try:
        text = head.decode("utf-8")
    except UnicodeDecodeError as error:
        if error.start < len(head) - 3:  # not merely a letter cut by the end of ``head``
            return None
        text = head[: error.start].decode("utf-8")
    odd = sum(1 for letter in text if ord(letter) < 32 and letter not in "\t\n\r\f")
    if odd * 50 > len(text):
        return None
    return "a drawing or web page (XML)" if text.lstrip("\ufeff \t\r\n").startswith("<") else "plain text"


def _mp4_is_cut_off(file, size: int) -> bool:
    """Walk the outermost boxes. Raises MediaRefused when the index (moov) is not wholly there."""
    place, has_index, cut = 0, False, False
    while place + 8 <= size and not cut:
        file.seek(place)
        length, kind = _box(file.read(16), size - place)
        if length < 8:
            break
        cut = place + length > size
        has_index = has_index or (kind == b"moov" and not cut)
        place += length
    if not has_index:
        raise MediaRefused(
            "cut_off",
            "The file is cut off: its index (the moov box) is missing, as when recording or copying was "
            "interrupted, so nothing of it can be read. Copy it again from the camera, or mend it there.",
        )
    return cut


def _box(head: bytes, left: int) -> tuple[int, bytes]:
    """Length and type of one box: size 1 means that 64 bits follow, 0 that it goes on to the end."""
    length, kind = int.from_bytes(head[:4], "big"), head[4:8]
    if length == 1:
        length = int.from_bytes(head[8:16], "big")
    return (left if length == 0 else length), kind


def _avi_is_cut_off(head: bytes, size: int) -> bool:
    if head[:4] != b"RIFF" or head[8:12] != b"AVI ":
        return False
    return int.from_bytes(head[4:8], "little") + 8 > size
