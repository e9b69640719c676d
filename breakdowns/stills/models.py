"""Stills: frames of a source kept for marking, and the earlier states of their marks."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from breakdowns.footage.models import Source


def empty_document() -> dict[str, Any]:
    """A marks document without marks."""
    return {"version": 1, "landmarks": {}, "marks": []}


class Still(models.Model):
    """One frame of a source with its marks, as data in source pixels; the footage itself is never touched.

    ``version`` rises with every change of the marks and is what a late save is compared with.
    ``beside`` is the still of the same instant in another tied view.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="stills")
    frame = models.PositiveIntegerField()
    name = models.CharField(max_length=120, blank=True)
    document = models.JSONField("marks", default=empty_document)
    version = models.PositiveIntegerField(default=1)
    beside = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.SET_NULL, related_name="beside_of"
    )
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["source", "frame", "made_at"]
        constraints = [
            models.CheckConstraint(condition=Q(version__gt=0), name="still_version_positive"),
            models.CheckConstraint(
                condition=Q(beside__isnull=True) | ~Q(beside=F("id")), name="still_not_beside_itself"
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"{self.source}, frame {self.frame}"

    def get_absolute_url(self) -> str:
        return reverse("stills:still", args=[self.key])

    @property
    def timecode(self) -> str:
        """The frame's label on its source's clock."""
        return self.source.timecode_at(self.frame)

    @property
    def is_marked(self) -> bool:
        return bool(self.document.get("marks") or self.document.get("landmarks"))

    @property
    def mark_count(self) -> int:
        return len(self.document.get("marks", []))


class StillRevision(models.Model):
    """The marks before a change, or marks that came too late and were set aside.

    An undone revision holds the marks *after* its change, to be had back. ``version`` is the still's
    version that ``document`` belongs to, or, set aside, the one that it was drawn upon.
    """

    still = models.ForeignKey(Still, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    what = models.CharField(max_length=120)
    document = models.JSONField("marks")
    version = models.PositiveIntegerField()
    undone = models.BooleanField(default=False)
    set_aside = models.BooleanField(default=False)
    settled_at = models.DateTimeField(null=True, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["still", "number"]
        constraints = [
            models.UniqueConstraint(fields=["still", "number"], name="still_revision_number_once"),
            models.CheckConstraint(
                condition=Q(set_aside=False) | Q(undone=False), name="still_set_aside_is_no_step"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.still} {self.number}: {self.what}"
