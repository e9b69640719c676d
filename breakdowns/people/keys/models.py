"""Keys to the house that travel in an address: only the SHA-256 of each token is stored."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import F
from django.utils import timezone

if TYPE_CHECKING:
    from ..models import User


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


class SignInLink(models.Model):
    """A link that signs one person in once. Only the token's SHA-256 is stored."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sign_in_links")
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


class Invitation(models.Model):
    """An invitation by e-mail: a one-time link that expires, can be sent again and can be taken back."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="invitation")
    token_sha256 = models.CharField(max_length=64, unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    sent_at = models.DateTimeField(default=timezone.now)
    times_sent = models.PositiveSmallIntegerField(default=1)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"invitation of {self.user}"

    @property
    def state(self) -> str:
        if self.accepted_at:
            return "accepted"
        if self.taken_back_at:
            return "taken back"
        return "sent" if self.expires_at > timezone.now() else "too old"

    @staticmethod
    def fresh_token() -> tuple[str, str]:
        """A token to send and the digest to store."""
        token = secrets.token_urlsafe(32)
        return token, _digest(token)

    @classmethod
    def make(cls, user: User, *, days: int, by: User | None) -> str:
        """The token of a fresh link; a link that was sent before stops working."""
        token, digest = cls.fresh_token()
        expires = timezone.now() + timedelta(days=days)
        row, made = cls.objects.get_or_create(
            user=user, defaults={"token_sha256": digest, "expires_at": expires, "by": by}
        )
        if not made:
            cls.objects.filter(pk=row.pk).update(
                token_sha256=digest,
                expires_at=expires,
                by=by,
                sent_at=timezone.now(),
                times_sent=F("times_sent") + 1,
                taken_back_at=None,
                accepted_at=None,
            )
        return token

    @classmethod
    def usable(cls, token: str) -> Invitation | None:
        """The invitation, unless it is unknown, accepted, taken back or too old."""
        return (
            cls.objects.filter(
                token_sha256=_digest(token),
                accepted_at__isnull=True,
                taken_back_at__isnull=True,
                expires_at__gt=timezone.now(),
                user__is_active=True,
            )
            .select_related("user", "by")
            .first()
        )

    def spend(self) -> bool:
        """Mark as accepted; False when somebody else was quicker."""
        return bool(
            Invitation.objects.filter(
                pk=self.pk, accepted_at__isnull=True, taken_back_at__isnull=True
            ).update(accepted_at=timezone.now())
        )


class FeedAddress(models.Model):
    """A private address for a feed reader, which can't sign in. It can be revoked and made anew."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="feed_addresses"
    )
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"feed address of {self.user}"

    @classmethod
    def make(cls, user: User) -> str:
        """A fresh address's token, shown once. Those made before are revoked."""
        cls.revoke_all(user)
        token = secrets.token_urlsafe(32)
        cls.objects.create(user=user, token_sha256=_digest(token))
        return token

    @classmethod
    def revoke_all(cls, user: User) -> int:
        """How many addresses stopped working."""
        return cls.objects.filter(user=user, revoked_at__isnull=True).update(revoked_at=timezone.now())

    @classmethod
    def user_for(cls, token: str) -> User | None:
        """Whose feed this is: None when the address is unknown, revoked, or its account is closed.

        Whether that person is a member today is asked of ``user.is_member``, as everywhere.
        """
        row = (
            cls.objects.filter(token_sha256=_digest(token), revoked_at__isnull=True, user__is_active=True)
            .select_related("user")
            .first()
        )
        return row.user if row else None
