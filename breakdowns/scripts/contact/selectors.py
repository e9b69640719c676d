"""Which cautions a kept contact brings, and whether the piece carries them."""

from __future__ import annotations

from breakdowns.contacts.duties import Duty, duties, missing
from breakdowns.contacts.reading import owed_by
from breakdowns.scripts.checks.cautions import TELLING
from breakdowns.scripts.models import Beat, Breakdown


def cautions_of(breakdown: Breakdown, rows: tuple[str, ...]) -> list[tuple[Duty, bool]]:
    """Each caution that a contact brings, with whether it stands in the words or on a plate of the piece."""
    owed = owed_by(rows)
    wanting = missing(owed, _told(breakdown))
    return [(duties()[key], duties()[key] not in wanting) for key in owed]


def _told(breakdown: Breakdown) -> list[str]:
    told = []
    for beat in breakdown.beats.all():
        told.append(beat.words)
        if beat.kind == Beat.Kind.PLATE and beat.plate in TELLING:
            told.append(f"{beat.plate_title}\n{beat.plate_text}")
    return told
