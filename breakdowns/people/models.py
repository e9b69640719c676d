"""Accounts and what they may do; memberships, keys and letters stand in packages beside this.

Memberships are at the bottom of the house because the reading pages already have to ask for them.
"""

from __future__ import annotations

from typing import ClassVar

from django.contrib.auth.models import AbstractUser, BaseUserManager
from django.db import models
from django.db.models import Q

from .erasure.models import ErasedAddress
from .importing.models import MemberImport
from .keys.models import FeedAddress, Invitation, SignInLink
from .membership.models import (
    MemberSettings,
    Membership,
    MembershipChange,
    MembershipQuerySet,
    site_today,
)
from .post.models import Letter, LetterChoices
from .webhook.models import OutsideMembership, PaymentService, ServiceEvent, ServiceKey

__all__ = [
    "ErasedAddress",
    "FeedAddress",
    "Invitation",
    "Letter",
    "LetterChoices",
    "MemberImport",
    "MemberSettings",
    "Membership",
    "MembershipChange",
    "MembershipQuerySet",
    "OutsideMembership",
    "PaymentService",
    "ServiceEvent",
    "ServiceKey",
    "SignInLink",
    "User",
    "site_today",
]


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
    erased_at = models.DateTimeField(null=True, blank=True)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []
    objects: ClassVar[UserManager] = UserManager()  # type: ignore[assignment]

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=["owner", "editor", "reader"]), name="user_role_known"
            )
        ]
        indexes = [
            models.Index(fields=["role"], condition=~Q(role="reader"), name="user_in_studio"),
        ]

    def __str__(self) -> str:
        return "somebody who has left" if self.erased_at else self.name or self.email

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
        """May read what is released to members: the studio itself, or a membership that opens today."""
        return self.in_studio or (self.is_active and self.memberships.current().exists())
