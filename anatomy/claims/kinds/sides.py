"""Claims about sides: left, right and midline of the trunk, inner and outer, front and back of a limb."""

from __future__ import annotations

import re
from collections.abc import Sequence

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.items import Item
from anatomy.claims.kinds.side_attributes import attributes, diaphragm_domes, may_be_subject, one_of_two
from anatomy.claims.kinds.side_facts import SideFact, side_row
from anatomy.claims.kinds.side_nodes import LIMB_CLASSES, LIMB_STARTS, Value
from anatomy.claims.kinds.side_reading import SideReader
from anatomy.claims.kinds.side_words import HAND, NOTES, OTHER, WORDS
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import joined, sentence

LIMB_WORDS = ("SINNER", "SOUTER", "STHUMB", "SLITTLE", "SBIGTOE", "SLITTOE", "SMID", "SEACH", "SFRONT", "SBACK", "NREGION", "LAREA")  # fmt: skip


def _may_be_side(item: Item) -> bool:
    """Whether a side may begin here at all; most sentences with a structure in them name none."""
    held = item.c
    if not held:
        return item.text in LIMB_STARTS
    return (
        held.get("DIR") in WORDS
        or "STR" in held
        or item.text in LIMB_STARTS
        or not LIMB_CLASSES.isdisjoint(held)
    )


# -- judging -------------------------------------------------------------------------------------------------------------


def _thing(reader: SideReader, k: int) -> tuple[str, str]:
    """The (kind, name) of the thing at item ``k``; extra things have the kind "place"."""
    held = reader.items[k].c
    if "SPLACE" in held and (held.get("STR") is None or side_row("place", held["SPLACE"])):
        return "place", held["SPLACE"]
    for kind, name in (("structure", "STR"), ("muscle", "MUS"), ("nerve", "NRV")):
        if name in held:
            return kind, held[name]
    return "place", ""


def _pancreas_end(reader: SideReader, k: int) -> SideFact | None:
    """ "the tail of the pancreas": an end of something whose middle is elsewhere."""
    if k >= 3:
        said = " ".join(item.text for item in reader.items[k - 3 : k + 1])
        return side_row("place", said)
    return None


def judge_side(reader: SideReader, k: int, value: Value) -> Finding:
    """A verdict on one thing and one side."""
    kind, name = _thing(reader, k)
    fact = _pancreas_end(reader, k) or (side_row("place", name) if kind == "place" else None)
    if fact is not None:
        return _by_fact(fact, value, name, "lr")
    if kind in ("muscle", "nerve"):
        return _limb_fact(reader, kind, name, value)
    entry = reader.structures.get(name)
    if entry is None:
        return Finding("unknown", "")
    terms = (("structure", entry.name),)
    if value.axis != "lr":
        return _limb_side(entry.name, entry.note, value, entry.sources)
    if reader.items[k].text in ONE_OF_TWO and value.side in WORDS and entry.side == "both":
        why = f"it depends which is meant: there is one {reader.items[k].text.removesuffix(chr(39) + 's')} on each side"
        return Finding("depends", sentence(why), "", entry.sources, terms)
    if value.side in WORDS and entry.side == "both" and entry.kind == "organ" and _both(reader, k):
        why = sentence(f"there is one of the {entry.name} on each side")
        return Finding("wrong", why, why, entry.sources, terms)
    row = side_row("depends", entry.name)
    if row is not None and value.side in row.sides:
        return Finding("depends", sentence(row.why), "", row.sources, terms)
    return _trunk_side(entry, value, terms)


def _both(reader: SideReader, k: int) -> bool:
    """ "Both kidneys sit on the left"."""
    return (
        k > 0
        and reader.items[k].text.endswith("s")
        and reader.items[k - 1].text in ("both", "both of the", "two")
    )


def _by_fact(fact: SideFact, value: Value, name: str, axis: str) -> Finding:
    if value.axis != axis or not fact.sides:
        return Finding("unknown", "")
    if value.side == fact.sides[0]:
        return Finding("right", sentence(fact.why), "", fact.sources)
    if value.side == OTHER.get(fact.sides[0]):
        return Finding("wrong", sentence(fact.why), sentence(fact.why), fact.sources)
    return Finding("unknown", "")


ONE_OF_TWO = frozenset(
    {"kidney", "lung", "ovary", "ureter", "testicle", "adrenal gland", "kidney's", "lung's"}
)


def _limb_fact(reader: SideReader, kind: str, name: str, value: Value) -> Finding:
    row = side_row(value.axis, name)
    if row is None or value.self_side:
        return Finding("unknown", "")
    side = row.sides[0]
    words = {
        "inner": "on the inner side",
        "outer": "on the outer side",
        "front": "on the front",
        "back": "on the back",
    }
    why = sentence(f"{name} lies {words[side]}") if row.why.startswith("it ") else sentence(row.why)
    terms = ((kind, name),)
    if value.side == side:
        return Finding("right", why, "", row.sources, terms)
    return Finding("wrong", why, why, row.sources, terms)


def _limb_side(name: str, note: str, value: Value, sources: tuple[str, ...]) -> Finding:
    first = re.split(r"[,;: ]", note)[0]
    axis, side = NOTES.get(first, ("", ""))
    row = side_row(value.axis, name)
    if not axis and row is not None:
        axis, side = value.axis, row.sides[0]
    if axis != value.axis:
        return Finding("unknown", "")
    hand = name in HAND
    lay = {"inner": "little finger", "outer": "thumb"} if hand else {}
    if hand and not value.self_side and value.axis != "ml":
        return Finding("unknown", "")
    shown = f"on the {lay[side]} side" if hand else f"on the {side}" + (" side" if axis == "ml" else "")
    why = sentence(f"the {name} lies {shown}")
    terms = (("structure", name),)
    if value.side == side:
        return Finding("right", why, "", sources, terms)
    return Finding("wrong", why, why, sources, terms)


def _trunk_side(entry: object, value: Value, terms: tuple[tuple[str, str], ...]) -> Finding:
    name, side = entry.name, entry.side  # type: ignore[attr-defined]
    quadrants, sources = entry.quadrants, entry.sources  # type: ignore[attr-defined]
    kind = entry.kind  # type: ignore[attr-defined]
    sides = {q.split()[0] for q in quadrants if " " in q}
    where = f"on the {side}" if side in WORDS else "in the midline" if side == "midline" else "on both sides"
    quarter = joined((f"the {q} quarter" for q in quadrants if " " in q), "or")
    if side in WORDS and quarter and len(sides) == 1:
        where += f", in {quarter} of the belly"
    why = sentence(f"the {name} lies {where}")
    wrong = Finding("wrong", why, why, sources, terms)
    right = Finding("right", why, "", sources, terms)
    if value.side == "both":
        if side == "both":
            return right
        return wrong if side_row("definite", name) else Finding("unknown", "")
    if value.side == "midline":
        if side == "midline":
            return right
        return wrong if side_row("definite", name) else Finding("unknown", "")
    if side in WORDS:
        if value.side != side:
            return wrong
        if value.height and quadrants and not side_row("free", name):
            heights = {q.split()[1] for q in quadrants if " " in q}
            if heights and value.height not in heights:
                return wrong
        return right
    if side == "midline" and kind == "organ":
        if value.side in sides:
            return Finding("unknown", "")
        return wrong if not value.height else Finding("unknown", "")
    return Finding("unknown", "")


# -- what only one of a pair has -------------------------------------------------------------------------------------------


def _is_picture(items: Sequence[Item]) -> bool:
    """Whether a side is one of the picture ("on the left of the frame") or of the field of play."""
    return any(
        item.is_("SVIEW") and k > 1 and items[k - 1].is_("DET") and items[k - 2].is_("PREP")
        for k, item in enumerate(items)
    )


# -- together --------------------------------------------------------------------------------------------------------------


def claim_sides(reading: Reading) -> None:
    """Adds the sentence's claims about sides to the reading."""
    if reading.has("STR", "SPLACE", "SSUBJ"):
        if not reading.has("DIR", *LIMB_WORDS, "STR", "SSUBJ"):
            return
    elif not (reading.has("MUS", "NRV") and reading.has(*LIMB_WORDS, "DIR") and reading.has("AUX", "SVERB")):
        return
    reading = without_asides(reading)
    spans: list[tuple[int, int]] = []
    if any(map(may_be_subject, reading.items)) and not _is_picture(reading.items):
        for i, j, finding in (*diaphragm_domes(reading), *one_of_two(reading)):
            spans.append((i, j))
            reading.add("side", i, j, finding)
        for i, j, finding, replace in attributes(reading):
            if not any(a < j and i < b for a, b in spans):
                spans.append((i, j))
                reading.add("side", i, j, finding, replace)
    if not reading.has("DIR", *LIMB_WORDS, "STR"):
        return
    if not any(_may_be_side(item) for item in reading.items):
        return
    reader = SideReader(reading)
    if "O" not in reader.shape or ("V" not in reader.shape and reader._place_before() is None):
        return
    for i, j, things, value, denied in reader.read():
        if any(a < j and i < b for a, b in spans):
            continue
        _add(reading, reader, i, j, things, value, denied)


def _add(
    reading: Reading, reader: SideReader, i: int, j: int, things: list[int], value: Value, denied: bool
) -> None:
    order = {"right": 0, "unknown": 1, "depends": 2, "wrong": 3}
    findings = [judge_side(reader, k, value) for k in things]
    worst = max(findings, key=lambda f: order[f.verdict])
    if worst.verdict == "unknown":
        return
    if denied:
        if worst.verdict == "depends":
            return
        turned = (
            "right"
            if all(f.verdict == "wrong" for f in findings)
            else "wrong"
            if worst.verdict == "right"
            else ""
        )
        if not turned:
            return
        worst = Finding(turned, worst.why, worst.why if turned == "wrong" else "", worst.sources, worst.terms)  # type: ignore[arg-type]
    replace = None
    if worst.verdict == "wrong" and not denied and len(things) == 1 and value.at >= 0:
        text = reader.items[value.at].text
        other = OTHER.get(value.self_side or value.side, "")
        said = value.self_side or value.side
        if other and said in text and value.side != "both":
            replace = (value.at, value.at + 1, text.replace(said, other))
    reading.add("side", i, j, worst, replace)
