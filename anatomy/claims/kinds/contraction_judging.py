"""Judges a kind of contraction in a phase of a movement, or in a whole exercise."""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.acting import Doing
from anatomy.claims.claim import Finding
from anatomy.claims.kinds.exercises import (
    EXPECTED,
    SOURCES,
    WHEN,
    Exercise,
    Phase,
    Said,
    Work,
)
from anatomy.claims.lexicon import Pair
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import joined, sentence
from anatomy.claims.subjects import Named


def names_said(names: Sequence[Named]) -> str:
    return joined(" ".join([*(q for q in n.qualifiers if q not in n.name), n.name]) for n in names)


def terms_of(work: str, names: Sequence[Named], reading: Reading) -> tuple[tuple[str, str], ...]:
    groups = reading.lexicon.vocabulary.groups
    return (
        ("contraction", work),
        *((("group" if n.name in groups else "muscle"), n.name) for n in names[:2] if not n.pairs),
    )


def _fact(phase: Phase, names: Sequence[Named], exercise: Exercise | None) -> str:
    work = EXPECTED[phase]
    who = names_said(names) if names else "the working muscle"
    plural = len(names) > 1 or (
        names and names[0].name.endswith("s") and not names[0].name.endswith(("us", "is", "ceps"))
    )
    verbs = {
        "concentric": ("shortens", "shorten"),
        "eccentric": ("lengthens under load", "lengthen under load"),
        "isometric": ("keeps its length", "keep their length"),
    }
    verb = verbs[work][1 if plural else 0]
    at = f" of the {exercise.name}" if exercise is not None and exercise.mode == "both" else ""
    return f"{who} {verb} {WHEN[phase]}{at}: {work} work"


def answers_of(reading: Reading, names: Sequence[Named], pairs: Sequence[Pair]) -> list[Doing]:
    wide = list(reading.acting.widened(pairs))
    found: list[Doing] = []
    for named in names:
        if named.pairs:
            hit = any(p in wide for p in named.pairs)
            against = any(p in wide for p in reading.acting.opposites(named.pairs))
            found.append(Doing("does" if hit else "opposite" if against else "unknown"))
        else:
            found.append(reading.acting.of_name(named.name, named.qualifiers, wide))
    return found


def _two_ways(reading: Reading, names: Sequence[Named], pairs: Sequence[Pair]) -> bool:
    """A muscle over two joints that shortens at the one and lengthens at the main one."""
    acting = reading.acting
    opposite = acting.opposites(pairs[:1])
    for named in names:
        if named.pairs or acting.of_name(named.name, named.qualifiers, pairs).answer != "does":
            continue
        against = acting.of_name(named.name, named.qualifiers, opposite)
        if against.answer == "does" and any(a.role == "prime" and not a.conditional for a in against.actions):
            return True
    return False


def judge_phase(
    reading: Reading, said: Said, phase: Phase, names: Sequence[Named], exercise: Exercise | None
) -> Finding:
    """A verdict on a kind of contraction in one phase of a movement."""
    work = EXPECTED[phase]
    pairs = exercise.motions if exercise is not None and exercise.mode != "sport" else ()
    terms = terms_of(said.work, names, reading)
    if names and pairs and phase != "hold":
        answers = answers_of(reading, names, pairs)
        if _two_ways(reading, names, pairs) and exercise is not None:
            return Finding("unknown", "")
        if any(d.answer == "opposite" for d in answers):
            if said.work == work and not said.denied:
                who = next(n for n, d in zip(names, answers, strict=True) if d.answer == "opposite")
                able = joined(_movers(reading, pairs))
                why = f"{names_said([who])} does not carry the load there; {able} {'lengthen' if phase == 'down' else 'shorten'} {WHEN[phase]}"
                return Finding("wrong", sentence(why), sentence(f"{able}: {work} work"), SOURCES, terms)
            return Finding("unknown", "")
        if (
            all(d.answer in ("not", "elsewhere", "unknown", "conditional", "disputed") for d in answers)
            and said.work != work
        ) and said.work == "isometric":
            return Finding("unknown", "")
    return verdict_on(said, work, _fact(phase, names, exercise), terms)


def verdict_on(said: Said, work: Work, fact: str, terms: tuple[tuple[str, str], ...]) -> Finding:
    same = said.work == work
    if same != said.denied:
        return Finding("right", sentence(fact), "", SOURCES, terms)
    return Finding("wrong", sentence(fact), sentence(fact), SOURCES, terms)


def _movers(reading: Reading, pairs: Sequence[Pair]) -> list[str]:
    joint, motion = pairs[0]
    found = [
        a.muscle
        for a in reading.lexicon.vocabulary.actions_at(joint, motion)
        if a.role == "prime" and not a.conditional
    ]
    return found[:2] or ["the muscles that lift the load"]


def judge_exercise(reading: Reading, said: Said, names: Sequence[Named], exercise: Exercise) -> Finding:
    """A verdict on a kind of contraction said of a whole movement."""
    terms = terms_of(said.work, names, reading)
    if exercise.mode == "hold":
        return verdict_on(
            said,
            "isometric",
            f"the {exercise.name} holds still, so its muscles keep their length: isometric work",
            terms,
        )
    if exercise.mode in ("lower", "raise"):
        phase: Phase = "down" if exercise.mode == "lower" else "up"
        return judge_phase(reading, said, phase, names, exercise)
    if said.denied:
        return Finding("unknown", "")
    answers = answers_of(reading, names, exercise.motions) if names else []
    if exercise.mode == "sport":
        if said.work == "eccentric" and answers and all(d.answer == "opposite" for d in answers):
            why = f"{names_said(names)} brakes the movement and lengthens under load in it"
            return Finding("right", sentence(why), "", exercise.sources, terms)
        why = (
            f"it depends on the phase: {exercise.note}"
            if not exercise.note.startswith("it")
            else exercise.note
        )
        return Finding("depends", sentence(why), "", exercise.sources, terms)
    if said.work == "isometric":
        if exercise.note:
            return Finding("depends", sentence(exercise.note), "", exercise.sources, terms)
        if answers and all(d.answer == "does" for d in answers):
            why = f"the {exercise.name} moves, so {names_said(names)} shortens on the way up and lengthens on the way down"
            return Finding("wrong", sentence(why), sentence(why), SOURCES, terms)
        return Finding("unknown", "")
    if (
        answers
        and any(d.answer == "opposite" for d in answers)
        and not _two_ways(reading, names, exercise.motions)
    ):
        return Finding("unknown", "")
    why = f"it depends on the phase: in the {exercise.name} the way up is concentric, the controlled way down eccentric"
    return Finding("depends", sentence(why), "", SOURCES, terms)
