"""Makes what tests need, through the same functions that the site uses. Everything is invented."""

from __future__ import annotations

import atexit
import itertools
import shutil
import tempfile
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.media.browser_copy import make_browser_copy
from breakdowns.footage.media.locate import find_ffmpeg
from breakdowns.footage.media.probe import Probe, probe
from breakdowns.footage.media.strip import Strip, make_strip
from breakdowns.footage.models import Event, Source
from breakdowns.footage.selectors import media_path
from breakdowns.footage.tasks import measured, strip_shape
from breakdowns.people.models import User
from tests.numbered import write_numbered_clip

_numbers = itertools.count(1)
PASSWORD = "a quiet hall before the match"


def make_user(role: str = "editor", **fields: Any) -> User:
    """A person of the studio ("owner", "editor") or a reader; the password is PASSWORD."""
    number = next(_numbers)
    return User.objects.create_user(
        fields.pop("email", f"person{number}@example.org"),
        PASSWORD,
        role=role,
        name=fields.pop("name", f"Person {number}"),
        **fields,
    )


def make_event(**fields: Any) -> Event:
    return Event.objects.create(**{"name": f"Cup semi-final {next(_numbers)} (invented)", **fields})


@cache
def prepared_clip(
    rate: Fraction, frame_count: int, size: tuple[int, int], audio: bool
) -> tuple[Path, Probe, Strip]:
    """A numbered clip with its working copies in a folder for the whole run: made once, copied often."""
    folder = Path(tempfile.mkdtemp(prefix="stancewright-clips-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    clip = write_numbered_clip(
        folder / "original.mp4",
        rate=rate,
        frame_count=frame_count,
        size=size,
        ffmpeg=find_ffmpeg().ffmpeg,
        audio=audio,
    )
    found = probe(clip)
    seen = make_browser_copy(clip, found, folder / "copy.mp4")
    return folder, found, make_strip(folder / "copy.mp4", seen, folder / "strip.jpg", **strip_shape(seen))


def make_source(
    *,
    rate: Fraction = Fraction(25),
    frame_count: int = 50,
    size: tuple[int, int] = (320, 180),
    audio: bool = False,
    **fields: Any,
) -> Source:
    """A ready source with a real clip whose frames carry their numbers, and real working copies."""
    folder, found, strip = prepared_clip(Fraction(rate), frame_count, size, audio)
    source = Source(**{"title": f"Back-court jump throw {next(_numbers)}", "view": "baseline", **fields})
    name = f"sources/{source.key}"
    goal = media_path(name)
    shutil.copytree(folder, goal)
    columns = {
        "original": f"{name}/original.mp4",
        "original_name": "original.mp4",
        "master": f"{name}/original.mp4",
        "browser_copy": f"{name}/copy.mp4",
        "strip": f"{name}/strip.jpg",
        "strip_frames": list(strip.frames),
        "sha256": "0" * 64,
        "state": Source.State.READY,
        **measured(found, found),
    }
    for column, value in columns.items():
        setattr(source, column, value)
    source.save()
    return source


def make_excerpt(source: Source | None = None, **fields: Any) -> Excerpt:
    """Frames 10 to 30 of a source, unless told otherwise."""
    values = {"name": f"Excerpt {next(_numbers)}", "in_frame": 10, "out_frame": 30, **fields}
    return Excerpt.objects.create(source=source or make_source(), **values)
