"""A table of members that is being taken in: kept until it is done, then wiped but for what could not be taken."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils import timezone


class MemberImport(models.Model):
    """One file with what was settled about it. ``done_line`` is the last line that was taken in or refused."""

    class State(models.TextChoices):
        OPEN = "open", "to be settled"
        RUNNING = "running", "being taken in"
        DONE = "done", "done"
        FORGOTTEN = "forgotten", "forgotten"

    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    file_name = models.CharField(max_length=120)
    data = models.BinaryField()
    plan = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    made_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)
    total = models.PositiveIntegerField(default=0)
    gone_through = models.PositiveIntegerField(default=0)
    done_line = models.PositiveIntegerField(default=0)
    accounts_made = models.PositiveIntegerField(default=0)
    memberships_given = models.PositiveIntegerField(default=0)
    there_already = models.PositiveIntegerField(default=0)
    faults = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.file_name}: {self.get_state_display()}"

    @property
    def percent(self) -> int:
        """Whole per cent gone through."""
        return min(100, 100 * self.gone_through // self.total) if self.total else 0
