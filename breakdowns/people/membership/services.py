"""Giving, changing and ending memberships; every change leaves a line of history."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from ..erasure.services import erasure_forget
from ..keys.models import Invitation
from ..post.services import put_letter, site_address
from .days import grace_after
from .models import MemberSettings, Membership, MembershipChange, site_today

if TYPE_CHECKING:
    from ..models import User


def change_note(row: Membership, what: str, *, by: User | None = None, before: date | None = None) -> None:
    MembershipChange.objects.create(
        membership=row, by=by, what=what[:200], ended_on_before=before, ends_on_after=row.ends_on
    )


def grace_of(row: Membership, house: MemberSettings | None = None) -> date | None:
    """The last day of grace by what is settled now (``house`` spares the question for many rows)."""
    renews = not row.gift and row.cancelled_at is None and row.revoked_at is None
    return grace_after(row.ends_on, (house or MemberSettings.now()).grace_days, renews=renews)


@transaction.atomic
def membership_give(user: User, *, by: User | None = None, source: str = "hand", **fields: Any) -> Membership:
    """A new membership with its grace and its first line of history."""
    row = Membership(user=user, source=source, **fields)
    row.grace_until = grace_of(row)
    row.save()
    change_note(row, f"given {row.get_source_display()}" + (" as a gift" if row.gift else ""), by=by)
    return row


@transaction.atomic
def membership_change(
    row: Membership, *, by: User | None, starts_on: date, ends_on: date | None
) -> Membership:
    """Set the days by hand."""
    row = Membership.objects.select_for_update().get(pk=row.pk)
    before = row.ends_on
    row.starts_on, row.ends_on = starts_on, ends_on
    row.grace_until = grace_of(row)
    row.save()
    change_note(row, f"days set to {starts_on} – {ends_on or 'no end'}", by=by, before=before)
    return row


def end_early(row: Membership, last: date) -> None:
    """Let a row end with ``last``, or take all of it back where it would not have begun. Not saved."""
    if last < row.starts_on:
        row.revoked_at = row.revoked_at or timezone.now()
    elif row.ends_on is None or row.ends_on > last:
        row.ends_on = last
    row.grace_until = None


@transaction.atomic
def membership_end(row: Membership, *, by: User | None) -> Membership:
    """End it now, by the owner: yesterday was the last day, and there is no grace."""
    row = Membership.objects.select_for_update().get(pk=row.pk)
    before = row.ends_on
    end_early(row, site_today() - timedelta(days=1))
    row.save()
    change_note(row, "ended", by=by, before=before)
    return row


@transaction.atomic
def memberships_cancel(user: User) -> list[Membership]:
    """The wish to stop: what is paid runs to its end, nothing is renewed and there is no grace.

    A membership without an end has nothing paid beyond today, so today becomes its last day.
    """
    today, rows = site_today(), []
    for row in Membership.objects.select_for_update().filter(
        user=user, cancelled_at__isnull=True, revoked_at__isnull=True
    ):
        if (
            row.ends_on is not None
            and row.ends_on < today
            and not (row.grace_until and row.grace_until >= today)
        ):
            continue
        before = row.ends_on
        row.cancelled_at = timezone.now()
        if row.ends_on is None:
            end_early(row, today)
        row.grace_until = None
        row.save()
        change_note(row, "cancelled by the member", by=user, before=before)
        rows.append(row)
    if rows:
        lasts = [row.ends_on for row in rows if row.ends_on]
        text = (
            f"Your wish to stop is noted. What is for members stays open to you until {max(lasts)}."
            if lasts
            else "Your wish to stop is noted."
        )
        put_letter(user, "membership", "Your membership will not go on", text)
    return rows


def memberships_tell_ending() -> int:
    """Tell a week ahead that what is not renewed ends, and that grace has begun. How many were told; once each."""
    from .selectors import standing_of

    today, told = site_today(), 0
    live = Membership.objects.filter(revoked_at__isnull=True, user__is_active=True).select_related("user")
    soon = live.filter(ends_on__range=(today + timedelta(days=1), today + timedelta(days=7)))
    for row in soon.filter(Q(gift=True) | Q(cancelled_at__isnull=False)).iterator():
        run = standing_of(row.user).run
        if run and run.last == row.ends_on:
            text = f"What is for members stays open to you until {row.ends_on}, that day included."
            name = f"ends:{row.user_id}:{row.ends_on}"
            told += (
                put_letter(row.user, "membership", "Your membership ends soon", text, once=name) is not None
            )
    for row in live.filter(ends_on__lt=today, grace_until__gte=today).iterator():
        standing = standing_of(row.user)
        if standing.state == "grace" and standing.grace_until == row.grace_until:
            text = (
                f"Your membership was paid until {row.ends_on}. Everything stays open until {row.grace_until}, while a "
                "renewal may be on its way."
            )
            name = f"grace:{row.user_id}:{row.ends_on}"
            told += (
                put_letter(row.user, "membership", "Your membership has run out", text, once=name) is not None
            )
    return told


@transaction.atomic
def settings_save(values: dict[str, Any]) -> MemberSettings:
    """Keep what the owner settles; new days of grace count for memberships that are not over yet."""
    row = MemberSettings.locked()
    old = row.grace_days
    for name, value in values.items():
        setattr(row, name, value)
    row.save()
    if row.grace_days != old:
        since = site_today() - timedelta(days=max(old, row.grace_days))
        touched = Membership.objects.filter(
            ends_on__gte=since, cancelled_at__isnull=True, revoked_at__isnull=True, gift=False
        )
        for each in touched.exclude(grace_until=None, ends_on__lt=site_today()).iterator():
            Membership.objects.filter(pk=each.pk).update(grace_until=grace_of(each))
    return row


# --- invitations ---------------------------------------------------------------------------------


@transaction.atomic
def invitation_send(user: User, *, by: User | None = None) -> None:
    """Invite by e-mail, or invite again: the link sent before stops working."""
    days = MemberSettings.now().invitation_days
    if not user.is_active and user.last_login is None and user.erased_at is None:
        type(user).objects.filter(pk=user.pk).update(is_active=True)
        user.is_active = True
    token = Invitation.make(user, days=days, by=by)
    address = site_address(reverse("people:invited", args=[token]))
    gift = user.memberships.filter(gift=True, revoked_at__isnull=True).order_by("-pk").first()
    words = ["You are invited to what is for members here."]
    if gift:
        words = [f"{gift.gift_from or 'Somebody'} gives you a membership from {gift.starts_on}."]
        words += [gift.gift_message] if gift.gift_message else []
    words.append(f"This link lets you in, once, within {days} days:\n\n{address}")
    put_letter(user, "invitation", "An invitation", "\n\n".join(words), has_key=True)


@transaction.atomic
def invitation_take_back(user: User, *, by: User | None) -> bool:
    """The link stops working; an account that nobody has used yet is closed and its membership taken back."""
    taken = Invitation.objects.filter(user=user, accepted_at__isnull=True, taken_back_at__isnull=True).update(
        taken_back_at=timezone.now()
    )
    if not taken:
        return False
    if user.last_login is None and not user.in_studio:
        for row in user.memberships.filter(revoked_at__isnull=True):
            row.revoked_at, row.grace_until = timezone.now(), None
            row.save()
            change_note(row, "taken back with the invitation", by=by, before=row.ends_on)
        type(user).objects.filter(pk=user.pk).update(is_active=F("is_staff"))
    return True


@transaction.atomic
def member_add(values: dict[str, Any], *, by: User) -> tuple[User, Membership]:
    """A membership by hand: for the account of that address, or for a new one, invited if wished."""
    from ..models import User

    user = User.objects.filter(email=values["email"]).first()
    if user is None:
        user = User.objects.create_user(values["email"], None, name=values["name"])
        erasure_forget(user.email)
    row = membership_give(
        user,
        by=by,
        starts_on=values["starts_on"],
        ends_on=values["ends_on"],
        gift=values["gift"],
        gift_from=values["gift_from"] if values["gift"] else "",
        gift_message=values["gift_message"] if values["gift"] else "",
    )
    if values["invite"]:
        invitation_send(user, by=by)
    return user, row
