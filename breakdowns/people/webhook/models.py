"""Payment services that report memberships: their keys, what they said, and which membership is theirs."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from ..membership.models import Membership


class PaymentService(models.Model):
    """A program outside that may report memberships."""

    name = models.CharField(max_length=80, unique=True)
    made_at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return self.name


class ServiceKeyQuerySet(models.QuerySet["ServiceKey"]):
    def usable(self) -> ServiceKeyQuerySet:
        now = timezone.now()
        return self.filter(Q(good_until__isnull=True) | Q(good_until__gt=now), revoked_at__isnull=True)


class ServiceKey(models.Model):
    """A key of a service. Its secret is worked out of the salt and the site's own secret, and stored nowhere."""

    service = models.ForeignKey(PaymentService, on_delete=models.CASCADE, related_name="keys")
    name = models.CharField(max_length=24, unique=True)
    salt = models.CharField(max_length=64)
    made_at = models.DateTimeField(default=timezone.now)
    good_until = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    used_at = models.DateTimeField(null=True, blank=True)
    trouble = models.CharField(max_length=300, blank=True)
    trouble_at = models.DateTimeField(null=True, blank=True)

    objects = ServiceKeyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.service}, key {self.name}"

    @property
    def state(self) -> str:
        if self.revoked_at:
            return "revoked"
        if self.good_until is None:
            return "in use"
        return "still good" if self.good_until > timezone.now() else "run out"


class OutsideMembership(models.Model):
    """A membership as a service calls it: the latest state that was reported, and the row that follows it."""

    service = models.ForeignKey(PaymentService, on_delete=models.CASCADE, related_name="memberships")
    key = models.CharField(max_length=100)
    at = models.DateTimeField()
    event = models.CharField(max_length=100)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="outside_memberships",
    )
    membership = models.OneToOneField(
        Membership, null=True, blank=True, on_delete=models.SET_NULL, related_name="outside"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["service", "key"], name="outside_membership_once"),
        ]

    def __str__(self) -> str:
        return f"{self.service}: {self.key}"


class ServiceEvent(models.Model):
    """One event that was taken, and what came of it. Its content is not kept: only a digest tells a repetition."""

    class Outcome(models.TextChoices):
        APPLIED = "applied", "applied"
        OVERTAKEN = "overtaken", "came late: a later state stands"
        UNKNOWN = "unknown", "nobody of that address, and nothing to open"
        ERASED = "erased", "its member has left and was erased"

    service = models.ForeignKey(PaymentService, on_delete=models.CASCADE, related_name="events")
    event = models.CharField(max_length=100)
    digest = models.CharField(max_length=64)
    membership = models.CharField(max_length=100)
    state = models.CharField(max_length=12)
    at = models.DateTimeField()
    outcome = models.CharField(max_length=10, choices=Outcome.choices)
    taken_at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["service", "event"], name="service_event_once")]
        indexes = [models.Index(fields=["service", "taken_at"], name="service_event_taken")]
        ordering: ClassVar = ["-taken_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.service}: {self.event}"
