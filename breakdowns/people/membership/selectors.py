"""Reading memberships: what one person has, and lists by state."""

from __future__ import annotations

from django.db.models import Exists, OuterRef, Q, QuerySet

from ..models import Membership, User, site_today
from .days import Run, Standing, joined, standing


def standing_of(user: User) -> Standing:
    """What a person has today, told as one."""
    return standing([row.days for row in user.memberships.all()], site_today())


def runs_of(user: User) -> tuple[Run, ...]:
    """All days of membership, overlaps joined."""
    return joined([row.days for row in user.memberships.all()])


def members(state: str = "", search: str = "") -> QuerySet[User]:
    """People who have, had or will have a membership (or were invited), by state as days.standing tells it."""
    today = site_today()
    mine = Membership.objects.filter(user=OuterRef("pk"))
    live = mine.filter(revoked_at__isnull=True)
    covers = live.covering(today)
    later = live.filter(starts_on__gt=today)
    grace = live.filter(starts_on__lte=today, ends_on__lt=today, grace_until__gte=today)
    goes_on = Exists(covers.filter(cancelled_at__isnull=True)) | Exists(
        later.filter(cancelled_at__isnull=True)
    )
    # For the most frequent state the same is asked of all at once, which a large database answers faster.
    this_day = Membership.objects.covering(today)
    going_on = Membership.objects.filter(
        revoked_at__isnull=True, starts_on__gt=today, cancelled_at__isnull=True
    )
    none = ~Exists(covers) & ~Exists(grace) & ~Exists(later)
    by_state = {
        "": Exists(mine) | Q(invitation__isnull=False),
        "member": Q(pk__in=this_day.filter(cancelled_at__isnull=True).values("user"))
        | (Q(pk__in=this_day.values("user")) & Q(pk__in=going_on.values("user"))),
        "cancelled": Q(Exists(covers)) & ~Q(goes_on),
        "grace": Q(~Exists(covers)) & Q(Exists(grace)),
        "later": Q(~Exists(covers)) & Q(~Exists(grace)) & Q(Exists(later)),
        "lapsed": Q(none) & Q(Exists(mine)),
        "none": Q(~Exists(mine)) & Q(invitation__isnull=False),
    }
    found = User.objects.filter(by_state[state], erased_at__isnull=True)
    if search := search.strip().replace("\x00", ""):
        found = found.filter(Q(name__icontains=search) | Q(email__icontains=search))
    return found.select_related("invitation").prefetch_related("memberships").order_by("name", "email", "pk")
