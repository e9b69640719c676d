"""Words that name a part in one place and say where on a part in another: "side", "back", "behind"."""

from __future__ import annotations

from dataclasses import replace

from anatomy.contact.items import Item

__all__ = ["as_noun_or_attribute"]

NOTHING = ("nothing", "view", "facing", "own eyes")
STROKES = frozenset(
    {
        "hook",
        "jab",
        "cross",
        "uppercut",
        "swing",
        "haymaker",
        "roundhouse",
        "straight",
        "punch",
        "kick",
        "hander",
    }
)
"""What is struck with a left or a right and may land on either side."""
MEETING_REACH = 6
"""Items between "where" and "meets"."""


def as_noun_or_attribute(items: list[Item]) -> list[Item]:
    """The items with every "side", "back" and "behind" settled, and set phrases that name no part emptied."""
    settled = _meetings(items)
    for at, item in enumerate(list(settled)):
        if item.is_(*NOTHING):
            settled[at] = replace(item, classes={})
        elif item.is_("sideword"):
            settled[at] = _side(settled, at)
        elif item.text == "back":
            settled[at] = item if _is_named(settled, at) else replace(item, classes={})
        elif item.is_("part") and item.is_("relation", "aspect"):
            settled[at] = _either(settled, at)
        elif item.is_("side") and _is_no_side(settled, at):
            settled[at] = replace(item, classes={"determiner": ""})
    return settled


def _meetings(items: list[Item]) -> list[Item]:
    """ "Where the neck meets the shoulder" is between the two."""
    settled = list(items)
    for at, item in enumerate(items):
        if item.text != "where":
            continue
        for place in range(at + 1, min(len(items), at + 1 + MEETING_REACH)):
            if items[place].is_("meeting"):
                settled[at] = replace(item, classes={"relation": "between"})
                settled[place] = replace(items[place], classes={"and": ""})
                break
    return settled


def _before(items: list[Item], at: int) -> Item | None:
    return items[at - 1] if at else None


def _after(items: list[Item], at: int) -> Item | None:
    return items[at + 1] if at + 1 < len(items) else None


def _preposition(items: list[Item], at: int) -> Item | None:
    """What stands before the noun phrase that ends at an item."""
    for place in range(at - 1, max(-1, at - 6), -1):
        if not items[place].is_("determiner", "side", "aspect"):
            return items[place]
    return None


def _side(items: list[Item], at: int) -> Item:
    """ "inner side of", "on the left side", "into the left side", "the side of the head"."""
    item, before, after = items[at], _before(items, at), _after(items, at)
    sided = before is not None and before.is_("side")
    if before is not None and (before.is_noun or (before.is_("aspect") and not sided)):
        return replace(item, classes={})
    if after is not None and after.is_("of"):
        return replace(item, classes={"determiner": ""} if sided else {"aspect": "side"})
    preposition = _preposition(items, at)
    on = preposition is not None and preposition.text in ("on", "at", "to", "from")
    if on and not sided:
        return replace(item, classes={"aspect": "side"})
    # "temple, right side": only after "into", "to" or a verb of striking is the side of the body itself a place.
    aimed = preposition is not None and preposition.is_("place", "strike") and preposition.text != "on"
    weak = {} if aimed or not sided else {"weak": ""}
    return replace(item, classes={"part": "trunk side"} | weak)


def _is_named(items: list[Item], at: int) -> bool:
    """Whether "back" is the part: "his back", "the left back" after a preposition; not "came back", not the player."""
    before = _before(items, at)
    if before is None:
        return False
    if before.is_("side"):
        preposition = _preposition(items, at)
        return preposition is not None and preposition.is_("place", "relation")
    return before.is_("possessive", "aspect", "place")


def _either(items: list[Item], at: int) -> Item:
    """ "his behind" is a part, "behind the ear" says where."""
    item, before, after = items[at], _before(items, at), _after(items, at)
    leads_on = after is not None and (after.is_("determiner", "of", "side") or after.is_noun)
    if before is not None and before.is_("possessive") and not leads_on:
        return replace(item, classes={"part": item.classes["part"]})
    return replace(item, classes={key: value for key, value in item.classes.items() if key != "part"})


def _is_no_side(items: list[Item], at: int) -> bool:
    """ "right in the face", "just right above": an adverb; "he left the court": a verb; "a left hook": the hitter's hand."""
    item, before, after = items[at], _before(items, at), _after(items, at)
    if after is not None and after.text in STROKES:
        return before is None or before.is_("determiner", "possessive", "mark")
    if item.text == "right":
        leads_on = (
            after is not None
            and after.is_("place", "relation")
            and after.text not in ("to", "at", "on")
            and not after.is_("spelt")
        )
        adverb = (
            after is not None
            and after.text in ("to", "at", "on")
            and (before is None or before.is_("strike"))
        )
        return (leads_on or adverb) and not (before is not None and before.is_("possessive", "place"))
    if item.text == "left":
        verb = before is not None and before.text in (
            "he",
            "she",
            "they",
            "who",
            "it",
            "was",
            "were",
            "has",
            "had",
        )
        return verb and not (after is not None and (after.is_noun or after.is_("sideword")))
    return False
