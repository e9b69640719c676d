"""Releasing an assembly, and taking a release back."""

from __future__ import annotations

import os
import shutil
import uuid
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from breakdowns.assembly.models import Assembly
from breakdowns.assembly.plain_text import markdown_escaped
from breakdowns.assembly.selectors import files_beside, lines
from breakdowns.assembly.show_notes import standing_lines
from breakdowns.contacts.duties import duties, injuries_named, missing
from breakdowns.footage.media.frames import extract_frame
from breakdowns.footage.media.probe import probe
from breakdowns.people.models import User
from breakdowns.scripts.models import Breakdown
from breakdowns.scripts.tradeoffs.notes import read_tradeoffs

from .models import Release

STILL_WIDTH = 960
FROZEN = ("video", "captions", "subtitles", "chapters", "show notes", "ledger")


class CannotRelease(ValueError):
    """Why this assembly can't be released, in one sentence."""


def page_of(assembly: Assembly) -> dict[str, Any]:
    """What a reader sees, out of the assembly's own account and the breakdown's front matter now."""
    breakdown, account = assembly.breakdown, assembly.report["account"]
    standing = standing_lines()
    others = any(not credit["own_terms"] for credit in account["credits"])
    return {
        **account,
        "standfirst": breakdown.standfirst,
        "cautions": [*lines(breakdown.cautions), *_owed(account), standing["not_advice"], standing["urgent"]],
        "references": [*lines(breakdown.references), *_plate_sources(account)],
        "use_of_footage": standing["excerpts"] if others else "",
    }


def _owed(account: dict[str, Any]) -> list[str]:
    """The cautions of what is named or shown to be hit, in our standing words, for the reader's page."""
    named = set(_needed(account))
    return [duty.line for key, duty in duties().items() if key in named]


def _needed(account: dict[str, Any]) -> list[str]:
    """The duties of the injuries that are named, of the contacts that beats keep, and of contact plates."""
    aside = [one.said for beat in account["beats"] for one in read_tradeoffs(beat.get("tradeoffs", []))]
    named = [one.duty for text in (*_told(account), *aside) for one in injuries_named(text)]
    return named + [key for beat in account["beats"] for key in beat.get("owed", [])]


def _plate_sources(account: dict[str, Any]) -> list[str]:
    """Where the contact plates have it from, as Markdown lines."""
    found = (source for beat in account["beats"] for source in beat.get("plate_sources", []))
    return [markdown_escaped(source) for source in dict.fromkeys(found)]


def _told(account: dict[str, Any]) -> list[str]:
    """What viewers hear and read in our own name: the words of each beat, the text of each plate."""
    beats = account["beats"]
    plates = [beat for beat in beats if beat.get("plate") in ("text", "caution")]
    return [beat["words"] for beat in beats] + [
        f"{one['plate_title']}\n{one['plate_text']}" for one in plates
    ]


def _check_cautions(account: dict[str, Any]) -> None:
    """Raises CannotRelease, naming each caution that the piece owes for an injury it names and does not carry."""
    owed = missing(_needed(account), _told(account))
    if owed:
        which = "; ".join(f"{duty.name}: “{duty.line}”" for duty in owed)
        raise CannotRelease(
            "The piece names or shows a possible injury and does not carry its cautions. Put these in the words or on a plate "
            f"(the notes in the script's margin do it), then assemble again: {which}"
        )


def _freeze(assembly: Assembly, folder: Path, page: dict[str, Any]) -> None:
    """Copy the files and draw the stills into ``folder``, which appears whole or not at all."""
    half = folder.with_name(f".{folder.name}.{uuid.uuid4().hex[:8]}")
    half.mkdir(parents=True)
    try:
        made = files_beside(Path(settings.MEDIA_ROOT) / assembly.folder / f"{assembly.breakdown.slug}.mp4")
        kept = files_beside(half / f"{assembly.breakdown.slug}.mp4")
        for what in FROZEN:
            if made[what].exists():
                _same_or_copy(made[what], kept[what])
        found = probe(kept["video"])
        for number, beat in enumerate(page["beats"]):
            if beat["kind"] != "camera":
                picture = extract_frame(kept["video"], found, beat["still_frame"], width=STILL_WIDTH)
                picture.save(half / f"still-{number}.jpg", quality=85)
                beat["still"] = f"still-{number}.jpg"
        os.replace(half, folder)
    except BaseException:
        shutil.rmtree(half, ignore_errors=True)
        raise


def _same_or_copy(made: Path, kept: Path) -> None:
    """A second name for the same file where the disk allows it, a copy where it does not."""
    try:
        os.link(made, kept)
    except OSError:
        shutil.copy2(made, kept)


def release_make(assembly: Assembly, *, audience: str, by: User | None = None) -> Release:
    """Freeze an assembly as the breakdown's next release; the one before it is replaced.

    Raises CannotRelease when its files are not there, and when a caution that it owes is neither said nor on a plate.
    """
    video = Path(settings.MEDIA_ROOT) / assembly.folder / f"{assembly.breakdown.slug}.mp4"
    if not assembly.is_finished or not assembly.folder or not video.is_file():
        raise CannotRelease("The video of this assembly is not there any more. Assemble again, then release.")
    _check_cautions(assembly.report["account"])
    page = page_of(assembly)
    relative = f"releases/{assembly.breakdown.slug}/{uuid.uuid4().hex[:12]}"
    _freeze(assembly, Path(settings.MEDIA_ROOT) / relative, page)
    with transaction.atomic():
        breakdown = Breakdown.objects.select_for_update().get(pk=assembly.breakdown_id)
        number = (breakdown.releases.aggregate(last=Max("number"))["last"] or 0) + 1
        breakdown.releases.filter(withdrawn_at__isnull=True).update(withdrawn_at=timezone.now())
        return Release.objects.create(
            breakdown=breakdown,
            assembly=assembly,
            slug=breakdown.slug,
            number=number,
            audience=audience,
            page=page,
            folder=relative,
            released_by=by,
        )


@transaction.atomic
def release_withdraw(release: Release) -> None:
    """Take a release off the reading pages. Its frozen state is kept."""
    Release.objects.filter(pk=release.pk, withdrawn_at__isnull=True).update(withdrawn_at=timezone.now())
