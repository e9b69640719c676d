"""Claims about ribs, vertebrae, roots, dermatomes, reflexes and plexuses."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.kinds.level_counts import (
    count_list,
    counts_said,
    disc_roots,
    general_statements,
    rib_types,
)
from anatomy.claims.kinds.level_exits import root_exits
from anatomy.claims.kinds.level_facts import levels_shown
from anatomy.claims.kinds.level_motions import moving_roots
from anatomy.claims.kinds.level_reading import Held, LevelReader, Node
from anatomy.claims.levels_said import PLACE, Said
from anatomy.claims.numbers_said import UNITS
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence

C = "[mabdpWDevTrtw:n]{0,9}"
"""Words that may stand between a thing and its level."""


# -- judging -------------------------------------------------------------------------------------------------------------


def _distance(level: str, held: Sequence[str], ribs: bool) -> int:
    if ribs and level.isdigit():
        return min((abs(int(level) - int(other)) for other in held if other.isdigit()), default=0)
    known = [PLACE[other] for other in held if other in PLACE]
    return min(abs(PLACE[level] - other) for other in known) if known else 0


def judge_level(said: Said, held: Held, ribs: bool, equated: bool = False) -> str:
    """A verdict on levels said against levels held; what sources differ by (one level) is never called wrong."""
    all_held = (*held.levels, *held.also)
    if said.region:
        shared = sum(level in said.levels for level in held.levels)
        return (
            "right"
            if shared == len(held.levels)
            else "depends"
            if shared
            else "wrong"
            if not held.near
            else "unknown"
        )
    if not all_held or (not ribs and not any(level in PLACE for level in held.levels)):
        return "unknown"
    away = [_distance(level, all_held, ribs) for level in said.levels]
    inside = sum(distance == 0 for distance in away)
    if inside == len(away):
        missing = [lv for lv in held.levels if lv not in said.levels]
        if held.term and held.term[0] == "muscle" and not set(said.levels) & set(held.levels):
            return "unknown"
        if held.many and len(said.levels) == 1 and len(held.levels) >= 4:
            return "depends"
        if equated and len(said.levels) == 1 and missing and not held.near:
            return "depends"
        if said.spanned and held.many and len(missing) > 1:
            return "unknown"
        return "right"
    if not inside:
        far = said.spanned and max(away) > held.near + 1
        return "unknown" if held.near and min(away) <= held.near and not far else "wrong"
    if max(away) <= 1:
        return "right" if held.near else "unknown"
    return "wrong" if said.spanned or inside * 2 < len(away) else "unknown"


def _finding(verdict: str, said: Said, held: Held, ribs: bool) -> Finding:
    shown = levels_shown(held.levels, ribs)
    terms = (held.term,) if held.term else ()
    if held.term and held.term[0] in ("muscle", "group"):
        fact = f"{held.what} is supplied by the roots {shown}"
    elif held.term and held.term[0] == "nerve":
        fact = f"the {held.what} {'tests' if 'reflex' in held.what else 'comes from'} {shown}"
    else:
        fact = held.why or f"the {held.what} lies at {shown}"
    if verdict == "wrong":
        return Finding(
            "wrong",
            sentence(f"{fact}, not {levels_shown(said.levels, ribs)}"),
            sentence(fact),
            held.sources,
            terms,
        )
    if verdict == "depends":
        why = f"{fact}; {levels_shown(said.levels, ribs)} is only one of them"
        if held.extra:
            why = f"it depends on what is meant: by vertebra the {held.what} lies at {shown}, by skin at {levels_shown(held.extra, False)}"
        return Finding("depends", sentence(why), "", held.sources, terms)
    return Finding("right", sentence(fact), "", held.sources, terms)


ALWAYS = frozenset(
    {"always", "everyone", "everybody", "in everyone", "in everybody", "invariably", "without exception"}
)


def rank_of(worst: tuple[int, Finding, Held] | None) -> int:
    """How grave the gravest judgement so far is."""
    return worst[0] if worst else -1


def _judged(
    reader: LevelReader, things: list[Node], level: Node, denied: bool, words: str
) -> tuple[Finding, Held] | None:
    ribs = level.letter == "R"
    said: Said = level.value
    worst: tuple[int, Finding, Held] | None = None
    order = {"right": 0, "unknown": 1, "depends": 2, "wrong": 3}
    for node in things:
        held = reader.held(node, level, words)
        if held is None or not held.levels:
            return None
        equated = node.letter == "M" and words.startswith("V") and "b" in words and "T" not in words
        verdict = judge_level(said, held, ribs, equated)
        if verdict == "right" and node.letter in "OP" and any(x.text in ALWAYS for x in reader.items):
            why = f"it varies from person to person: usually {levels_shown(held.levels, ribs)}"
            if rank_of(worst) < 2:
                worst = (
                    2,
                    Finding("depends", sentence(why), "", held.sources, (held.term,) if held.term else ()),
                    held,
                )
            continue
        bare = "Ob" in words and "p" not in words and "v" not in words
        if held.extra and bare and verdict == "right" and not set(said.levels) & set(held.extra):
            verdict = "depends"
        if denied:
            verdict = {"right": "wrong", "wrong": "right"}.get(verdict, "unknown")
        rank = order[verdict]
        if worst is None or rank > worst[0]:
            finding = _finding(verdict, said, held, ribs) if verdict != "unknown" else Finding("unknown", "")
            if denied and verdict != "unknown":
                finding = Finding(
                    finding.verdict,
                    _finding("right", said, held, ribs).why,
                    finding.instead,
                    held.sources,
                    finding.terms,
                )
            worst = rank, finding, held
    return (worst[1], worst[2]) if worst else None


def _resp(reader: LevelReader) -> Iterator[tuple[int, int, list[Node], Node, bool, str]]:
    """ "the biceps and triceps reflexes are C5 and C7 respectively" is read level by level."""
    for i, j, things, level, denied, words in reader.read():
        said: Said = level.value
        if reader.reading.has("RESP") and len(things) == len(said.levels) > 1:
            for node, one in zip(things, said.levels, strict=True):
                yield (
                    i,
                    j,
                    [node],
                    Node(level.letter, level.i, level.j, Said(level.i, level.j, (one,))),
                    denied,
                    words,
                )
        else:
            yield i, j, things, level, denied, words


def _answered(reader: LevelReader) -> Iterator[tuple[int, int, list[Node], Node, bool, str]]:
    """ "The phrenic nerve? C three, four and five.": an answer that is only a level."""
    memory = reader.reading.memory
    answer = memory.asked and re.match(r"^[ad,]*V$", reader.shape)
    short = len(memory.before or ()) <= 5 and re.match(r"^[ad,]*(?:e|i|ib)[av]*p?[ad]*W*p?d?V", reader.shape)
    if not answer and not short:
        return
    nerves = [
        reader.vocabulary.nerves[x.c["NRV"]]
        for x in memory.before or []
        if reader.vocabulary.nerves.get(x.c.get("NRV", "")) is not None
    ]
    if len(nerves) == 1 and nerves[0].roots:
        level = next(node for node in reader.nodes if node.letter == "V")
        yield 0 if short else level.i, level.j, [Node("N", level.i, level.j, nerves[0])], level, False, "V"


# -- ribs that float, counts, discs ---------------------------------------------------------------------------------------

RIB_TYPE = re.compile(r"(?P<v>R)(?P<c>[mabdn]{0,4})(?P<y>Y)")


TYPE_RIB = re.compile(r"(?P<y>Y)[Wa]*(?P<c>[bar:n]{1,4}|,)d?(?P<v>[RK])")


def claim_levels(reading: Reading) -> None:
    """Adds the sentence's claims about levels to the reading."""
    if not (
        reading.has("LEVEL", "LSIGN", "LCOUNT")
        or (reading.has("NUM") and (reading.memory.asked or _after_a_nerve(reading)))
        or (reading.has("NUM", "LFLOAT", "STR") and (reading.has("STR", "LCOUNT", "NRV", "PART", "LAREA")))
    ):
        return
    if not _may_hold_levels(reading):
        return
    reading = without_asides(reading)
    spans: list[tuple[int, int]] = []
    for special in (
        root_exits,
        general_statements,
        disc_roots,
        rib_types,
        count_list,
        counts_said,
        moving_roots,
    ):
        for i, j, finding, replace in special(reading):
            if any(a < j and i < b for a, b in spans):
                continue
            spans.append((i, j))
            reading.add("level", i, j, finding, replace)
    reader = LevelReader(reading)
    if "V" not in reader.shape and "R" not in reader.shape:
        return
    for i, j, things, level, denied, words in (*_resp(reader), *_answered(reader)):
        if any(a < j and i < b for a, b in spans):
            continue
        judged = _judged(reader, things, level, denied, words)
        if judged is None or judged[0].verdict == "unknown":
            continue
        finding, held = judged
        replace = None
        if finding.verdict == "wrong" and len(things) == 1 and not denied:
            replace = (level.i, level.j, levels_shown(held.levels, level.letter == "R"))
        reading.add("level", i, j, finding, replace)


def _after_a_nerve(reading: Reading) -> bool:
    """ "The ulnar nerve. It's built from …": a sentence about what a short one before only named."""
    before = reading.memory.before
    return before is not None and len(before) <= 5 and any("NRV" in item.c for item in before)


def _may_hold_levels(reading: Reading) -> bool:
    for item in reading.items:
        held = item.c
        if (
            held.get("STR") == "ribs"
            or "LEVEL" in held
            or "NUM" in held
            or "LCOUNT" in held
            or "LFLOAT" in held
        ):
            return True
        if "STR" in held and str(held["STR"]).endswith((" rib", " vertebra", "ribs")):
            return True
        if (
            item.text.split()[0] in ("cervical", "lumbar", "thoracic", "sacral")
            or item.text.removesuffix("'s") in UNITS
        ):
            return True
    return False
