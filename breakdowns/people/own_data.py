"""Who holds something of a person: each stage says here how to hand it over and how to wipe it.

A stage registers in its ``AppConfig.ready``::

    holds_own_data("questions", export=questions_of, erase=questions_wipe)

``export(user)`` gives what JSON can carry (dicts, lists, texts, numbers, None; dates as ISO 8601 texts), complete
and readable: the person gets it. ``erase(user)`` runs inside one transaction with all the others, the last one
registered first, so that what points to an earlier stage goes before what it points to. ``stays`` is one
sentence for the person about what is kept and why, or empty.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

__all__ = ["Holder", "erase_all", "export_all", "holders", "holds_own_data"]


@dataclass(frozen=True)
class Holder:
    """One stage's say about what it holds of a person."""

    name: str
    export: Callable[[Any], object]
    erase: Callable[[Any], None]
    stays: str = ""


_HOLDERS: dict[str, Holder] = {}


def holds_own_data(
    name: str, export: Callable[[Any], object], erase: Callable[[Any], None], *, stays: str = ""
) -> None:
    """Register what a stage holds of its people, under a name that heads its part of the download.

    The same name registered again takes the place of the first (apps are made ready twice in some tests).
    """
    _HOLDERS[name] = Holder(name, export, erase, stays)


def holders() -> tuple[Holder, ...]:
    """All that is registered, in the order of registering."""
    return tuple(_HOLDERS.values())


def export_all(user: Any) -> dict[str, object]:
    """Everything that is held of a person, by the name of who holds it."""
    return {holder.name: holder.export(user) for holder in holders()}


def erase_all(user: Any) -> None:
    """Wipe everything that is held of a person. Call it inside one transaction."""
    for holder in reversed(holders()):
        holder.erase(user)
