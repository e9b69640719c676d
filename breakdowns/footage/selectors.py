"""What pages and later stages ask about footage."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db.models import QuerySet

from breakdowns.work.models import WorkItem

from .file_names import NotInFolder
from .media.probe import Probe
from .models import Event, Source
from .timebase import is_drop_frame_rate
from .views_offset import TiedView, frame_beside

PREPARE = "footage.prepare"


def media_path(name: str) -> Path:
    """The file that a stored name means."""
    return Path(settings.MEDIA_ROOT, name)


def original_path(source: Source) -> Path:
    """The footage as it came. Raises NotInFolder when a registered file no longer lies in its folder."""
    if not source.registered:
        return media_path(source.original)
    path = Path(source.original).resolve()
    if any(path.is_relative_to(folder.resolve()) for folder in settings.FOOTAGE_FOLDERS):
        return path
    raise NotInFolder("The file was registered from a folder that is no longer one of the footage folders.")


def master_path(source: Source) -> Path:
    """The file that is cut from; frame numbers count its frames. Only of a ready source."""
    return original_path(source) if source.master == source.original else media_path(source.master)


def probe_of(source: Source) -> Probe:
    """What reading the master found. Only of a ready source."""
    return Probe.from_json(source.details["probe"])


def tied_view(source: Source) -> TiedView | None:
    """The source's clock and common instant; None while there is none."""
    if not source.is_ready or source.sync_frame is None:
        return None
    return TiedView(source.sync_frame, source.rate)


def work_of(source: Source) -> WorkItem | None:
    """The latest preparing of this source."""
    return WorkItem.objects.filter(kind=PREPARE, subject=str(source.key)).order_by("-pk").first()


def sources_listed() -> QuerySet[Source]:
    return Source.objects.select_related("event")


def other_views(source: Source) -> QuerySet[Source]:
    """Ready sources of the same event."""
    return Source.objects.filter(event=source.event_id, event__isnull=False, state="ready").exclude(
        pk=source.pk
    )


def tied_sources(event: Event) -> list[Source]:
    return list(event.sources.filter(state="ready", sync_frame__isnull=False).order_by("added_at"))


@dataclass(frozen=True, slots=True)
class Use:
    """Frames [start, end) of a source that a script shows; a still is one frame."""

    start: int
    end: int
    where: str
    kind: str

    @property
    def length(self) -> int:
        return self.end - self.start


def uses_of(source: Source) -> list[Use]:
    """Where scripts use this source, in order of time, second views too. Later stages are reached over their relations
    only."""
    found = []
    for excerpt in source.excerpts.prefetch_related("beats__breakdown", "beside_beats__breakdown"):  # type: ignore[attr-defined]
        for beat in excerpt.beats.all():
            found.append(Use(*_shown_of(beat), str(beat), "moving"))
        for beat in excerpt.beside_beats.all():
            start = excerpt.in_frame if beat.beside_in is None else beat.beside_in
            end = excerpt.out_frame if beat.beside_out is None else beat.beside_out
            found.append(Use(start, end, str(beat), "moving"))
    for beat in source.still_beats.filter(frame__isnull=False).select_related("breakdown"):  # type: ignore[attr-defined]
        found.append(Use(beat.frame, beat.frame + 1, str(beat), "still"))
    found += _uses_beside(source)
    return sorted(found, key=lambda use: (use.start, use.end))


def _shown_of(beat: Any) -> tuple[int, int]:
    """[first, end) of its excerpt that a beat shows."""
    start = beat.excerpt.in_frame if beat.in_frame is None else beat.in_frame
    return start, beat.excerpt.out_frame if beat.out_frame is None else beat.out_frame


def _uses_beside(source: Source) -> list[Use]:
    """The same instants that stand as a tied view beside other footage."""
    goal, found = tied_view(source), list[Use]()
    beats = source.beside_beats.select_related("breakdown", "source", "excerpt__source")  # type: ignore[attr-defined]
    for beat in beats if goal else ():
        moves = beat.kind == "excerpt" and beat.excerpt is not None
        first = beat.excerpt.source if moves else beat.source
        if beat.kind not in ("excerpt", "still") or first is None or (not moves and beat.frame is None):
            continue
        view = tied_view(first)
        if view is None:
            continue
        start, end = _shown_of(beat) if moves else (beat.frame, beat.frame + 1)
        into, out = (frame_beside(frame, view, goal) for frame in (start, end - 1))
        if 0 <= into <= out < (source.frame_count or 0):
            found.append(Use(into, out + 1, str(beat), "moving" if moves else "still"))
    return found


def player_data(source: Source) -> dict[str, Any]:
    """What a player script needs: the exact clock as whole numbers, and the common instant."""
    return {
        "key": str(source.key),
        "rate_num": source.rate_num,
        "rate_den": source.rate_den,
        "frame_count": source.frame_count,
        "drop": is_drop_frame_rate(source.rate),
        "sync_frame": source.sync_frame,
    }


def source_page(source: Source, **more: Any) -> dict[str, Any]:
    """The context of the source page; ``more`` replaces parts of it, such as a faulty form."""
    page: dict[str, Any] = {"source": source, "item": work_of(source), "frame": 0, **more}
    if source.is_ready:
        page |= {
            "data": player_data(source),
            "uses": uses_of(source),
            "excerpts": list(source.excerpts.prefetch_related("beats")),  # type: ignore[attr-defined]
            "views": list(other_views(source)),
            "tied": tied_sources(source.event) if source.event and source.sync_frame is not None else [],
            "warnings": source.details.get("warnings", []),
        }
        page["excerpt_data"] = [
            {"id": row.pk, "name": row.name, "in": row.in_frame, "out": row.out_frame}
            for row in page["excerpts"]
        ]
    return page
