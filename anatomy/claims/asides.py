"""What a speaker puts between two commas without saying anything by it: ", I'm told,", ", you know,", ", I'd say,"."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from anatomy.claims.items import Item, Sentence
from anatomy.claims.reading import Reading

LONGEST = 7
"""Items that an aside may have."""
MARKS = frozenset({"COMMA", "DASH"})
MEANING = frozenset({"MUS", "NRV", "STR", "PART", "FAM", "NUM", "LEVEL", "DIR", "PLN", "AXS", "CPT", "CON", "MVT", "SEG", "EXERCISE", "NEG", "CORRECT", "REPORT", "BUT", "PLANEWORD", "CHAINWORD", "REL", "NADJ", "IT"})  # fmt: skip
"""Classes of what an aside may not hold: who says it and how sure, nothing of the body."""
SPEAKERS = ("i", "i'm", "i'd", "i've", "i'll", "you", "you'll", "we", "we'd", "they", "mark", "believe", "trust", "mind")  # fmt: skip
SAYING = frozenset({"of course", "by the way", "to be fair", "to be honest", "honestly", "frankly", "clearly", "really", "in fact", "as ever", "as always", "please", "folks", "people", "guys", "obviously", "surely", "actually", "basically", "naturally", "strictly speaking", "for the record", "if you like"})  # fmt: skip
MIXED = frozenset(
    {"PERSON", "ADV", "SUB", "AS", "SEE", "PV", "AUX", "DO", "MODAL", "DET", "PREP", "ADJ", "HAVE"}
)


def _says_nothing(items: Sequence[Item]) -> bool:
    if not MEANING.isdisjoint(name for item in items for name in item.c):
        return False
    if " ".join(item.text for item in items) in SAYING:
        return True
    first = items[0].text.split(" ")[0]
    if first in ("as", "so", "or") and len(items) > 1:
        first = items[1].text.split(" ")[0]
    return first in SPEAKERS


def without_asides(reading: Reading) -> Reading:
    """The reading with such words and the marks around them left out; the same one where there are none.

    The claims that are added to it are those of the sentence: both readings share one list.
    """
    items = reading.items
    if "COMMA" not in reading.sentence.classes and "DASH" not in reading.sentence.classes:
        return reading
    marks = [k for k, item in enumerate(items) if not MARKS.isdisjoint(item.c)]
    asides = [
        (i, j) for i, j in pairwise(marks) if 2 <= j - i <= LONGEST + 1 and _says_nothing(items[i + 1 : j])
    ]
    if not asides:
        return reading
    out = {k for i, j in asides for k in range(i, j + 1)}
    kept = Sentence(
        [item for k, item in enumerate(items) if k not in out],
        reading.sentence.question,
        reading.sentence.apart,
    )
    return Reading(reading.text, kept, reading.lexicon, reading.acting, reading.memory, reading.claims)
