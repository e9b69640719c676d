"""What a speaker takes back or denies: "left, sorry, right", "he did not hit the head", "not the kidney but the spleen"."""

from __future__ import annotations

from anatomy.contact.items import Item

__all__ = ["corrected", "denied"]

BACK = 12
SCOPE = 12
MOST_MARKERS = 4


def corrected(items: list[Item], told: list[tuple[str, str]]) -> list[Item]:
    """The items without what was taken back; each (taken back, said instead) is added to ``told``."""
    kept = list(items)
    at = 0
    while at < len(kept):
        if _is_marker(kept, at):
            removed = _taken_back(kept, at, told)
            if removed is not None:
                del kept[removed[0] : removed[1]]
                at = removed[0]
                continue
        at += 1
    return kept


def _is_marker(items: list[Item], at: int) -> bool:
    item = items[at]
    if not item.is_("correction", "weak correction") or not at:
        return False
    between_marks = items[at - 1].is_("mark")
    return between_marks if item.is_("weak correction") or item.text == "wait" else True


def _taken_back(items: list[Item], at: int, told: list[tuple[str, str]]) -> tuple[int, int] | None:
    """From which item to which is cut: back to the last one of the kind that is said next."""
    after = at + 1
    while after < min(len(items), at + MOST_MARKERS) and (
        items[after].is_("mark", "correction", "weak correction", "determiner", "place")
        and not items[after].is_("side")
    ):
        after += 1
    if after >= len(items):
        return None
    kind = _kind(items[after])
    if kind is None:
        return None
    for place in range(at - 1, max(-1, at - 1 - BACK), -1):
        if _kind(items[place]) == kind:
            told.append((items[place].text, items[after].text))
            return place, after
    return None


def _kind(item: Item) -> str | None:
    if item.is_("side"):
        return "side"
    if item.is_("level"):
        return "level"
    if item.is_("part", "entry", "sideword"):
        return "part"
    return "aspect" if item.is_("aspect", "relation") else None


def denied(items: list[Item]) -> frozenset[int]:
    """The places of the items that are said not to have been hit, or only tell what can't be done."""
    away: set[int] = set()
    for at, item in enumerate(items):
        if item.is_("symptom"):
            if not _hits(items, at, 3):
                away.update(_scope(items, at))
        elif item.is_("negation") and (item.classes["negation"] == "missed" or _denies(items, at)):
            away.update(_scope(items, at))
    return frozenset(away)


def _denies(items: list[Item], at: int) -> bool:
    """ "not" denies a contact when a blow, a place or a part follows."""
    for item in items[at + 1 : at + 4]:
        if item.is_("strike", "place") or item.is_noun or item.is_attribute:
            return True
        if not item.is_("determiner"):
            return False
    return False


def _hits(items: list[Item], at: int, reach: int) -> bool:
    return any(item.is_("strike") for item in items[at + 1 : at + 1 + reach])


def _scope(items: list[Item], at: int) -> range:
    end = at + 1
    while end < min(len(items), at + 1 + SCOPE):
        item = items[end]
        if item.is_("mark", "contrast", "ends") or (item.text == "and" and _hits(items, end, 3)):
            break
        end += 1
    return range(at + 1, end)
