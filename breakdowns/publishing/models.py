"""Releases: published, frozen states of a breakdown."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.urls import reverse

from breakdowns.assembly.models import Assembly
from breakdowns.scripts.models import Breakdown


class ReleaseQuerySet(models.QuerySet["Release"]):
    def standing(self) -> ReleaseQuerySet:
        """Not withdrawn; the newest of each breakdown comes first."""
        return self.filter(withdrawn_at__isnull=True).order_by("-released_at")


class Release(models.Model):
    """Everything a reader sees, copied at the moment of release: later edits never reach it.

    ``page`` is the frozen account (title, beats with words and still files, chapters, sources,
    credits, cautions, ledger); ``folder`` below MEDIA_ROOT holds the frozen files.
    """

    class Audience(models.TextChoices):
        EVERYBODY = "everybody", "everybody"
        MEMBERS = "members", "members only"

    breakdown = models.ForeignKey(Breakdown, on_delete=models.PROTECT, related_name="releases")
    assembly = models.ForeignKey(Assembly, null=True, on_delete=models.SET_NULL, related_name="releases")
    slug = models.SlugField(max_length=80)
    number = models.PositiveIntegerField(default=1)
    audience = models.CharField(max_length=10, choices=Audience.choices)
    page = models.JSONField()
    folder = models.CharField(max_length=200)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    released_at = models.DateTimeField(auto_now_add=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = ReleaseQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-released_at"]
        constraints = [models.UniqueConstraint(fields=["breakdown", "number"], name="release_number_once")]

    def __str__(self) -> str:
        return f"{self.breakdown}, release {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("publishing:read", args=[self.slug])
