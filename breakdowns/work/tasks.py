"""The task that does a piece of work under a lease, and the register of what can be done.

A stage registers a plain function under a kind, from its own tasks module:

    @does("footage.probe")
    def probe_source(subject: str, desk: Desk) -> None: ...

It calls ``desk.progress(done, total, text)`` and ``desk.stopped()``; it raises ``WorkFailed`` with
one sentence for a person, or ``WorkStopped``. It must write its result only through
``desk.finish(write)``, which refuses when the lease has been lost.
"""

from __future__ import annotations

import logging
import threading
import time
import uuid
from collections.abc import Callable

from django.conf import settings
from django.db import close_old_connections, connection, transaction
from django_tasks import task

from .models import WorkItem

log = logging.getLogger("breakdowns.work")


class WorkStopped(Exception):
    """Somebody asked this work to stop, or its lease was lost."""


class WorkFailed(Exception):
    """The work can't be done; the text is one sentence for the person who ordered it."""


class Desk:
    """What a function sees of the lease it works under."""

    def __init__(self, item: WorkItem, holder: uuid.UUID) -> None:
        self.item, self.holder = item, holder
        self.lost = threading.Event()
        self._stop = False
        self._looked = 0.0
        self._last = (-1, -1, "")

    @property
    def tag(self) -> str:
        """A name part of this attempt's own, for files that are renamed at the end."""
        return self.holder.hex[:12]

    def progress(self, done: int, total: int, doing: str = "") -> None:
        """Store whole units done; cheap to call often."""
        now, step = time.monotonic(), (done, total, doing)
        if step == self._last or (now - self._looked < 0.25 and done < total):
            return
        self._looked, self._last = now, step
        if not self.item.report(self.holder, done, total, doing):
            self.lost.set()

    def stopped(self) -> bool:
        """True when the work must end: asked to stop, or the lease is lost. Looks once in half a second."""
        if self.lost.is_set() or self._stop:
            return True
        now = time.monotonic()
        if now - getattr(self, "_asked", 0.0) >= 0.5:
            self._asked = now
            row = WorkItem.objects.filter(pk=self.item.pk).values("holder", "stop_wanted").first()
            if row is None or row["holder"] != self.holder:
                self.lost.set()
            elif row["stop_wanted"]:
                self._stop = True
        return self.lost.is_set() or self._stop

    def finish(self, write: Callable[[], None]) -> None:
        """Run ``write`` in one transaction in which the lease is known to be ours."""
        with transaction.atomic():
            if self.lost.is_set() or not self.item.beat(self.holder):
                raise WorkStopped("The lease was lost.")
            write()


Work = Callable[[str, Desk], None]
_KINDS: dict[str, tuple[Work, str]] = {}


def does(kind: str, *, queue: str = "media") -> Callable[[Work], Work]:
    """Register a function as what does ``kind``."""

    def register(function: Work) -> Work:
        _KINDS[kind] = (function, queue)
        return function

    return register


def queue_of(kind: str) -> str:
    return _KINDS[kind][1]


def _beating(desk: Desk, ended: threading.Event) -> None:
    """Renew the lease every third of its term until the work has ended."""
    try:
        while not ended.wait(settings.WORK_LEASE_SECONDS / 3):
            try:
                if not desk.item.beat(desk.holder):
                    desk.lost.set()
                    return
            except Exception:  # a locked or restarting database: try again at the next beat
                log.exception("A lease could not be renewed.")
                close_old_connections()
    finally:
        connection.close()


def do_work(item_pk: int) -> str:
    """Take the lease, call the plain function, end. Returns the state it ended in, or "taken"."""
    item = WorkItem.objects.filter(pk=item_pk).first()
    holder = item.take() if item else None
    if item is None or holder is None:
        return "taken"
    desk, ended = Desk(item, holder), threading.Event()
    beat = threading.Thread(target=_beating, args=(desk, ended), daemon=True)
    if not settings.TESTING:
        beat.start()
    try:
        state, reason = _outcome(item, desk)
    finally:
        ended.set()
        if beat.ident:
            beat.join()
    return state if item.end(holder, state, reason) else "lost"


def _outcome(item: WorkItem, desk: Desk) -> tuple[str, str]:
    try:
        _KINDS[item.kind][0](item.subject, desk)
    except WorkStopped:
        return "stopped", ""
    except WorkFailed as failure:
        return "failed", str(failure)
    except Exception:
        log.exception("%s %s failed", item.kind, item.subject)
        return (
            "failed",
            "Something went wrong that we did not foresee; the server's log has the details. Nothing stored was changed.",
        )
    return "done", ""


@task(queue_name="default")
def run_default(item_pk: int) -> str:
    return do_work(item_pk)


@task(queue_name="media")
def run_media(item_pk: int) -> str:
    return do_work(item_pk)
