"""What a payment service may say about a membership, read strictly. The format is told in DEVELOPERS.md.

Each event carries the whole state of one membership and when it became so. So events may come twice, late or in
any order: the latest one that has happened counts, and nothing has to be undone.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from anatomy.strict_json import NotJson, read_json, short

STATES = {
    "running": "running",
    "cancelled": "cancelled",
    "taken back": "taken back",
}
AHEAD = timedelta(minutes=5)  # own choice: as far as the sender's clock may be ahead
_FIELDS = {
    "event", "at", "membership", "state", "starts_on", "ends_on", "email", "name", "gift_from", "gift_message", "gift",
    "invite",
}  # fmt: skip
_NAME = re.compile(r"[A-Za-z0-9._:-]{1,100}")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")


class BadEvent(ValueError):
    """What is wrong with an event, where, and how to mend it: one sentence."""


@dataclass(frozen=True)
class Event:
    """The whole state of one membership from ``at`` on; ``ends_on`` None has no end. Days are inclusive."""

    event: str
    at: datetime
    membership: str
    state: str
    starts_on: date
    ends_on: date | None
    email: str
    name: str = ""
    gift: bool = False
    gift_from: str = ""
    gift_message: str = ""
    invite: bool = True

    @property
    def order(self) -> tuple[datetime, str]:
        """What a later state is greater in; two of one moment are told apart by their names."""
        return self.at, self.event

    @property
    def digest(self) -> str:
        """The same for the same content, however it was spaced: 64 hexadecimal digits."""
        content = {name: str(value) for name, value in vars(self).items()}
        return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()

    def last_day(self, zone: tzinfo) -> date | None:
        """The last day that is paid: what is cancelled without an end ends with the day of cancelling."""
        if self.ends_on is None and self.state == "cancelled":
            return max(self.at.astimezone(zone).date(), self.starts_on)
        return self.ends_on


def read_event(text: str, *, now: datetime, is_address: Callable[[str], bool]) -> Event:
    """The event in a JSON text. Raises BadEvent."""
    try:
        found = read_json(text)
    except NotJson as fault:
        raise BadEvent(str(fault)) from None
    if not isinstance(found, dict):
        raise BadEvent("The body is no JSON object: send one event as an object.")
    if strange := sorted(set(found) - _FIELDS):
        raise BadEvent(f"{short(strange[0])} is no field of an event; use {', '.join(sorted(_FIELDS))}.")
    state = _text(found, "state", 20)
    if state not in STATES:
        raise BadEvent(f"state is {short(state)}; use one of {', '.join(STATES)}.")
    email = _text(found, "email", 254).strip().lower()
    if not is_address(email):
        raise BadEvent(f"email is {short(email)}, which is no e-mail address; send the member's.")
    event = Event(
        _key(found, "event"), _moment(found, now), _key(found, "membership"), state,
        _day(found, "starts_on"), _day(found, "ends_on") if found.get("ends_on") is not None else None,
        email, _text(found, "name", 120, ""), _yes(found, "gift", bool(found.get("gift_from"))),
        _text(found, "gift_from", 120, ""), _text(found, "gift_message", 1000, ""), _yes(found, "invite", True),
    )  # fmt: skip
    if event.ends_on is not None and event.ends_on < event.starts_on:
        raise BadEvent("ends_on lies before starts_on; send both days inclusive, the first one first.")
    return event


def _given(found: dict[str, Any], name: str) -> Any:
    if found.get(name) is None:
        raise BadEvent(f"{name} is missing; send it with every event.")
    return found[name]


def _text(found: dict[str, Any], name: str, most: int, default: str | None = None) -> str:
    value = found.get(name)
    value = default if value is None and default is not None else _given(found, name)
    if not isinstance(value, str):
        raise BadEvent(f"{name} is {short(value)}; send a text.")
    if len(value) > most:
        raise BadEvent(f"{name} is {len(value)} characters long; send {most} at most.")
    breaks = "\n\r\t" if name == "gift_message" else ""
    if any((sign < " " and sign not in breaks) or 0xD800 <= ord(sign) <= 0xDFFF for sign in value):
        raise BadEvent(f"{name} holds a control sign or half a character; send plain text.")
    return value


def _key(found: dict[str, Any], name: str) -> str:
    value = _text(found, name, 100)
    if not _NAME.fullmatch(value):
        raise BadEvent(f"{name} is {short(value)}; use letters, digits and . _ : - only, 1 to 100 of them.")
    return value


def _yes(found: dict[str, Any], name: str, default: bool) -> bool:
    value = found.get(name)
    if value is None:
        return default
    if not isinstance(value, bool):
        raise BadEvent(f"{name} is {short(value)}; send true or false.")
    return value


def _day(found: dict[str, Any], name: str) -> date:
    value = _text(found, name, 10)
    try:
        if _DAY.fullmatch(value):
            return date.fromisoformat(value)
    except ValueError:
        pass
    raise BadEvent(f"{name} is {short(value)}; send a day of the calendar as YYYY-MM-DD.")


def _moment(found: dict[str, Any], now: datetime) -> datetime:
    value = _text(found, "at", 40)
    try:
        moment = datetime.fromisoformat(value)
        if moment.utcoffset() is None:
            raise ValueError
        moment.astimezone(now.tzinfo)
    except (ValueError, OverflowError):
        raise BadEvent(
            f"at is {short(value)}; send a moment with its offset, as 2026-03-01T08:00:00Z."
        ) from None
    if moment > now + AHEAD:
        raise BadEvent(f"at is {short(value)}, which is still to come; send when it happened.")
    return moment
