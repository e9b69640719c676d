from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from breakdowns.assembly.models import Assembly
from breakdowns.assembly.services import assembly_order
from breakdowns.footage.media.errors import MediaError
from breakdowns.footage.media.locate import find_ffmpeg
from breakdowns.people.models import User
from breakdowns.publishing.services import release_make
from breakdowns.scripts.models import Breakdown
from breakdowns.work.tasks import do_work
from deploy.demonstration.asked.services import questions_make
from deploy.demonstration.footage import Clip as DrawnClip
from deploy.demonstration.footage import EncodingFailed, draw_footage
from deploy.demonstration.services import (
    Clip,
    DemonstrationFailed,
    breakdown_make,
    people_make,
    source_make,
    sync_make,
)


class Command(BaseCommand):
    help = (
        "Make the demonstration from nothing. Everything in it is invented. Running it twice changes nothing."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self._make()
        except (DemonstrationFailed, EncodingFailed, MediaError, OSError) as fault:
            raise CommandError(str(fault), returncode=2) from fault

    def _make(self) -> None:
        owner = people_make()
        clips = self._clips()
        sources = {}
        for view, clip in clips.items():
            self._tell(f"reading the {view} view")
            sources[view] = source_make(clip, owner)
        sync_make(sources, clips)
        breakdown = breakdown_make(sources, clips, owner)
        assembly = self._assembly(breakdown, owner)
        if not breakdown.releases.exists():
            release_make(assembly, audience="members", by=owner)
        count = questions_make(owner, breakdown.releases.standing().first())
        self._report(breakdown, assembly, sources)
        self.stdout.write(f"  questions  {count} of invented members, {reverse('questions:desk')}")

    def _clips(self) -> dict[str, Clip]:
        folder = Path(settings.DATA_DIR) / "demonstration"
        drawn = draw_footage(
            folder,
            find_ffmpeg().ffmpeg,
            lambda done, total: self._tell(f"drawing the footage: {done} of {total} frames", done < total),
        )
        return {view: self._clip(view, clip) for view, clip in drawn.clips.items()}

    def _clip(self, view: str, clip: DrawnClip) -> Clip:
        record = clip.record()
        moments = {name: moment["frame"] for name, moment in record["moments"].items()}
        landmarks = tuple(row["points"] for row in record["frames"])
        return Clip(view, clip.path, clip.rate, clip.frame_count, moments, landmarks)

    def _assembly(self, breakdown: Breakdown, owner: User) -> Assembly:
        finished = breakdown.assemblies.exclude(folder="").filter(finished_at__isnull=False).first()
        if finished:
            return finished
        self._tell("assembling the video")
        ordered = assembly_order(breakdown, by=owner)
        outcome = do_work(ordered.work.pk)
        ordered.refresh_from_db()
        if not ordered.is_finished:
            raise DemonstrationFailed(ordered.work.reason or f"The video could not be assembled ({outcome}).")
        return ordered

    def _tell(self, text: str, more: bool = False) -> None:
        """A line that is written over while more is to come; in a file or a pipe only what is finished stands."""
        if self.stderr.isatty():
            self.stderr.write(f"\r{text}", ending="" if more else "\n")
        elif not more:
            self.stderr.write(text)

    def _report(self, breakdown: Breakdown, assembly: Assembly, sources: dict[str, Any]) -> None:
        folder = Path(settings.MEDIA_ROOT) / assembly.folder
        self.stdout.write("The demonstration is there; everything in it is invented.")
        for view, source in sources.items():
            self.stdout.write(
                f"  source     {view}: {source.frame_count} frames at {source.rate_text}, {source.get_absolute_url()}"
            )
        self.stdout.write(
            f"  script     “{breakdown.title}”, {breakdown.beats.count()} beats, {breakdown.get_absolute_url()}"
        )
        self.stdout.write(f"  video      {assembly.frame_count} frames, {folder / (breakdown.slug + '.mp4')}")
        self.stdout.write(f"  page       {breakdown.releases.first().get_absolute_url()}")
