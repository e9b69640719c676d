"""Claims that an exercise is the work of a muscle: "leg curls are for the quads", "to train the triceps, do biceps curls".

Only exercises of one motion are read; a muscle is told to be the wrong one only where it makes the opposite motion, since
a muscle of another joint may well work to hold it still.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from anatomy.claims.claim import Finding
from anatomy.claims.items import Item
from anatomy.claims.kinds.action_findings import able_of, who_of
from anatomy.claims.kinds.exercises import exercises
from anatomy.claims.lexicon import Pair, listed, rows
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import motion_noun, motions_said, sentence
from anatomy.claims.subjects import Named, Subject

__all__ = ["claim_training"]

NEAR = 7
"""Items that may stand between an exercise and its muscle."""
LITTLE = ("DET", "ADV", "ADJ", "AUX", "COP", "MODAL", "PERSON", "DO", "BY", "COMEFROM", "TRAIN", "PROD", "JOB", "ROLE", "IT", "PREP", "HELP")  # fmt: skip
TIES = ("TRAIN", "COMEFROM", "BY", "JOB")
DOING = frozenset({"do", "does", "doing", "did", "use", "uses", "using", "perform", "performs", "drive", "drives", "driving", "power", "powers"})  # fmt: skip
DONE = frozenset({"done", "driven", "powered", "led", "made", "with the band", "band"})
FOR = frozenset({"for"})
MADE_FOR = frozenset(
    {"is for", "are for", "for", "all about", "is", "are", "is all", "are all", "is all about"}
)


@dataclass(frozen=True)
class Trained:
    """An exercise of one motion, said in the items ``i`` to ``j``."""

    name: str
    pairs: tuple[Pair, ...]
    """The motion, at each joint that the words may mean."""
    sources: tuple[str, ...]
    i: int
    j: int


@lru_cache(maxsize=1)
def _of_one_motion() -> dict[str, tuple[str, Pair, tuple[str, ...]]]:
    """Name, motion and sources of each exercise of one motion, by its words."""
    found = {
        word: (entry.name, entry.motions[0], entry.sources)
        for word, entry in exercises().items()
        if entry.mode in ("both", "lower") and len(entry.motions) == 1 and "toe" not in word
    }
    for row in rows("training"):
        joint, _, motion = row["motions"].partition(": ")
        for word in listed(row["words"]):
            found[word] = (row["name"], (joint, motion), tuple(listed(row["sources"])))
    return found


def claim_training(reading: Reading) -> None:
    """Adds what the sentence says of muscles and the exercises that train them."""
    if not reading.has("EXERCISE", "TRAINED", "TRAIN") or not reading.has("MUS", "FAM"):
        return
    if reading.has("STRETCH", "RELAX"):
        return
    taken = [(claim.start, claim.end) for claim in reading.claims if claim.kind == "muscle_action"]
    for exercise in _exercises_of(reading):
        subject = _after(reading, exercise) or _before(reading, exercise)
        if subject is None:
            _claim_motion(reading, exercise, taken)
            continue
        i, j = min(exercise.i, subject.i), max(exercise.j, subject.j)
        start, end = reading.items[i].start, reading.items[j - 1].end
        if any(a < end and start < b for a, b in taken):
            continue
        finding = _judged(reading, exercise, subject)
        if finding is not None:
            reading.add("muscle_action", i, j, finding)


def _exercises_of(reading: Reading) -> Iterator[Trained]:
    known = _of_one_motion()
    for k, item in enumerate(reading.items):
        word = item.c.get("EXERCISE") or item.c.get("TRAINED")
        if word in known:
            name, pair, sources = known[word]
            yield Trained(name, (pair,), sources, k, k + 1)
    if reading.has("TRAIN", "HELP"):
        for said in reading.expressions:
            if said.form == "noun" and said.pairs and not said.vague and len({m for _, m in said.pairs}) == 1:
                yield Trained("", said.pairs, (), said.i, said.j)


def _claim_motion(reading: Reading, exercise: Trained, taken: Sequence[tuple[int, int]]) -> None:
    """ "Calf raises train plantar flexion": the motion that an exercise is said to be made of."""
    items = reading.items
    said = next((e for e in reading.expressions if exercise.j <= e.i <= exercise.j + NEAR and e.pairs), None)
    if not exercise.name or said is None or said.form not in ("noun", "ing") or said.vague:
        return
    between = items[exercise.j : said.i]
    trained = any(item.is_("TRAIN") for item in between)
    if not trained or any(item.is_("NEG", "MUS", "COMMA") or not item.is_(*LITTLE) for item in between):
        return
    start, end = items[exercise.i].start, items[said.j - 1].end
    if any(a < end and start < b for a, b in taken):
        return
    fact = sentence(f"the {exercise.name} is {motion_noun(*exercise.pairs[0])}")
    own, wide = set(said.pairs), set(reading.acting.widened(exercise.pairs))
    if own & wide:
        reading.add("muscle_action", exercise.i, said.j, Finding("right", fact, "", exercise.sources, ()))
    elif own & set(reading.acting.opposites(exercise.pairs)):
        reading.add("muscle_action", exercise.i, said.j, Finding("wrong", fact, fact, exercise.sources, ()))


def _after(reading: Reading, exercise: Trained) -> Subject | None:
    """ "Leg curls are for the quads", "a lateral raise is done by the pecs", "the biceps curl is all triceps"."""
    items = reading.items
    for k in range(exercise.j, min(len(items), exercise.j + NEAR)):
        subject = reading.subjects.starting_at(k)
        if subject is not None and subject.names:
            between = items[exercise.j : k]
            return subject if between and _ties(between) and _whole(reading, subject.j) else None
        if not items[k].is_(*LITTLE) and items[k].text not in DOING and items[k].text not in DONE:
            return None
    return None


def _ties(between: Sequence[Item]) -> bool:
    """Whether the words between say that the exercise is the work of what follows."""
    said = " ".join(item.text for item in between if not item.is_("DET"))
    if any(item.is_(*TIES) for item in between):
        return True
    only = [item for item in between if not item.is_("ADV", "DET", "ADJ")]
    return said in MADE_FOR or (
        bool(only) and only[-1].text in FOR and all(item.is_("AUX", "COP", "PREP") for item in only)
    )


def _before(reading: Reading, exercise: Trained) -> Subject | None:
    """ "To train the triceps we do biceps curls", "the hamstrings do the leg extension", "for the hamstrings, do leg extensions"."""
    items = reading.items
    for k in range(exercise.i - 1, max(-1, exercise.i - NEAR), -1):
        if items[k].is_("MUS", "FAM") or k in reading.subjects.agents:
            subject = reading.subjects.ending_at(k)
            if subject is None:
                return None
            between = items[subject.j : exercise.i]
            texts = {item.text for item in between}
            led = subject.i > 0 and (items[subject.i - 1].is_("TRAIN") or items[subject.i - 1].text in FOR)
            comma = any(item.is_("COMMA") for item in between)
            if led and (texts & DOING or comma) and _first(reading, subject.i - 1):
                return replace(subject, i=subject.i - 1) if len(subject.names) == 1 else None
            return subject if texts & DOING and not comma and not led else None
        if not items[k].is_(*LITTLE, "COMMA", "COLON") and items[k].text not in DOING:
            return None
    return None


def _first(reading: Reading, k: int) -> bool:
    """Whether the purpose opens the sentence ("for the hamstrings, …", "if you want to train …")."""
    return all(
        item.is_("PREP", "SUB", "PERSON", "ADV", "MODAL", "HELP", "DET") or not item.c
        for item in reading.items[:k]
    )


def _whole(reading: Reading, k: int) -> bool:
    """Whether the muscle stands by itself and does not go on ("the quads' antagonists")."""
    return k >= len(reading.items) or not reading.items[k].is_("MUSNOUN", "OPPOSITE")


def _judged(reading: Reading, exercise: Trained, subject: Subject) -> Finding | None:
    answers = [(named, _answer(reading, named, exercise.pairs)) for named in subject.names]
    for named, answer in answers:
        if answer == "opposite":
            return _wrong(reading, exercise, named)
    if any(answer != "does" for _, answer in answers):
        return None
    named = answers[0][0]
    who = who_of(named)
    pair = next(pair for pair in exercise.pairs if _answer(reading, named, (pair,)) == "does")
    does = f"{who.text} {motions_said([pair], 'base' if who.plural else 's')}"
    why = f"The {exercise.name} is {motion_noun(*pair)}, and {does}" if exercise.name else does
    return Finding("right", sentence(why), "", exercise.sources, _term(reading, named))


def _answer(reading: Reading, named: Named, pairs: tuple[Pair, ...]) -> str:
    """ "does", "opposite" where the muscle does nothing else of what may be meant, or "unknown"."""
    if named.pairs:
        wide = reading.acting.widened(pairs)
        if any(p in wide for p in named.pairs):
            return "does"
        return "opposite" if any(p in wide for p in reading.acting.opposites(named.pairs)) else "unknown"
    found = {reading.acting.of_name(named.name, named.qualifiers, [pair]).answer for pair in pairs}
    if found <= {"opposite", "elsewhere"} and "opposite" in found:
        return "opposite"
    return "does" if "does" in found else "unknown"


def _wrong(reading: Reading, exercise: Trained, named: Named) -> Finding:
    who = who_of(named)
    pair = next(
        (pair for pair in exercise.pairs if _answer(reading, named, (pair,)) == "opposite"), exercise.pairs[0]
    )
    motion, able = motion_noun(*pair), able_of(reading, [pair])
    does = f"{who.text} {motions_said(reading.acting.opposites([pair]), 'base' if who.plural else 's')}"
    why = f"The {exercise.name} is {motion}; {does}" if exercise.name else f"{does}, which is the opposite"
    for_whom = f"The {exercise.name} is for {able}" if exercise.name else f"{motion} is the work of {able}"
    return Finding(
        "wrong", sentence(why), sentence(for_whom) if able else "", exercise.sources, _term(reading, named)
    )


def _term(reading: Reading, named: Named) -> tuple[tuple[str, str], ...]:
    kind = "group" if named.name in reading.lexicon.vocabulary.groups else "muscle"
    return ((kind, named.name),) if named.name else ()
