"""Items to mentions: the parts of the body that a stretch names, each with what is said of it and whether it was hit."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

from anatomy.contact.clock import height_of_hour, side_of_hour
from anatomy.contact.facts import ContactFacts
from anatomy.contact.items import Item, Stretch
from anatomy.contact.sidewords import as_noun_or_attribute
from anatomy.contact.strikers import is_anothers, is_hit_on, is_striker, is_struck
from anatomy.contact.taken_back import corrected, denied

__all__ = ["Mention", "Noticed", "mentions_of"]

Role = Literal["hit", "striker", "both", "denied", "height"]
TWOFOLD = {"cheek": "buttock"}
"""What a part belongs to where that is named beside it: "the cheek of the bum"."""


@dataclass(slots=True)
class Mention:
    """A part of the body, or a level of the trunk, in the order of the text.

    ``at`` is its place among the items; ``weak`` is a side of the body that is a place only where no other is named.
    """

    item: Item
    at: int
    aspects: set[str] = field(default_factory=set)
    sides: set[str] = field(default_factory=set)
    role: Role = "hit"
    weak: bool = False
    joined: bool = False
    hour: int = 0
    said: list[tuple[int, str]] = field(default_factory=list)

    @property
    def part(self) -> str:
        """The part's name in parts.csv; empty for a level or a name of the vocabulary."""
        return self.item.classes.get("part", "")


@dataclass(slots=True)
class Noticed:
    """What reading one stretch gave: the mentions and what was taken back, denied or mended.

    ``opening_side``: a side that opens it and belongs to nothing in it; ``clock`` parts told by a clock face; ``torn``
    parts of which one phrase says left and right.
    """

    mentions: list[Mention] = field(default_factory=list)
    taken_back: list[tuple[str, str]] = field(default_factory=list)
    mended: list[tuple[str, str]] = field(default_factory=list)
    viewer: bool = False
    spoken: bool = False
    opening_side: str = ""
    clock: list[str] = field(default_factory=list)
    torn: list[str] = field(default_factory=list)


def mentions_of(stretch: Stretch, facts: ContactFacts) -> Noticed:
    """The mentions of a stretch. Each item is looked at a bounded number of times."""
    noticed = Noticed(viewer=stretch.has("view"), spoken=stretch.has("strike"))
    items = as_noun_or_attribute(corrected(stretch.items, noticed.taken_back))
    noticed.mended = [(item.mended, item.text) for item in items if item.mended and item.is_noun]
    noticed.opening_side = _opening_side(items)
    away = denied(items)
    mentions, left_over = _gathered(items, facts)
    mentions = _without_twofold(mentions)
    for mention in mentions:
        if mention.at in away:
            mention.role = "denied"
    _say_roles(items, mentions)
    noticed.torn = _torn(items, mentions, left_over)
    _say_heights(mentions)
    noticed.mentions = _with_ellipsis(mentions, [one for one in left_over if one[0] not in away])
    for mention in noticed.mentions:
        _read_hour(mention, facts, own_eyes=stretch.has("own eyes"))
        if mention.hour:
            noticed.clock.append(mention.item.text)
    return noticed


def _opening_side(items: list[Item]) -> str:
    """The side of "Right-hand side, …" and "On the left."; empty where it is said of a part."""
    said = [item for item in items if not item.is_("determiner", "place") or item.is_("side", "mark")]
    rest = said[1:] if said and said[0].is_("side") else None
    if rest is None:
        return ""
    if rest and (rest[0].text in ("side", "sides") or rest[0].classes.get("part") == "trunk side"):
        rest = rest[1:]
    return said[0].classes["side"] if not rest or rest[0].is_("mark") else ""


def _without_twofold(mentions: list[Mention]) -> list[Mention]:
    """ "Butt cheek": the cheek of what it is named with, and no second place."""
    kept: list[Mention] = []
    for place, mention in enumerate(mentions):
        whole = TWOFOLD.get(mention.part)
        near = mentions[max(0, place - 1) : place] + mentions[place + 1 : place + 2]
        owner = next((one for one in near if one.part == whole), None)
        if owner is not None:
            owner.sides |= mention.sides if not owner.sides else set()
            continue
        kept.append(mention)
    return kept


def _torn(items: list[Item], mentions: list[Mention], left_over: list[tuple[int, Item]]) -> list[str]:
    """The parts of which one sentence says left and right with nothing that joins the two; both sides are kept."""
    hit = [one for one in mentions if one.role in ("hit", "both")]
    on = [(at, one.classes["side"]) for at, one in left_over if one.is_("side") and _is_on(items, at)]
    found = []
    for mention in [one for one in hit if not one.weak] or hit:
        others = [one for one in hit if one.weak and one is not mention and not mention.weak]
        nearest = [one for one in others if min(hit, key=lambda h: (h.weak, abs(h.at - one.at))) is mention]
        said = sorted(
            mention.said
            + [pair for one in nearest for pair in one.said]
            + (on if sum(not one.weak for one in hit) == 1 else [])
        )
        if any(
            not _joined(items, a, b)
            for (a, one), (b, two) in pairwise(said)
            if {one, two} == {"left", "right"}
        ):
            mention.sides |= {side for _, side in said}
            found.append(mention.item.text)
    return found


def _is_on(items: list[Item], at: int) -> bool:
    before = [one for one in items[max(0, at - 2) : at] if not one.is_("determiner")]
    return bool(before) and before[-1].text == "on"


def _joined(items: list[Item], first: int, second: int) -> bool:
    return any(item.is_("and", "contrast") for item in items[first:second])


def _say_heights(mentions: list[Mention]) -> None:
    """ "In the left side at the height of the navel": the navel says how high, where another part says where."""
    others = [one for one in mentions if one.role in ("hit", "both") and "height" not in one.aspects]
    for mention in mentions:
        if mention.role == "hit" and "height" in mention.aspects and others:
            mention.role = "height"
            for one in others:
                one.sides |= mention.sides if not one.sides else set()


def _read_hour(mention: Mention, facts: ContactFacts, *, own_eyes: bool) -> None:
    """The hour of a clock face as height and side; on a limb the side becomes inner or outer."""
    places = (
        [facts.places[key] for key in facts.places_for(mention.part, frozenset())] if mention.part else []
    )
    if not mention.hour or not places:
        return
    mention.aspects.add(height_of_hour(mention.hour))
    side = side_of_hour(mention.hour, places[0].views[:1], own_eyes=own_eyes)
    if not side:
        return
    if all(place.parity == "paired" for place in places):
        if len(mention.sides) == 1:
            mention.aspects.add("outer" if side in mention.sides else "inner")
    else:
        mention.aspects.add("side")
        mention.sides = {side}


def _gathered(items: list[Item], facts: ContactFacts) -> tuple[list[Mention], list[tuple[int, Item]]]:
    """The mentions with their attributes, and the attributes that belong to none."""
    mentions: list[Mention] = []
    run: list[tuple[int, Item]] = []
    left_over: list[tuple[int, Item]] = []
    joined = False
    for at, item in enumerate(items):
        if item.is_noun:
            mention = Mention(item, at, weak=item.is_("weak"), joined=joined)
            _attach(mention, run, items, facts, ahead=True)
            mentions.append(mention)
            run, joined = [], False
        elif item.is_attribute:
            run.append((at, item))
        elif item.text == "it" and mentions and any(one.is_("relation") for _, one in run):
            # "The outside of the knee, just below it": said of the part before.
            _attach(mentions[-1], run, items, facts, ahead=True)
            run = []
        elif item.is_("and") and run and _pairs_up(items, at, run[-1][1], bool(mentions)):
            continue
        elif not item.is_("determiner", "of", "distance") and not _leads_on(run, item):
            left_over += _flushed(mentions, run, items, facts)
            run = []
            joined = joined or item.is_("and")
    left_over += _flushed(mentions, run, items, facts)
    return _between(mentions, items, facts), left_over


def _pairs_up(items: list[Item], at: int, before: Item, named: bool) -> bool:
    """ "Above and behind the ear", "the left and the right knee": both are said of the part that follows."""
    after = at + 1
    while after < len(items) and not named and items[after].is_("possessive"):
        after += 1
    return after < len(items) and any(
        items[after].is_(name) and before.is_(name) for name in ("side", "relation", "aspect")
    )


def _between(mentions: list[Mention], items: list[Item], facts: ContactFacts) -> list[Mention]:
    """ "Between the last rib and the hip bone" is one place where parts.csv has the pair ("to hip bone")."""
    kept: list[Mention] = []
    for mention in mentions:
        before = kept[-1] if kept else None
        pair = f"to {mention.part}"
        if (
            before is not None
            and "between" in before.aspects
            and mention.joined
            and facts.uses(before.part, pair)
        ):
            before.aspects.add(pair)
            before.sides |= mention.sides
        else:
            kept.append(mention)
    return kept


def _leads_on(run: list[tuple[int, Item]], item: Item) -> bool:
    """ "low in the belly", "two o'clock from the navel": how high says more about the part that follows."""
    if not run:
        return False
    if run[-1][1].is_("clock"):
        return item.is_("place") or item.text == "from"
    return item.is_("place") and run[-1][1].classes.get("aspect") in ("upper", "lower")


def _flushed(
    mentions: list[Mention], run: list[tuple[int, Item]], items: list[Item], facts: ContactFacts
) -> list[tuple[int, Item]]:
    """Attributes that stand behind their noun go to it; a relation without a noun says nothing."""
    said = [one for one in run if one[1].is_("side", "aspect", "clock")]
    if mentions and not _parted(items, mentions[-1], said):
        _attach(mentions[-1], said, items, facts, ahead=False)
        return []
    return said


def _parted(items: list[Item], mention: Mention, said: list[tuple[int, Item]]) -> bool:
    """ "not the left knee but the right": what follows "but" is said of another."""
    return any(item.is_("contrast") for at, _ in said[:1] for item in items[mention.at : at])


def _attach(
    mention: Mention, run: list[tuple[int, Item]], items: list[Item], facts: ContactFacts, *, ahead: bool
) -> None:
    for at, item in run:
        if item.is_("clock"):
            # "From two o'clock" is where it came from and no place.
            mention.hour = 0 if at and items[at - 1].text == "from" else int(item.classes["clock"])
        elif item.is_("height"):
            mention.aspects.add("height")
        elif item.is_("side"):
            mention.sides.add(item.classes["side"])
            mention.said.append((at, item.classes["side"]))
            # "left of the spine" lies beside it; "the left spine" would be the spine.
            if (
                ahead
                and at + 1 < len(items)
                and items[at + 1].is_("of")
                and facts.uses(mention.part, "beside")
            ):
                mention.aspects.add("beside")
        elif ahead and item.is_("relation"):
            relation = item.classes["relation"]
            mention.aspects.add(
                relation if not item.is_("aspect") or facts.uses(mention.part, relation) else "back"
            )
        else:
            mention.aspects.add(_aspect(item.classes.get("aspect", ""), mention, facts))


def _aspect(aspect: str, mention: Mention, facts: ContactFacts) -> str:
    """ "Lateral" is the outer side of a limb and the side of the trunk."""
    of_trunk = mention.item.is_("level") or (
        facts.uses(mention.part, "side") and not facts.uses(mention.part, "outer")
    )
    return "side" if aspect == "outer" and of_trunk else aspect


def _say_roles(items: list[Item], mentions: list[Mention]) -> None:
    places = [mention.at for mention in mentions if mention.role != "denied"]
    clash = any(item.is_("clash") for item in items)
    for place, mention in enumerate(mentions):
        if mention.role == "denied" or not mention.item.is_("striker"):
            continue
        following = mentions[place + 1].at if place + 1 < len(mentions) else None
        if following is not None and is_hit_on(items, mention.at, following):
            # "Hit his head on her elbow": what it was hit on did the hitting.
            mentions[place + 1].role = "striker" if mentions[place + 1].item.is_("striker") else "hit"
            continue
        if (
            mention.role == "striker"
            or is_struck(items, mention.at)
            or not is_striker(items, mention.at, following, len(places) > 1)
        ):
            continue
        mention.role = "both" if clash and not is_anothers(items, mention.at) else "striker"


def _lend_line(mentions: list[Mention], left_over: list[tuple[int, Item]]) -> None:
    """ "Mid-axillary line, ninth rib": on which line the level is meant, said before it."""
    if mentions and mentions[0].item.is_("level") and not mentions[0].aspects:
        before = [item for at, item in left_over if at < mentions[0].at and item.is_("aspect")]
        mentions[0].aspects |= {
            "side" if one.classes["aspect"] == "outer" else one.classes["aspect"] for one in before
        }


def _with_ellipsis(mentions: list[Mention], left_over: list[tuple[int, Item]]) -> list[Mention]:
    """A side that belongs to no mention: it is said of the part that was denied before, or of the first."""
    sides = {item.classes["side"] for _, item in left_over if item.is_("side")}
    _lend_line(mentions, left_over)
    if not sides:
        return mentions
    denied_ones = [mention for mention in mentions if mention.role == "denied"]
    hit = [mention for mention in mentions if mention.role != "denied"]
    if denied_ones and not hit:
        again = denied_ones[-1]
        return [*mentions, Mention(again.item, left_over[-1][0], set(again.aspects), sides)]
    if hit and not hit[0].sides and left_over[0][0] < hit[0].at:
        hit[0].sides |= sides
    return mentions
