"""Kept postures, and what they were before each change."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.urls import reverse

from breakdowns.stills.models import Still


class Posture(models.Model):
    """Joint angles of one side under a name, with what was asked about them.

    ``angles``: ``{"hip": {"flexion": [85, 10]}}``, degrees along the model's own motion and their standard deviation, null
    where nobody said it. ``asked``: the rest of the page's address. ``model``: the packaged model and its version when it
    was kept. ``still``: the frame that shows it; its beats are judged in it. ``version`` rises with every change.
    """

    class Side(models.TextChoices):
        RIGHT = "right", "right"
        LEFT = "left", "left"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=120)
    side = models.CharField(max_length=5, choices=Side.choices, default=Side.RIGHT)
    angles = models.JSONField(default=dict, blank=True)
    asked = models.JSONField(default=dict, blank=True)
    model = models.CharField(max_length=60, blank=True)
    still = models.ForeignKey(
        Still, null=True, blank=True, on_delete=models.SET_NULL, related_name="postures"
    )
    version = models.PositiveIntegerField(default=1)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["-changed_at", "-pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("postures:kept", args=[self.key])


class PostureRevision(models.Model):
    """A posture as it stood before a change: the columns of that version."""

    posture = models.ForeignKey(Posture, on_delete=models.CASCADE, related_name="revisions")
    version = models.PositiveIntegerField()
    state = models.JSONField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["posture", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["posture", "version"], name="posture_revision_version_once"),
        ]

    def __str__(self) -> str:
        return f"{self.posture}, version {self.version}"
