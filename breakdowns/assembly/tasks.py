"""What the worker does for this stage: render one assembly."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings

from breakdowns.footage.media.locate import MediaToolMissing, find_ffmpeg
from breakdowns.work.tasks import Desk, WorkFailed, WorkStopped, does

from .make import make_all
from .models import Assembly
from .render import RenderFailed, RenderStopped
from .selectors import NotReady, lines, piece_of
from .services import assemblies_trim, assembly_keep


@does("assembly.render")
def render_assembly(subject: str, desk: Desk) -> None:
    """Make the video of one ordered assembly in a folder of its own, then keep its account."""
    assembly = Assembly.objects.select_related("breakdown").filter(pk=subject).first()
    if assembly is None:
        raise WorkFailed("This assembly was deleted before it was made.")
    breakdown, version = assembly.breakdown, assembly.breakdown.version
    video = Path(settings.MEDIA_ROOT) / "assemblies" / str(assembly.key) / f"{breakdown.slug}.mp4"
    try:
        made = make_all(
            piece_of(
                breakdown,
                height=assembly.height,
                loudness=assembly.loudness,
                scratch_voice=assembly.scratch_voice,
            ),
            video,
            cache_dir=Path(settings.MEDIA_ROOT) / "segments",
            tools=find_ffmpeg(),
            progress=desk.progress,
            stopped=desk.stopped,
            summary=breakdown.standfirst,
            cautions=lines(breakdown.cautions),
            references=lines(breakdown.references),
            tag=desk.tag,
        )
    except (NotReady, RenderFailed, MediaToolMissing) as fault:
        raise WorkFailed(str(fault)) from fault
    except RenderStopped:
        raise WorkStopped from None
    desk.finish(lambda: assembly_keep(assembly, video, made, version))
    assemblies_trim(breakdown)
