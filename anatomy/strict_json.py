"""JSON that anybody may have written, read strictly: one sentence for every fault. Grammar: RFC 8259.

Refused is what JSON itself does not allow (NaN, Infinity), what it leaves open (the same key twice) and what could choke
the reader (endless digits, endless nesting).
"""

from __future__ import annotations

import json
from typing import Any

__all__ = ["NotJson", "read_json", "short"]

_LONGEST_SHOWN = 60


class NotJson(ValueError):
    """What is wrong with the text, where, and how to mend it: one sentence."""


def read_json(text: str) -> Any:
    """The document in a text. Raises NotJson, never anything else."""
    try:
        whole = text.removeprefix("\ufeff")  # section 8.1: a reader may pass over a byte order mark
        return json.loads(whole, parse_constant=_no_constant, object_pairs_hook=_without_doubles)
    except NotJson:
        raise
    except RecursionError:
        raise NotJson("The JSON is nested too deeply: give one object as the contract shows.") from None
    except json.JSONDecodeError as fault:
        where = f"line {fault.lineno}, column {fault.colno}"
        raise NotJson(f"The text is not JSON at {where} ({fault.msg}): mend it there.") from None
    except ValueError:
        raise NotJson("The JSON holds a number with too many digits: write it shorter.") from None


def short(value: Any) -> str:
    """A value as JSON for a message, cut where it is long."""
    try:
        text = json.dumps(value, ensure_ascii=True)
    except (RecursionError, ValueError):
        text = "that"
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "…"


def _no_constant(name: str) -> None:
    raise NotJson(f"{name} is no JSON number: leave it out, or write null.")


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise NotJson(f"The key {short(twice)} stands twice in one object: take one of the two out.")
    return found
