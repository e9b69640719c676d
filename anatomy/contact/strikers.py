"""Which parts of the body did the hitting: "elbow into the ribs", "his knee caught her thigh", "took a knee in the back"."""

from __future__ import annotations

from anatomy.contact.items import Item

__all__ = ["is_anothers", "is_hit_on", "is_striker", "is_struck"]

REACH = 8
"""Items between what hits and what is hit."""
LEADING = ("determiner", "side", "aspect", "level", "of")


def is_striker(items: list[Item], at: int, following: int | None, others: bool) -> bool:
    """Whether the part at an item hits. ``following``: where the next part stands; ``others``: whether there are any."""
    before = _before(items, at)
    if others and is_anothers(items, at) and _stepped_on(items, at):
        return True
    for governing in (before, _before(items, at, "opponent")):
        if governing is not None and governing.is_("place", "relation") and not governing.is_("agent"):
            return False
    if before is not None and before.is_("agent"):
        # "Slammed into the boards with the shoulder": with no other part named, it is the one that was hit.
        return others or before.text != "with"
    if before is not None and before.is_("got") and _article(items, at):
        return True
    if is_anothers(items, at) and others:
        return True
    return following is not None and following - at <= REACH and _leads_to(items, at, following)


def is_anothers(items: list[Item], at: int) -> bool:
    """Whether the part is said to be another person's: "the keeper's elbow"."""
    before = _before(items, at)
    return before is not None and (before.is_("opponent") or before.text.endswith(("'s", "s'")))


def _stepped_on(items: list[Item], at: int) -> bool:
    """ "Trod on an opponent's foot": the other's part turned the ankle, and is not what was hurt."""
    for place in range(at - 1, max(0, at - 1 - REACH), -1):
        if items[place].is_("place"):
            return items[place].text in ("on", "onto", "over") and items[place - 1].is_("stepping")
    return False


def is_struck(items: list[Item], at: int) -> bool:
    """Whether the part is plainly what was hit: "hit his head on …", "the elbow was hit"."""
    if _is_own(items, at):
        return True
    after = items[at + 1 : at + 4]
    return bool(after) and after[0].is_("passive") and any(item.is_("strike") for item in after[1:])


def is_hit_on(items: list[Item], at: int, following: int) -> bool:
    """Whether a person's own part was hit on the next one: "hit his head on her elbow"."""
    return _is_own(items, at) and following - at <= REACH and _leads_to(items, at, following)


def _is_own(items: list[Item], at: int) -> bool:
    if not at or not items[at - 1].is_("possessive") or items[at - 1].text == "the":
        return False
    before = _before(items, at)
    return before is not None and before.is_("strike") and not before.is_("got")


def _before(items: list[Item], at: int, *passed: str) -> Item | None:
    """What governs the noun phrase that ends at an item; classes in ``passed`` count as part of it."""
    for place in range(at - 1, max(-1, at - 1 - REACH), -1):
        if not items[place].is_(*LEADING, *passed) or items[place].is_("agent", "place"):
            return items[place]
    return None


def _article(items: list[Item], at: int) -> bool:
    """Whether the noun phrase begins with "a", "an", "the" or an opponent."""
    for place in range(at - 1, max(-1, at - 4), -1):
        if items[place].text in ("a", "an", "the"):
            return True
        if not items[place].is_("side", "determiner"):
            return False
    return False


def _between_sides(items: list[Item], at: int) -> bool:
    """ "Into the left and the right ribs": joins two sides, not two parts."""
    after = [item for item in items[at + 1 : at + 3] if item.is_("side") or not item.is_("determiner")]
    return bool(at and after) and items[at - 1].is_("side") and after[0].is_("side")


def _leads_to(items: list[Item], at: int, following: int) -> bool:
    """Whether a preposition or a verb of striking leads from one part to the next, no comma between."""
    between = items[at + 1 : following]
    while between and between[0].is_("leading") and not between[0].is_("place", "relation", "mark"):
        # "An elbow up around the neck".
        between = between[1:]
    parting = [
        place
        for place, item in enumerate(between)
        if item.is_("mark", "and") and not _between_sides(between, place)
    ]
    if parting or not between:
        return False
    if between[0].is_("of"):
        return False
    if between[0].is_("passive") and not between[0].is_("strike"):
        return False
    return between[0].is_("place", "relation") or any(item.is_("strike") for item in between[:3])
