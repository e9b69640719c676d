"""Writes about excerpts and policies: one named function each, in one transaction."""

from __future__ import annotations

from django.db import transaction
from django.db.models import F, ProtectedError
from django.utils import timezone

from breakdowns.footage.models import Source
from breakdowns.people.models import User

from .models import Excerpt, ExcerptPolicy
from .policies import Policy, limit_to_json
from .selectors import own_policy


class Overtaken(Exception):
    """Somebody else changed the row since it was read."""


@transaction.atomic
def excerpt_create(
    *, source: Source, by: User | None, name: str, in_frame: int, out_frame: int, purpose: str = ""
) -> Excerpt:
    return Excerpt.objects.create(
        source=source, made_by=by, name=name, in_frame=in_frame, out_frame=out_frame, purpose=purpose
    )


@transaction.atomic
def excerpt_change(
    excerpt: Excerpt, *, version: int, name: str, in_frame: int, out_frame: int, purpose: str
) -> Excerpt:
    """Change an excerpt that still is as it was read. Raises Overtaken."""
    changed = Excerpt.objects.filter(pk=excerpt.pk, version=version).update(
        name=name,
        in_frame=in_frame,
        out_frame=out_frame,
        purpose=purpose,
        version=F("version") + 1,
        changed_at=timezone.now(),
    )
    if not changed:
        raise Overtaken
    excerpt.refresh_from_db()
    return excerpt


@transaction.atomic
def excerpt_delete(excerpt: Excerpt) -> bool:
    """False while a script uses it."""
    try:
        excerpt.delete()
    except ProtectedError:
        return False
    return True


@transaction.atomic
def policy_from_preset(policy: Policy) -> ExcerptPolicy:
    """A policy of one's own that starts with a preset's limits, under the first free name."""
    base = policy.title if policy.key == "own" else f"{policy.title}, our own"
    taken = set(ExcerptPolicy.objects.values_list("name", flat=True))
    names = (base[:110] if n == 1 else f"{base[:110]} {n}" for n in range(1, len(taken) + 2))
    name = next(name for name in names if name not in taken)
    limits = [limit_to_json(limit) for limit in policy.limits]
    return ExcerptPolicy.objects.create(name=name, based_on=policy.key, limits=limits)


@transaction.atomic
def policy_change(row: ExcerptPolicy, *, name: str, note: str, limits: list[dict[str, str]]) -> ExcerptPolicy:
    row.name, row.note, row.limits = name, note, limits
    row.save()
    return row


@transaction.atomic
def policy_delete(row: ExcerptPolicy) -> list[str]:
    """Delete a policy that no script names; else the titles of those that do, and it stays."""
    used_in = own_policy(row).used_in
    if not used_in:
        row.delete()
    return used_in
