"""A table of members is taken in by a piece of work, which can be taken over when a worker is killed."""

from __future__ import annotations

from breakdowns.people.importing.models import MemberImport
from breakdowns.people.importing.services import import_run, run_by

from ..tasks import Desk, WorkStopped, does


@does("people.import", queue="default")
def take_in(subject: str, desk: Desk) -> None:
    """Steps are whole and remembered with what they wrote, so a second worker goes on where the first ended."""
    if import_run(int(subject), stopped=desk.stopped) == "running":
        raise WorkStopped("There is more to take in.")


def _order(one: MemberImport) -> None:
    from ..services import work_order

    work_order("people.import", one.pk, by=one.by)


run_by(_order)
