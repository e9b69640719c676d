"""In and out points on sources, and the user's own excerpt policies."""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from breakdowns.footage.models import Source
from breakdowns.footage.timebase import Span


class Excerpt(models.Model):
    """Half-open [in_frame, out_frame) on a source, in whole frames of the source's own clock."""

    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="excerpts")
    name = models.CharField(max_length=120)
    in_frame = models.PositiveIntegerField("in point")
    out_frame = models.PositiveIntegerField("out point")
    purpose = models.TextField(
        "what it is needed for",
        blank=True,
        help_text="What your words say about these seconds, and why they can't be fewer.",
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["source", "in_frame", "out_frame"]
        constraints = [
            models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="excerpt_in_before_out")
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def span(self) -> Span:
        return Span(self.in_frame, self.out_frame, self.source.rate)

    @property
    def seconds(self) -> Fraction:
        """Exact source seconds."""
        return self.span.seconds

    @property
    def last_frame(self) -> int:
        """The last frame that is shown; the out point is the one after it."""
        return self.out_frame - 1

    @property
    def in_timecode(self) -> str:
        return self.source.timecode_at(self.in_frame)

    @property
    def out_timecode(self) -> str:
        return self.source.timecode_at(self.out_frame)


class ExcerptPolicy(models.Model):
    """A set of limits of the user's own, as the pure policy module reads and writes it."""

    name = models.CharField(max_length=120, unique=True)
    based_on = models.CharField("started from the preset", max_length=60, blank=True)
    limits = models.JSONField(default=list)
    note = models.TextField(blank=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["name"]
        verbose_name_plural = "excerpt policies"

    def __str__(self) -> str:
        return self.name
