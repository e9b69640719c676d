"""The outbox: each letter is a row before it is an e-mail."""

from __future__ import annotations

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils import timezone

from ..membership.models import MemberSettings


class Letter(models.Model):
    """Something to tell one person. A row is claimed before it is sent, so that it goes once at most.

    ``unsure`` means that the connection broke while the letter was handed over: it may have arrived, and it is
    not sent again unless somebody says so. The text of a letter with a key in it is wiped once it has gone.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        SENDING = "sending", "being sent"
        SENT = "sent", "sent"
        WITHHELD = "withheld", "not sent: not wanted any more"
        FAILED = "failed", "given up"
        UNSURE = "unsure", "may have arrived"

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="letters")
    kind = models.CharField(max_length=20)
    subject = models.CharField(max_length=200)
    text = models.TextField()
    at_once = models.BooleanField(default=False)
    has_key = models.BooleanField(default=False)
    once = models.CharField(max_length=100, null=True, blank=True, unique=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    message_id = models.UUIDField(default=uuid.uuid4)
    made_at = models.DateTimeField(default=timezone.now)
    due_at = models.DateTimeField(default=timezone.now)
    claim = models.UUIDField(null=True, blank=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    trouble = models.CharField(max_length=300, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["state", "due_at"], name="letter_state_due"),
            models.Index(fields=["user", "state"], name="letter_user_state"),
        ]
        ordering: ClassVar = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.kind} to {self.user}: {self.subject}"


class LetterChoices(models.Model):
    """What one person wants to be told, and how often. No row: everything, at the owner's pace."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="letter_choices"
    )
    pace = models.CharField(max_length=10, blank=True, choices=MemberSettings.Pace.choices)
    switched_off = models.JSONField(default=list)

    def __str__(self) -> str:
        return f"letters of {self.user}"
