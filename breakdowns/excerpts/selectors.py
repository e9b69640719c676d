"""What pages ask about excerpts and policies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.models import Q

from .models import Excerpt, ExcerptPolicy
from .policies import Policy, PolicyError, UnknownPolicy, policy_from_json, preset, presets


def beats_outside(excerpt: Excerpt, start: int, end: int) -> Any | None:
    """A beat that shows frames of this excerpt outside [start, end), as its own or as its second view; reached over the
    relations only."""
    own = excerpt.beats.filter(Q(in_frame__lt=start) | Q(out_frame__gt=end)).first()  # type: ignore[attr-defined]
    beside = Q(beside_in__lt=start) | Q(beside_out__gt=end)
    return own or excerpt.beside_beats.filter(beside).first()  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class OwnPolicy:
    """A stored policy, as the pure module sees it."""

    row: ExcerptPolicy
    policy: Policy
    used_in: list[str]
    faults: tuple[str, ...] = ()


def own_policies() -> list[OwnPolicy]:
    """The user's own policies, read by the one reader of policies, each with the scripts that name it."""
    return [own_policy(row) for row in ExcerptPolicy.objects.all()]


def own_policy(row: ExcerptPolicy) -> OwnPolicy:
    used = apps.get_model("scripts", "Breakdown").objects.filter(policy=policy_key(row))
    titles = [str(piece) for piece in used]
    try:
        return OwnPolicy(row, policy_of(row), titles)
    except PolicyError as fault:  # stored before a rule was changed: shown, to be mended by hand
        return OwnPolicy(row, Policy(policy_key(row), row.name), titles, fault.faults)


def policy_key(row: ExcerptPolicy) -> str:
    """How a script names a stored policy; presets are named ``preset:KEY``."""
    return f"own:{row.pk}"


def policy_of(row: ExcerptPolicy) -> Policy:
    """The pure policy of a stored row. Raises PolicyError where the rules have changed since."""
    document = {"key": policy_key(row), "title": row.name, "note": row.note, "limits": row.limits}
    return policy_from_json(document)


def policy_named(name: str) -> Policy:
    """The policy that a script names, preset or own. Raises UnknownPolicy."""
    kind, _, key = name.partition(":")
    if kind != "own" or not key:
        return preset(name)
    row = (
        ExcerptPolicy.objects.filter(pk=key).first()
        if key.isascii() and key.isdigit() and len(key) < 19
        else None
    )
    if row is None:
        raise UnknownPolicy(name)
    return policy_of(row)


def policy_choices() -> list[tuple[str, str]]:
    """Every policy as (name for a script, title), presets first."""
    own = [(policy_key(row), row.name) for row in ExcerptPolicy.objects.all()]
    return [(f"preset:{key}", one.title) for key, one in presets().items() if key != "own"] + own
