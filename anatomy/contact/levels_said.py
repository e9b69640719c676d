"""Ribs and vertebrae as they are written or said: "tenth rib", "10th rib", "rib ten", "ribs 9 to 11", "T10", "lumbar four"."""

from __future__ import annotations

from anatomy.claims.levels_said import ORDER, PLACE, REGIONS
from anatomy.claims.levels_said import ORDINAL as ORDINAL_WORDS
from anatomy.claims.numbers_said import UNITS
from anatomy.claims.tokens import Token

__all__ = ["level_at", "number_of", "shifted"]

ENDINGS = frozenset({"th", "st", "nd", "rd"})
JOINING = frozenset({"and", "or", "&", ","})
SPANNING = frozenset({"to", "through", "-", "–", "until"})
RIB_WORDS = frozenset({"rib", "ribs"})
SPACE_WORDS = frozenset({"intercostal", "interspace"})
MOST_RIBS = 12
MOST_IN_A_LIST = 4


def level_at(tokens: list[Token], place: int) -> tuple[int, tuple[str, ...]] | None:
    """How many tokens a level takes from here and which it is: ribs as "9", vertebrae as "T10"."""
    token = tokens[place]
    if token.sort == "level":
        return _vertebrae(tokens, place)
    if token.text in RIB_WORDS or (token.text == "rib" and token.sort == "word"):
        return _after_rib(tokens, place)
    return _before_rib(tokens, place) or _by_region(tokens, place)


def number_of(level: str) -> int:
    """The number in a level: "T10" → 10, "9" → 9."""
    return int(level.lstrip("CTLSO"))


def shifted(level: str, by: int) -> str:
    """The level so many further down: ribs and vertebrae alike; the ends stay where they are."""
    if level.isdigit():
        return str(min(MOST_RIBS, max(1, int(level) + by)))
    return ORDER[min(len(ORDER) - 1, max(0, PLACE[level] + by))]


def _value(tokens: list[Token], place: int) -> tuple[int, int] | None:
    """A number from 1 to 12 that begins here, and how many tokens it takes."""
    if place >= len(tokens):
        return None
    token = tokens[place]
    if token.sort == "number" and token.text.isdigit() and len(token.text) < 3:
        following = tokens[place + 1] if place + 1 < len(tokens) else None
        glued = following is not None and following.text in ENDINGS and following.start == token.end
        value, count = int(token.text), 2 if glued else 1
    else:
        value, count = ORDINAL_WORDS.get(token.text, 0) or UNITS.get(token.text, 0), 1
    return (count, value) if 1 <= value <= MOST_RIBS else None


def _list(tokens: list[Token], place: int) -> tuple[int, tuple[str, ...]] | None:
    """Numbers in a row, as a list or a range."""
    first = _value(tokens, place)
    if first is None:
        return None
    used, value = first
    values = [value]
    for _ in range(MOST_IN_A_LIST):
        at = place + used
        word = tokens[at].text if at < len(tokens) else ""
        glued = (
            at < len(tokens) and tokens[at].sort == "number" and tokens[at].start == tokens[at - 1].end + 1
        )
        step = 0 if glued else 1
        more = _value(tokens, at + step) if glued or word in JOINING | SPANNING else None
        if more is None:
            break
        used += step + more[0]
        spans = glued or word in SPANNING
        values += range(min(values[-1], more[1]) + 1, more[1] + 1) if spans else [more[1]]
    return used, tuple(str(n) for n in dict.fromkeys(values))


def _before_rib(tokens: list[Token], place: int) -> tuple[int, tuple[str, ...]] | None:
    found = _list(tokens, place)
    if found is None or place + found[0] >= len(tokens):
        return None
    used, ribs = found
    word = tokens[place + used].text
    if word in RIB_WORDS:
        return used + 1, ribs
    if word == "costal":
        return min(used + 2, len(tokens) - place), ribs
    if word in SPACE_WORDS:
        # A space is named after the rib above it and reaches to the one below.
        extra = 2 if word == "intercostal" else 1
        return min(used + extra, len(tokens) - place), tuple(dict.fromkeys((*ribs, shifted(ribs[-1], 1))))
    return None


def _after_rib(tokens: list[Token], place: int) -> tuple[int, tuple[str, ...]] | None:
    skip = 2 if place + 1 < len(tokens) and tokens[place + 1].text in ("number", "no", "nr") else 1
    found = _list(tokens, place + skip)
    return (skip + found[0], found[1]) if found else None


def _vertebrae(tokens: list[Token], place: int) -> tuple[int, tuple[str, ...]] | None:
    first = tokens[place].text.upper()
    if first not in PLACE:
        return None
    used, levels = 1, [first]
    for _ in range(MOST_IN_A_LIST):
        at = place + used
        word = tokens[at].text if at < len(tokens) else ""
        step = 1 if word in JOINING | SPANNING | {"/"} else 0
        if at + step >= len(tokens) or tokens[at + step].sort != "level":
            break
        other = tokens[at + step].text.upper()
        if other not in PLACE:
            break
        spans = word in SPANNING or not step
        low, high = sorted((PLACE[levels[-1]], PLACE[other]))
        levels += ORDER[low : high + 1] if spans else [other]
        used += step + 1
    return used, tuple(dict.fromkeys(levels))


def _by_region(tokens: list[Token], place: int) -> tuple[int, tuple[str, ...]] | None:
    """ "thoracic ten", "the fourth lumbar"."""
    token = tokens[place]
    if token.text in REGIONS and token.text != "neck":
        found = _value(tokens, place + 1)
        level = f"{REGIONS[token.text]}{found[1]}" if found else ""
        return (1 + found[0], (level,)) if found and level in PLACE else None
    found = _value(tokens, place)
    if found is None or place + found[0] >= len(tokens):
        return None
    region = tokens[place + found[0]].text
    level = f"{REGIONS.get(region, '?')}{found[1]}"
    return (found[0] + 1, (level,)) if region != "neck" and level in PLACE else None
