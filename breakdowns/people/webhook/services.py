"""Keys of payment services, and taking what they report: each event once, the latest state counting."""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
import time
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from ..erasure.services import erased_among, erasure_forget
from ..membership.models import MemberSettings, Membership, site_today
from ..membership.services import change_note, grace_of, invitation_send, membership_give
from ..post.services import put_letter
from .events import Event
from .models import OutsideMembership, PaymentService, ServiceEvent, ServiceKey
from .signature import is_fresh, is_signed

if TYPE_CHECKING:
    from ..models import User

OLD_KEY_HOURS = 24  # own choice: how long the key before goes on after a new one was made
_NOBODY = "no-such-key"


class NotBelieved(ValueError):
    """The message is not proved to come from a payment service; the text says what to do."""


class AnotherContent(ValueError):
    """An event's name comes back with another content."""


# --- keys ----------------------------------------------------------------------------------------


def _secret(salt: str, site_secret: str) -> str:
    """43 characters: the database alone gives no secret away, the site's own secret alone neither."""
    made = hmac.new(site_secret.encode(), f"breakdowns.people.webhook\n{salt}".encode(), hashlib.sha256)
    return base64.urlsafe_b64encode(made.digest()).decode().rstrip("=")


def _key_make(service: PaymentService) -> tuple[ServiceKey, str]:
    key = ServiceKey.objects.create(service=service, name=secrets.token_hex(8), salt=secrets.token_hex(32))
    return key, _secret(key.salt, settings.SECRET_KEY)


@transaction.atomic
def service_add(name: str) -> tuple[ServiceKey, str]:
    """A service with its first key; the secret is shown once."""
    return _key_make(PaymentService.objects.create(name=name))


@transaction.atomic
def key_rotate(service: PaymentService) -> tuple[ServiceKey, str]:
    """A new key; those before go on for a day, so that nothing is lost while the new one is entered."""
    until = timezone.now() + timedelta(hours=OLD_KEY_HOURS)
    ServiceKey.objects.usable().filter(service=service, good_until__isnull=True).update(good_until=until)
    return _key_make(service)


def key_revoke(key: ServiceKey) -> bool:
    """The key opens nothing from now on; False when it was revoked before."""
    return bool(
        ServiceKey.objects.filter(pk=key.pk, revoked_at__isnull=True).update(revoked_at=timezone.now())
    )


def key_of(key_name: str, moment: str, given: str, body: bytes) -> ServiceKey:
    """The key that signed a message just now. Raises NotBelieved, with the same words for all but its age."""
    key = ServiceKey.objects.usable().select_related("service").filter(name=key_name[:24]).first()
    salt, known_as = (key.salt, key.name) if key else (_NOBODY, _NOBODY)
    site_secrets = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    right = [is_signed(given, _secret(salt, one), known_as, moment, body) for one in site_secrets]
    if key is None or not any(right):
        raise NotBelieved(
            "The signature is not right: check the key, its secret, and that the body is signed as sent."
        )
    if not is_fresh(moment, time.time()):
        raise NotBelieved("The timestamp is not within five minutes of now: set the clock and sign anew.")
    return key


def key_trouble(key: ServiceKey, words: str) -> None:
    ServiceKey.objects.filter(pk=key.pk).update(trouble=words[:300], trouble_at=timezone.now())


# --- events --------------------------------------------------------------------------------------


@transaction.atomic
def event_take(key: ServiceKey, event: Event) -> str:
    """Take one event. Returns a value of ``ServiceEvent.Outcome``, or "already" for one that was taken before.

    Raises AnotherContent. All that report memberships wait for one another (one row is held), so that two events
    of one membership, or of one new person, can't be taken at the same time.
    """
    MemberSettings.locked()
    before = ServiceEvent.objects.filter(service=key.service, event=event.event).first()
    if before is not None:
        if before.digest != event.digest:
            raise AnotherContent(
                f"The event {event.event} was taken before with another content; give each event a name of its own."
            )
        return "already"
    outcome = _state_take(key.service, event)
    ServiceEvent.objects.create(
        service=key.service, event=event.event, digest=event.digest, membership=event.membership,
        state=event.state, at=event.at, outcome=outcome,
    )  # fmt: skip
    ServiceKey.objects.filter(pk=key.pk).update(used_at=timezone.now())
    return outcome


def _state_take(service: PaymentService, event: Event) -> str:
    outside = (
        OutsideMembership.objects.select_related("user", "membership")
        .filter(service=service, key=event.membership)
        .first()
    )
    if outside is None:
        outside = OutsideMembership(service=service, key=event.membership)
    elif (outside.at, outside.event) >= event.order:
        return "overtaken"
    outside.at, outside.event = event.order
    outcome = _follow(outside, event)
    outside.save()
    return outcome


def _follow(outside: OutsideMembership, event: Event) -> str:
    """Bring the membership to the state of the event. ``outside`` is changed and not saved."""
    from ..models import User

    if outside.user and outside.user.erased_at:
        return "erased"
    values = _values(event)
    user = outside.user or User.objects.filter(email=event.email, erased_at__isnull=True).first()
    if user is None:
        if not _opens_from_today(values):
            return "unknown"
        if _older_than_the_wish(event):
            return "erased"
        user = User.objects.create_user(event.email, None, name=event.name)
        erasure_forget(event.email)
    outside.user = user
    if outside.membership is None:
        outside.membership = membership_give(user, source=Membership.Source.WEBHOOK, **values)
        _welcome(user, outside.membership, event)
    elif _bring(outside.membership, event, values):
        _tell(user, outside.membership)
    return "applied"


def _older_than_the_wish(event: Event) -> bool:
    """Whether the person was erased after this happened, or its membership had begun by then: not a new purchase."""
    erased_at = erased_among([event.email]).get(event.email)
    if erased_at is None:
        return False
    return event.at <= erased_at or event.starts_on < timezone.localdate(erased_at)


def _values(event: Event) -> dict[str, Any]:
    return {
        "starts_on": event.starts_on,
        "ends_on": event.last_day(timezone.get_default_timezone()),
        "cancelled_at": event.at if event.state == "cancelled" else None,
        "revoked_at": event.at if event.state == "taken back" else None,
        "gift": event.gift,
        "gift_from": event.gift_from if event.gift else "",
        "gift_message": event.gift_message if event.gift else "",
    }


def _opens_from_today(values: dict[str, Any]) -> bool:
    row = Membership(**values)
    last = grace_of(row) or row.ends_on
    return row.revoked_at is None and (last is None or last >= site_today())


def _bring(row: Membership, event: Event, values: dict[str, Any]) -> bool:
    """Write the new state with a line of history; False when nothing is different."""
    before = {name: getattr(row, name) for name in values}
    if before == values:
        return False
    ended_before = row.ends_on
    for name, value in values.items():
        setattr(row, name, value)
    row.grace_until = grace_of(row)
    row.save()
    words = f"payment service: {event.state}, {row.starts_on} – {row.ends_on or 'no end'}"
    change_note(row, words, before=ended_before)
    return True


def _welcome(user: User, row: Membership, event: Event) -> None:
    if row.revoked_at is not None:
        return
    if event.invite and user.last_login is None and not user.in_studio:
        invitation_send(user)
    else:
        _tell(user, row)


def _tell(user: User, row: Membership) -> None:
    days = (
        f"from {row.starts_on} to {row.ends_on}" if row.ends_on else f"from {row.starts_on}, without an end"
    )
    if row.revoked_at:
        subject, text = "Your membership was taken back", f"The membership {days} was taken back."
    elif row.cancelled_at:
        subject = "Your membership will not go on"
        text = f"Your wish to stop is noted. The membership {days} is not renewed."
    else:
        subject, text = "Your membership", f"Your membership runs {days}. Both days count."
    put_letter(user, "membership", subject, text)
