"""Claims about where a root leaves the spine: "the C7 root leaves below C7", "the fourth lumbar root, between L3 and L4".

The first seven cervical roots leave above their vertebra, the eighth between C7 and T1, all lower ones below theirs
(Moore, Clinically Oriented Anatomy, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from anatomy.claims.claim import Finding
from anatomy.claims.items import Item
from anatomy.claims.levels_said import PLACE, Said, levels_said
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence

LEAVING = frozenset({"leave", "leaves", "leaving", "exit", "exits", "exiting", "emerge", "emerges", "emerging", "come out", "comes out", "come", "comes", "escapes", "escape", "slips out", "goes out", "go out", "passes out", "gets out", "issues", "comes off", "steps out"})  # fmt: skip
ROOTS = frozenset({"root", "roots", "nerve", "nerve root", "spinal nerve", "nerve roots", "one"})
ABOVE = frozenset({"above", "over", "on top of", "higher than"})
BELOW = frozenset({"below", "under", "underneath", "beneath", "lower than"})
BETWEEN = frozenset({"between", "in between"})
SOURCES = ("memory-moore",)

Statement = tuple[int, int, Finding, tuple[int, int, str] | None]


def root_exits(reading: Reading) -> Iterator[Statement]:
    """Every statement of where one root leaves, judged."""
    items = reading.items
    leaving = next((k for k, item in enumerate(items) if item.text in LEAVING), -1)
    if leaving < 0:
        return
    said = levels_said(items, reading.text)
    root = _root(items, said, leaving)
    start = root.i if root is not None else 0
    level = root.levels[0] if root is not None else _root_before(reading, leaving)
    if not level:
        yield from _of_region(items, leaving)
        return
    place = next((k for k in range(leaving + 1, min(len(items), leaving + 7)) if items[k].text in ABOVE | BELOW | BETWEEN), -1)  # fmt: skip
    if place < 0:
        return
    after = next((one for one in said if one.i > place and one.i - place <= 4), None)
    right = _neighbours(level)
    why = f"the {level} root leaves between {right[0]} and {right[1]}" + (
        ": cervical roots leave above their vertebra, C8 and all lower ones below" if level[0] == "C" else ""
    )
    if items[place].text in BETWEEN:
        yield from _between(items, after, place, start, right, why)
        return
    end = after.j if after is not None else place + 1
    own = any(item.text in ("its", "their", "own", "the same") for item in items[place : place + 3])
    if after is not None and (len(after.levels) > 1 or after.levels[0] not in right):
        return
    if after is None and not own:
        return
    against = after.levels[0] if after is not None else level
    if after is None:
        end = next((k + 1 for k in range(place, min(len(items), place + 5)) if "LROOT" in items[k].c), end)
    good = (items[place].text in ABOVE) == (against == right[1])
    if after is None and level == "C8":
        return
    denied = any("NEG" in item.c for item in items[max(0, leaving - 3) : place])
    words = "above" if against == right[1] else "below"
    yield _judged(start, end, good != denied, why, None if denied else (place, place + 1, words))


REGIONS = frozenset({"cervical", "thoracic", "lumbar", "sacral"})
OWN = frozenset({"same", "its", "their", "own", "the same", "their own", "its own"})


def _of_region(items: Sequence[Item], leaving: int) -> Iterator[Statement]:
    """ "The lumbar roots leave above the vertebra of the same number": what holds of a whole region."""
    before = range(max(0, leaving - 4), leaving)
    at = next((k for k in before if items[k].text.partition(" ")[0] in REGIONS), -1)
    after = items[leaving + 1 : leaving + 9]
    place = next((k for k, item in enumerate(after) if item.text in ABOVE | BELOW), -1)
    rooted = at >= 0 and any(word in ROOTS for item in items[at:leaving] for word in item.text.split(" "))
    if not rooted or place < 0 or not any(item.text in OWN for item in after[place:]):
        return
    if any("NEG" in item.c for item in items[at : leaving + 1 + place]):
        return
    cervical = items[at].text.startswith("cervical")
    why = "cervical roots leave above the vertebra of their number, C8 and all lower roots below theirs"
    good = (after[place].text in ABOVE) == cervical
    spot = leaving + 1 + place
    yield _judged(at, spot + 1, good, why, (spot, spot + 1, "above" if cervical else "below"))


def _judged(i: int, j: int, good: bool, why: str, replace: tuple[int, int, str] | None) -> Statement:
    if good:
        return i, j, Finding("right", sentence(why), "", SOURCES), None
    return i, j, Finding("wrong", sentence(why), sentence(why), SOURCES), replace


def _between(
    items: Sequence[Item], after: Said | None, place: int, start: int, right: tuple[str, str], why: str
) -> Iterator[Statement]:
    if after is None:
        return
    held = [after.levels[0], after.levels[-1]] if after.spanned else list(after.levels)
    end = after.j
    sacrum = next((k for k in range(end, min(len(items), end + 3)) if items[k].c.get("STR") == "sacrum"), -1)
    if len(held) == 1 and sacrum >= 0:
        held, end = [*held, "S1"], sacrum + 1
    if len(held) != 2:
        return
    good = set(held) == set(right)
    yield _judged(start, end, good, why, (after.i, end, f"{right[0]} and {right[1]}"))


def _root(items: Sequence[Item], said: Sequence[Said], leaving: int) -> Said | None:
    """The one root named before the verb: "the fourth lumbar root", "L five"."""
    before = [one for one in said if one.j <= leaving and len(one.levels) == 1]
    if not before or leaving - before[-1].j > 4:
        return None
    one = before[-1]
    named = any(item.text in ROOTS for item in items[max(0, one.i - 3) : leaving])
    return one if named or leaving == one.j else None


def _root_before(reading: Reading, leaving: int) -> str:
    """The root that "it" stands for: the only level of the sentence before, if that spoke of a root."""
    before = reading.memory.before or []
    if leaving > 3 or not any(item.is_("IT") for item in reading.items[:leaving]):
        return ""
    if not any(item.text in ROOTS for item in before):
        return ""
    said = [level for one in levels_said(before, reading.text) for level in one.levels]
    return said[0] if len(said) == 1 else ""


def _neighbours(level: str) -> tuple[str, str]:
    """The vertebrae above and below the opening that a root leaves by."""
    letter, number = level.rstrip("0123456789"), int(level.lstrip("CTLSO"))
    if letter == "C":
        return ("skull" if number == 1 else f"C{number - 1}", "T1" if number == 8 else f"C{number}")
    last = {"T": 12, "L": 5}.get(letter, 5)
    following = {"T": "L1", "L": "S1"}.get(letter, "Co1")
    lower = f"{letter}{number + 1}" if number < last else following
    return (level, lower if lower in PLACE else level)
