"""Letters go by a piece of work: ordered when one is put, and by each sweep while one is due."""

from __future__ import annotations

from breakdowns.people.post.services import send_due, wake_by

from ..tasks import Desk, does


@does("people.letters", queue="default")
def send_letters(subject: str, desk: Desk) -> None:
    """Send what is due; a letter that fails is put off by itself and does not fail the work."""
    send_due(stopped=desk.stopped)


def _order() -> None:
    from ..services import work_order

    work_order("people.letters", "outbox")


wake_by(_order)
