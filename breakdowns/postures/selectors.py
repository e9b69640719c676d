"""Reads: what pages and later stages ask about postures."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from django.db.models import QuerySet

from anatomy.muscles.faults import PostureError
from anatomy.muscles.known import KnownPosture, known_posture
from breakdowns.stills.models import Still

from .models import Posture
from .state import State, state_of

UNSAID_SD = 10.0
"""Degrees: the error of an angle for which nobody said one; own choice, no source."""


def postures_listed() -> QuerySet[Posture]:
    """Every kept posture, the latest changed first."""
    return Posture.objects.select_related("still__source").order_by("-changed_at", "-pk")


def kept_state(posture: Posture) -> State:
    """A kept posture as the page's state."""
    more = {"kept": str(posture.key)} | ({"still": str(posture.still.key)} if posture.still else {})
    return state_of(posture.side, posture.angles, posture.asked | more)


def posture_named(key: str) -> Posture | None:
    """A posture by the text of its key."""
    return postures_listed().filter(key=UUID(key)).first() if key else None


def still_named(key: str) -> Still | None:
    """A still by the text of its key."""
    return Still.objects.select_related("source__event").filter(key=UUID(key)).first() if key else None


def known_postures(stills: Iterable[Still]) -> dict[int, tuple[KnownPosture, ...]]:
    """By still's id, what is known of the posture that it shows: for each side the posture that was linked to it last."""
    found: dict[int, dict[str, KnownPosture]] = {}
    wanted = {still.pk for still in stills}
    rows = Posture.objects.filter(still__in=wanted).order_by("-changed_at", "-pk") if wanted else ()
    for row in rows:
        sides = found.setdefault(row.still_id or 0, {})
        if row.side not in sides and (known := _known(row)):
            sides[row.side] = known
    return {pk: tuple(sides[side] for side in sorted(sides)) for pk, sides in found.items()}


def _known(row: Posture) -> KnownPosture | None:
    angles = {
        joint: {m: (value, UNSAID_SD if sd is None else sd) for m, (value, sd) in motions.items()}
        for joint, motions in row.angles.items()
    }
    try:
        return known_posture(row.side, angles) if angles else None
    except PostureError:  # kept with a model whose range was wider
        return None
