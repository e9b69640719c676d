"""Events, sources (with their views), and footage still arriving."""

from __future__ import annotations

import uuid
from fractions import Fraction
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from .timebase import Frames, rational_text, timecode


class Event(models.Model):
    """What the footage shows. Its end counts for rules about time since the event."""

    name = models.CharField(max_length=160)
    ended_at = models.DateTimeField("end of the event", null=True, blank=True)
    note = models.TextField("notes", blank=True)

    class Meta:
        ordering: ClassVar = [F("ended_at").desc(nulls_last=True), "name"]

    def __str__(self) -> str:
        return self.name


class Source(models.Model):
    """One piece of footage with its rights and everything that probing found.

    File names are relative to MEDIA_ROOT, except ``original`` of a registered file, which is
    absolute inside one of FOOTAGE_FOLDERS. ``master`` is what is cut from: the original itself,
    or the exact constant-rate copy of variable-rate footage. Frame numbers count its frames.
    """

    class Terms(models.TextChoices):
        OWN = "own", "own footage"
        LICENSED = "licensed", "licensed to us"
        OPEN = "open", "open licence"
        THIRD_PARTY = "third_party", "third party"

    class State(models.TextChoices):
        WAITING = "waiting", "waiting to be read"
        READY = "ready", "ready"
        REFUSED = "refused", "refused"

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    event = models.ForeignKey(Event, null=True, blank=True, on_delete=models.SET_NULL, related_name="sources")
    title = models.CharField(max_length=160)
    view = models.CharField(
        "view", max_length=80, blank=True, help_text="The camera position, such as baseline or overhead."
    )
    terms = models.CharField(max_length=12, choices=Terms.choices, default=Terms.THIRD_PARTY)
    rights_holder = models.CharField(max_length=160, blank=True)
    attribution = models.CharField("attribution line", max_length=240, blank=True)
    notes = models.TextField(blank=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="sources"
    )
    added_at = models.DateTimeField(auto_now_add=True)

    original = models.CharField(max_length=500)
    original_name = models.CharField(max_length=255)
    registered = models.BooleanField(default=False)
    byte_size = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)

    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    refusal = models.TextField(blank=True)
    rate_num = models.PositiveIntegerField(null=True, blank=True)
    rate_den = models.PositiveIntegerField(null=True, blank=True)
    frame_count = models.PositiveIntegerField(null=True, blank=True)
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    rotation = models.PositiveSmallIntegerField(default=0)
    pixel_aspect_num = models.PositiveIntegerField(default=1)
    pixel_aspect_den = models.PositiveIntegerField(default=1)
    has_audio = models.BooleanField(default=False)
    is_variable_rate = models.BooleanField(default=False)
    details = models.JSONField(default=dict, blank=True)

    master = models.CharField(max_length=500, blank=True)
    browser_copy = models.CharField(max_length=500, blank=True)
    strip = models.CharField(max_length=500, blank=True)
    strip_frames = models.JSONField(default=list, blank=True)
    sync_frame = models.PositiveIntegerField(
        "frame of the common instant",
        null=True,
        blank=True,
        help_text="The frame that shows the instant chosen to tie the views of one event together.",
    )

    class Meta:
        ordering: ClassVar = ["-added_at"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="ready")
                | Q(rate_num__gt=0, rate_den__gt=0, frame_count__gt=0, width__gt=0, height__gt=0),
                name="source_ready_is_measured",
            ),
            models.CheckConstraint(
                condition=Q(sync_frame__isnull=True) | Q(sync_frame__lt=F("frame_count")),
                name="source_sync_inside",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title}, {self.view}" if self.view else self.title

    def get_absolute_url(self) -> str:
        return reverse("footage:source", args=[self.key])

    @property
    def is_ready(self) -> bool:
        return self.state == self.State.READY

    @property
    def rate(self) -> Fraction:
        """Exact frames per second. Only of a ready source."""
        return Fraction(self.rate_num or 0, self.rate_den or 1)

    @property
    def rate_text(self) -> str:
        return rational_text(self.rate)

    @property
    def pixel_aspect(self) -> Fraction:
        return Fraction(self.pixel_aspect_num, self.pixel_aspect_den)

    @property
    def duration(self) -> Fraction:
        """Exact seconds of a ready source."""
        return Frames(self.frame_count or 0, self.rate).seconds

    @property
    def middle_frame(self) -> int:
        """The frame that stands for the whole in lists."""
        return (self.frame_count or 0) // 2

    @property
    def counts_in_ledger(self) -> bool:
        """Only other people's footage is counted; the rest is listed."""
        return self.terms == self.Terms.THIRD_PARTY

    def timecode_at(self, frame: int) -> str:
        return timecode(frame, self.rate)


class Upload(models.Model):
    """Footage on its way in, in pieces; it can go on where it stopped."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="uploads")
    file_name = models.CharField(max_length=255)
    total_bytes = models.PositiveBigIntegerField()
    received_bytes = models.PositiveBigIntegerField(default=0)
    started_at = models.DateTimeField(auto_now_add=True)
    touched_at = models.DateTimeField(auto_now=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(received_bytes__lte=F("total_bytes")), name="upload_not_past_end"
            )
        ]

    def __str__(self) -> str:
        return self.file_name
