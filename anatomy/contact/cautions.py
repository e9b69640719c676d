"""The lines to carry with a reading, each with its sources."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from anatomy.contact.entries import Caution
from anatomy.contact.facts import ROOT, ContactFacts

__all__ = ["cautions_for"]


def cautions_for(
    places: Collection[str], mechanisms: Collection[str], structures: Collection[str], facts: ContactFacts
) -> tuple[Caution, ...]:
    """The cautions that always stand and those of these places (all within or around them), mechanisms and structures."""
    met = {"mechanisms": frozenset(mechanisms), "structures": frozenset(structures)}
    return tuple(one for one in facts.cautions if _applies(one, places, met, facts))


def _applies(
    caution: Caution, places: Collection[str], met: Mapping[str, frozenset[str]], facts: ContactFacts
) -> bool:
    if caution.when == "always":
        return True
    if caution.when in met:
        return not met[caution.when].isdisjoint(caution.values)
    return any(
        facts.is_within(key, value) or (key != ROOT and facts.is_within(value, key))
        for key in places
        for value in caution.values
    )
