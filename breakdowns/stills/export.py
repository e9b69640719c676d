"""Marks and measures of a still as CSV (RFC 4180) and JSON (RFC 8259)."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import asdict

from .document import document_json
from .marks import MarksDocument
from .measures import MeasureRow
from .picture import PictureFacts

__all__ = ["marks_csv", "marks_json"]

_COLUMNS = (
    "what", "id", "kind", "name", "x_px", "y_px", "value", "sd", "unit", "state", "where", "caution", "why", "normal",
)  # fmt: skip


def marks_csv(document: MarksDocument, facts: PictureFacts, rows: Iterable[MeasureRow]) -> str:
    """One table: a row for each landmark, each point of each mark, and each measure. Pixels are the source's."""
    out = io.StringIO()
    writer = csv.DictWriter(out, _COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    for name, landmark in document.landmarks.items():
        x, y = landmark.at
        writer.writerow({"what": "landmark", "name": name, "x_px": x, "y_px": y, "state": landmark.state})
    for mark in document.marks:
        for spot in mark.points:
            place = document.place(spot)
            writer.writerow(
                {
                    "what": "mark",
                    "id": mark.id,
                    "kind": mark.kind,
                    "name": _guarded(mark.text),
                    "x_px": "" if place is None else place[0],
                    "y_px": "" if place is None else place[1],
                    "state": f"follows {spot}" if isinstance(spot, str) else "",
                }
            )
    for row in rows:
        writer.writerow(
            {
                "what": "measure",
                "id": row.mark_id,
                "kind": row.key,
                "name": _guarded(row.name),
                "value": "" if row.value is None else row.value,
                "sd": "" if row.sd is None else row.sd,
                "unit": row.unit,
                "state": "suggested" if row.suggested else "",
                "where": row.where,
                "caution": row.caution,
                "why": row.why,
                "normal": row.normal,
            }
        )
    return out.getvalue()


def _guarded(text: str) -> str:
    """A text that a table program would take for a formula gets an apostrophe before it."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else text


def marks_json(document: MarksDocument, facts: PictureFacts, rows: Iterable[MeasureRow]) -> str:
    """The marks document with the picture's size and the measures."""
    found = {
        "size": list(facts.size),
        "pixel_aspect": facts.pixel_aspect,
        "document": document_json(document),
        "measures": [asdict(row) for row in rows],
    }
    return json.dumps(found, ensure_ascii=False, indent=1)
