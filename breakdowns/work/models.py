"""One row for each piece of background work: the truth about it.

The queue is only a wake-up call. A worker that wants to do the work takes a lease on its row; a
lease that is not renewed lapses, and the next worker may take it. All moments are the
database's own clock, so that hosts with wrong clocks can't steal from one another.
"""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now


class WorkItemQuerySet(models.QuerySet["WorkItem"]):
    def live(self) -> WorkItemQuerySet:
        return self.filter(state__in=WorkItem.LIVE)

    def free_to_take(self) -> WorkItemQuerySet:
        """Waiting, or running under a lease that has lapsed."""
        return self.filter(Q(state="waiting") | Q(state="running", held_until__lt=Now()))

    def lapsed(self) -> WorkItemQuerySet:
        return self.filter(state="running", held_until__lt=Now())


class WorkItem(models.Model):
    """A piece of work: ``kind`` names the function, ``subject`` the row it is about."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        RUNNING = "running", "running"
        DONE = "done", "done"
        FAILED = "failed", "failed"
        STOPPED = "stopped", "stopped"

    LIVE: ClassVar[tuple[str, ...]] = ("waiting", "running")

    kind = models.CharField(max_length=40)
    subject = models.CharField(max_length=80)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    attempt = models.PositiveSmallIntegerField(default=0)
    holder = models.UUIDField(null=True, blank=True)
    held_until = models.DateTimeField(null=True, blank=True)
    done_units = models.PositiveBigIntegerField(default=0)
    total_units = models.PositiveBigIntegerField(default=0)
    doing = models.CharField(max_length=200, blank=True)
    stop_wanted = models.BooleanField(default=False)
    reason = models.TextField(blank=True)
    ordered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="ordered_work",
    )
    ordered_at = models.DateTimeField(db_default=Now())
    woken_at = models.DateTimeField(db_default=Now())
    wakes = models.PositiveIntegerField(default=0)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = WorkItemQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "subject"],
                condition=Q(state__in=["waiting", "running"]),
                name="work_one_live_per_subject",
            )
        ]
        indexes = [models.Index(fields=["state", "held_until"], name="work_state_held")]

    def __str__(self) -> str:
        return f"{self.kind} {self.subject}: {self.state}"

    @property
    def is_live(self) -> bool:
        return self.state in self.LIVE

    @property
    def percent(self) -> int:
        """Whole per cent done, for a progress bar; 0 while the total is unknown."""
        return min(100, 100 * self.done_units // self.total_units) if self.total_units else 0

    def take(self) -> uuid.UUID | None:
        """A fresh lease, or None when somebody else has it or the work has ended."""
        holder = uuid.uuid4()
        term = timedelta(seconds=settings.WORK_LEASE_SECONDS)
        taken = (
            WorkItem.objects.free_to_take()
            .filter(pk=self.pk)
            .update(
                state="running",
                holder=holder,
                held_until=Now() + term,
                attempt=F("attempt") + 1,
                started_at=Now(),
                ended_at=None,
                done_units=0,
                reason="",
            )
        )
        return holder if taken else None

    def beat(self, holder: uuid.UUID) -> bool:
        """Renew the lease; False when it is lost."""
        term = timedelta(seconds=settings.WORK_LEASE_SECONDS)
        return bool(self._held_by(holder).update(held_until=Now() + term))

    def report(self, holder: uuid.UUID, done: int, total: int, doing: str = "") -> bool:
        """Store progress; False when the lease is lost."""
        return bool(self._held_by(holder).update(done_units=done, total_units=total, doing=doing[:200]))

    def end(self, holder: uuid.UUID, state: str, reason: str = "") -> bool:
        """Done, failed or stopped; False when the lease is lost, and then nothing is written."""
        return bool(
            self._held_by(holder).update(
                state=state, reason=reason, ended_at=Now(), holder=None, held_until=None
            )
        )

    def _held_by(self, holder: uuid.UUID) -> WorkItemQuerySet:
        return WorkItem.objects.filter(pk=self.pk, state="running", holder=holder)
