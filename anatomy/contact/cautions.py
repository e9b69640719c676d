"""The lines to carry with a reading, each with its sources."""

from __future__ import annotations

from collections.abc import Collection

from anatomy.contact.entries import Caution
from anatomy.contact.facts import ROOT, ContactFacts

__all__ = ["cautions_for"]


def cautions_for(
    places: Collection[str], mechanisms: Collection[str], facts: ContactFacts
) -> tuple[Caution, ...]:
    """The cautions that always stand and those of these places (with all within or around them) and mechanisms."""
    return tuple(one for one in facts.cautions if _applies(one, places, mechanisms, facts))


def _applies(
    caution: Caution, places: Collection[str], mechanisms: Collection[str], facts: ContactFacts
) -> bool:
    if caution.when == "always":
        return True
    if caution.when == "mechanisms":
        return bool(set(caution.values) & set(mechanisms))
    return any(
        facts.is_within(key, value) or (key != ROOT and facts.is_within(value, key))
        for key in places
        for value in caution.values
    )
