"""Ordering an assembly and keeping what it made."""

from __future__ import annotations

import shutil
from dataclasses import asdict, is_dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.scripts.models import Breakdown
from breakdowns.work.models import WorkItem
from breakdowns.work.services import work_order

from .models import Assembly

if TYPE_CHECKING:
    from .make import Made

KEPT = 5  # finished assemblies of one breakdown whose files are kept; own choice


@transaction.atomic
def assembly_order(
    breakdown: Breakdown,
    *,
    by: User | None = None,
    height: int = 720,
    loudness: int = -16,
    scratch_voice: bool = False,
) -> Assembly:
    """A new assembly and the work that makes it, in one transaction.

    Ordered twice (a double click), the one still under way is given.
    """
    wanted = {
        "breakdown_version": breakdown.version,
        "height": height,
        "loudness": loudness,
        "scratch_voice": scratch_voice,
    }
    Breakdown.objects.select_for_update().get(pk=breakdown.pk)
    underway = breakdown.assemblies.filter(work__state__in=WorkItem.LIVE, **wanted).first()
    if underway:
        return underway
    assembly = Assembly.objects.create(
        breakdown=breakdown,
        breakdown_version=breakdown.version,
        height=height,
        loudness=loudness,
        scratch_voice=scratch_voice,
        ordered_by=by,
    )
    assembly.work = work_order("assembly.render", assembly.pk, by=by)
    assembly.save(update_fields=["work"])
    return assembly


def plain(value: Any) -> Any:
    """A report's values as JSON can carry them; exact numbers as text."""
    if isinstance(value, Fraction | Path):
        return str(value)
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set):
        return [plain(item) for item in value]
    return value if value is None or isinstance(value, str | int | float | bool) else str(value)


def assembly_keep(assembly: Assembly, video: Path, made: Made, version: int) -> None:
    """Store what was made. Called inside the transaction in which the lease is ours."""
    assembly.folder = str(video.parent.relative_to(settings.MEDIA_ROOT))
    assembly.frame_count = made.report.frame_count
    assembly.report = {
        "render": plain(made.report),
        "ledger": made.ledger,
        "account": made.account,
        "warnings": list(made.warnings),
    }
    assembly.breakdown_version = version
    assembly.finished_at = timezone.now()
    assembly.save()


def assemblies_trim(breakdown: Breakdown) -> None:
    """Drop the files of old assemblies that nobody has released; their account stays."""
    old = breakdown.assemblies.filter(finished_at__isnull=False, releases__isnull=True).exclude(folder="")[
        KEPT:
    ]
    for assembly in old:
        shutil.rmtree(Path(settings.MEDIA_ROOT) / assembly.folder, ignore_errors=True)
        Assembly.objects.filter(pk=assembly.pk).update(folder="")
