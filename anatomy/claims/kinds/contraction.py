"""Claims about how a muscle works: shortening, lengthening under load, or holding its length."""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding
from anatomy.claims.clauses import clause_start
from anatomy.claims.items import Item
from anatomy.claims.kinds.contraction_judging import (
    answers_of,
    judge_exercise,
    judge_phase,
    names_said,
    terms_of,
    verdict_on,
)
from anatomy.claims.kinds.contraction_reading import ContractionReader
from anatomy.claims.kinds.exercises import (
    EXPECTED,
    LENGTH,
    SOURCES,
    Phase,
    Said,
    Work,
)
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence
from anatomy.claims.subjects import Named

# -- judging -------------------------------------------------------------------------------------------------------------


def _motion(reader: ContractionReader, said: Said, names: Sequence[Named]) -> Finding | None:
    """A kind said of a muscle while a joint moves: "as the knee bends the quads shorten"."""
    reading = reader.reading
    used = {k for k, _ in reader.exercises} | {said.k}
    motions = [
        e
        for e in reading.expressions
        if e.pairs
        and not e.vague
        and e.head not in used
        and e.form != "agent"
        and e.head not in reader.taken
        and (e.parts or e.object)
        and not _of_muscle(reader, e.head)
    ]
    if not motions or not names:
        return None
    answers = [d.answer for e in motions for d in answers_of(reading, names, e.pairs)]
    terms = terms_of(said.work, names, reading)
    if all(a == "does" for a in answers):
        work: Work = "concentric"
    elif all(a == "opposite" for a in answers):
        work = "eccentric"
    elif "does" in answers and "opposite" in answers and not said.denied:
        why = f"{names_said(names)} crosses more than one joint here: one motion shortens it, the other lengthens it"
        return Finding("depends", sentence(why), "", SOURCES, terms)
    else:
        return None
    if said.work == "isometric" and work == "eccentric":
        return None
    verb = (
        "makes that motion, so it shortens"
        if work == "concentric"
        else "works against that motion, so it lengthens"
    )
    return verdict_on(said, work, f"{names_said(names)} {verb}: {work} work", terms)


def _of_muscle(reader: ContractionReader, k: int) -> bool:
    return any(i <= k < j for i, j, _ in reader.muscles)


def _definition(reader: ContractionReader) -> tuple[int, int, Finding] | None:
    """ "Eccentric means the muscle shortens"; "the quads shorten eccentrically"."""
    named = [s for s in reader.kinds if not s.by_length]
    length = [s for s in reader.kinds if s.by_length]
    if not named or not length:
        named = [s for s in reader.kinds if not s.by_length] or _attributive(reader)
    if not named or not length:
        return None
    for one in named:
        for other in length:
            low, high = sorted((one.k, other.k))
            between = reader.items[low + 1 : high]
            defining = (
                any(x.is_("CMEAN") or x.text in ("means", "is", "are", "when", "if", "that") for x in between)
                and not reader.muscles
            )
            clash = (
                len(between) <= 1
                and bool(reader.muscles)
                and not any(x.is_("COMMA", "AND", "OR", "BUT", "NEG") for x in between)
            )
            around = reader.items[low : high + 3]
            inside = not reader.muscles and any(x.is_("CGENERIC") or x.text == "muscle" for x in around)
            if not (defining or clash or inside) or (reader.phases and not clash):
                continue
            same = one.work == other.work
            right = same != (one.denied != other.denied)
            fact = f"{one.work} means that the muscle {LENGTH[one.work]}"
            terms = (("contraction", one.work),)
            if clash and right:
                continue
            finding = (
                Finding("right", sentence(fact), "", SOURCES, terms)
                if right
                else Finding("wrong", sentence(fact), sentence(fact), SOURCES, terms)
            )
            return low, high + 1, finding
    return None


def _attributive(reader: ContractionReader) -> list[Said]:
    found = []
    for k, item in enumerate(reader.items):
        if item.c.get("CON") in EXPECTED.values() and k not in reader.taken:
            found.append(Said(k, item.c["CON"], False, False))
    return found


# -- together --------------------------------------------------------------------------------------------------------------


def claim_contraction(reading: Reading) -> None:
    """Adds the sentence's claims about kinds of contraction to the reading."""
    if not reading.has("CON", "CSHORT", "CLONG", "CSAME"):
        return
    reading = without_asides(reading)
    reader = ContractionReader(reading)
    if not reader.kinds or _is_asked(reading.items):
        return
    definition = _definition(reader)
    if definition is not None:
        i, j, finding = definition
        reading.add("contraction", i, j, finding)
        return
    done: list[tuple[Work, int]] = []
    for said in reader.kinds:
        _claim(reader, said, done)


def _is_asked(items: Sequence[Item]) -> bool:
    """ "Is it concentric, is it eccentric": a question without its mark."""
    return (
        len(items) > 1 and items[0].text in ("is", "are", "do", "does") and items[1].is_("IT", "DET", "MUS")
    )


def _near(reader: ContractionReader, said: Said, phase: tuple[int, Phase]) -> bool:
    """Whether a phase stands in the same stretch of words as the kind."""
    low, high = sorted((phase[0], said.k))
    return high - low <= 8 and not any(x.is_("COMMA", "BUT") for x in reader.items[low:high])


def _claim(reader: ContractionReader, said: Said, done: list[tuple[Work, int]]) -> None:
    reading = reader.reading
    muscle = reader.muscle_of(said)
    names = muscle[2] if muscle is not None else ()
    phase = reader.phase_of(said)
    exercise = min(reader.exercises, default=None, key=lambda e: abs(e[0] - said.k))
    if said.by_length and not names and not any("CGENERIC" in x.c for x in reader.items[: said.k]):
        return
    finding: Finding | None = None
    spots = [said.k]
    if muscle is not None:
        spots += [muscle[0], muscle[1] - 1]
    motion = _motion(reader, said, names) if names else None
    if phase is not None and not (
        motion is not None
        and not _near(reader, said, phase)
        and phase[1] != "hold"
        and motion.verdict != "depends"
        and not _agrees(phase[1], said, motion)
    ):
        finding = judge_phase(reading, said, phase[1], names, exercise[1] if exercise else None)
        spots.append(phase[0])
    elif motion is not None:
        finding = motion
    elif exercise is not None:
        finding = judge_exercise(reading, said, names, exercise[1])
        spots.append(exercise[0])
    if finding is None or finding.verdict == "unknown":
        return
    if said.denied and any(work != said.work for work, _ in done):
        return
    key = (said.work, phase[0] if phase else -1)
    if key in done:
        return
    done.append(key)
    i, j = min(spots), max(spots) + 1
    others = [s.k for s in reader.kinds if s is not said]
    i = max([i, *(k + 1 for k in others if k < said.k and not said.by_length and k >= i)])
    j = min([j, *(k for k in others if k > said.k and k < j)])
    i = clause_start(reader.items, i, min(said.k, phase[0]) if phase else said.k)
    i = max([i, *(end for end in reader.ends if i < end <= said.k)])
    while i < said.k and (reader.items[i].is_("COMMA", "AND", "BUT", "DASH", "SUB") or i in others):
        i += 1
    reader.ends.append(j)
    reading.add("contraction", i, j, finding, _replacement(reader, said, finding))


def _agrees(phase: Phase, said: Said, motion: Finding) -> bool:
    expected = EXPECTED[phase]
    return (motion.verdict == "right") == ((said.work == expected) != said.denied)


def _replacement(reader: ContractionReader, said: Said, finding: Finding) -> tuple[int, int, str] | None:
    if finding.verdict != "wrong" or said.denied:
        return None
    work = next((w for w in ("concentric", "eccentric", "isometric") if f": {w} work" in finding.why), "")
    item: Item = reader.items[said.k]
    if not work or work == said.work:
        return None
    if not said.by_length:
        return said.k, said.k + 1, item.text.replace(said.work, work) if said.work in item.text else work
    verbs = {"concentric": "shorten", "eccentric": "lengthen", "isometric": ""}
    verb = verbs[work]
    for stem in ("shorten", "lengthen"):
        if verb and item.text.startswith(stem):
            return said.k, said.k + 1, item.text.replace(stem, verb)
    return None
