"""Accounts, what they may do, one-time sign-in links, and memberships.

Memberships stand here, at the bottom, because the reading pages already have to ask for them.
"""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import ClassVar

from django.conf import settings
from django.contrib.auth.models import AbstractUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.utils import timezone


class UserManager(BaseUserManager["User"]):
    """Accounts are found by e-mail address, whatever its capitals."""

    def _make(self, email: str, password: str | None, **fields: object) -> User:
        if not email:
            raise ValueError("An account needs an e-mail address.")
        user = self.model(email=email.strip().lower(), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_user(self, email: str, password: str | None = None, **fields: object) -> User:
        return self._make(email, password, **fields)

    def create_superuser(self, email: str, password: str | None = None, **fields: object) -> User:
        fields.update(is_staff=True, is_superuser=True, role=User.Role.OWNER)
        return self._make(email, password, **fields)

    def get_by_natural_key(self, email: str | None) -> User:
        return self.get(email=(email or "").strip().lower())


class User(AbstractUser):
    """A person who signs in. The role says whether the studio is open to them."""

    class Role(models.TextChoices):
        OWNER = "owner", "owner"
        EDITOR = "editor", "editor"
        READER = "reader", "reader"

    username = None  # type: ignore[assignment]
    first_name = None  # type: ignore[assignment]
    last_name = None  # type: ignore[assignment]
    name = models.CharField("name", max_length=120, blank=True)
    email = models.EmailField("e-mail address", unique=True)
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.READER)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []
    objects: ClassVar[UserManager] = UserManager()  # type: ignore[assignment]

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=["owner", "editor", "reader"]), name="user_role_known"
            )
        ]

    def __str__(self) -> str:
        return self.name or self.email

    def get_full_name(self) -> str:
        return str(self)

    def get_short_name(self) -> str:
        return str(self)

    @property
    def in_studio(self) -> bool:
        return self.is_active and self.role in (self.Role.OWNER, self.Role.EDITOR)

    @property
    def is_owner(self) -> bool:
        return self.is_active and self.role == self.Role.OWNER

    @property
    def is_member(self) -> bool:
        """May read what is released to members: the studio itself, or a membership that covers today."""
        return self.in_studio or (self.is_active and self.memberships.current().exists())


class MembershipQuerySet(models.QuerySet["Membership"]):
    def current(self) -> MembershipQuerySet:
        today = timezone.localdate()
        return self.filter(starts_on__lte=today).filter(Q(ends_on__isnull=True) | Q(ends_on__gte=today))


class Membership(models.Model):
    """Days, first and last included, on which a person may read what is for members."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    starts_on = models.DateField(default=timezone.localdate)
    ends_on = models.DateField(null=True, blank=True)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__isnull=True) | Q(ends_on__gte=models.F("starts_on")),
                name="membership_ends_after_start",
            )
        ]

    def __str__(self) -> str:
        return f"{self.user}, {self.starts_on} to {self.ends_on or 'open'}"


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


class SignInLink(models.Model):
    """A link that signs one person in once. Only the token's SHA-256 is stored."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="sign_in_links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"link for {self.user}"

    @classmethod
    def make(cls, user: User, hours: int | None = None) -> str:
        """A fresh link's token. It is shown once and can't be read back."""
        token = secrets.token_urlsafe(32)
        lasts = timedelta(hours=hours or settings.SIGN_IN_LINK_HOURS)
        cls.objects.create(user=user, token_sha256=_digest(token), expires_at=timezone.now() + lasts)
        return token

    @classmethod
    def usable(cls, token: str) -> SignInLink | None:
        """The link, unless it is unknown, used or too old."""
        return (
            cls.objects.filter(
                token_sha256=_digest(token),
                used_at__isnull=True,
                expires_at__gt=timezone.now(),
                user__is_active=True,
            )
            .select_related("user")
            .first()
        )

    def spend(self) -> bool:
        """Mark as used; False when somebody else was quicker."""
        return bool(
            SignInLink.objects.filter(pk=self.pk, used_at__isnull=True).update(used_at=timezone.now())
        )
