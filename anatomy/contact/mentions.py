"""Items to mentions: the parts of the body that a stretch names, each with what is said of it and whether it was hit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from anatomy.contact.facts import ContactFacts
from anatomy.contact.items import Item, Stretch
from anatomy.contact.sidewords import as_noun_or_attribute
from anatomy.contact.strikers import is_anothers, is_hit_on, is_striker, is_struck
from anatomy.contact.taken_back import corrected, denied

__all__ = ["Mention", "Noticed", "mentions_of"]

Role = Literal["hit", "striker", "both", "denied"]


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

    @property
    def part(self) -> str:
        """The part's name in parts.csv; empty for a level or a name of the vocabulary."""
        return self.item.classes.get("part", "")


@dataclass(slots=True)
class Noticed:
    """What reading one stretch gave: the mentions and what was taken back, denied or mended."""

    mentions: list[Mention] = field(default_factory=list)
    taken_back: list[tuple[str, str]] = field(default_factory=list)
    mended: list[tuple[str, str]] = field(default_factory=list)
    viewer: bool = False
    spoken: bool = False


def mentions_of(stretch: Stretch, facts: ContactFacts) -> Noticed:
    """The mentions of a stretch. Each item is looked at a bounded number of times."""
    noticed = Noticed(viewer=stretch.has("view"), spoken=stretch.has("strike"))
    items = as_noun_or_attribute(corrected(stretch.items, noticed.taken_back))
    noticed.mended = [(item.mended, item.text) for item in items if item.mended and item.is_noun]
    away = denied(items)
    mentions, left_over = _gathered(items, facts)
    for mention in mentions:
        if mention.at in away:
            mention.role = "denied"
    _say_roles(items, mentions)
    noticed.mentions = _with_ellipsis(mentions, [one for one in left_over if one[0] not in away])
    return noticed


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
        elif not item.is_("determiner", "of") and not (item.is_("place") and _leads_on(run)):
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


def _leads_on(run: list[tuple[int, Item]]) -> bool:
    """ "low in the belly": how high says more about the part that follows."""
    return bool(run) and run[-1][1].classes.get("aspect") in ("upper", "lower")


def _flushed(
    mentions: list[Mention], run: list[tuple[int, Item]], items: list[Item], facts: ContactFacts
) -> list[tuple[int, Item]]:
    """Attributes that stand behind their noun go to it; a relation without a noun says nothing."""
    said = [one for one in run if one[1].is_("side", "aspect")]
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
        if item.is_("side"):
            mention.sides.add(item.classes["side"])
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
            mention.aspects.add(item.classes.get("aspect", ""))


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


def _with_ellipsis(mentions: list[Mention], left_over: list[tuple[int, Item]]) -> list[Mention]:
    """A side that belongs to no mention: it is said of the part that was denied before, or of the first."""
    sides = {item.classes["side"] for _, item in left_over if item.is_("side")}
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
