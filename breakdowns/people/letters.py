"""What a letter is before it is an e-mail: kinds, when it is due, its header fields and its words.

Nothing here sends or stores; ``people.services.put_letter`` does. Sources: RFC 8058 (one-click unsubscribing),
RFC 2369 (List-Unsubscribe), RFC 5322 (header fields).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta, tzinfo

# What a person may switch off, with the words they see.
KINDS = {
    "answers": "answers to my questions, and to questions like mine",
    "corrections": "corrections of answers that I was given",
    "releases": "new breakdowns",
    "membership": "my membership: when it begins, ends or changes",
}
# What always goes, and at once: without it nobody gets in, or somebody waits who must not.
ALWAYS = {
    "sign_in": "links to sign in",
    "invitation": "invitations",
    "red flag": "where to go now, when a question may not wait",
}
PACES = ("each", "daily", "weekly")
# Minutes until the next try after the 1st, 2nd, … failure; own choice, within what RFC 5321, 4.5.4.1 asks
# (at least half an hour in the long run, given up after days).
BACK_OFF_MINUTES = (2, 10, 30, 120, 360, 1440, 1440)
MOST_SUBJECT = 150  # characters; own choice, below the 998 of RFC 5322, 2.1.1, even when encoded
_BREAKS = re.compile(r"[\x00-\x20\x7f-\xa0\u2028\u2029]+")


@dataclass(frozen=True)
class Part:
    """One piece of news: a subject and its text."""

    kind: str
    subject: str
    text: str


def is_known(kind: str) -> bool:
    return kind in KINDS or kind in ALWAYS


def one_line(subject: str) -> str:
    """A subject that stays one header field: breaks and control characters become one space (RFC 5322, 2.2)."""
    line = _BREAKS.sub(" ", subject).strip()
    line = "".join(sign for sign in line if not 0xD800 <= ord(sign) <= 0xDFFF)
    return line if len(line) <= MOST_SUBJECT else line[: MOST_SUBJECT - 1].rstrip() + "…"


def next_gathering(after: datetime, pace: str, hour: int, weekday: int, zone: tzinfo) -> datetime:
    """The first moment later than ``after`` at which gathered letters go: ``hour`` o'clock on the site's clock,
    each day or on ``weekday`` (0 is Monday). ``each`` means now.
    """
    if pace == "each":
        return after
    here = after.astimezone(zone)
    for ahead in range(9):
        day = here.date() + timedelta(days=ahead)
        if pace == "weekly" and day.weekday() != weekday:
            continue
        moment = datetime.combine(day, time(hour), tzinfo=zone)
        if moment > after:
            return moment
    raise ValueError(f"“{pace}” is no pace; use one of {', '.join(PACES)}.")


def next_try(failed_at: datetime, failures: int) -> datetime | None:
    """When to try again after so many failures; None when it is time to give up."""
    if failures > len(BACK_OFF_MINUTES):
        return None
    return failed_at + timedelta(minutes=BACK_OFF_MINUTES[max(failures, 1) - 1])


def unsubscribe_fields(address: str) -> dict[str, str]:
    """The header fields that let a mail program switch these letters off by one POST (RFC 8058, 3.1).

    They need an HTTPS address; over plain HTTP only List-Unsubscribe is given (RFC 2369, 3.2), which opens a page.
    """
    fields = {"List-Unsubscribe": f"<{address}>"}
    if address.startswith("https://"):
        fields["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    return fields


def gathered_subject(parts: Sequence[Part], house: str) -> str:
    """The subject of one letter or of several in one."""
    if len(parts) == 1:
        return one_line(parts[0].subject)
    return one_line(f"{house}: {len(parts)} things for you")


def gathered_text(parts: Sequence[Part], *, choices: str, switch_off: str) -> str:
    """The body: each piece under its subject, then why it came and how to change that."""
    if len(parts) == 1:
        body = parts[0].text.rstrip()
    else:
        pieces = [
            f"{one_line(part.subject)}\n{'-' * min(len(one_line(part.subject)), 60)}\n{part.text.rstrip()}"
            for part in parts
        ]
        body = "\n\n\n".join(pieces)
    if not switch_off:
        return body + "\n"
    kinds = "; ".join(KINDS[kind] for kind in dict.fromkeys(part.kind for part in parts) if kind in KINDS)
    return (
        f"{body}\n\n--\u0020\nYou get this because you asked to be told about: {kinds}.\n"
        f"Choose what you are told, and how often: {choices}\nSwitch this off: {switch_off}\n"
    )
