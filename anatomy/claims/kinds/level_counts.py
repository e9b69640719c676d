"""Claims about ribs that float, about how many vertebrae there are, and about discs and their roots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from anatomy.claims.claim import Finding
from anatomy.claims.kinds.level_facts import level_facts, levels_shown
from anatomy.claims.levels_said import levels_said, ribs_said
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import joined, sentence


def general_statements(reading: Reading) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """Statements that hold for some levels only: "spinal nerves leave below their vertebra"."""
    texts = [item.text for item in reading.items]
    for fact in {id(f): f for f in level_facts().get("general", {}).values()}.values():
        start = next((k for k, text in enumerate(texts) if text in fact.words), -1)
        if start < 0 or any(
            (item.is_("NUM", "LEVEL", "NEG") and item.text != "one") or item.text in fact.also
            for item in reading.items
        ):
            continue
        place = start
        for slot in fact.levels:
            place = next(
                (k for k in range(place + 1, min(place + 7, len(texts))) if texts[k] in slot.split("|")), -1
            )
            if place < 0:
                break
        if place > 0:
            yield start, place + 1, Finding("depends", sentence(fact.why), "", fact.sources), None


def rib_types(reading: Reading) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """ "ribs eleven and twelve float", "the first seven ribs are the true ribs"."""
    facts = level_facts()["ribtype"]
    items = reading.items
    ribs = {said.i: said for said in ribs_said(items)}
    for i, said in ribs.items():
        k = said.j
        denied = False
        while k < len(items) and k - said.j < 5 and items[k].text not in facts:
            if items[k].is_("NEG"):
                denied = not denied
            elif not items[k].is_("AUX", "DET", "ADV", "MODAL", "COP", "DO", "REL", "ADJ") or items[k].is_(
                "NUM"
            ):
                break
            k += 1
        first, last = i, said.j
        if not (k < len(items) and items[k].text in facts):
            m = i - 1
            while m >= 0 and i - m < 5 and items[m].is_("AUX", "DET", "ADV", "COP", "COLON", "COMMA"):
                m -= 1
            if m < 0 or items[m].text not in facts or m == i - 1:
                continue
            k, first = m, m
        fact = facts[items[k].text]
        last = max(last, k + 1)
        held, also = set(fact.levels), set(fact.levels) | set(fact.also)
        stated = set(said.levels)
        if stated <= held:
            verdict = "right"
        elif not stated <= also:
            verdict = "wrong"
        else:
            continue
        if denied:
            verdict = (
                "right" if verdict == "wrong" and not stated & also else "wrong" if verdict == "right" else ""
            )
        if verdict == "right":
            yield first, last, Finding("right", sentence(fact.why), "", fact.sources), None
        elif verdict == "wrong":
            words = levels_shown(fact.levels, True)
            yield (
                first,
                last,
                Finding("wrong", sentence(fact.why), sentence(fact.why), fact.sources),
                (i, said.j, words),
            )


THERE = frozenset({"there", "there'd", "be", "come", "comes", "follow", "then", "there are", "there were", "there's", "we", "you", "has", "have", "had", "got", "contains", "contain", "give", "gives", "count", "counts", "everyone", "everybody", "exactly", "all", "of", "into", "are", "humans", "with", "boasts", "makes", "make"})  # fmt: skip


def counts_said(reading: Reading) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """ "there are seven neck vertebrae", "the thoracic spine has ten vertebrae"."""
    items = reading.items
    facts = level_facts()
    for k, item in enumerate(items):
        number = item.get("NUM")
        if number is None or "LEVEL" in item.c:
            continue
        m = k + 1
        while m < len(items) and (
            items[m].is_("DET")
            or items[m].text
            in ("fused", "free", "pairs", "pair", "of", "real", "separate", "single", "moving")
        ):
            m += 1
        if m >= len(items):
            continue
        word, end = _counted_word(items, m)
        fact = facts["count"].get(word)
        opens = k == 0 or items[k - 1].text in THERE or (items[k - 1].is_("COMMA", "COLON") and m == k + 1)
        if fact is None and items[m].text in ("vertebrae", "vertebra", "bones", "segments"):
            region = next(
                (facts["region"][x.text] for x in reversed(items[:k]) if x.text in facts["region"]), None
            )
            has = any(
                x.text in ("has", "have", "had", "contains", "consists of", "counts", "holds", "got")
                for x in items[max(0, k - 4) : k]
            ) or (k > 1 and items[k - 1].is_("AUX") and items[k - 2].text in facts["region"])
            if region is not None and has:
                fact, end, opens = facts["count"].get(region.levels[0]), m + 1, True
        region_word = next(
            (items[n].text for n in range(k + 1, min(k + 5, len(items))) if items[n].text in facts["region"]),
            "",
        )
        if (
            fact is None
            and region_word
            and items[k + 1].text == "in"
            and any("vertebra" in x.text for x in items)
        ):
            fact, end, opens = facts["count"].get(facts["region"][region_word].levels[0]), k + 4, True
        if (
            fact is None
            and items[m].text in REGION_WORDS
            and m + 1 < len(items)
            and items[m + 1].text in ("ones", "vertebrae", "segments", "bones")
        ):
            fact, end = facts["count"].get(REGION_WORDS[items[m].text]), m + 2
        if (
            fact is None
            and items[m].text in REGION_WORDS
            and any("vertebra" in x.text for x in items)
            and (m + 1 == len(items) or items[m + 1].is_("AND", "COMMA", "PREP"))
        ):
            fact, end, opens = facts["count"].get(REGION_WORDS[items[m].text]), m + 1, True
        if fact is None:
            continue
        exact = word not in ("ribs",)
        determined = k > 0 and items[k - 1].is_("DET")
        if not opens and not (determined and exact):
            continue
        allowed = {float(n) for n in (*fact.levels, *fact.also)}
        first = k - 1 if determined else k
        if float(number) in allowed:
            yield first, end, Finding("right", sentence(fact.why), "", fact.sources), None
        elif (
            opens
            and not determined
            and not (
                word == "ribs"
                and items[k - 1].text not in ("are", "there are", "has", "have", "there's", "with")
            )
        ):
            if k == 0 and word in ("ribs", "wrist bones", "neck bones"):
                continue
            right = _number_word(int(fact.levels[0]), item.text)
            yield (
                first,
                end,
                Finding("wrong", sentence(fact.why), sentence(fact.why), fact.sources),
                (k, k + 1, right),
            )


REGION_WORDS = {
    "cervical": "cervical vertebrae",
    "thoracic": "thoracic vertebrae",
    "dorsal": "thoracic vertebrae",
    "lumbar": "lumbar vertebrae",
    "sacral": "sacral vertebrae",
    "neck": "cervical vertebrae",
}


NUMBER_WORDS = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
]


def _number_word(number: int, like: str) -> str:
    return str(number) if like[:1].isdigit() or number >= len(NUMBER_WORDS) else NUMBER_WORDS[number]


def _counted_word(items: Sequence[Any], m: int) -> tuple[str, int]:
    if "LCOUNT" in items[m].c:
        return str(items[m].c["LCOUNT"]), m + 1
    if m + 1 < len(items):
        two = f"{items[m].text} {items[m + 1].text}"
        if two in level_facts()["count"]:
            return two, m + 2
    return "", m + 1


def count_list(reading: Reading) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """ "Seven, twelve, five: neck, chest and low back vertebrae"."""
    items = reading.items
    facts = level_facts()
    numbers = [(k, x.c["NUM"]) for k, x in enumerate(items) if "NUM" in x.c]
    colon = next((k for k, x in enumerate(items) if x.is_("COLON", "DASH")), -1)
    if len(numbers) < 2 or colon < 0 or not any("vertebra" in x.text for x in items[colon:]):
        return
    before = [n for k, n in numbers if k < colon]
    regions = [
        facts["count"][facts["region"][x.text].levels[0]]
        if x.text in facts["region"]
        else facts["count"][x.text]
        for x in items[colon:]
        if x.text in facts["region"] or (x.text in facts["count"] and "vertebrae" in x.text)
    ]
    if not regions or len(before) != len(regions):
        return
    i = numbers[0][0]
    last = max(k for k, x in enumerate(items) if "vertebra" in x.text) + 1
    faults = [f for n, f in zip(before, regions, strict=True) if str(int(n)) not in f.levels]
    sources = regions[0].sources
    if faults:
        why = sentence(joined(f.why for f in faults))
        yield i, last, Finding("wrong", why, why, sources), None
    else:
        yield i, last, Finding("right", sentence(joined(f.why for f in regions)), "", sources), None


def disc_roots(reading: Reading) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """ "a disc at L4 L5 hits the L4 root": the usual prolapse takes the lower root, a far lateral one the upper."""
    items = reading.items
    if not reading.has("LDISC"):
        return
    disc = next(k for k, x in enumerate(items) if "LDISC" in x.c)
    said = levels_said(items, reading.text)
    if len(said) < 2:
        return
    pair, root = said[0], said[1]
    if (
        len(pair.levels) != 2
        or len(root.levels) != 1
        or not any("LHIT" in x.c for x in items[pair.j : root.i])
    ):
        return
    upper, lower = pair.levels
    if upper.startswith("C"):
        lower = f"C{int(upper[1:]) + 1}"
    first = min(disc, pair.i)
    last = root.j + (1 if root.j < len(items) and items[root.j].text == "root" else 0)
    why = f"a prolapse of the disc between {upper} and {pair.levels[1]} usually presses on {lower}, a far lateral one on {upper}"
    sources = ("memory-moore",)
    if root.levels[0] == lower:
        yield first, last, Finding("right", sentence(why), "", sources), None
    elif root.levels[0] == upper:
        yield first, last, Finding("depends", sentence(why), "", sources), None
    else:
        yield first, last, Finding("wrong", sentence(why), sentence(why), sources), (root.i, root.j, lower)
