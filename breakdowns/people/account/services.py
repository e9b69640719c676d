"""What a person takes along, and what is wiped when they leave."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from ..erasure.services import DAYS_KEPT, erasure_remember
from ..importing.services import imports_forget_person
from ..membership.models import MemberSettings
from ..models import FeedAddress, Invitation, Letter, LetterChoices, SignInLink, User
from ..own_data import erase_all

STAYS = (
    "The first and last days of your memberships stay, without your name and address, and so does the number under "
    "which a payment service knows one, because the books must add up. "
    f"For {DAYS_KEPT} days a scrambled form of your address stays too, out of which nobody can read it, so that an old "
    "list does not bring you back."
)


class LastOwner(ValueError):
    """Why an account can't be erased, in one sentence."""


def _day(value: Any) -> str | None:
    """A day, or a moment to the second, as ISO 8601."""
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    return value.isoformat() if value else None


def people_export(user: User) -> dict[str, object]:
    """Account, memberships with their history, letters, invitation and choices, for the download."""
    choices = LetterChoices.objects.filter(user=user).first()
    return {
        "account": {"name": user.name, "e-mail": user.email, "since": _day(user.date_joined), "last here": _day(user.last_login)},
        "memberships": [
            {
                "first day": _day(row.starts_on), "last day": _day(row.ends_on), "grace until": _day(row.grace_until),
                "cancelled": _day(row.cancelled_at), "taken back": _day(row.revoked_at), "source": row.get_source_display(),
                "gift from": row.gift_from, "gift message": row.gift_message,
                "history": [{"when": _day(line.made_at), "what": line.what} for line in row.changes.all()],
            }
            for row in user.memberships.order_by("starts_on", "pk")
        ],
        "letters": [
            {"kind": row.kind, "subject": row.subject, "text": "" if row.has_key else row.text, "made": _day(row.made_at),
             "sent": _day(row.sent_at), "state": row.get_state_display()}
            for row in user.letters.all()
        ],
        "reported by a payment service": [
            {"service": row.service.name, "its number": row.key, "state since": _day(row.at)}
            for row in user.outside_memberships.select_related("service").order_by("pk")
        ],
        "switched off": choices.switched_off if choices else [],
    }  # fmt: skip


def people_erase(user: User) -> None:
    """Wipe name, address, letters, links and gifts' words; the days of memberships stay without a name."""
    erasure_remember(user.email)
    imports_forget_person(user.email)
    for model in (Letter, SignInLink, Invitation, FeedAddress, LetterChoices):
        model.objects.filter(user=user).delete()
    user.memberships.update(gift_from="", gift_message="", cancelled_at=timezone.now(), grace_until=None)
    user.name, user.email = "", f"erased-{user.pk}@erased.invalid"
    user.is_active, user.erased_at, user.last_login = False, timezone.now(), None
    user.set_unusable_password()
    user.save()


@transaction.atomic
def account_erase(user: User) -> None:
    """Erase everything every stage holds of a person. Raises LastOwner for the only owner of the studio."""
    MemberSettings.locked()  # a table that is being taken in, or an event, comes before or after it, not between
    others = User.objects.filter(role=User.Role.OWNER, is_active=True).exclude(pk=user.pk)
    if user.is_owner and not others.exists():
        raise LastOwner(
            "You are the only owner; make somebody else owner first, or nobody could open the studio."
        )
    erase_all(user)
