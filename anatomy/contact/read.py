"""A free text about a blow, read: where it landed, what lies under it, what to watch for, and what is left open."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from anatomy.contact.at_risk import AtRisk, ordered, structures_under
from anatomy.contact.cautions import cautions_for
from anatomy.contact.entries import Caution
from anatomy.contact.facts import ContactFacts
from anatomy.contact.hits import PlaceHit, place_hits
from anatomy.contact.items import Stretch, stretches_of
from anatomy.contact.lexicon import lexicon_of
from anatomy.contact.loading import packaged_facts
from anatomy.contact.mechanisms import mechanisms_in
from anatomy.contact.mentions import Noticed, mentions_of
from anatomy.contact.placing import Hit, placed
from anatomy.contact.reasoning import steps
from anatomy.contact.unsure import Told, unsure_lines
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.packaged import packaged_vocabulary

__all__ = ["LONGEST_TEXT", "SIDES", "ContactError", "ContactReading", "read_contact"]

SIDES = ("left", "right", "both")
LONGEST_TEXT = 100_000
"""Characters."""
MOST_HITS = 60
"""Places of one text that are answered; a text that names more is not about one contact."""


class ContactError(ValueError):
    """What is wrong with the text or the side, and how to mend it: one sentence."""


@dataclass(frozen=True, slots=True)
class ContactReading:
    """The answer. ``structures`` has the most urgent first; ``carried`` are places that the force may run on to."""

    places: tuple[PlaceHit, ...]
    structures: tuple[AtRisk, ...]
    cautions: tuple[Caution, ...]
    unsure: tuple[str, ...]
    reasoning: tuple[str, ...]
    mechanisms: tuple[str, ...]
    carried: tuple[str, ...]
    facts: ContactFacts

    def as_json(self) -> dict[str, Any]:
        """JSON values, the keys of the command's contract first."""
        return {
            "places": list(dict.fromkeys(hit.name for hit in self.places)),
            "structures": [_structure(row) for row in self.structures],
            "cautions": [caution.line for caution in self.cautions],
            "unsure": list(self.unsure),
            "reasoning": list(self.reasoning),
            "where": [_place(hit, self.facts) for hit in self.places],
            "mechanisms": list(self.mechanisms),
            "carried": list(self.carried),
            "caution_sources": {
                one.key: {"line": one.line, "sources": list(one.sources)} for one in self.cautions
            },
        }


def read_contact(
    text: str,
    side: str | None = None,
    vocabulary: Vocabulary | None = None,
    facts: ContactFacts | None = None,
) -> ContactReading:
    """Reads a text (at most LONGEST_TEXT characters). ``side`` (left, right, both) answers where the text says none.

    Raises ContactError for an empty or over-long text and an unknown side. Linear in the length of the text.
    """
    vocabulary = vocabulary or packaged_vocabulary()
    facts = facts or packaged_facts()
    _check(text, side)
    told, hits = _read(text, facts, vocabulary)
    mechanisms = _mechanisms(text, told, facts)
    hits += _by_mechanism(mechanisms, hits, facts)
    found = place_hits(hits, side, facts)[:MOST_HITS]
    structures, carried = _structures(found, mechanisms, facts, vocabulary)
    keys = [hit.key for hit in found]
    return ContactReading(
        found,
        structures,
        cautions_for(keys, mechanisms, [row.entry for row in structures], facts),
        tuple(unsure_lines(told, hits, found, structures, side, mechanisms, facts)),
        tuple(steps(found, facts, vocabulary)),
        mechanisms,
        carried,
        facts,
    )


def _check(text: str, side: str | None) -> None:
    if not text.strip():
        raise ContactError(
            "The text is empty: say what hit where, as in “elbow into the left side, tenth rib”."
        )
    if len(text) > LONGEST_TEXT:
        raise ContactError(f"The text has {len(text)} characters: {LONGEST_TEXT} is the most, so shorten it.")
    if side is not None and side not in SIDES:
        raise ContactError(f"{side[:40]!r} is no side: write left, right or both.")


def _read(text: str, facts: ContactFacts, vocabulary: Vocabulary) -> tuple[Told, list[Hit]]:
    told = Told()
    hits: dict[tuple[Any, ...], Hit] = {}
    before: list[Hit] = []
    for stretch in stretches_of(text, lexicon_of(facts, vocabulary)):
        noticed = mentions_of(stretch, facts)
        _tell(told, stretch, noticed)
        if noticed.opening_side:
            # "A kidney shot! Right-hand side, that": said of what the sentence before left open.
            for hit in before:
                hit.side = hit.side or noticed.opening_side
        before = placed(noticed.mentions, facts, vocabulary) or before
        for hit in before:
            # A text may say the same a thousand times; it is one place.
            if len(hits) < MOST_HITS:
                hits.setdefault((hit.places, hit.side, hit.levels), hit)
    return told, list(hits.values())


def _tell(told: Told, stretch: Stretch, noticed: Noticed) -> None:
    most = MOST_HITS
    told.viewer = told.viewer or noticed.viewer
    told.force = told.force or stretch.has("force")
    told.taken_back += noticed.taken_back[: most - len(told.taken_back)]
    told.clock += noticed.clock[: most - len(told.clock)]
    told.torn += noticed.torn[: most - len(told.torn)]
    told.mended += noticed.mended[: most - len(told.mended)]
    for mention in noticed.mentions:
        if mention.role == "denied" and len(told.denied) < most:
            told.denied.append(mention.item.text)
        if mention.role == "striker" and len(told.strikers) < most:
            told.strikers.append(mention.item.text)
        if "reading" in mention.item.classes and mention.role == "hit" and len(told.readings) < most:
            told.readings.append((mention.item.text, mention.item.classes["reading"]))


def _mechanisms(text: str, told: Told, facts: ContactFacts) -> tuple[str, ...]:
    found = mechanisms_in(text, facts)
    if told.strikers and "blow" not in found and "blow" in facts.mechanisms:
        found = (*found, "blow")
    return found


def _by_mechanism(mechanisms: Iterable[str], hits: list[Hit], facts: ContactFacts) -> list[Hit]:
    """The place that a mechanism names by itself ("whiplash"), where nothing in its region is named already."""
    found = []
    named = {facts.places[key].region for hit in hits for key in hit.places}
    for key in mechanisms:
        part = facts.mechanisms[key].part
        places = facts.places_for(part, frozenset()) if part else ()
        if places and not any(facts.places[one].region in named for one in places):
            found.append(Hit(places, None, 0, 0))
    return found


def _structures(
    found: tuple[PlaceHit, ...], mechanisms: tuple[str, ...], facts: ContactFacts, vocabulary: Vocabulary
) -> tuple[tuple[AtRisk, ...], tuple[str, ...]]:
    rows: list[AtRisk] = []
    running_on = [key for key in mechanisms if facts.mechanisms[key].carries]
    for hit in found:
        under = _under(hit.key, hit.side, hit.levels, mechanisms, facts, vocabulary)
        rows += [row for row in under if _belongs(row, hit.key, running_on, facts)]
    carried: dict[str, None] = {}
    for key in mechanisms:
        for place in facts.mechanisms[key].carries:
            sides = dict.fromkeys(hit.side for hit in found if _same_limb(hit.key, facts)) or {"either": None}
            for side in sides:
                under = _under(place, side, (), (key,), facts, vocabulary)
                rows += [row for row in under if place in row.places and _carries(row, key, facts)]
            carried[place] = None
    return ordered(rows), tuple(carried)


def _under(
    key: str,
    side: str,
    levels: Collection[str],
    mechanisms: Collection[str],
    facts: ContactFacts,
    vocabulary: Vocabulary,
) -> tuple[AtRisk, ...]:
    known = side if side in SIDES else None
    return structures_under(
        key, known, levels=levels, mechanisms=mechanisms, facts=facts, vocabulary=vocabulary
    )


def _same_limb(key: str, facts: ContactFacts) -> bool:
    return facts.places[key].region in ("arm", "shoulder")


def _belongs(row: AtRisk, key: str, running_on: Collection[str], facts: ContactFacts) -> bool:
    """Of the parts of a larger place, a force that runs on hurts only what the data name it for."""
    whole = any(facts.is_within(key, place) for place in row.places)
    return not running_on or whole or any(_carries(row, one, facts) for one in running_on)


def _carries(row: AtRisk, mechanism: str, facts: ContactFacts) -> bool:
    """Only what the data name this mechanism for is hurt where no blow landed."""
    return any(
        mechanism in risk.mechanisms and risk.of == row.entry and risk.risk == row.risk
        for place in row.places
        for risk in facts.risks_at(place)
    )


def _structure(row: AtRisk) -> dict[str, Any]:
    return {
        "name": row.name,
        "layer": row.layer,
        "side": row.side,
        "why": row.why,
        "watch_for": row.watch_for,
        "urgency": row.urgency,
        "sources": list(row.sources),
        "risk": row.risk,
        "only_if": row.only_if or None,
        "who": row.who or None,
        "places": list(row.places),
        "entry": {"kind": row.kind, "name": row.name if row.kind == "structure" else row.entry},
    }


def _place(hit: PlaceHit, facts: ContactFacts) -> dict[str, Any]:
    place = facts.places[hit.key]
    return {
        "key": hit.key,
        "name": hit.name,
        "side": hit.side,
        "region": place.region,
        "views": list(place.views),
        "vertebrae": list(place.vertebrae),
        "ribs": list(place.ribs),
        "levels_said": list(hit.levels),
        "start": hit.start,
        "end": hit.end,
    }
