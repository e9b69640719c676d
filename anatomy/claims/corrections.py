"""Corrections in mid-sentence: "internal, sorry, external rotation" counts as "external rotation"."""

from __future__ import annotations

from anatomy.claims.items import Item, Sentence

CLASSES = (
    "MUS",
    "NUM",
    "LEVEL",
    "NRV",
    "PLN",
    "AXS",
    "CON",
    "DIR",
    "FAM",
    "PV",
    "PART",
    "STR",
    "SEG",
    "CHAINKIND",
    "MVT",
)

MARKERS = 24
"""How many markers and commas in a row one correction may have."""


def corrected(sentence: Sentence) -> Sentence:
    """The sentence without what its speaker took back; the same object where nothing was."""
    if "CORRECT" not in sentence.classes:
        return sentence
    items = list(sentence.items)
    place = 0
    while place < len(items):
        item = items[place]
        if item.is_("CORRECT") and _is_correction(items, place):
            removed = _taken_back(items, place)
            if removed is not None:
                first, last = removed
                del items[first:last]
                place = first
                if items[0].is_("REPORT") and items[0].text.startswith("i "):
                    # "I said A, scrap that, B": B is said, not reported.
                    items[0] = Item(items[0].text, items[0].start, items[0].end, {"ADV": items[0].text})
                continue
        place += 1
    return Sentence(items, sentence.question, sentence.apart)


def _is_correction(items: list[Item], place: int) -> bool:
    """A marker counts between marks, or where it can't be anything else."""
    item = items[place]
    if item.c["CORRECT"] != item.text:
        return False
    if item.text in ("no", "rather", "wait", "not that"):
        before = place > 0 and items[place - 1].is_("COMMA", "DASH", "MARK")
        after = place + 1 < len(items) and (items[place + 1].is_("COMMA", "DASH", "CORRECT"))
        return before and (
            after or (item.text == "no" and place + 1 < len(items) and items[place + 1].is_(*CLASSES))
        )
    return place > 0


def _taken_back(items: list[Item], place: int) -> tuple[int, int] | None:
    """From which item to which the sentence is cut: what was taken back, the marker and the marks around it."""
    last = place + 1
    while (
        last < min(len(items), place + MARKERS)
        and items[last].is_("COMMA", "DASH", "CORRECT", "MARK")
        and not items[last].is_("MUS")
    ):
        last += 1
    k = last
    while (
        k < len(items)
        and items[k].is_("DET", "ADV", "AUX", "MODAL", "PREP")
        and (items[k].is_("PREP") or not items[k].is_(*CLASSES))
        and not _stands_as_direction(items, k)
    ):
        if k - last > 3:
            return None
        if items[k].is_("PREP") and all(item.text != items[k].text for item in items[:place]):
            return None
        k += 1
    if k >= len(items):
        return None
    kind = next((name for name in CLASSES if name in items[k].c), None)
    if kind is None:
        return None
    for m in range(place - 1, max(-1, place - 14), -1):
        if kind in items[m].c or (kind in ("FAM", "PV") and items[m].is_("FAM", "PV")):
            start = m
            if kind in ("FAM", "PV", "MUS", "PART") and k > last:
                while start > 0 and items[start - 1].is_("DET", "ADJ") and items[last].is_("DET", "ADJ"):
                    start -= 1
                return start, last
            return start, k if k > last and not items[last].is_("DET") else last
    return None


def _stands_as_direction(items: list[Item], k: int) -> bool:
    """ "Out, no, in.": a word that may be a preposition, with nothing behind it that it could belong to."""
    return items[k].is_("DIR") and (k + 1 == len(items) or items[k + 1].is_("COMMA", "DASH", "AND", "MARK"))
