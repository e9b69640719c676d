"""An assembly: one rendering of a breakdown, ordered, made by a worker, kept with its account."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models

from breakdowns.scripts.models import Breakdown
from breakdowns.work.models import WorkItem


class Assembly(models.Model):
    """``folder`` is relative to MEDIA_ROOT and holds the video and the files beside it."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    breakdown = models.ForeignKey(Breakdown, on_delete=models.CASCADE, related_name="assemblies")
    work = models.ForeignKey(WorkItem, null=True, on_delete=models.SET_NULL, related_name="assemblies")
    breakdown_version = models.PositiveIntegerField()
    height = models.PositiveIntegerField(default=720)
    loudness = models.SmallIntegerField("loudness, LUFS", default=-16)
    scratch_voice = models.BooleanField(default=False)
    folder = models.CharField(max_length=200, blank=True)
    frame_count = models.PositiveIntegerField(null=True, blank=True)
    report = models.JSONField(default=dict, blank=True)
    ordered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    ordered_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-ordered_at"]

    def __str__(self) -> str:
        return f"{self.breakdown}, assembled {self.ordered_at:%Y-%m-%d %H:%M}"

    @property
    def is_finished(self) -> bool:
        return self.finished_at is not None
