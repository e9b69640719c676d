"""Claims that a nerve supplies a muscle: read from the shape of the sentence, judged by the vocabulary."""

from __future__ import annotations

import re
from collections.abc import Iterator

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.items import Item
from anatomy.claims.kinds.nerve_motions import moved_by_nerves
from anatomy.claims.kinds.supply_judging import SupplyReading, judge_supply, members_of
from anatomy.claims.kinds.supply_reading import NG, F, SupplyReader
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence

SIGN = re.compile(
    rf"(?:L[dpa]*(?P<n1>{NG})|(?P<n2>{NG})[pamb]*L)[,a&sbx:]{{0,3}}(?P<mid>[hmndabxG]{{0,4}})(?P<s>Z)"
)


SIGN_IS = re.compile(
    rf"(?P<s>Z)(?:p[daqx]{{0,4}})?[,a]*(?:b|e|:|xa*t?|p|L[ta]*|R)[na]*(?:[daq]*L[tp]a*)?{F}(?P<n>{NG})"
)


# -- judging -------------------------------------------------------------------------------------------------------------


# -- signs of a palsy ------------------------------------------------------------------------------------------------------


def _signs(reader: SupplyReader) -> Iterator[tuple[int, int, Finding]]:
    """ "lose the common fibular nerve and the foot drops", "wrist drop means the radial nerve"."""
    for pattern in (SIGN, SIGN_IS):
        for match in pattern.finditer(reader.shape):
            groups = match.groupdict()
            key = next((k for k in ("n", "n1", "n2") if groups.get(k)), "")
            said, denied, _ = reader.nerves(*match.span(key))
            fact = reader.supply.signs.get(reader.items[match.start("s")].c["NSIGN"])
            if fact is None or not said or denied:
                continue
            stated = said[0][1]
            known = fact.nerves[0] in reader.supply.lineage(stated) or any(
                stated in reader.supply.lineage(n) for n in fact.nerves
            )
            sign = reader.items[match.start("s")].text
            terms = (("nerve", stated),)
            if known:
                yield (
                    match.start(),
                    match.end(),
                    Finding("right", sentence(fact.why), "", fact.sources, terms),
                )
            else:
                right = fact.nerves[0]
                yield (
                    match.start(),
                    match.end(),
                    Finding(
                        "wrong",
                        sentence(fact.why),
                        sentence(f"{sign} points to the {right}"),
                        fact.sources,
                        terms,
                    ),
                )


FEELING = frozenset({"feeling", "sensation", "sensory", "skin", "numb", "numbness", "tingling", "feels", "felt", "feel", "sense", "touch", "senses"})  # fmt: skip


SKIN_ONLY = frozenset({"badge patch", "badge area", "regimental badge area", "sole", "sole of the foot", "outer thigh", "outside of the thigh", "inner shin", "inside of the shin", "outer foot", "outer edge of the foot", "outside of the foot", "first web space", "top of the foot", "dorsum of the foot", "face", "forehead", "cheek"})  # fmt: skip
"""Places where nothing but skin can be meant, so that "the outer thigh is the femoral nerve" needs no word of feeling."""


def _feelings(reader: SupplyReader) -> Iterator[tuple[int, int, Finding, tuple[int, int, str] | None]]:
    """ "the little finger gets its feeling from the ulnar nerve"; "… that gives that finger its feeling"."""
    items = reader.items
    areas = [k for k, item in enumerate(items) if item.text.removesuffix("'s") in reader.supply.skin]
    first = reader.shape.find("N")
    if not areas or first < 0:
        return
    k = min(areas, key=lambda area: abs(area - first))
    bare = items[k].text.removesuffix("'s") in SKIN_ONLY
    if not bare and not any(item.text in FEELING for item in items):
        return
    fact = reader.supply.skin[items[k].text.removesuffix("'s")]
    numb = any(item.text in ("numb", "numbness", "tingling") for item in items)
    for n, letter in enumerate(reader.shape):
        if letter != "N":
            continue
        low, high = sorted((k, n))
        after = items[n : n + 8] if n > k else items[low:high]
        between = items[low + 1 : high]
        told = any(x.text in FEELING for x in [*between, *after, *(items[k + 1 : k + 4] if numb else ())])
        verb = any(
            x.is_("NGET", "NSUP", "NREST", "PROD", "AUX", "COMEFROM")
            or x.text in ("through", "gives", "by")
            or (x.is_("NLOSS") and numb)
            for x in between
        )
        told = told or (bare and len(between) <= 5)
        if not told or not verb or (len(between) > 9 and n < k):
            continue
        if sum(x.is_("COMMA") for x in between) > 1 and not any(x.is_("SUB") for x in between):
            continue
        said, denied, _ = reader.nerves(n, n + 1)
        if denied or not said or len([m for m in range(low, high) if reader.shape[m] == "N"]) > 1:
            continue
        stated = said[0][1]
        known = any(
            stated in reader.supply.lineage(x) or x in reader.supply.lineage(stated) for x in fact.nerves
        )
        if known:
            yield (
                low,
                high + 1,
                Finding("right", sentence(fact.why), "", fact.sources, (("nerve", stated),)),
                None,
            )
        else:
            why = sentence(fact.why)
            yield (
                low,
                high + 1,
                Finding("wrong", why, why, fact.sources, (("nerve", stated),)),
                (n, n + 1, fact.nerves[0]),
            )
        return


def _replacement(reader: SupplyReader, made: SupplyReading, finding: Finding) -> tuple[int, int, str] | None:
    if finding.verdict != "wrong" or len(made.nerves) != 1 or len(made.muscles) != 1 or made.denied:
        return None
    _, members, _ = members_of(reader.reading, reader.supply, made.muscles[0])
    own = {n for m in members for n in reader.supply.nerves_of(m)[:1]}
    k = made.nerves[0][0]
    item: Item = reader.items[k]
    if len(own) != 1 or reader.shape[k] != "N":
        return None
    name = next(iter(own))
    if "nerve" not in item.text:
        name = name.replace(" nerve", "")
    return k, k + 1, name


def claim_innervation(reading: Reading) -> None:
    """Adds the sentence's claims of nerve supply to the reading."""
    if not (
        reading.has("NRV", "NADJ")
        or (reading.has("NSUP", "NPASS") and reading.has("MUS") and reading.has("IT"))
    ) or not (
        reading.has("MUS", "NREGION", "NSIGN", "FAM", "LAREA", "PART") or reading.memory.topic is not None
    ):
        return
    reading = without_asides(reading)
    reader = SupplyReader(reading)
    _claim_supply(reading, reader)
    for i, j, finding in moved_by_nerves(reading, reader.supply):
        a, b = reading.items[i].start, reading.items[j - 1].end
        if not any(c.kind == "innervation" and c.start < b and a < c.end for c in reading.claims):
            reading.add("innervation", i, j, finding)


def _claim_supply(reading: Reading, reader: SupplyReader) -> None:
    """Adds what the sentence says of muscles, of feeling and of signs."""
    if "N" not in reader.shape and not ("i" in reader.shape and reader._nerve_before()):
        return
    for made in reader.read():
        finding = judge_supply(reading, reader.supply, made)
        if finding.verdict != "unknown":
            reading.add("innervation", made.i, made.j, finding, _replacement(reader, made, finding))
    for i, j, finding, replaced in _feelings(reader):
        reading.add("innervation", i, j, finding, replaced)
    if "Z" in reader.shape:
        for i, j, finding in _signs(reader):
            reading.add("innervation", i, j, finding)
