"""What the worker does for this stage: read footage and make its working copies."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from breakdowns.work.tasks import Desk, WorkFailed, WorkStopped, does

from .file_names import NotInFolder
from .media.browser_copy import make_browser_copy
from .media.errors import MediaError, MediaRefused, MediaStopped
from .media.master import make_constant_rate
from .media.probe import Probe, probe
from .media.strip import make_strip
from .models import Source
from .selectors import PREPARE, media_path, original_path

_HASH_PIECE = 1 << 22
STRIP_HEIGHT, PAGE_WIDTH = 48, 1440  # CSS pixels


@does(PREPARE)
def prepare(subject: str, desk: Desk) -> None:
    """Read a source from end to end, make its copies, and say that it is ready; or refuse it."""
    source = Source.objects.filter(key=subject).first()
    if source is None:
        raise WorkFailed("The footage was deleted before it could be read.")
    if _is_whole(source):
        return
    bench = _Bench(source, desk)
    try:
        bench.work()
    except (MediaRefused, NotInFolder) as refusal:
        sentence = str(refusal)
        desk.finish(lambda: _refuse(source, sentence))
        raise WorkFailed(sentence) from refusal
    except MediaStopped:
        raise WorkStopped from None
    except MediaError as failure:
        raise WorkFailed(failure.sentence) from failure
    finally:
        bench.clear()


def _is_whole(source: Source) -> bool:
    copies = (source.browser_copy, source.strip)
    return source.is_ready and all(name and media_path(name).exists() for name in copies)


def _refuse(source: Source, sentence: str) -> None:
    Source.objects.filter(pk=source.pk).update(state=Source.State.REFUSED, refusal=sentence)


class _Bench:
    """One attempt: its files carry the attempt's own tag until the lease is known to be ours."""

    def __init__(self, source: Source, desk: Desk) -> None:
        self.source, self.desk = source, desk
        self.folder = media_path(f"sources/{source.key}")
        self.folder.mkdir(parents=True, exist_ok=True)
        self.made: dict[str, Path] = {}

    def work(self) -> None:
        path = original_path(self.source)
        sha256 = self._digest(path)
        original = probe(path, **self._told("reading every frame"))
        found = original
        if original.is_variable_rate:
            master = self._named("master.mp4")
            found = make_constant_rate(path, original, master, **self._told("making an even frame rate"))
            path = master
        copy = self._named("copy.mp4")
        seen = make_browser_copy(path, found, copy, **self._told("making the copy to step through"))
        told = self._told("making the strip of stills")
        strip = make_strip(copy, seen, self._named("strip.jpg"), **strip_shape(seen), **told)
        fields = {**measured(original, found), "sha256": sha256, "strip_frames": list(strip.frames)}
        self.desk.finish(lambda: self._publish(fields))

    def clear(self) -> None:
        for part in self.made.values():
            for path in (part, part.with_suffix(".json")):
                path.unlink(missing_ok=True)

    def _named(self, name: str) -> Path:
        self.made[name] = self.folder / f"{self.desk.tag}-{name}"
        return self.made[name]

    def _told(self, doing: str) -> dict[str, Callable[..., Any]]:
        def progress(done: int, total: int) -> None:
            self.desk.progress(done, total, doing)

        progress(0, 1)
        return {"progress": progress, "stopped": self.desk.stopped}

    def _digest(self, path: Path) -> str:
        digest, done = hashlib.sha256(), 0
        try:
            with open(path, "rb") as file:
                while piece := file.read(_HASH_PIECE):
                    if self.desk.stopped():
                        raise MediaStopped
                    digest.update(piece)
                    done += len(piece)
                    self.desk.progress(
                        done, max(done, self.source.byte_size), "taking the file's fingerprint"
                    )
        except OSError as error:
            raise MediaRefused("missing", f"The file can't be read ({error.strerror}).") from error
        return digest.hexdigest()

    def _publish(self, fields: dict[str, Any]) -> None:
        names = {}
        for name, part in self.made.items():
            os.replace(part, self.folder / name)
            names[name] = f"sources/{self.source.key}/{name}"
        with suppress(FileNotFoundError):
            os.replace(self.made["strip.jpg"].with_suffix(".json"), self.folder / "strip.json")
        Source.objects.filter(pk=self.source.pk).update(
            state=Source.State.READY,
            refusal="",
            master=names.get("master.mp4", self.source.original),
            browser_copy=names["copy.mp4"],
            strip=names["strip.jpg"],
            **fields,
        )


def strip_shape(seen: Probe) -> dict[str, int]:
    """How many stills fill a page's width in their own shape, at twice the height they are shown in."""
    shown_width = STRIP_HEIGHT * seen.display_width / seen.display_height
    return {"count": max(2, min(60, round(PAGE_WIDTH / shown_width))), "height": 2 * STRIP_HEIGHT}


def measured(original: Probe, master: Probe) -> dict[str, Any]:
    """The source's columns: what is cut from is what is measured."""
    return {
        "byte_size": original.byte_size,
        "rate_num": master.rate.numerator,
        "rate_den": master.rate.denominator,
        "frame_count": master.frame_count,
        "width": master.coded_width,
        "height": master.coded_height,
        "rotation": master.rotation,
        "pixel_aspect_num": master.pixel_aspect.numerator,
        "pixel_aspect_den": master.pixel_aspect.denominator,
        "has_audio": master.has_audio,
        "is_variable_rate": original.is_variable_rate,
        "details": {
            "probe": master.to_json(),
            "original": original.to_json(),
            "warnings": list(original.warnings),
        },
    }
