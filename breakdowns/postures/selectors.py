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


Place = tuple[int, int]


def known_postures(places: Iterable[Place]) -> dict[Place, tuple[KnownPosture, ...]]:
    """By (source's id, frame), what is known of the posture shown there: for each side the posture that was tied last to a
    still of that frame."""
    wanted = set(places)
    if not wanted:
        return {}
    rows = Posture.objects.filter(
        still__source__in={source for source, _ in wanted}, still__frame__in={frame for _, frame in wanted}
    )
    found: dict[Place, dict[str, KnownPosture]] = {}
    for row in rows.select_related("still").order_by("-changed_at", "-pk"):
        place = row.still.source_id, row.still.frame
        sides = found.setdefault(place, {})
        if place in wanted and row.side not in sides and (known := _known(row)):
            sides[row.side] = known
    return {place: tuple(sides[one] for one in sorted(sides)) for place, sides in found.items() if sides}


def _known(row: Posture) -> KnownPosture | None:
    angles = {
        joint: {m: (value, UNSAID_SD if sd is None else sd) for m, (value, sd) in motions.items()}
        for joint, motions in row.angles.items()
    }
    try:
        return known_posture(row.side, angles) if angles else None
    except PostureError:  # kept with a model whose range was wider
        return None
