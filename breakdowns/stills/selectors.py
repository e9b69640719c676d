"""Reads: what pages and later stages ask about stills."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.urls import reverse

from breakdowns.footage.file_names import NotInFolder
from breakdowns.footage.models import Source
from breakdowns.footage.selectors import master_path, other_views, tied_view
from breakdowns.footage.views_offset import frame_beside

from .document import document_json, read_document
from .drawing import draw
from .marks import MarksDocument
from .measures import MeasureRow, measures_of
from .models import Still, StillRevision
from .picture import PictureFacts


def picture_facts(source: Source) -> PictureFacts:
    """The size in source pixels, upright and before the pixel aspect, and that aspect. Of a source once ready."""
    width, height, aspect = source.width or 1, source.height or 1, source.pixel_aspect
    if source.rotation in (90, 270):
        width, height, aspect = height, width, 1 / aspect
    return PictureFacts((width, height), float(aspect))


def still_document(still: Still) -> MarksDocument:
    """The marks. Raises MarksError only where somebody wrote into the database by hand."""
    return read_document(still.document, picture_facts(still.source).size)


def still_measures(still: Still) -> list[MeasureRow]:
    """Everything that can be measured from the marks."""
    return measures_of(still_document(still), picture_facts(still.source))


def overlay(source: Source, document: MarksDocument, width_px: int, *, values: bool = True) -> str:
    """The marks as SVG text, drawn for a picture ``width_px`` wide."""
    facts = picture_facts(source)
    rows = measures_of(document, facts) if values else []
    return draw(document, facts, width_px=width_px, measures=rows)


def stills_listed() -> QuerySet[Still]:
    """Every still, the latest changed first."""
    return Still.objects.select_related("source__event").order_by("-changed_at", "-pk")


def picture_is_there(source: Source) -> bool:
    """Whether frames of the source can still be read."""
    if not source.is_ready:
        return False
    try:
        return master_path(source).is_file()
    except (NotInFolder, OSError):
        return False


def waiting(still: Still) -> list[StillRevision]:
    """Marks set aside by a late save that nobody has settled."""
    return list(
        still.revisions.filter(set_aside=True, settled_at=None).select_related("made_by").order_by("number")
    )


@dataclass(frozen=True)
class OtherView:
    """Another view of the event and its frame of a still's instant; None where it has no picture of it."""

    source: Source
    frame: int | None
    why: str


def views_beside(still: Still) -> list[OtherView]:
    """What the other views of the event show at the still's instant."""
    view = tied_view(still.source)
    found = []
    for other in other_views(still.source):
        goal = tied_view(other)
        if view is None or goal is None:
            found.append(OtherView(other, None, "no common instant yet"))
            continue
        frame = frame_beside(still.frame, view, goal)
        inside = 0 <= frame < (other.frame_count or 0)
        found.append(
            OtherView(other, frame if inside else None, "" if inside else "no picture of that instant")
        )
    return found


def editor_data(still: Still) -> dict[str, Any]:
    """What the page's script starts from."""
    facts = picture_facts(still.source)
    urls = {
        name: reverse(f"stills:{name}", args=[still.key]) for name in ("draw", "save", "undo", "redo", "copy")
    }
    frames = reverse("footage:still", args=[still.source.key, 0])
    neighbours = still.source.stills.exclude(pk=still.pk).values_list("frame", "key")
    return {
        "key": str(still.key),
        "document": document_json(still_document(still)),
        "version": still.version,
        "size": list(facts.size),
        "pixel_aspect": facts.pixel_aspect,
        "frame": still.frame,
        "frame_count": still.source.frame_count,
        "rate": [still.source.rate_num, still.source.rate_den],
        "urls": {
            **urls,
            "frame": frames.removesuffix("0/"),
            "make": reverse("stills:make", args=[still.source.key]),
        },
        "stills": {
            str(frame): reverse("stills:still", args=[key]) for frame, key in neighbours.order_by("-made_at")
        },
    }
