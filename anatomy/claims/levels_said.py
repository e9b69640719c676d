"""Spinal levels and ribs as they are written or said: "L4", "L four", "lumbar four", "the fourth lumbar", "C3, 4 and 5".

Levels are numbered down the spine by the roots (C1 to C8, T1 to T12, L1 to L5, S1 to S5, Co1 to Co4), so that a range and a
distance can be told.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from anatomy.claims.items import Item
from anatomy.claims.numbers_said import ORDINALS, UNITS

COUNTS = (("C", 8), ("T", 12), ("L", 5), ("S", 5), ("CO", 4))
ORDER = tuple(f"{letter}{n}" for letter, count in COUNTS for n in range(1, count + 1))
PLACE = {level: place for place, level in enumerate(ORDER)}
REGIONS = {
    "cervical": "C",
    "neck": "C",
    "thoracic": "T",
    "dorsal": "T",
    "lumbar": "L",
    "sacral": "S",
}
LETTERS = {"c": "C", "see": "C", "t": "T", "tee": "T", "d": "T", "l": "L", "el": "L", "s": "S", "ess": "S"}
ORDINAL = dict(ORDINALS) | {f"{n}th": n for n in range(4, 13)} | {"1st": 1, "2nd": 2, "3rd": 3}
OPENINGS = frozenset({*LETTERS, *REGIONS, *ORDINAL, *(f"the {word}" for word in ORDINAL)})
OPENING = frozenset({"LEVEL", "NRV", "STR"})
"""Words and classes that a level may begin with."""
TO = frozenset({"to", "through", "until", "till", "down to", "-", "–", "—", "as far as", "up to"})
COUNTED = frozenset({"first", "last", "lowest", "bottom", "lower", "upper", "top", "final", "1st"})
ROOT_WORDS = frozenset({"roots", "nerves", "segments", "root"})
ROOT = re.compile(r"^(C|T|L|S|Co)(\d+) ")


@dataclass(frozen=True)
class Said:
    """Levels or ribs said in the items ``i`` to ``j``; ``spanned`` when they were given as a range."""

    i: int
    j: int
    levels: tuple[str, ...]
    spanned: bool = False
    region: str = ""


def between(first: str, last: str) -> tuple[str, ...]:
    """Every level from one to another, both included, either way round."""
    a, b = sorted((PLACE[first], PLACE[last]))
    return ORDER[a : b + 1]


def level_at(items: Sequence[Item], k: int) -> tuple[int, str] | None:
    """One level that begins at item ``k``: how many items it takes and its name."""
    item = items[k]
    following = items[k + 1] if k + 1 < len(items) else None
    if "LEVEL" in item.c:
        return (1, item.c["LEVEL"]) if item.c["LEVEL"] in PLACE else None
    if "NRV" in item.c or "STR" in item.c:
        match = ROOT.match(str(item.c.get("NRV") or item.c.get("STR")))
        if match and not ("NRV" in item.c and "dermatome" in item.c["NRV"]):
            return 1, match[1].upper() + match[2]
        named = _vertebra(item)
        if named:
            return 1, named
    if following is None:
        return None
    letter = LETTERS.get(item.text) or REGIONS.get(item.text)
    value = following.get("NUM") or UNITS.get(following.text.removesuffix("'s"))
    if letter and value is not None and float(value).is_integer():
        level = f"{letter}{int(value)}"
        spoken = item.text in REGIONS or not following.text.isdigit() or item.text in LETTERS
        if level in PLACE and spoken:
            return 2, level
    number = _ordinal(item)
    if number and following.text in REGIONS:
        level = f"{REGIONS[following.text]}{number}"
        if level in PLACE:
            return 2, level
    if number and (region := _region_ahead(items, k)):
        level = f"{region}{number}"
        return (1, level) if level in PLACE else None
    return None


def _region_ahead(items: Sequence[Item], k: int) -> str:
    """The region that closes a list of ordinals: "the second, third and fourth lumbar"."""
    m = k + 1
    while m < len(items) and m - k < 12:
        item = items[m]
        first = item.text.split(" ")[0]
        if first in REGIONS and m > k + 1:
            return REGIONS[first]
        if not (_ordinal(item) or item.is_("AND", "COMMA", "OR") or item.text in TO):
            return ""
        m += 1
    return ""


def _vertebra(item: Item) -> str:
    """A vertebra named by its number in one term: "the seventh cervical vertebra", "C2 vertebra"."""
    words = item.text.split()
    if "vertebra" not in words:
        return ""
    number = next((ORDINAL[word] for word in words if word in ORDINAL), 0)
    region = next((REGIONS[word] for word in words if word in REGIONS), "")
    found = (
        f"{region}{number}"
        if number and region
        else next((w.upper() for w in words if w.upper() in PLACE), "")
    )
    return found if found in PLACE else ""


def _ordinal(item: Item) -> int:
    return ORDINAL.get(item.text.removeprefix("the "), 0)


def regions_said(items: Sequence[Item]) -> list[Said]:
    """Whole regions of roots: "the lumbar roots", "sacral nerves"."""
    found: list[Said] = []
    for k, item in enumerate(items):
        words = item.text.split()
        one = len(words) > 1 and words[0] in REGIONS and words[-1] in ROOT_WORDS
        two = item.text in REGIONS and k + 1 < len(items) and items[k + 1].text in ROOT_WORDS
        if one or two:
            letter = REGIONS[words[0]]
            held = tuple(level for level in ORDER if level[0] == letter and level[:2] != "CO")
            found.append(Said(k, k + (1 if one else 2), held, True, words[0]))
    return found


def levels_said(items: Sequence[Item], text: str) -> list[Said]:
    """Every level, list of levels and range of levels in a sentence."""
    found: list[Said] = []
    k = 0
    while k < len(items):
        # Few items can begin a level; the look at the others is what would cost.
        one = level_at(items, k) if items[k].text in OPENINGS or not OPENING.isdisjoint(items[k].c) else None
        if one is None:
            k += 1
            continue
        said = _run(items, text, k, one)
        found.append(said)
        k = said.j
    return found


def _run(items: Sequence[Item], text: str, start: int, one: tuple[int, str]) -> Said:
    length, level = one
    levels = [level]
    spanned = False
    digits = items[start + length - 1].text[-1].isdigit()
    k = start + length
    two = start > 0 and items[start - 1].text == "between"
    while k < len(items):
        m, ranged, listed = _past_joint(items, k)
        if not listed and not ranged:
            glued = text[items[k - 1].end : items[k].start]
            ranged = glued.strip() in ("-", "–", "—")
            if not ranged and glued.strip():
                break
        more = _next(items, m, levels[-1], digits, bool(listed or ranged))
        if more is None:
            break
        length, level = more
        if ranged or (two and items[m - 1].is_("AND")):
            levels = [*levels[:-1], *between(levels[-1], level)]
            spanned = True
        else:
            levels.append(level)
        k = m + length
    return Said(start, k, tuple(dict.fromkeys(levels)), spanned)


def _past_joint(items: Sequence[Item], k: int) -> tuple[int, bool, bool]:
    """Past "to", ", and", "/": where the next level may begin, whether it closes a range, whether a list goes on."""
    m = k
    ranged = listed = False
    while m < len(items) and m - k < 3:
        item = items[m]
        if item.text in TO:
            ranged = True
        elif item.is_("COMMA", "AND", "OR"):
            listed = True
        elif item.is_("DET", "ADV", "PREP") and (ranged or listed) and not item.is_("NUM"):
            pass
        else:
            break
        m += 1
    return m, ranged, listed


def _next(items: Sequence[Item], m: int, before: str, digits: bool, joined: bool) -> tuple[int, str] | None:
    if m >= len(items):
        return None
    whole = level_at(items, m)
    if whole is not None:
        return whole
    number = items[m].get("NUM")
    if number is None or not joined or not float(number).is_integer():
        return None
    if items[m].text.isdigit() != digits:
        return None
    letter = before.rstrip("0123456789")
    level = f"{letter}{int(number)}"
    if level not in PLACE or PLACE[level] <= PLACE[before]:
        return None
    return 1, level


def ribs_said(items: Sequence[Item]) -> list[Said]:
    """Every mention of numbered ribs: "ribs nine to eleven", "the tenth rib", "the first seven ribs", "the last two ribs"."""
    found: list[Said] = []
    k = 0
    while k < len(items):
        said = _ribs_at(items, k)
        if said is None:
            k += 1
        else:
            found.append(said)
            k = said.j
    return found


def _ribs_at(items: Sequence[Item], k: int) -> Said | None:
    item = items[k]
    bare = item.text.removeprefix("the ")
    if "STR" not in item.c and "LCOUNT" not in item.c and bare not in COUNTED and bare not in ORDINAL:
        return None
    named = str(item.c.get("STR", ""))
    if item.text.startswith("the ") and k + 1 < len(items) and items[k + 1].c.get("STR") == "ribs":
        return Said(k, k + 2, (str(_ordinal(item)),)) if _ordinal(item) else None
    if named.endswith(" rib") and named.split()[0] in ORDINALS:
        more = _numbers_after(items, k, ORDINALS[named.split()[0]]) if item.text[-1:].isdigit() else None
        return more or Said(k, k + 1, (str(ORDINALS[named.split()[0]]),))
    if named == "ribs" or item.text in ("rib pairs", "rib pair", "pairs of ribs"):
        return _numbers_after(items, k)
    if item.text.removeprefix("the ") in COUNTED and k + 1 < len(items) and "NUM" in items[k + 1].c:
        count = float(items[k + 1].c["NUM"])
        return _counted(items, k, int(count)) if count.is_integer() else None
    if _ordinal(item) or item.text.removeprefix("the ") in (
        "last",
        "lowest",
        "bottom",
        "lower",
        "upper",
        "top",
    ):
        return _ordinals_before(items, k)
    return None


def _numbers_after(items: Sequence[Item], k: int, first: int = 0) -> Said | None:
    m = k + 1
    if m < len(items) and items[m].text in ("number", "numbers", "from", "no", "pairs", "pair"):
        m += 1
    numbers: list[int] = [first] if first else []
    spanned = ranged = False
    last = m
    while m < len(items):
        value = items[m].get("NUM")
        if value is not None and float(value).is_integer() and 1 <= value <= 12:
            number = int(value)
            if ranged and numbers:
                numbers += range(numbers[-1] + 1, number + 1)
                spanned, ranged = True, False
            else:
                numbers.append(number)
            last = m + 1
        elif items[m].text in TO and numbers:
            ranged = True
        elif not (items[m].is_("AND", "COMMA", "OR") and numbers):
            break
        m += 1
    return Said(k, last, tuple(map(str, numbers)), spanned) if numbers else None


def _ordinals_before(items: Sequence[Item], k: int) -> Said | None:
    numbers: list[int] = []
    m = k
    spanned = ranged = False
    while m < len(items) and m - k < 8:
        item = items[m]
        number = _ordinal(item)
        if item.c.get("STR", "") == "ribs" and numbers:
            return Said(k, m + 1, tuple(map(str, numbers)), spanned)
        named = str(item.c.get("STR", ""))
        if named.endswith(" rib") and numbers:
            number = ORDINALS[named.split()[0]]
            numbers = [*numbers, *range(numbers[-1] + 1, number)] if ranged else numbers
            return Said(k, m + 1, (*map(str, numbers), str(number)), ranged)
        count = item.get("NUM")
        if count is not None and m == k + 1 and float(count).is_integer():
            return _counted(items, k, int(count))
        if number:
            numbers += range(numbers[-1] + 1, number + 1) if ranged and numbers else [number]
            spanned, ranged = spanned or ranged, False
        elif item.text in TO:
            ranged = True
        elif not item.is_("AND", "COMMA", "OR", "DET"):
            return None
        m += 1
    return None


def _counted(items: Sequence[Item], k: int, count: int) -> Said | None:
    """ "the first seven ribs", "the last two pairs of ribs"."""
    m = k + 2
    while m < len(items) and items[m].text in ("pairs", "pair", "of"):
        m += 1
    if m >= len(items) or items[m].c.get("STR") != "ribs" or not 1 <= count <= 12:
        return None
    word = items[k].text.removeprefix("the ")
    start = 1 if word in ("first", "upper", "top") else 13 - count
    if word not in COUNTED:
        return None
    return Said(k, m + 1, tuple(str(n) for n in range(start, start + count)), True)
