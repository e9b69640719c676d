"""Reading what a page sent as JSON, which anybody may have written. One sentence for every fault. RFC 8259."""

from __future__ import annotations

import json
from typing import Any

__all__ = ["SentError", "read_sent"]

_MOST_DIGITS = 40


class SentError(ValueError):
    """What is wrong with the text and how to mend it: one sentence. ``status`` is the fitting HTTP status."""

    def __init__(self, sentence: str, status: int = 400) -> None:
        super().__init__(sentence)
        self.status = status


def _no_constant(name: str) -> Any:
    raise SentError(f"{name} is no JSON number: write a finite one.")


def _number(text: str) -> float | int:
    if len(text) > _MOST_DIGITS:
        raise SentError(f"The number {text[:12]}… has too many digits: write at most {_MOST_DIGITS}.")
    return float(text) if set(text) & set(".eE") else int(text)


def read_sent(raw: bytes, most_bytes: int) -> dict[str, Any]:
    """The JSON object in ``raw``. Raises SentError, never anything else.

    Refused: more than ``most_bytes``, text that is no UTF-8, halves of surrogate pairs and U+0000, which no
    database keeps, and anything that is no object.
    """
    if len(raw) > most_bytes:
        raise SentError(
            f"The marks take {len(raw)} bytes, at most {most_bytes} are kept: delete some marks, "
            "or draw long freehand lines anew.",
            413,
        )
    try:
        text = raw.decode("utf-8")
        found = json.loads(text, parse_constant=_no_constant, parse_int=_number, parse_float=_number)
        written = json.dumps(found, ensure_ascii=False)
        written.encode("utf-8")
    except SentError:
        raise
    except UnicodeError:
        raise SentError("The text is not UTF-8: load the page again and send it once more.") from None
    except RecursionError:
        raise SentError("The JSON is nested too deeply: send one document of marks.") from None
    except json.JSONDecodeError as fault:
        where = f"line {fault.lineno}, column {fault.colno}"
        raise SentError(f"The text is not JSON at {where} ({fault.msg}): mend it there.") from None
    if not isinstance(found, dict):
        raise SentError("The text is no JSON object: send one with the marks in it.")
    if "\\u0000" in written:
        raise SentError("The text holds the character U+0000: take it out.")
    return found
