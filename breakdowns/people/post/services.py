"""Putting letters into the outbox, and sending what is due: claimed first, so that none goes twice."""

from __future__ import annotations

import logging
import smtplib
import uuid
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from email.utils import parseaddr
from typing import TYPE_CHECKING

from django.conf import settings
from django.core import signing
from django.core.mail import EmailMessage, get_connection
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from ..letters import (
    ALWAYS,
    KINDS,
    Part,
    gathered_subject,
    gathered_text,
    is_known,
    next_gathering,
    next_try,
    one_line,
    unsubscribe_fields,
)
from ..membership.models import MemberSettings
from .models import Letter, LetterChoices

if TYPE_CHECKING:
    from ..models import User

log = logging.getLogger("breakdowns.people")
HOUSE = "Stancewright"
CLAIM_LASTS = timedelta(minutes=15)  # own choice: longer than any connection may take
_SALT = "people.letters.off"
_wake: list[Callable[[], None]] = []


class UnknownKind(ValueError):
    """A letter of a kind that nobody could switch off, because it isn't known."""


def wake_by(function: Callable[[], None]) -> None:
    """Whoever runs background work registers here what to call when a letter has been put."""
    if function not in _wake:
        _wake.append(function)


def site_address(path: str) -> str:
    """A path of this site as an address that works from outside."""
    return settings.SITE_ADDRESS.rstrip("/") + path


def choices_of(user: User) -> LetterChoices:
    return LetterChoices.objects.filter(user=user).first() or LetterChoices(user=user)


def letters_choose(user: User, *, switched_off: Sequence[str], pace: str | None = None) -> LetterChoices:
    """Keep what a person wants to be told. Unknown kinds are passed over; ``pace`` None leaves it."""
    values: dict[str, object] = {"switched_off": [kind for kind in KINDS if kind in switched_off]}
    if pace is not None:
        values["pace"] = pace
    row, _ = LetterChoices.objects.update_or_create(user=user, defaults=values)
    return row


def off_token(user: User, kinds: Sequence[str]) -> str:
    """What switches kinds of letters off for one person: signed, so that it can't be forged (RFC 8058, 6)."""
    return signing.dumps([user.pk, sorted(set(kinds))], salt=_SALT, compress=True)


def off_wanted(token: str) -> tuple[User, list[str]] | None:
    """Whose letters of which kinds a token switches off; None when it is not one of ours."""
    from ..models import User

    try:
        pk, kinds = signing.loads(token, salt=_SALT)
    except (signing.BadSignature, ValueError, TypeError):
        return None
    user = User.objects.filter(pk=pk, erased_at__isnull=True).first()
    return (user, [kind for kind in kinds if kind in KINDS]) if user else None


@transaction.atomic
def letters_switch_off(user: User, kinds: Sequence[str]) -> None:
    """Switch kinds off; doing it twice changes nothing."""
    off = set(choices_of(user).switched_off) | set(kinds)
    letters_choose(user, switched_off=sorted(off))


def _due(user: User, at_once: bool) -> datetime:
    now = timezone.now()
    if at_once:
        return now
    house = MemberSettings.now()
    pace = choices_of(user).pace or house.pace
    return next_gathering(now, pace, house.letter_hour, house.letter_weekday, timezone.get_default_timezone())


def put_letter(
    user: User,
    kind: str,
    subject: str,
    text: str,
    *,
    at_once: bool = False,
    once: str | None = None,
    has_key: bool = False,
) -> Letter | None:
    """Put a letter into the outbox, in the caller's transaction; it goes when it is due.

    ``kind`` is one of ``letters.KINDS``, or of ``letters.ALWAYS``, which goes at once whatever was chosen.
    ``once`` is a name under which it is put only once. ``has_key``: the text is wiped when it has gone.
    Returns None when the person has switched the kind off or the account is closed. Raises UnknownKind.
    """
    if not is_known(kind):
        raise UnknownKind(f"“{kind}” is no kind of letter; use one of {', '.join([*KINDS, *ALWAYS])}.")
    if not user.is_active or (kind in KINDS and kind in choices_of(user).switched_off):
        return None
    at_once = at_once or kind in ALWAYS
    values = {
        "user": user, "kind": kind, "subject": one_line(subject), "text": text.replace("\x00", ""),
        "at_once": at_once, "has_key": has_key, "due_at": _due(user, at_once),
    }  # fmt: skip
    if once is None:
        letter = Letter.objects.create(**values)
    else:
        try:
            with transaction.atomic():
                letter = Letter.objects.create(once=once, **values)
        except IntegrityError:
            return Letter.objects.get(once=once)
    if letter.due_at <= timezone.now():
        transaction.on_commit(wake_up)
    return letter


def wake_up() -> None:
    for function in _wake:
        function()


def letters_due() -> bool:
    return Letter.objects.filter(state="waiting", due_at__lte=timezone.now()).exists()


# --- sending -------------------------------------------------------------------------------------


def claim_next(only: Letter | None = None) -> list[Letter]:
    """Take the letters of the next e-mail: one that goes alone, or all that one person has gathered.

    Whoever's update still finds a row waiting has it; nobody else will send it.
    """
    now, claim = timezone.now(), uuid.uuid4()
    due = Letter.objects.filter(state="waiting", due_at__lte=now)
    first = (due.filter(pk=only.pk) if only else due.order_by("due_at", "pk")).first()
    if first is None:
        return []
    mine = Q(pk=first.pk)
    if not first.at_once:
        mine = Q(user_id=first.user_id, at_once=False, tries=first.tries, has_key=False)
    due.filter(mine).update(state="sending", claim=claim, claimed_at=now)
    return list(
        Letter.objects.filter(claim=claim, state="sending").select_related("user").order_by("made_at", "pk")
    )


def _wanted(rows: list[Letter]) -> list[Letter]:
    """Leave out what was switched off since, and everything to closed accounts."""
    user = rows[0].user
    off = choices_of(user).switched_off
    unwanted = [row.pk for row in rows if not user.is_active or (row.kind in KINDS and row.kind in off)]
    if unwanted:
        Letter.objects.filter(pk__in=unwanted).update(state="withheld", claim=None)
    return [row for row in rows if row.pk not in unwanted]


def compose(rows: Sequence[Letter]) -> EmailMessage:
    """The e-mail for letters of one person, with the header fields that switch them off."""
    user, parts = rows[0].user, [Part(row.kind, row.subject, row.text) for row in rows]
    kinds = [row.kind for row in rows if row.kind in KINDS]
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    fields = {"Message-ID": f"<{rows[0].message_id}@{domain}>", "Auto-Submitted": "auto-generated"}
    off = ""
    if kinds:
        off = site_address(reverse("people:letters_off", args=[off_token(user, kinds)]))
        fields |= unsubscribe_fields(off)
    text = gathered_text(parts, choices=site_address(reverse("people:account")), switch_off=off)
    return EmailMessage(gathered_subject(parts, HOUSE), text, None, [user.email], headers=fields)


def send_claimed(rows: list[Letter]) -> str:
    """Send one claimed e-mail. Returns the state its letters ended in ("waiting": it will be tried again)."""
    if not rows:
        return "nothing"
    claim, rows = rows[0].claim, _wanted(rows)
    if not rows:
        return "withheld"
    held = Letter.objects.filter(claim=claim, state="sending")
    connection = get_connection()
    try:
        message = compose(rows)
        connection.open()
    except Exception as trouble:  # whatever a mail server or its network can do: nothing has left yet
        return _again(held, rows[0], trouble)
    try:
        connection.send_messages([message])
    except (smtplib.SMTPResponseException, smtplib.SMTPRecipientsRefused) as refusal:
        return _refused(held, rows[0], refusal)
    except Exception as trouble:
        log.warning("A letter may or may not have gone: %s", type(trouble).__name__)
        held.update(state="unsure", trouble=_words(trouble), claim=None)
        return "unsure"
    finally:
        _close(connection)
    now = timezone.now()
    held.filter(has_key=True).update(text="", state="sent", sent_at=now, trouble="", claim=None)
    held.update(state="sent", sent_at=now, trouble="", claim=None)
    return "sent"


def _close(connection: object) -> None:
    try:
        connection.close()
    except Exception:
        log.warning("The mail server went away while the connection was closed.")


def _words(trouble: Exception) -> str:
    return one_line(f"{type(trouble).__name__}: {trouble}")[:300]


def _refused(held, row: Letter, refusal: Exception) -> str:
    """The server said no: for good from code 500 on, else for now (RFC 5321, 4.2.1)."""
    if isinstance(refusal, smtplib.SMTPRecipientsRefused):
        codes = [code for code, _ in refusal.recipients.values()]
    else:
        codes = [refusal.smtp_code]
    if codes and min(codes) >= 500:
        held.update(state="failed", trouble=_words(refusal), claim=None)
        return "failed"
    return _again(held, row, refusal)


def _again(held, row: Letter, trouble: Exception) -> str:
    tries = row.tries + 1
    moment = next_try(timezone.now(), tries)
    values = {"tries": tries, "trouble": _words(trouble), "claim": None}
    if moment is None:
        held.update(state="failed", **values)
        return "failed"
    held.update(state="waiting", due_at=moment, **values)
    return "waiting"


def send_now(letter: Letter | None) -> str:
    """Send this one letter at once if nobody else has it; a failure leaves it in the outbox."""
    return send_claimed(claim_next(only=letter)) if letter else "nothing"


def send_due(stopped: Callable[[], bool] = lambda: False, most: int = 5000) -> dict[str, int]:
    """Send what is due, one e-mail after another; how many ended how."""
    counts: dict[str, int] = {}
    letters_forget_claims()
    for _ in range(most):
        if stopped():
            break
        rows = claim_next()
        if not rows:
            if letters_due():
                continue
            break
        ended = send_claimed(rows)
        counts[ended] = counts.get(ended, 0) + 1
    return counts


def letters_forget_claims() -> int:
    """Letters whose sender died in the middle may have arrived: they are shown, never sent again by themselves."""
    old = Letter.objects.filter(state="sending", claimed_at__lt=timezone.now() - CLAIM_LASTS)
    return old.update(
        state="unsure", claim=None, trouble="The program ended while this letter was handed over."
    )


def letter_again(letter: Letter) -> bool:
    """Put a failed or unsure letter back by hand; False when its text is wiped or it is on its way."""
    moved = (
        Letter.objects.filter(pk=letter.pk, state__in=["failed", "unsure"])
        .exclude(text="")
        .update(state="waiting", due_at=timezone.now(), tries=0, trouble="", message_id=uuid.uuid4())
    )
    if moved:
        transaction.on_commit(wake_up)
    return bool(moved)
