"""Which way the diaphragm moves with the breath.

It contracts and descends to draw air in, and rises as it relaxes (OpenStax *Anatomy & Physiology* 2e, ch. 22, The
Process of Breathing; the entry of the diaphragm in the vocabulary carries the sources).
"""

from __future__ import annotations

from anatomy.claims.claim import Finding
from anatomy.claims.reading import Reading

WITH_BREATH = {("ASCENDS", "EXHALED"), ("DESCENDS", "INHALED")}


def claim_breathing(reading: Reading) -> None:
    """Adds what the sentence says of the diaphragm's way in breathing."""
    if not reading.has("ASCENDS", "DESCENDS") or not reading.has("INHALED", "EXHALED"):
        return
    items = reading.items
    named = [k for k, item in enumerate(items) if item.c.get("MUS") == "diaphragm"]
    ways = [k for k, item in enumerate(items) if item.is_("ASCENDS", "DESCENDS")]
    breaths = [k for k, item in enumerate(items) if item.is_("INHALED", "EXHALED")]
    if not named or any(item.is_("NEG") for item in items):
        return
    way = min(ways, key=lambda k: abs(k - named[0]))
    breath = min(breaths, key=lambda k: abs(k - way))
    said = (
        "ASCENDS" if items[way].is_("ASCENDS") else "DESCENDS",
        "INHALED" if items[breath].is_("INHALED") else "EXHALED",
    )
    places = sorted((named[0], way, breath))
    sources = tuple(key for a in reading.acting.vocabulary.actions_of("diaphragm")[:1] for key in a.sources)
    terms = (("muscle", "diaphragm"),)
    if said in WITH_BREATH:
        finding = Finding(
            "right", "The diaphragm descends to draw air in and rises as it is let out.", "", sources, terms
        )
    else:
        instead = "drops" if said[1] == "INHALED" else "rises"
        when = "when you breathe in" if said[1] == "INHALED" else "when you breathe out"
        why = "The diaphragm contracts and descends to draw air in, and rises as it relaxes."
        finding = Finding("wrong", why, f"The diaphragm {instead} {when}.", sources, terms)
    reading.add("muscle_action", places[0], places[-1] + 1, finding)
