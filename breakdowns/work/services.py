"""Ordering, stopping and sweeping work."""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models.functions import Now

from breakdowns.people.models import User
from breakdowns.people.post.services import letters_due
from breakdowns.people.services import people_daily

from .models import WorkItem
from .tasks import queue_of, run_default, run_media


def _wake(item: WorkItem) -> None:
    (run_media if queue_of(item.kind) == "media" else run_default).enqueue(item.pk)


def work_order(kind: str, subject: object, *, by: User | None = None) -> WorkItem:
    """One live row per kind and subject: ordering twice gives the row that is there.

    The row and its wake-up call are written in one transaction.
    """
    try:
        with transaction.atomic():
            item = WorkItem.objects.create(kind=kind, subject=str(subject), ordered_by=by)
            _wake(item)
            return item
    except IntegrityError:
        return WorkItem.objects.live().get(kind=kind, subject=str(subject))


def work_stop(item: WorkItem) -> None:
    """Waiting work stops at once; running work is asked to stop at its next step."""
    WorkItem.objects.filter(pk=item.pk, state="waiting").update(state="stopped", ended_at=Now())
    WorkItem.objects.filter(pk=item.pk, state="running").update(stop_wanted=True)


@transaction.atomic
def work_again(item: WorkItem, *, by: User | None = None) -> WorkItem:
    """Order the same work once more after it ended."""
    return work_order(item.kind, item.subject, by=by)


def work_sweep() -> tuple[int, int]:
    """Wake lapsed and forgotten work; give up after the last attempt. Returns (woken, given up).

    A lapsed row is one whose worker was killed or lost; a waiting row that nobody has taken for
    two lease terms has lost its wake-up call.
    """
    term = timedelta(seconds=settings.WORK_LEASE_SECONDS)
    spent = WorkItem.objects.lapsed().filter(attempt__gte=settings.WORK_ATTEMPTS)
    given_up = spent.update(
        state="failed",
        ended_at=Now(),
        holder=None,
        held_until=None,
        reason=f"The worker ended in the middle of this {settings.WORK_ATTEMPTS} times. Look at the server's memory and disk, then order it again.",
    )
    stopped = WorkItem.objects.lapsed().filter(stop_wanted=True)
    stopped.update(state="stopped", ended_at=Now(), holder=None, held_until=None)
    woken = 0
    for item in [
        *WorkItem.objects.lapsed(),
        *WorkItem.objects.filter(state="waiting", woken_at__lt=Now() - 2 * term),
    ]:
        with transaction.atomic():
            # Only one sweeper wakes it: the one whose update still finds the old count.
            if (
                WorkItem.objects.live()
                .filter(pk=item.pk, wakes=item.wakes)
                .update(wakes=item.wakes + 1, woken_at=Now())
            ):
                _wake(item)
                woken += 1
    people_daily()
    if letters_due():
        work_order("people.letters", "outbox")
    return woken, given_up
