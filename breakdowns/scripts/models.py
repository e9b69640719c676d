"""Breakdowns, their beats, voices, earlier states, and words set aside by a conflict."""

from __future__ import annotations

import uuid
from fractions import Fraction
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Source
from breakdowns.stills.models import Still
from breakdowns.tracks.models import Track


class VoiceProfile(models.Model):
    """How fast one person speaks and how long they pause, as the speech model reads it."""

    name = models.CharField(max_length=80, unique=True)
    settings = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class Breakdown(models.Model):
    """A piece in the making. ``version`` rises with every change to the whole or to any beat."""

    class Shape(models.TextChoices):
        WIDE = "16:9", "wide 16:9"
        TALL = "9:16", "tall 9:16"
        SQUARE = "1:1", "square 1:1"

    slug = models.SlugField(max_length=80, unique=True)
    title = models.CharField(max_length=160)
    standfirst = models.TextField("what it is about", blank=True)
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="breakdowns"
    )
    policy = models.CharField("excerpt policy", max_length=80, default="preset:quotation")
    voice = models.ForeignKey(
        VoiceProfile, null=True, blank=True, on_delete=models.SET_NULL, related_name="breakdowns"
    )
    shape = models.CharField(max_length=5, choices=Shape.choices, default=Shape.WIDE)
    rate_num = models.PositiveIntegerField(default=30)
    rate_den = models.PositiveIntegerField(default=1)
    focus_x = models.PositiveSmallIntegerField("focus across, per cent", default=50)
    focus_y = models.PositiveSmallIntegerField("focus down, per cent", default=50)
    fill = models.BooleanField("fill the picture (crop)", default=False)
    wished_seconds = models.PositiveIntegerField("length wished for, seconds", null=True, blank=True)
    cautions = models.TextField(blank=True, help_text="Lines the piece must carry, one a line.")
    references = models.TextField(
        "sources for what is said", blank=True, help_text="Markdown, one source a line."
    )
    version = models.PositiveIntegerField(default=1)
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["-changed_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(rate_num__gt=0, rate_den__gt=0), name="breakdown_rate_positive"
            ),
            models.CheckConstraint(
                condition=Q(focus_x__lte=100, focus_y__lte=100), name="breakdown_focus_inside"
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("scripts:script", args=[self.slug])

    @property
    def rate(self) -> Fraction:
        return Fraction(self.rate_num, self.rate_den)


class Beat(models.Model):
    """One unit of the script: a picture side and a words side.

    Exact numbers are pairs of integers (``speed_num/speed_den``; ``hold_ms`` and ``seconds_ms`` in
    thousandths of a second). ``key`` is stable through undo and reordering; ``version`` rises with
    every change to this beat and is what a late save is compared with.
    """

    class Kind(models.TextChoices):
        EXCERPT = "excerpt", "excerpt"
        STILL = "still", "still"
        PLATE = "plate", "plate"
        CAMERA = "camera", "to camera"

    class Plate(models.TextChoices):
        TITLE = "title", "title"
        TEXT = "text", "text"
        CAUTION = "caution", "caution"
        HOUSE = "house", "house message"
        ANATOMY = "anatomy", "anatomy (muscle plate)"
        CORRECTION = "correction", "correction"
        POSTURE = "posture", "posture (curves of a muscle)"
        CONTACT = "contact", "contact (what lies under a place)"

    class MarksWay(models.TextChoices):
        ONCE = "once", "all at once"
        TURN = "turn", "one after another"
        WORDS = "words", "at these words"

    class Halves(models.TextChoices):
        FIT = "fit", "whole pictures"
        FILL = "fill", "filled, sides cut off"

    class CurveQuantity(models.TextChoices):
        SPEED = "speed", "angular velocity"
        ANGLE = "angle", "angle"

    class CurvePlace(models.TextChoices):
        LOWER = "lower", "lower third"
        LEFT = "left", "left side"
        RIGHT = "right", "right side"

    breakdown = models.ForeignKey(Breakdown, on_delete=models.CASCADE, related_name="beats")
    key = models.UUIDField(default=uuid.uuid4, editable=False)
    position = models.PositiveIntegerField()
    version = models.PositiveIntegerField(default=1)
    heading = models.CharField(max_length=120, blank=True, help_text="Starts a chapter.")
    phase = models.CharField(max_length=60, blank=True)
    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.CAMERA)
    words = models.TextField(blank=True)

    excerpt = models.ForeignKey(
        Excerpt, null=True, blank=True, on_delete=models.PROTECT, related_name="beats"
    )
    in_frame = models.PositiveIntegerField(
        null=True, blank=True, help_text="Only when this beat shows less than the excerpt."
    )
    out_frame = models.PositiveIntegerField(null=True, blank=True)
    speed_num = models.PositiveIntegerField(default=1)
    speed_den = models.PositiveIntegerField(default=1)
    hold_ms = models.PositiveIntegerField("hold at the end", default=0)
    mirrored = models.BooleanField(default=False)
    original_sound = models.BooleanField(default=False)

    source = models.ForeignKey(
        Source, null=True, blank=True, on_delete=models.PROTECT, related_name="still_beats"
    )
    frame = models.PositiveIntegerField(null=True, blank=True)
    still = models.ForeignKey(
        Still,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="beats",
        help_text="Its marks are seen while this beat stands on its frame.",
    )
    marks_way = models.CharField(
        "how the marks come", max_length=5, choices=MarksWay.choices, default=MarksWay.ONCE
    )
    marks_at = models.CharField("words at which they come", max_length=300, blank=True, default="")

    beside_source = models.ForeignKey(
        Source,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="beside_beats",
        help_text="A tied view: its same instants stand beside this picture.",
    )
    beside_excerpt = models.ForeignKey(
        Excerpt, null=True, blank=True, on_delete=models.PROTECT, related_name="beside_beats"
    )
    beside_still = models.ForeignKey(
        Still, null=True, blank=True, on_delete=models.PROTECT, related_name="beside_beats"
    )
    beside_in = models.PositiveIntegerField(
        null=True, blank=True, help_text="Only when less than the excerpt beside is shown."
    )
    beside_out = models.PositiveIntegerField(null=True, blank=True)
    beside_mirrored = models.BooleanField("second view mirrored", default=False)
    halves = models.CharField("in their halves", max_length=4, choices=Halves.choices, default=Halves.FIT)
    half_focus = models.PositiveSmallIntegerField("middle of the first cut, per cent across", default=50)
    beside_focus = models.PositiveSmallIntegerField("middle of the second cut, per cent across", default=50)

    curve_track = models.ForeignKey(
        Track, null=True, blank=True, on_delete=models.PROTECT, related_name="beats"
    )
    curve_quantity = models.CharField(
        max_length=5, choices=CurveQuantity.choices, default=CurveQuantity.SPEED
    )
    curve_names = models.JSONField(
        "curves shown", default=list, blank=True, help_text="Segments or measures; empty: the segments."
    )
    curve_place = models.CharField(max_length=5, choices=CurvePlace.choices, default=CurvePlace.LOWER)
    gone = models.JSONField(
        "what undo could not bring back",
        default=list,
        blank=True,
        help_text="Columns whose record was deleted.",
    )

    seconds_ms = models.PositiveIntegerField("seconds on screen", default=5000)
    plate = models.CharField(max_length=12, choices=Plate.choices, default=Plate.TEXT)
    plate_title = models.CharField(max_length=120, blank=True)
    plate_text = models.TextField(blank=True, help_text="On a correction: what is right.")
    plate_entry_kind = models.CharField(max_length=12, blank=True, default="")
    plate_entry = models.CharField(
        "vocabulary entry", max_length=160, blank=True, default="", help_text="By its standard name."
    )
    plate_rows = models.JSONField(
        "rows of the entry's table", default=list, blank=True, help_text="Their keys; empty: all of them."
    )
    plate_said = models.TextField("what was said", blank=True, default="")
    plate_source = models.CharField("source of the correction", max_length=200, blank=True, default="")

    contact_rows = models.JSONField(
        "contact that it is about", default=list, blank=True, help_text="As the contact map writes it down."
    )
    tradeoffs = models.JSONField(
        "what could be better, and what would it cost",
        default=list,
        blank=True,
        help_text="Each with change, effect, joint, mechanism and source.",
    )
    take = models.CharField("recording of the words", max_length=500, blank=True)
    spoken_ms = models.PositiveIntegerField("time the words really took", null=True, blank=True)
    word_times = models.JSONField(
        "when each word was spoken",
        default=list,
        blank=True,
        help_text="Thousandths of the recording's seconds.",
    )
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering: ClassVar = ["breakdown", "position"]
        constraints = [
            models.UniqueConstraint(fields=["breakdown", "key"], name="beat_key_once"),
            models.CheckConstraint(condition=Q(speed_num__gt=0, speed_den__gt=0), name="beat_speed_positive"),
            models.CheckConstraint(
                condition=Q(in_frame__isnull=True)
                | Q(out_frame__isnull=True)
                | Q(in_frame__lt=F("out_frame")),
                name="beat_in_before_out",
            ),
            models.CheckConstraint(
                condition=Q(beside_in__isnull=True)
                | Q(beside_out__isnull=True)
                | Q(beside_in__lt=F("beside_out")),
                name="beat_beside_in_before_out",
            ),
            models.CheckConstraint(
                condition=Q(half_focus__lte=100, beside_focus__lte=100), name="beat_half_focus_inside"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.breakdown} · {self.position + 1}"

    @property
    def speed(self) -> Fraction:
        return Fraction(self.speed_num, self.speed_den)

    @property
    def hold(self) -> Fraction:
        """Exact seconds."""
        return Fraction(self.hold_ms, 1000)

    @property
    def marked(self) -> Still | None:
        """The still whose marks lie over what stands: only while it is of that very frame."""
        if self.still is None:
            return None
        stands: tuple[int | None, int | None] = (None, None)
        if self.kind == self.Kind.STILL:
            stands = self.source_id, self.frame
        elif self.kind == self.Kind.EXCERPT and self.excerpt is not None and self.hold_ms:
            end = self.excerpt.out_frame if self.out_frame is None else self.out_frame
            stands = self.excerpt.source_id, end - 1
        return self.still if stands == (self.still.source_id, self.still.frame) else None

    @property
    def seconds(self) -> Fraction:
        """Exact seconds on screen of a still, a plate or a to-camera beat."""
        return Fraction(self.seconds_ms, 1000)


class Revision(models.Model):
    """The whole script before a change, so that the change can be undone and redone."""

    breakdown = models.ForeignKey(Breakdown, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    what = models.CharField(max_length=120)
    snapshot = models.JSONField()
    undone = models.BooleanField(default=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["breakdown", "number"]
        constraints = [models.UniqueConstraint(fields=["breakdown", "number"], name="revision_number_once")]

    def __str__(self) -> str:
        return f"{self.breakdown} {self.number}: {self.what}"


class SetAside(models.Model):
    """Words of a late save that met newer words: nothing typed is ever lost."""

    breakdown = models.ForeignKey(Breakdown, on_delete=models.CASCADE, related_name="set_aside")
    beat_key = models.UUIDField()
    words = models.TextField()
    base_version = models.PositiveIntegerField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at"]

    def __str__(self) -> str:
        return f"set aside from {self.breakdown}"


class AnsweredNote(models.Model):
    """A margin note somebody has answered with a reason; it stays silent while its text stays."""

    breakdown = models.ForeignKey(Breakdown, on_delete=models.CASCADE, related_name="answered_notes")
    note_id = models.CharField(max_length=80)
    says = models.TextField()
    reason = models.TextField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["breakdown", "note_id"], name="answered_note_once")]

    def __str__(self) -> str:
        return self.says
