"""Parts of the body as a clause names them, with their side. Imports no Django."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breakdowns.scripts.measured.amounts import Unit
from breakdowns.scripts.measured.said import Noun

__all__ = ["Mention", "mentions_of", "noun_of", "only"]

SEGMENTS: dict[str, tuple[str, ...]] = {
    "hips": ("pelvis",),
    "shoulders": ("trunk",),
    "trunk": ("trunk",),
    "arm": ("upper_arm", "forearm"),
    "upper_arm": ("upper_arm",),
    "forearm": ("forearm",),
    "thigh": ("thigh",),
    "shank": ("shank",),
}


@dataclass(frozen=True, slots=True)
class Mention:
    """Units [first, limit) name ``part`` ("" for one that is never measured); ``at`` is the naming unit itself.

    ``foreign``: it is said to be somebody's who may not be the one in the picture.
    """

    first: int
    limit: int
    at: int
    part: str
    side: str = ""
    role: str = ""
    both: bool = False
    foreign: bool = False


def mentions_of(units: Sequence[Unit]) -> list[Mention]:
    """Every part named, in order; "on the right" counts for the parts of a clause that have no side."""
    found = [_mention(units, at) for at, unit in enumerate(units) if unit.is_("PART", "BOTH", "OTHER")]
    loose = {side for at in range(len(units)) if (side := _loose_side(units, at, found))}
    if len(loose) != 1:
        return found
    (side,) = loose
    return [
        one
        if one.side or one.both
        else Mention(one.first, one.limit, one.at, one.part, side, "", False, one.foreign)
        for one in found
    ]


def _mention(units: Sequence[Unit], at: int) -> Mention:
    kinds = units[at].item.kinds
    part = kinds.get("PART", "") or kinds.get("BOTH", "")
    side, role, first = "", "", at
    while first > 0 and units[first - 1].is_("SIDE", "ROLE", "DET"):
        first -= 1
        before = units[first].item
        if before.is_("DET"):
            break
        if before.is_("SIDE"):
            side = side or before.kinds["SIDE"]
        elif before.is_("ROLE"):
            role = role or before.text
    limit = at + 1
    if (of := _of_side(units, limit)) is not None:
        side, limit = side or of[0], of[1]
    owner = units[first - 1] if first > 0 else None
    foreign = owner is not None and owner.amount is None and _is_foreign(owner)
    return Mention(first, limit, at, part, side, role, "BOTH" in kinds, foreign)


def _is_foreign(owner: Unit) -> bool:
    return owner.item.text.endswith(("'s", "s'")) and not owner.is_("OWNER")


def _of_side(units: Sequence[Unit], at: int) -> tuple[str, int] | None:
    """ "… of the right leg", "… on the right": the side and where it ends."""
    texts = [unit.item.text if unit.amount is None else "" for unit in units[at : at + 4]]
    if len(texts) < 3 or texts[0] not in ("of", "on") or not units[at + 1].is_("DET"):
        return None
    if not units[at + 2].is_("SIDE"):
        return None
    limb = len(texts) > 3 and texts[3] in ("leg", "arm", "side")
    return units[at + 2].item.kinds["SIDE"], at + (4 if limb else 3)


def _loose_side(units: Sequence[Unit], at: int, found: Sequence[Mention]) -> str:
    if not units[at].is_("SIDE") or any(one.first <= at < one.limit for one in found):
        return ""
    before = [unit.item.text for unit in units[max(0, at - 2) : at]]
    return units[at].item.kinds["SIDE"] if before == ["on", "the"] else ""


def noun_of(units: Sequence[Unit], mention: Mention) -> Noun | None:
    """The mention as a segment that turns, or None. A shoulder, a hip or a role ("front") is no whole segment."""
    segments = SEGMENTS.get(mention.part)
    if segments is None or mention.foreign or mention.role:
        return None
    item = units[mention.at].item
    return Noun(item.start, item.end, item.text, segments, mention.side)


def only(units: Sequence[Unit], first: int, limit: int, kinds: tuple[str, ...], texts: str = "") -> bool:
    """Whether units [first, limit) are all of these kinds or one of these texts (divided by blanks)."""
    allowed = texts.split()
    return all(
        unit.is_(*kinds) or (unit.amount is None and unit.item.text in allowed) for unit in units[first:limit]
    )
