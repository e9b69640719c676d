"""Writes about postures: one named function each, in one transaction."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from anatomy.muscles.simulator import model_version
from breakdowns.people.models import User
from breakdowns.stills.models import Still

from .models import Posture, PostureRevision
from .state import State

KEPT_STATES = 50
"""Earlier states of one posture that can be opened; own choice, no source."""
_COLUMNS = ("name", "side", "angles", "asked", "model")


class Overtaken(Exception):
    """Somebody changed the posture meanwhile; ``posture`` is what stands now."""

    def __init__(self, posture: Posture) -> None:
        super().__init__(f"Somebody changed “{posture}” meanwhile.")
        self.posture = posture


def kept_angles(state: State) -> dict[str, dict[str, list[float | None]]]:
    """The angles as a row keeps them."""
    found: dict[str, dict[str, list[float | None]]] = {}
    for one, angle in state.told():
        found.setdefault(one.joint, {})[one.motion] = [angle.degrees, angle.sd]
    return found


def kept_asked(state: State) -> dict[str, str]:
    """What was asked about them: motion, sweep and muscle as the address carries them."""
    from urllib.parse import parse_qsl

    given = dict(parse_qsl(state.query()))
    return {name: given[name] for name in ("motion", "sweep", "muscle", "joint", "sort") if name in given}


def _values(state: State, name: str, still: Still | None) -> dict[str, Any]:
    return {
        "name": name,
        "side": state.side,
        "angles": kept_angles(state),
        "asked": kept_asked(state),
        "model": model_version(),
        "still": still,
    }


@transaction.atomic
def posture_keep(state: State, *, name: str, still: Still | None, by: User | None) -> Posture:
    """A new posture."""
    return Posture.objects.create(**_values(state, name, still), made_by=by)


@transaction.atomic
def posture_save(
    posture: Posture, state: State, *, name: str, still: Still | None, base_version: int, by: User | None
) -> Posture:
    """The posture anew; what it was is kept. Raises Overtaken where ``base_version`` no longer stands."""
    row = Posture.objects.select_for_update(of=("self",)).get(pk=posture.pk)
    if row.version != base_version:
        raise Overtaken(row)
    values = _values(state, name, still)
    if all(getattr(row, column) == values[column] for column in values):
        return row
    before = {column: getattr(row, column) for column in _COLUMNS}
    before["still"] = str(row.still.key) if row.still else ""
    PostureRevision.objects.create(posture=row, version=row.version, state=before, made_by=by)
    row.revisions.filter(version__lte=row.version - KEPT_STATES).delete()
    for column, value in values.items():
        setattr(row, column, value)
    row.version += 1
    row.save()
    return row


@transaction.atomic
def posture_delete(posture: Posture) -> None:
    """Gone with its earlier states; the still stays."""
    posture.delete()
