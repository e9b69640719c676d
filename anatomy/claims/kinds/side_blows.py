"""What a blow to one side is said to hurt: "a knee into the right ribs can rupture the spleen".

An organ that lies on one side is not under a blow to the other flank. Where an organ crosses the midline (the liver reaches
under the left ribs) a blow to the belly says nothing of its side, so only the flank, the loin and the ribs are judged there.
"""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.claim import Finding
from anatomy.claims.inflection import singular_forms
from anatomy.claims.items import Item
from anatomy.claims.kinds.side_words import OTHER, WORDS
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence

__all__ = ["claim_blows"]

BLOWS = frozenset({"blow", "kick", "punch", "knee", "elbow", "knock", "hit", "shot", "strike", "tackle", "stick", "ball", "fist", "boot", "shoulder", "head", "jab", "hook", "impact", "fall", "stud", "bat", "puck", "hoof", "bar", "collision"})  # fmt: skip
INTO = frozenset({"to", "into", "in", "on", "onto", "against", "at", "under", "below", "over"})
SIDEWAYS = frozenset({"flank", "loin", "rib", "ribs", "side", "back", "ribcage", "rib cage", "kidney area"})
BELLY = frozenset({"belly", "abdomen", "tummy", "stomach", "quadrant", "groin", "midriff"})
HURTS = frozenset({"risk", "risks", "threaten", "threatens", "endanger", "endangers", "hurt", "hurts", "injure", "injures", "rupture", "ruptures", "bruise", "bruises", "damage", "damages", "tear", "tears", "burst", "bursts", "split", "splits", "catch", "catches", "find", "finds", "reach", "reaches", "hit", "hits", "lacerate", "lacerates", "at risk", "in danger", "ruptured", "bruised", "injured", "damaged", "torn", "mean", "means", "worry about", "think of", "go for", "goes for", "cost", "costs"})  # fmt: skip
TAKES = frozenset({"take", "takes", "took", "get", "gets", "got", "feel", "feels", "catch", "catches"})
"""Verbs of the organ that is hit: "and the liver takes it"."""
THINK = frozenset({"think of", "worry about", "that means", "means"})
"""What leads on from the blow to the organ behind a colon: "a blow to the left ribs: think of the spleen"."""
OVER = frozenset({"over", "on", "onto", "into", "at", "above", "under"})
BARE = frozenset({"on", "to", "at", "the", "his", "her", "their", "your", "my", "side", "."})
"""Words beside the side that is said: "on his left side"."""
ELSEWHERE = frozenset({"other", "opposite", "far", "forget", "not"})
CROSSING = frozenset({"liver", "stomach", "pancreas", "heart", "colon", "transverse colon", "diaphragm"})
"""Organs that reach across the midline."""
NEAR, CLAUSE = 6, 14


def claim_blows(reading: Reading) -> None:
    """Adds what the sentence says that a blow to one side would hurt."""
    items = reading.items
    if not reading.has("STR") or not reading.has("DIR") or any(item.is_("NEG") for item in items):
        return
    _apposed(reading)
    for k, item in enumerate(items):
        if BLOWS.isdisjoint(singular_forms(item.text)) and item.text not in BLOWS:
            continue
        struck = _struck(reading, k)
        if struck is None:
            continue
        side, place, j = struck
        for at in range(max(0, k - CLAUSE), min(len(items), j + CLAUSE)):
            if "STR" in items[at].c and not k <= at < j:
                first, last = min(k, at), max(j, at + 1)
                between = items[first:last]
                beside = (
                    items[j:at] if at >= j else items[at + 1 : k]
                )  # a "hit" that is the blow hurts nothing yet
                words = {word for one in beside for word in (one.text, *singular_forms(one.text))}
                near = {word for one in items[first : last + CLAUSE] for word in one.text.split(" ")}
                if OTHER[side] in near or ELSEWHERE & near:
                    continue
                led = _led_to(items[j:at]) if at >= j else False
                stops = ("BUT", "SUB", "COLON", "DASH")
                told = HURTS & words or (at >= j and _taken(items[at + 1 : at + 4]))
                if led or (told and not any(one.is_(*stops) for one in between)):
                    _judge(reading, first, last, items[at].c["STR"], side, place)


def _apposed(reading: Reading) -> None:
    """ "(It lands) over the liver, on the left": where a blow meets an organ, and nothing after it."""
    items = reading.items
    for k in range(2, len(items) - 2):
        before = items[k - 2] if items[k - 1].is_("DET", "POSS") else items[k - 1]
        if "STR" not in items[k].c or not items[k + 1].is_("COMMA") or before.text not in OVER:
            continue
        last = [word for one in items[k + 2 :] if not one.is_("STOP") for word in one.text.split(" ")]
        words = [word for word in last if word not in BARE]
        if len(words) == 1 and words[0] in WORDS and last[0] in ("on", "to", "at"):
            _judge(reading, k, len(items), items[k].c["STR"], words[0], "")


def _led_to(between: Sequence[Item]) -> bool:
    """ "…: think of the (spleen)", with nothing else between colon and organ."""
    if len(between) < 2 or not between[0].is_("COLON", "DASH"):
        return False
    thought = " ".join(one.text for one in between[1:] if not one.is_("DET"))
    return thought in THINK


def _taken(after: Sequence[Item]) -> bool:
    """ "(The liver) takes it", "takes the blow"; not "gets off lightly"."""
    if len(after) < 2 or after[0].text not in TAKES:
        return False
    return after[1].is_("IT") or (len(after) > 2 and after[1].is_("DET") and after[2].text in BLOWS)


def _struck(reading: Reading, k: int) -> tuple[str, str, int] | None:
    """(side, place, end) in "knee into the right lower ribs" when item ``k`` is what strikes."""
    items = reading.items
    near = range(k + 1, min(len(items), k + 4))
    # "To the right" may be read as one item.
    into = next((m for m in near if items[m].text.partition(" ")[0] in INTO), -1)
    if into < 0:
        return None
    side = ""
    for m in range(into, min(len(items), into + NEAR)):
        words = items[m].text.split(" ")
        side = side or next((word for word in words if word in WORDS), "")
        place = next((word for word in (items[m].text, *words) if word in SIDEWAYS or word in BELLY), "")
        if side and place:
            return side, place, m + 1
        if items[m].is_("COMMA", "AUX", "PERSON", "SUB"):
            return None
    return None


def _judge(reading: Reading, i: int, j: int, name: str, side: str, place: str) -> None:
    entry = reading.lexicon.vocabulary.structures.get(name)
    if entry is None or entry.side not in WORDS or entry.kind != "organ":
        return
    if name in CROSSING and (place in BELLY or place == "side"):
        return
    why = sentence(f"the {name} lies on the {entry.side}")
    terms = (("structure", name),)
    if entry.side == side:
        reading.add("side", i, j, Finding("right", why, "", entry.sources, terms))
    elif side == OTHER[entry.side]:
        reading.add("side", i, j, Finding("wrong", why, why, entry.sources, terms))
