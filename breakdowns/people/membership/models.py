"""Memberships with their history, and what the owner has settled about them."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from .days import Days


def site_today() -> date:
    """Today by the site's own calendar, whatever time zone is active for a request."""
    return timezone.localdate(timezone=timezone.get_default_timezone())


class MembershipQuerySet(models.QuerySet["Membership"]):
    def current(self) -> MembershipQuerySet:
        """What opens today: days first and last included, or a day of grace after the last."""
        return self.opening(site_today())

    def opening(self, day: date) -> MembershipQuerySet:
        return self.filter(
            Q(ends_on__isnull=True) | Q(ends_on__gte=day) | Q(grace_until__gte=day),
            starts_on__lte=day,
            revoked_at__isnull=True,
        )

    def covering(self, day: date) -> MembershipQuerySet:
        """What covers a day itself, without grace."""
        return self.filter(
            Q(ends_on__isnull=True) | Q(ends_on__gte=day), starts_on__lte=day, revoked_at__isnull=True
        )


class Membership(models.Model):
    """Days, first and last included, on which a person may read what is for members.

    Ending early moves ``ends_on`` back; taking all of it back sets ``revoked_at``. Each change leaves a row
    of history. ``grace_until`` is written with the end, so that it can be shown and asked for in one query.
    """

    class Source(models.TextChoices):
        HAND = "hand", "by hand"
        IMPORT = "import", "from a table"
        WEBHOOK = "webhook", "from the payment service"

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships")
    starts_on = models.DateField(default=site_today)
    ends_on = models.DateField(null=True, blank=True)
    grace_until = models.DateField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    source = models.CharField(max_length=10, choices=Source.choices, default=Source.HAND)
    gift = models.BooleanField(default=False)
    gift_from = models.CharField(max_length=120, blank=True)
    gift_message = models.TextField(max_length=1000, blank=True)
    made_at = models.DateTimeField(default=timezone.now)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__isnull=True) | Q(ends_on__gte=models.F("starts_on")),
                name="membership_ends_after_start",
            )
        ]
        indexes = [
            models.Index(fields=["user", "starts_on"], name="membership_user_start"),
            models.Index(fields=["ends_on"], name="membership_end"),
        ]

    def __str__(self) -> str:
        return f"{self.user}, {self.starts_on} to {self.ends_on or 'open'}"

    @property
    def days(self) -> Days:
        return Days(
            self.starts_on,
            self.ends_on,
            self.grace_until,
            self.cancelled_at is not None,
            self.revoked_at is not None,
        )


class MembershipChange(models.Model):
    """One line of a membership's history: when, by whom, what, and the end before and after."""

    membership = models.ForeignKey(Membership, on_delete=models.CASCADE, related_name="changes")
    made_at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    what = models.CharField(max_length=200)
    ended_on_before = models.DateField(null=True, blank=True)
    ends_on_after = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.membership}: {self.what}"


class MemberSettings(models.Model):
    """What the owner settles once: a single row."""

    class Pace(models.TextChoices):
        EACH = "each", "each by itself, at once"
        DAILY = "daily", "gathered, once a day"
        WEEKLY = "weekly", "gathered, once a week"

    WEEKDAYS: ClassVar = [
        (0, "Monday"), (1, "Tuesday"), (2, "Wednesday"), (3, "Thursday"), (4, "Friday"), (5, "Saturday"),
        (6, "Sunday"),
    ]  # fmt: skip

    grace_days = models.PositiveSmallIntegerField(default=3, validators=[MaxValueValidator(60)])
    what_members_get = models.TextField(max_length=4000, blank=True)
    how_to_join = models.TextField(max_length=4000, blank=True)
    invitation_days = models.PositiveSmallIntegerField(default=14, validators=[MaxValueValidator(90)])
    pace = models.CharField(max_length=10, choices=Pace.choices, default=Pace.DAILY)
    letter_hour = models.PositiveSmallIntegerField(default=7, validators=[MaxValueValidator(23)])
    letter_weekday = models.PositiveSmallIntegerField(default=0, choices=WEEKDAYS)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="member_settings_one_row")]

    def __str__(self) -> str:
        return "what the owner has settled about members"

    @classmethod
    def now(cls) -> MemberSettings:
        """The settings as they stand; the defaults while nothing was settled."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)

    @classmethod
    def locked(cls) -> MemberSettings:
        """The row, held until the transaction ends: whoever changes memberships from outside waits here."""
        cls.objects.get_or_create(pk=1)
        return cls.objects.select_for_update().get(pk=1)
