"""Putting the demonstration into the database: each part once, however often it is asked for."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Event, Source
from breakdowns.footage.selectors import PREPARE, media_path
from breakdowns.people.models import Membership, User
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.stills.models import Still
from breakdowns.stills.services import still_make, still_save
from breakdowns.tracks.models import Track
from breakdowns.tracks.services import track_make, track_points_set
from breakdowns.work.services import work_order
from breakdowns.work.tasks import do_work

from .scenario import frame_of, scenario


@dataclass(frozen=True)
class Clip:
    """A drawn view: its file, exact rate, length, the frames of the named moments and the known landmarks by frame."""

    view: str
    path: Path
    rate: Fraction
    frame_count: int
    events: dict[str, int]
    landmarks: tuple[dict[str, list[float]], ...] = ()


class DemonstrationFailed(Exception):
    """The demonstration can't be made; the text says why."""


def people_make() -> User:
    """An owner and a member, without passwords: they sign in by one-time links."""
    owner = _person("owner@demonstration.invalid", "Demonstration owner", User.Role.OWNER)
    member = _person("member@demonstration.invalid", "Demonstration member", User.Role.READER)
    if not member.memberships.exists():
        Membership.objects.create(user=member)
    return owner


def _person(email: str, name: str, role: str) -> User:
    return User.objects.filter(email=email).first() or User.objects.create_user(email, name=name, role=role)


def source_make(clip: Clip, owner: User) -> Source:
    """The clip as a source, read and with its working copies; what is there already stays."""
    what = scenario()["sources"][clip.view]
    name = f"demonstration-{clip.view}{clip.path.suffix}"
    source = Source.objects.filter(original_name=name).first()
    if source is None:
        source = _source_new(clip, owner, name, what)
    if not source.is_ready:
        item = work_order(PREPARE, source.key, by=owner)
        outcome = do_work(item.pk)
        source.refresh_from_db()
        if not source.is_ready:
            item.refresh_from_db()
            raise DemonstrationFailed(item.reason or f"The {clip.view} view could not be read ({outcome}).")
    return source


def _source_new(clip: Clip, owner: User, name: str, what: dict[str, Any]) -> Source:
    given = scenario()["event"]
    event, _ = Event.objects.get_or_create(
        name=given["name"],
        defaults={
            "ended_at": timezone.now() - timedelta(hours=given["ended_hours_ago"]),
            "note": scenario()["invented"],
        },
    )
    source = Source(
        event=event, added_by=owner, original_name=name, byte_size=clip.path.stat().st_size, **what
    )
    source.original = f"sources/{source.key}/original{clip.path.suffix}"
    goal = media_path(source.original)
    goal.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(clip.path, goal)
    except OSError:
        shutil.copy2(clip.path, goal)
    source.save()
    return source


def sync_make(sources: dict[str, Source], clips: dict[str, Clip], moment: str = "release") -> None:
    """Tie the views by the frame of one moment, where nobody has tied them otherwise."""
    for view, source in sources.items():
        Source.objects.filter(pk=source.pk, sync_frame__isnull=True).update(
            sync_frame=clips[view].events[moment]
        )


@transaction.atomic
def breakdown_make(sources: dict[str, Source], clips: dict[str, Clip], owner: User) -> Breakdown:
    """The demonstration's breakdown with its excerpts and beats, unless it is there already."""
    given = scenario()["breakdown"]
    existing = Breakdown.objects.filter(slug=given["slug"]).first()
    if existing:
        return existing
    excerpts = {
        key: _excerpt(sources[row["view"]], clips[row["view"]], row, owner)
        for key, row in scenario()["excerpts"].items()
    }
    marked = {
        "still": {
            key: _still(sources[row["view"]], clips[row["view"]], row, owner)
            for key, row in scenario()["stills"].items()
        },
        "curve_track": {
            key: _track(
                excerpts[row["excerpt"]], clips[scenario()["excerpts"][row["excerpt"]]["view"]], row, owner
            )
            for key, row in scenario()["tracks"].items()
        },
    }
    breakdown = Breakdown.objects.create(owner=owner, **given)
    for position, row in enumerate(scenario()["beats"]):
        fields = _beat(row, excerpts, sources, clips) | _marked(row, marked)
        Beat.objects.create(breakdown=breakdown, position=position, changed_by=owner, **fields)
    return breakdown


def _still(source: Source, clip: Clip, row: dict[str, Any], owner: User) -> Still:
    """A frame kept, with the lines of the scenario through the landmarks that are known of it."""
    frame = frame_of(row["at"], clip.events, clip.rate, clip.frame_count)
    still = still_make(source=source, frame=frame, by=owner, name=row["name"])
    points = {name: {"at": clip.landmarks[frame][name]} for name in row["landmarks"]}
    document = {"version": 1, "landmarks": points, "marks": row["marks"]}
    return still_save(still, document, base_version=still.version, what="drew the lines", by=owner).still


def _track(excerpt: Excerpt, clip: Clip, row: dict[str, Any], owner: User) -> Track:
    """Landmarks over an excerpt, as they are known of the drawn figure."""
    track = track_make(
        source=excerpt.source, in_frame=excerpt.in_frame, out_frame=excerpt.out_frame, by=owner,
        name=row["name"], excerpt=excerpt, side=row["side"], chain=row["chain"],
    )  # fmt: skip
    frames = {
        str(frame): {name: clip.landmarks[frame][name] for name in row["landmarks"]}
        for frame in range(excerpt.in_frame, excerpt.out_frame)
    }
    return track_points_set(track, frames, what="took the drawn figure's landmarks", by=owner).track


def _marked(row: dict[str, Any], made: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """A beat's kept still and the track of its curve."""
    found: dict[str, Any] = {}
    if "marked" in row:
        found["still"] = made["still"][row["marked"]]
    if "curve" in row:
        found["curve_track"] = made["curve_track"][row["curve"]]
    return found


def _excerpt(source: Source, clip: Clip, row: dict[str, Any], owner: User) -> Excerpt:
    start = frame_of(row["from"], clip.events, clip.rate, clip.frame_count)
    end = frame_of(row["to"], clip.events, clip.rate, clip.frame_count)
    found, _ = Excerpt.objects.get_or_create(
        source=source,
        name=row["name"],
        defaults={"in_frame": start, "out_frame": end, "purpose": row["purpose"], "made_by": owner},
    )
    return found


def _beat(
    row: dict[str, Any], excerpts: dict[str, Excerpt], sources: dict[str, Source], clips: dict[str, Clip]
) -> dict[str, Any]:
    fields = {
        key: value
        for key, value in row.items()
        if key not in ("excerpt", "view", "at", "speed", "marked", "curve", "beside")
    }
    if "beside" in row:
        fields["beside_source"] = sources[row["beside"]]
    if "excerpt" in row:
        fields["excerpt"] = excerpts[row["excerpt"]]
        fields["speed_num"], fields["speed_den"] = row.get("speed", [1, 1])
    if "at" in row:
        clip = clips[row["view"]]
        fields["source"] = sources[row["view"]]
        fields["frame"] = frame_of(row["at"], clip.events, clip.rate, clip.frame_count)
    return fields
