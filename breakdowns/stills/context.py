"""What the still's page is filled with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib.staticfiles import finders

from breakdowns.people.models import User

from .document import document_json
from .forms import LandmarkForm, MarkForm, points_text
from .marks import MarksDocument
from .measures import MeasureRow, measures_of
from .models import Still, StillRevision
from .picture import PictureFacts
from .readout import number_text, places_for
from .selectors import (
    editor_data,
    overlay,
    picture_facts,
    picture_is_there,
    still_document,
    views_beside,
    waiting,
)
from .tools import TOOLS, landmark_words, tool_of


@dataclass(frozen=True)
class MeasureLine:
    """A measure as it is written in the list."""

    row: MeasureRow

    @property
    def places(self) -> int:
        """Decimals that the error leaves a meaning."""
        return places_for(self.row.sd)

    @property
    def value(self) -> str:
        return "" if self.row.value is None else number_text(self.row.value, self.places)

    @property
    def sd(self) -> str:
        return "" if self.row.sd is None else number_text(self.row.sd, self.places)

    @property
    def unit(self) -> str:
        """The unit with the space before it that it takes: none before degrees."""
        unit = {"deg": "°"}.get(self.row.unit, self.row.unit)
        return unit if unit in ("°", "") else f"\u00a0{unit}"

    @property
    def said(self) -> str:
        """The whole line as it is read aloud."""
        if self.row.value is None:
            return f"{self.row.name}: not defined, {self.row.why}"
        unit = {"°": "degrees", "deg": "degrees"}.get(self.row.unit, self.row.unit)
        error = f", plus or minus {self.sd}" if self.sd else ""
        return f"{self.row.name}: {self.value.replace('−', 'minus ')} {unit}{error}"


@dataclass(frozen=True)
class Measures:
    """The list beside the picture: of marks first, then of the body."""

    lines: tuple[MeasureLine, ...]

    @property
    def of_marks(self) -> list[MeasureLine]:
        return [line for line in self.lines if line.row.mark_id]

    @property
    def of_body(self) -> list[MeasureLine]:
        return [line for line in self.lines if not line.row.mark_id]

    def said(self, mark_id: str) -> str:
        """The measures of one mark as a sentence; empty without a mark."""
        return ". ".join(line.said for line in self.lines if mark_id and line.row.mark_id == mark_id)


def measures_page(document: MarksDocument, facts: PictureFacts) -> Measures:
    return Measures(tuple(MeasureLine(row) for row in measures_of(document, facts)))


def outside_notes(document: dict[str, Any], facts: PictureFacts) -> list[str]:
    """A sentence for each mark and landmark that lies outside the picture. ``document`` as JSON."""
    width, height = facts.size

    def outside(at: list[float] | None) -> bool:
        return at is not None and not (0 <= at[0] <= width and 0 <= at[1] <= height)

    found = [
        f"{landmark_words(name)} lies outside the picture: move it in, or take it out."
        for name, row in document["landmarks"].items()
        if outside(row.get("at"))
    ]
    for number, mark in enumerate(document["marks"], 1):
        if any(outside(point.get("at")) for point in mark["points"]):
            said = mark.get("text") or tool_of(mark["kind"]).name
            found.append(f"Mark {number} ({said}) reaches outside the picture.")
    return [f"{line[0].upper()}{line[1:]}" for line in found]


def _mark_rows(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {**mark, "number": number, "name": tool_of(mark["kind"]).name}
        for number, mark in enumerate(document["marks"], 1)
    ]


def _landmark_rows(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [{**row, "key": name, "name": landmark_words(name)} for name, row in document["landmarks"].items()]


def _mark_form(document: dict[str, Any], chosen: str) -> MarkForm:
    mark = next((mark for mark in document["marks"] if mark["id"] == chosen), None)
    initial: dict[str, Any] = {"kind": "line", "tone": "1", "shown": True, "value": True}
    if mark:
        initial = {**mark, "points": points_text(mark["points"]), "tone": str(mark.get("tone", 1))}
        initial |= {"shown": mark.get("shown", True), "value": mark.get("value", False)}
    return MarkForm(initial=initial)


def _aside_rows(still: Still, user: User) -> list[dict[str, Any]]:
    def row(one: StillRevision) -> dict[str, Any]:
        marks = len(one.document.get("marks", []))
        landmarks = len(one.document.get("landmarks", {}))
        mine = one.made_by_id == user.pk
        return {"row": one, "marks": marks, "landmarks": landmarks, "is_mine": mine}

    return [row(one) for one in waiting(still)]


def editor_page(still: Still, *, chosen: str, user: User) -> dict[str, Any]:
    """The context of a still's page; ``chosen`` is the id of the mark whose coordinates stand in the form."""
    parsed, facts = still_document(still), picture_facts(still.source)
    document = document_json(parsed)
    beside = still.beside
    suggested = sum(row.get("state") == "suggested" for row in document["landmarks"].values())
    return {
        "still": still,
        "source": still.source,
        "is_there": picture_is_there(still.source),
        "svg": overlay(still.source, parsed, facts.size[0]),
        "measures": measures_page(parsed, facts),
        "problems": outside_notes(document, facts),
        "data": editor_data(still),
        "tools": TOOLS,
        "marks": _mark_rows(document),
        "landmarks": _landmark_rows(document),
        "suggested": suggested,
        "mark_form": _mark_form(document, chosen),
        "landmark_form": LandmarkForm(),
        "chosen": chosen,
        "asides": _aside_rows(still, user),
        "beside": beside,
        "beside_is_there": beside is not None and picture_is_there(beside.source),
        "views": views_beside(still),
        "shape": facts.display_size,
        "has_pose": finders.find("stills/pose.js") is not None,
    }
