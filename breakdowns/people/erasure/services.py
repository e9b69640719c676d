"""Who was erased is not brought back by a table or an event that is older than the wish.

An address can't be read from what is kept: it is hashed with the site's own secret (HMAC-SHA256, RFC 2104), so that
only somebody who has the secret and guesses the address could tell. It goes after ``DAYS_KEPT``, and at once when
the person comes back.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.conf import settings
from django.utils import timezone
from django.utils.crypto import salted_hmac

from .models import ErasedAddress

DAYS_KEPT = 90  # own choice: payment services try again for days, lists lie about for weeks


def _digest(email: str, site_secret: str) -> str:
    address = email.strip().lower()
    return salted_hmac("breakdowns.people.erasure", address, site_secret, algorithm="sha256").hexdigest()


def _digests(emails: Iterable[str]) -> dict[str, str]:
    """Every digest that an address may be kept under, and the address."""
    secrets = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return {_digest(email, secret): email for email in emails for secret in secrets}


def erasure_remember(email: str) -> None:
    """Keep that the owner of an address was erased just now."""
    ErasedAddress.objects.update_or_create(
        digest=_digest(email, settings.SECRET_KEY), defaults={"erased_at": timezone.now()}
    )


def erased_among(emails: Iterable[str]) -> dict[str, datetime]:
    """Which of these addresses belong to somebody who was erased lately, and when that was."""
    since = timezone.now() - timedelta(days=DAYS_KEPT)
    by_digest = _digests(emails)
    found = ErasedAddress.objects.filter(digest__in=by_digest, erased_at__gt=since)
    return {by_digest[row.digest]: row.erased_at for row in found}


def erasure_forget(email: str) -> None:
    """The person has come back: nothing is kept of having been away."""
    ErasedAddress.objects.filter(digest__in=_digests([email])).delete()


def erasures_tidy() -> int:
    """Forget what has been kept long enough."""
    old = ErasedAddress.objects.filter(erased_at__lte=timezone.now() - timedelta(days=DAYS_KEPT))
    return old.delete()[0]
