"""The text files that stand beside an assembled video: captions, chapters, interchange, show notes."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from secrets import token_hex

from breakdowns.assembly.caption_files import srt_text, webvtt_text
from breakdowns.assembly.captions import DEFAULT_PROFILE, HeardWord, captions_of
from breakdowns.assembly.chapters import chapters_webvtt
from breakdowns.assembly.edl import edl_lists
from breakdowns.assembly.interchange import otio_text
from breakdowns.assembly.piece import Piece
from breakdowns.assembly.show_notes import show_notes

__all__ = ["write_all"]


def write_all(
    piece: Piece,
    out: Path,
    *,
    profile: str = DEFAULT_PROFILE,
    heard: Mapping[str, Sequence[HeardWord]] | None = None,
    summary: str = "",
    cautions: Sequence[str] = (),
    policy_lines: Sequence[str] = (),
    references: Sequence[str] = (),
) -> list[Path]:
    """Write ``.vtt``, ``.srt``, ``.chapters.vtt``, ``.otio``, ``.edl`` and ``.md`` beside the video ``out``.

    An edit list of more than 999 events goes on in ``.part2.edl`` and so on. Every text is made before
    the first file is written, and each file is written under another name and then renamed, so
    nobody ever reads half a file. Returns the paths in that order. Raises CaptionError or TimeError
    (one sentence) before anything is written, OSError where the folder cannot be written.
    """
    captions = captions_of(piece, profile=profile, heard=heard)
    lists = edl_lists(piece)
    notes = show_notes(
        piece, summary=summary, cautions=cautions, policy_lines=policy_lines, references=references
    )
    texts = {
        ".vtt": webvtt_text(captions.cues, title=piece.title, language=piece.language),
        ".srt": srt_text(captions.cues),
        ".chapters.vtt": chapters_webvtt(piece),
        ".otio": otio_text(piece),
        ".edl": lists[0],
        **{f".part{number}.edl": text for number, text in enumerate(lists[1:], start=2)},
        ".md": notes,
    }
    return [_write(out.with_suffix(ending), text) for ending, text in texts.items()]


def _write(path: Path, text: str) -> Path:
    """UTF-8, line ends as the text has them, complete or not at all."""
    unfinished = path.with_name(f".{path.name}.{token_hex(4)}.part")
    try:
        with unfinished.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
    return path
