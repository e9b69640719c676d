"""Everything one assembly leaves: the video and, beside it, captions, chapters, lists and the ledger.

The video is renamed into place last, so whoever sees it sees the rest as well.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import plan_from_json
from breakdowns.footage.media.locate import Tools
from breakdowns.footage.timebase import TimeError

from .account import account_of
from .beside import write_all
from .caption_norms import CaptionError
from .captions import CaptionReport, captions_of
from .edl import edl_lists
from .ledger_plan import plan_from_piece
from .piece import Piece
from .render import RenderFailed, RenderReport, render


@dataclass(frozen=True)
class Made:
    """What was made: the render's own report, the ledger of what was rendered, what it shows and says (JSON)."""

    report: RenderReport
    ledger: dict[str, Any]
    account: dict[str, Any]
    warnings: tuple[str, ...]


def ledger_of(piece: Piece, policy: str | dict[str, Any] | None = None) -> dict[str, Any]:
    """The ledger of the laid-out timeline, as the ledger command would print it."""
    document = plan_from_piece(piece)
    if policy is not None:
        document["policy"] = policy
    return compute(plan_from_json(document)).as_json()


def make_all(
    piece: Piece,
    out: Path,
    *,
    cache_dir: Path,
    tools: Tools,
    progress: Callable[[int, int, str], None],
    stopped: Callable[[], bool],
    summary: str = "",
    cautions: Sequence[str] = (),
    references: Sequence[str] = (),
    policy: str | dict[str, Any] | None = None,
    tag: str = "part",
) -> Made:
    """Render ``piece`` to ``out`` (FILE.mp4) with its companions beside it.

    Raises RenderFailed with one sentence, RenderStopped when stopped.
    """
    out.parent.mkdir(parents=True, exist_ok=True)
    half = out.with_name(f".{out.stem}.{tag}.mp4")
    captions = _checked(piece)
    try:
        report = render(piece, half, cache_dir=cache_dir, tools=tools, progress=progress, stopped=stopped)
        ledger = ledger_of(piece, policy)
        write_all(piece, out, summary=summary, cautions=cautions, references=references)
        _write(out.with_suffix(".ledger.json"), json.dumps(ledger, ensure_ascii=False, indent=2), tag)
        os.replace(half, out)
    finally:
        half.unlink(missing_ok=True)
    warnings = (*report.warnings, *(warning.text for warning in captions.warnings))
    return Made(report, ledger, account_of(piece), warnings)


def _checked(piece: Piece) -> CaptionReport:
    """What must be possible is tried before the long work. Raises RenderFailed with one sentence."""
    try:
        edl_lists(piece)
        return captions_of(piece)
    except (CaptionError, TimeError) as fault:
        raise RenderFailed(str(fault)) from fault


def _write(path: Path, text: str, tag: str) -> None:
    half = path.with_name(f".{path.name}.{tag}")
    half.write_text(text + "\n", encoding="utf-8")
    os.replace(half, path)
