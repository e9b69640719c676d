"""Judges statements of nerve supply."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from anatomy.claims.claim import Finding
from anatomy.claims.kinds.nerve_supply import Answer, Supply
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import joined, sentence
from anatomy.claims.subjects import Named


@dataclass(frozen=True)
class SupplyReading:
    """ "This nerve supplies these muscles", said in the items ``i`` to ``j``."""

    muscles: tuple[Named, ...]
    nerves: tuple[tuple[int, str], ...]
    denied: bool
    i: int
    j: int
    every: bool = False
    most: bool = False


def members_of(
    reading: Reading, supply: Supply, named: Named
) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    """How a muscle or group is called, its muscles, and the part words left over."""
    if named.name.startswith("@"):
        word = named.name[1:]
        if word in supply.extra:
            muscle = supply.extra[word].muscles[0]
            return muscle, (muscle,), ()
        names = supply.regions[word]
        return word, tuple(dict.fromkeys(m for n in names for m in reading.lexicon.vocabulary.members(n))), ()
    if named.pairs:
        found = [
            a.muscle
            for joint, motion in named.pairs
            for a in reading.lexicon.vocabulary.actions_at(joint, motion)
            if a.role == "prime" and not a.conditional
        ]
        return named.name, tuple(dict.fromkeys(found)), ()
    members, left = reading.acting.parts(named.name, named.qualifiers)
    said = " ".join([*(q for q in named.qualifiers if q not in named.name), named.name])
    return said, members, (*left, *named.qualifiers)


def judge_supply(reading: Reading, supply: Supply, made: SupplyReading) -> Finding:
    """A verdict: every muscle named must have its nerve among those named."""
    nerves = [name for _, name in made.nerves]
    per_name: list[tuple[Named, str, dict[str, Answer]]] = []
    for named in made.muscles:
        said, members, part = members_of(reading, supply, named)
        if not members or (named.pairs and len(members) > 12):
            return Finding("unknown", "")
        per_name.append((named, said, {m: supply.of_muscle(m, nerves, part) for m in members}))
    if made.denied:
        return _denied(supply, made, per_name)
    for named, said, answers in per_name:
        if set(answers.values()) <= {"not"} or _hardly(supply, named, answers):
            return _wrong(supply, made, named, said, answers)
    for named, said, answers in per_name:
        if _few(made, named, answers):
            return _wrong(supply, made, named, said, answers)
    for named, _, answers in per_name:
        if named.pairs and "unknown" in answers.values():
            return Finding("unknown", "")
        if named.pairs and 0 <= sum(a == "not" for a in answers.values()) <= len(answers) / 2:
            return _right(supply, made, per_name)
    for named, said, answers in per_name:
        if "unknown" in answers.values():
            return Finding("unknown", "")
        if _mixed(supply, made, named, answers):
            return _depends(supply, made, said, answers)
    if any("tolerated" in answers.values() for _, _, answers in per_name):
        return Finding("unknown", "")
    return _right(supply, made, per_name)


def _hardly(supply: Supply, named: Named, answers: dict[str, Answer]) -> bool:
    """A group known to have another nerve, of which one muscle at most has this one."""
    known = any(name == named.name for name, _ in supply.accepted)
    return known and len(answers) >= 4 and sum(a != "not" for a in answers.values()) <= 1


def _few(made: SupplyReading, named: Named, answers: dict[str, Answer]) -> bool:
    """ "Mostly" by a nerve that fewer than half have, or a motion of whose movers hardly one has it."""
    others = sum(answer == "not" for answer in answers.values())
    if "unknown" in answers.values() or not others:
        return False
    return (made.most and others * 2 > len(answers)) or (bool(named.pairs) and others * 3 > len(answers) * 2)


def _mixed(supply: Supply, made: SupplyReading, named: Named, answers: dict[str, Answer]) -> bool:
    if not {"not", "partly"} & set(answers.values()):
        return False
    accepted = (named.name, made.nerves[0][1]) in supply.accepted
    fine = sum(a in ("does", "tolerated") for a in answers.values())
    if made.most and fine * 2 > len(answers):
        return False
    return not (accepted and not made.every)


def _terms(made: SupplyReading, answers: dict[str, Answer]) -> tuple[tuple[str, str], ...]:
    return (*(("muscle", m) for m in list(answers)[:2]), *(("nerve", n) for _, n in made.nerves[:2]))


def _own(supply: Supply, muscle: str) -> str:
    names = list(dict.fromkeys(supply.nerves_of(muscle)))
    kept = [n for k, n in enumerate(names) if not any(n in supply.same.get(o, ()) for o in names[:k])]
    return joined(f"the {n}" if not n.startswith(("anterior rami", "posterior rami")) else n for n in kept)


def _wrong(
    supply: Supply, made: SupplyReading, named: Named, said: str, answers: dict[str, Answer]
) -> Finding:
    by_nerve: dict[str, list[str]] = {}
    for muscle in answers:
        by_nerve.setdefault(_own(supply, muscle), []).append(muscle)
    plural = len(answers) > 1
    if len(by_nerve) == 1:
        fact = f"{said} {'are' if said.endswith('s') and plural else 'is'} supplied by {next(iter(by_nerve))}"
    else:
        fact = "; ".join(f"{joined(ms)} by {nerve}" for nerve, ms in list(by_nerve.items())[:3])
        fact = f"{said}: {fact}"
    sources = tuple(dict.fromkeys(key for m in answers for key in supply.sources(m)))[:4]
    wrong = joined(f"the {n}" for _, n in made.nerves)
    return Finding(
        "wrong", sentence(f"{fact}, not by {wrong}"), sentence(fact), sources, _terms(made, answers)
    )


def _depends(supply: Supply, made: SupplyReading, said: str, answers: dict[str, Answer]) -> Finding:
    nerve = joined(f"the {n}" for _, n in made.nerves)
    sources = tuple(dict.fromkeys(key for m in answers for key in supply.sources(m)))[:4]
    if len(answers) == 1:
        muscle = next(iter(answers))
        note = supply.note(muscle) or f"it has {_own(supply, muscle)}"
        return Finding(
            "depends",
            sentence(f"{muscle} has more than one nerve: {note}"),
            "",
            sources,
            _terms(made, answers),
        )
    yes = [m for m, a in answers.items() if a in ("does", "tolerated")]
    part = [m for m, a in answers.items() if a == "partly"]
    no = [m for m, a in answers.items() if a == "not"]
    pieces = [f"{joined(yes[:4])} {'are' if len(yes) > 1 else 'is'} supplied by {nerve}"] if yes else []
    pieces += [f"{joined(part[:3])} only in part"] if part else []
    pieces += [f"{m} by {_own(supply, m)}" for m in no[:3]]
    return Finding(
        "depends",
        sentence(f"it depends on the muscle: {', '.join(pieces)}"),
        "",
        sources,
        _terms(made, answers),
    )


def _right(
    supply: Supply, made: SupplyReading, per_name: Sequence[tuple[Named, str, dict[str, Answer]]]
) -> Finding:
    muscles = [m for _, _, answers in per_name for m in answers]
    said = joined(name for _, name, _ in per_name)
    nerve = joined(f"the {n}" for _, n in made.nerves)
    sources = tuple(dict.fromkeys(key for m in muscles for key in supply.sources(m)))[:4]
    verb = "are" if len(per_name) > 1 or (said.endswith("s") and len(muscles) > 1) else "is"
    return Finding(
        "right", sentence(f"{said} {verb} supplied by {nerve}"), "", sources, _terms(made, per_name[0][2])
    )


def _denied(
    supply: Supply, made: SupplyReading, per_name: Sequence[tuple[Named, str, dict[str, Answer]]]
) -> Finding:
    values = {a for _, _, answers in per_name for a in answers.values()}
    _, said, answers = per_name[0]
    sources = tuple(dict.fromkeys(key for m in answers for key in supply.sources(m)))[:4]
    if values == {"does"}:
        nerve = joined(f"the {n}" for _, n in made.nerves)
        fact = f"{said} is supplied by {nerve}"
        return Finding("wrong", sentence(fact), sentence(fact), sources, _terms(made, answers))
    if values == {"not"}:
        first = next(iter(answers))
        return Finding(
            "right",
            sentence(f"{first} is supplied by {_own(supply, first)}"),
            "",
            sources,
            _terms(made, answers),
        )
    return Finding("unknown", "")
