"""Tracks: landmarks over frames of a source, and the changes that made them."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source


class Track(models.Model):
    """Landmarks over [in_frame, out_frame) of a source; nothing that is computed from them is stored.

    ``landmarks``: ``{"12": {"left_hip": [x, y, state]}}`` as ``document`` reads it. Straight interpolation happens only
    between ``key_frames``. ``version`` rises with every change.
    """

    class Side(models.TextChoices):
        RIGHT = "right", "right"
        LEFT = "left", "left"

    class Chain(models.TextChoices):
        ARM = "arm", "pelvis, trunk, upper arm, forearm"
        LEG = "leg", "pelvis, thigh, shank, foot"

    class Smoothing(models.TextChoices):
        AUTOMATIC = "automatic", "automatic (residual analysis)"
        GIVEN = "given", "cut-off in Hz"
        NONE = "none", "none"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="tracks")
    excerpt = models.ForeignKey(
        Excerpt, null=True, blank=True, on_delete=models.SET_NULL, related_name="tracks"
    )
    in_frame = models.PositiveIntegerField("first frame")
    out_frame = models.PositiveIntegerField("frame after the last")
    name = models.CharField(max_length=120)
    side = models.CharField(max_length=5, choices=Side.choices, default=Side.RIGHT)
    chain = models.CharField("segments", max_length=3, choices=Chain.choices, default=Chain.ARM)
    landmarks = models.JSONField(default=dict, blank=True)
    key_frames = models.JSONField(default=list, blank=True)
    smoothing = models.CharField(max_length=9, choices=Smoothing.choices, default=Smoothing.AUTOMATIC)
    cutoff_hz = models.FloatField("cut-off, Hz", null=True, blank=True)
    click_sd_px = models.FloatField("error of a click, pixels", default=1.5)
    version = models.PositiveIntegerField(default=1)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["-changed_at"]
        constraints = [
            models.CheckConstraint(condition=Q(in_frame__lt=F("out_frame")), name="track_in_before_out"),
            models.CheckConstraint(
                condition=~Q(smoothing="given") | Q(cutoff_hz__gt=0), name="track_given_cutoff_is_there"
            ),
            models.CheckConstraint(condition=Q(click_sd_px__gte=0), name="track_click_error_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("tracks:track", args=[self.key])

    @property
    def length(self) -> int:
        """Frames of the span."""
        return self.out_frame - self.in_frame

    @property
    def last_frame(self) -> int:
        return self.out_frame - 1


class TrackRevision(models.Model):
    """One change of a track, as ``changes`` writes it; ``undone`` ones can be had back, the lowest number first.

    ``run`` joins what belongs to one going-over, such as the batches of one pose suggestion.
    """

    track = models.ForeignKey(Track, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    what = models.CharField(max_length=120)
    run = models.CharField(max_length=40, blank=True)
    change = models.JSONField()
    version = models.PositiveIntegerField()
    undone = models.BooleanField(default=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["track", "number"]
        constraints = [
            models.UniqueConstraint(fields=["track", "number"], name="track_revision_number_once"),
        ]

    def __str__(self) -> str:
        return f"{self.track} {self.number}: {self.what}"
