"""What can be measured from the marks and landmarks of one still, with its error and what makes it unsafe.

Angles, lengths, errors and foreshortening are all `anatomy.motion`'s; what is here only names them.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from anatomy.motion.catalogue import MEASURES
from anatomy.motion.curves import AUTOMATIC
from anatomy.motion.document import FrameRow, Request
from anatomy.motion.measure import measure
from anatomy.motion.points import Picture
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.packaged import packaged_vocabulary

from .mark_measures import Plane, measures_of_mark
from .marks import MarksDocument
from .measure_row import CLICK_SD_PX, MeasureRow, joined, outside_words, tilt_words
from .picture import PictureFacts

__all__ = ["CLICK_SD_PX", "MeasureRow", "measures_of"]

_HARDLY_SEEN = (
    0.5  # the pose model's visibility below which a point is drawn as guessed; reference: media notes
)


def measures_of(
    document: MarksDocument,
    facts: PictureFacts,
    vocabulary: Vocabulary | None = None,
    click_sd_px: float = CLICK_SD_PX,
) -> list[MeasureRow]:
    """Every measure of the marks that are shown, in their order, then of the landmarks. Raises nothing: what is not
    defined is None with the reason. ``vocabulary`` None means the packaged one."""
    plane = Plane(document, facts, click_sd_px)
    found = [row for mark in document.marks if mark.shown for row in measures_of_mark(mark, plane)]
    return found + list(_of_body(document, facts, vocabulary or packaged_vocabulary(), click_sd_px))


@cache
def _names() -> dict[str, str]:
    path = Path(__file__).parent / "data" / "measure_names.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {row["key"]: row["words"] for row in csv.DictReader(file)}


def _of_body(
    document: MarksDocument, facts: PictureFacts, vocabulary: Vocabulary, click_sd_px: float
) -> Iterator[MeasureRow]:
    points = {name: row.at for name, row in document.landmarks.items()}
    want = tuple(key for key in _names() if all(name in points for name in MEASURES[key].landmarks))
    if not want:
        return
    request = Request(
        rate=Fraction(1),
        size=facts.size,
        picture=Picture(facts.pixel_aspect),
        click_sd_px=click_sd_px,
        frames=(FrameRow(0, points),),
        want=want,
        side="right",
        smoothing=AUTOMATIC,
        key_frames=(),
        lengths={},
        normal_ranges=True,
        ignored=(),
    )
    answer = measure(request, vocabulary)
    for key, row in answer["frames"][0]["measures"].items():
        yield _body_row(key, row, answer, document)


def _body_row(
    key: str, row: Mapping[str, Any], answer: Mapping[str, Any], document: MarksDocument
) -> MeasureRow:
    used = [document.landmarks[name] for name in MEASURES[key].landmarks]
    guessed = any(
        one.state == "suggested" and one.visibility is not None and one.visibility < _HARDLY_SEEN
        for one in used
    )
    outside = set(answer["frames"][0].get("outside", ())) & set(MEASURES[key].landmarks)
    cautions = (
        row.get("caution", ""),
        "the pose model hardly saw one of its points and guessed it" if guessed else "",
        outside_words(len(outside)),
    )
    errors = list(answer["foreshortening"].get(key, {}).values())
    return MeasureRow(
        key,
        _names()[key],
        row["value"],
        row["sd"],
        row["unit"],
        where=tilt_words(errors) if errors and row["value"] is not None else "",
        caution=joined(*cautions),
        why=row.get("why", "").replace("_", " "),
        normal=_normal(row, answer),
        suggested=any(one.state == "suggested" for one in used),
    )


def _normal(row: Mapping[str, Any], answer: Mapping[str, Any]) -> str:
    """ "88 % of the published range of 135–150°"; empty where nothing is published."""
    share = row.get("percent_of_normal")
    if not share:
        return ""
    ranges = next(
        (
            found
            for key, found in answer.get("normal_ranges", {}).items()
            if found and key.split(": ", 1)[1] == share["motion"] and _same_end(found, share, row)
        ),
        None,
    )
    low, high = share["of_widest"], share["of_narrowest"]
    said = f"{low:.0f} %" if round(low) == round(high) else f"{low:.0f}–{high:.0f} %"
    if ranges is None:
        return f"{said} of normal {share['motion']}"
    ends = sorted({one["low"] for one in ranges} | {one["high"] for one in ranges})
    span = f"{ends[0]:g}°" if ends[0] == ends[-1] else f"{ends[0]:g}–{ends[-1]:g}°"
    sources = ", ".join(sorted({key for one in ranges for key in one["sources"]})[:3])
    return f"{said} of normal {share['motion']}, published at {span} ({sources})"


def _same_end(ranges: list[dict[str, Any]], share: Mapping[str, Any], row: Mapping[str, Any]) -> bool:
    """Whether these are the ranges that the share was taken of: the widest end gives the value back."""
    widest = max(one["high"] for one in ranges)
    return math.isclose(abs(row["value"]) / widest * 100, share["of_widest"], rel_tol=1e-3, abs_tol=0.01)
