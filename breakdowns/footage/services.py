"""Writes about footage: one named function each, in one transaction."""

from __future__ import annotations

import errno
import os
import shutil
import uuid
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import ProtectedError

from breakdowns.people.models import User
from breakdowns.work.models import WorkItem
from breakdowns.work.services import work_order, work_stop

from .file_names import ServerFile, clean_name, safe_suffix
from .models import Event, Source, Upload
from .selectors import PREPARE, media_path
from .timebase import frames_nearest

# Space that must stay free on the disk for the database and the working copies' first steps.
RESERVE_BYTES = 200 * 1024**2


class FootageRefused(Exception):
    """Bytes that can't be taken; the text is one sentence. ``status`` is the fitting HTTP status."""

    def __init__(self, sentence: str, status: int) -> None:
        super().__init__(sentence)
        self.status = status


class WrongOffset(Exception):
    """A piece does not follow what is there; ``offset`` is where the next one has to begin."""

    def __init__(self, offset: int) -> None:
        super().__init__(f"The next piece has to begin at byte {offset}.")
        self.offset = offset


def upload_path(upload: Upload) -> Path:
    return media_path(f"uploads/{upload.key}.part")


def _size_text(count: int) -> str:
    return f"{count / 1024**3:.1f} GB" if count >= 1024**3 else f"{count / 1024**2:.0f} MB"


def must_fit(size: int) -> None:
    """Raises FootageRefused for a file that is empty, too large, or larger than the free disk."""
    if size <= 0:
        raise FootageRefused("The file is empty; copy it from the camera again and choose that.", 422)
    if size > settings.UPLOAD_LIMIT_BYTES:
        raise FootageRefused(
            f"The file has {_size_text(size)}; at most {_size_text(settings.UPLOAD_LIMIT_BYTES)} can be uploaded. "
            "Cut it into parts, or put it into a footage folder on the server.",
            413,
        )
    Path(settings.MEDIA_ROOT).mkdir(parents=True, exist_ok=True)
    if shutil.disk_usage(settings.MEDIA_ROOT).free < size + RESERVE_BYTES:
        raise _disk_full()


def _disk_full() -> FootageRefused:
    return FootageRefused(
        "The server's disk has no room for this file; free some space there and go on where it stopped.", 507
    )


def upload_begin(*, owner: User, name: str, size: int) -> Upload:
    """A fresh upload, or the unfinished one of the same person, name and size, to go on with."""
    must_fit(size)
    with transaction.atomic():
        name = clean_name(name)
        old = (
            Upload.objects.filter(owner=owner, file_name=name, total_bytes=size)
            .order_by("-touched_at")
            .first()
        )
        if old and (upload_path(old).exists() or not old.received_bytes):
            return old
        return Upload.objects.create(owner=owner, file_name=name, total_bytes=size)


def _locked(upload: Upload) -> Upload:
    """The upload's row, held until the transaction ends. Raises FootageRefused when another window ended it."""
    row = Upload.objects.select_for_update().filter(pk=upload.pk).first()
    if row is None:
        raise FootageRefused(
            "This upload was finished or dropped in another window; look at the list of footage, or choose the file again.",
            409,
        )
    return row


def upload_append(upload: Upload, *, offset: int, piece: bytes) -> Upload:
    """Put ``piece`` behind what is there. Raises WrongOffset, FootageRefused.

    The count is raised only after the bytes are on the disk: a piece cut short is simply sent again.
    """
    with transaction.atomic():
        row = _locked(upload)
        if offset != row.received_bytes:
            raise WrongOffset(row.received_bytes)
        if offset + len(piece) > row.total_bytes:
            raise FootageRefused(
                "More bytes came than the file was said to have; choose the file again.", 422
            )
        _write_at(upload_path(row), offset, [piece])
        row.received_bytes += len(piece)
        row.save(update_fields=["received_bytes", "touched_at"])
    return row


def upload_whole(*, owner: User, name: str, size: int, pieces: Iterable[bytes]) -> Upload:
    """A file that came in one form. Raises FootageRefused."""
    must_fit(size)
    upload = Upload(owner=owner, file_name=clean_name(name), total_bytes=size, received_bytes=size)
    _write_at(upload_path(upload), 0, pieces)
    upload.save()
    return upload


def _write_at(path: Path, offset: int, pieces: Iterable[bytes]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(os.open(path, os.O_RDWR | os.O_CREAT, 0o640), "r+b") as file:
            file.seek(offset)
            for piece in pieces:
                file.write(piece)
            file.truncate()
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            raise _disk_full() from error
        raise


@transaction.atomic
def upload_drop(upload: Upload) -> None:
    """Forget an upload and its bytes."""
    path = upload_path(upload)
    upload.delete()
    transaction.on_commit(lambda: path.unlink(missing_ok=True))


@transaction.atomic
def source_create(
    *, by: User, details: dict[str, Any], upload: Upload | None = None, file: ServerFile | None = None
) -> Source:
    """A source from a finished upload or from a file on the server, and the order to read it.

    Raises FootageRefused when another window was quicker with the upload.
    """
    source = Source(key=uuid.uuid4(), added_by=by, **details)
    if upload is not None:
        _take_upload(source, _locked(upload))
    elif file is not None:
        source.original, source.original_name = str(file.path), file.shown[:255]
        source.registered, source.byte_size = True, file.byte_size
    source.save()
    work_order(PREPARE, source.key, by=by)
    return source


def _take_upload(source: Source, upload: Upload) -> None:
    """The bytes get a second name first and lose the old one after the commit: never lost between."""
    part, name = upload_path(upload), f"sources/{source.key}/original{safe_suffix(upload.file_name)}"
    goal = media_path(name)
    goal.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(part, goal)
    except OSError:  # a file system without second names
        os.replace(part, goal)
    source.original, source.original_name, source.byte_size = name, upload.file_name, upload.total_bytes
    upload.delete()
    transaction.on_commit(lambda: part.unlink(missing_ok=True))


def event_create(*, name: str, ended_at: Any = None) -> Event:
    return Event.objects.create(name=name, ended_at=ended_at)


@transaction.atomic
def source_change(source: Source, details: dict[str, Any]) -> Source:
    for name, value in details.items():
        setattr(source, name, value)
    source.save(update_fields=list(details))
    return source


@transaction.atomic
def source_sync(source: Source, frame: int | None) -> Source:
    """Choose (or clear) the frame of the common instant. Raises ValueError outside the footage."""
    if frame is not None and not 0 <= frame < (source.frame_count or 0):
        raise ValueError(
            f"Frame {frame} does not exist: the footage has frames 0 to {source.frame_count - 1}."
        )
    source.sync_frame = frame
    source.save(update_fields=["sync_frame"])
    return source


@transaction.atomic
def sources_tie(first: Source, frame: int, second: Source, there: int) -> Source:
    """``frame`` of the first and ``there`` of the second source show the same instant; gives the second as tied.

    Where further views are tied already, their common instant stays, and what is tied anew gets the frame nearest to it. Sources without an event get that of the other, or one of their own. Raises ValueError, one sentence.
    """
    rows = {one.pk: one for one in Source.objects.select_for_update().filter(pk__in=(first.pk, second.pk))}
    if len(rows) < 2 or not all(one.is_ready for one in rows.values()):
        raise ValueError("Two sources that have been read can be tied, and none to itself.")
    first, second = rows[first.pk], rows[second.pk]
    for source, at in ((first, frame), (second, there)):
        if not 0 <= at < (source.frame_count or 0):
            raise ValueError(
                f"“{source}” has frames 0 to {(source.frame_count or 1) - 1}, and no frame {at}."
            )
    if first.event_id and second.event_id and first.event_id != second.event_id:
        raise ValueError(
            f"“{first}” and “{second}” are of two events, so they show no instant in common: choose a view of “{first.event}”."
        )
    event = first.event or second.event or event_create(name=first.title)
    others = Source.objects.filter(event=event, sync_frame__isnull=False).exclude(pk__in=rows)
    anchor, at, loose, goal = first, frame, second, there
    if first.sync_frame is None:
        anchor, at, loose, goal = second, there, first, frame
    if anchor.sync_frame is None or not others.exists():
        anchor.sync_frame, loose.sync_frame = at, goal
    else:
        moment = goal / loose.rate - (at - anchor.sync_frame) / anchor.rate
        loose.sync_frame = frames_nearest(moment, loose.rate).count
        if not 0 <= loose.sync_frame < (loose.frame_count or 0):
            raise ValueError(
                f"“{loose}” has no picture of the instant by which the other views of “{event}” are tied: tie those "
                "again, at an instant that all of them show."
            )
    for source in (first, second):
        source.event = event
        source.save(update_fields=["event", "sync_frame"])
    return second


@transaction.atomic
def source_nudge(source: Source, by: int) -> Source:
    """Move a tied view ``by`` frames: the same instant is then seen that much later in it. Raises ValueError."""
    locked = Source.objects.select_for_update().get(pk=source.pk)
    if locked.sync_frame is None:
        raise ValueError(f"“{locked}” is not tied to anything yet: tie it first.")
    return source_sync(locked, locked.sync_frame + by)


@transaction.atomic
def source_delete(source: Source) -> bool:
    """Delete an unused source with every file of ours; False while excerpts or scripts use it."""
    key = source.key
    try:
        source.delete()
    except ProtectedError:
        return False
    for item in WorkItem.objects.live().filter(kind=PREPARE, subject=str(key)):
        work_stop(item)
    transaction.on_commit(lambda: shutil.rmtree(media_path(f"sources/{key}"), ignore_errors=True))
    return True
