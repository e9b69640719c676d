"""Places told by the hours of a clock face laid on a part of the body: "at two o'clock of the navel, as you look at her".

The examiner's view is taken, as in the notes on a breast or a belly (common practice, no source): twelve is towards the
head, and on the front of the body three is on the person's own left. Seen from behind it is on the right.
"""

from __future__ import annotations

from collections.abc import Collection

from anatomy.claims.numbers_said import UNITS
from anatomy.claims.tokens import Token

__all__ = ["clock_at", "height_of_hour", "side_of_hour"]

HOURS = 12
OF_THE_DAY = frozenset(
    {"pm", "am", "noon", "morning", "afternoon", "evening", "yesterday", "today", "sharp", "tonight"}
)
OTHER = {"left": "right", "right": "left"}


def clock_at(tokens: list[Token], place: int) -> tuple[int, int] | None:
    """How many tokens "two o'clock" takes from here and its hour; None for anything else and for a time of day."""
    token = tokens[place]
    hour = int(token.text) if token.sort == "number" and token.text.isdigit() and len(token.text) < 3 else 0
    hour = hour or UNITS.get(token.text, 0)
    if not 1 <= hour <= HOURS:
        return None
    following = [one.text for one in tokens[place + 1 : place + 6]]
    if following[:1] == ["o'clock"] or following[:1] == ["oclock"]:
        used = 2
    elif following[:2] == ["o", "clock"]:
        used = 3
    else:
        return None
    if used - 1 < len(following) and following[used - 1] == "position":
        used += 1
    return None if OF_THE_DAY & set(following[used - 1 :]) else (used, hour)


def height_of_hour(hour: int) -> str:
    """The aspect that an hour means: upper, lower, or nothing at three and nine."""
    if hour in (10, 11, 12, 1, 2):
        return "upper"
    return "lower" if hour in (4, 5, 6, 7, 8) else ""


def side_of_hour(hour: int, views: Collection[str], *, own_eyes: bool = False) -> str:
    """The body's own side of an hour: on the front as an examiner sees it, on the back from behind; empty at six and twelve."""
    if hour in (6, 12):
        return ""
    seen = "right" if hour < 6 else "left"
    from_front = "back" not in views or "front" in views
    return OTHER[seen] if from_front != own_eyes else seen
