"""What a sentence about muscles leaves out: verbs not said again, "it", questions answered, "respectively"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from anatomy.claims.expressing.expression import SPINE_TURNS, Expression
from anatomy.claims.items import Item
from anatomy.claims.kinds.action_statement import ActionReading
from anatomy.claims.lexicon import Pair
from anatomy.claims.reading import Reading
from anatomy.claims.subjects import Subject

ASKED_OF = frozenset(
    {"ask", "try", "blame", "thank", "credit", "look to", "say", "for that", "phone", "ring"}
)


def with_ellipses(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
    """ "biceps bends the elbow, triceps the knee"; "… and serratus does the opposite"; "so does brachialis"."""
    items, n = reading.items, len(reading.items)
    grammar = reading.subjects
    claimed = [(a.i, a.j) for a in found]
    more: list[ActionReading] = []
    for k in range(n):
        if "MUS" not in items[k].c or any(i <= k < j for i, j in claimed):
            continue
        if k + 1 < n and items[k + 1].is_("AND", "MUS"):
            continue
        model = next((a for a in reversed(found) if a.j <= k), None)
        if model is None:
            continue
        subject = grammar.ending_at(k)
        if subject is None or subject.i == 0:
            continue
        if items[subject.i - 1].is_("SAME"):
            more.append(replace(model, subject=subject, i=subject.i - 1, j=subject.j))
            continue
        if not items[subject.i - 1].is_("COMMA", "AND", "BUT", "DASH", "SUB", "MARK", "AUX"):
            continue
        m = k + 1
        while (
            m < n and items[m].is_("ADV", "DO", "DET", "AUX") and not items[m].is_("OPPOSITE", "SAME", "PART")
        ):
            m += 1
        if m < n and items[m].is_("OPPOSITE"):
            pairs = reading.acting.opposites(model.pairs)
            if pairs:
                more.append(replace(model, subject=subject, pairs=pairs, i=subject.i, j=m + 1))
            continue
        last = items[n - 1]
        if (
            m >= n
            and n > k + 1
            and last.text in ("too", "as well", "also", "likewise")
            and subject.j <= n - 1
        ):
            more.append(replace(model, subject=subject, i=subject.i, j=n))
            continue
        if m >= n and model.denied and k + 1 >= n and items[subject.i - 1].is_("AUX", "BUT", "COMMA"):
            more.append(replace(model, subject=subject, denied=False, i=subject.i, j=n))
            continue
        if m < n and items[m].is_("SAME"):
            more.append(replace(model, subject=subject, i=subject.i, j=m + 1))
            continue
        changed = _changed(reading, model, m)
        if changed is not None and subject.j <= m:
            pairs, end = changed
            more.append(replace(model, subject=subject, pairs=pairs, i=subject.i, j=end))
    return more


def with_pronouns(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
    """ "Point your toes. That's the calf working.", "… and the rhomboids do that": a motion said before, pointed at."""
    items, n = reading.items, len(reading.items)
    if not reading.has("ATWORK", "DOTHAT", "AUX") and n > 8:
        return []
    linked = {id(a.expression) for a in found}
    more: list[ActionReading] = []
    for k in range(n):
        if "MUS" not in items[k].c or (
            k + 1 < n and items[k + 1].is_("AND", "OR", "COMMA") and k + 2 < n and _names_next(reading, k + 2)
        ):
            continue
        subject = reading.subjects.ending_at(k)
        if subject is None:
            continue
        earlier = [
            e
            for e in reading.expressions
            if e.j <= subject.i and id(e) not in linked and e.pairs and e.form != "agent" and not e.vague
        ]
        pairs = earlier[-1].pairs if earlier else reading.memory.motion
        model = earlier[-1] if earlier else None
        if not pairs or not _points(reading, subject, k, model):
            continue
        if model is not None and model.object == "self" and reading.has("CDOWN"):
            # "The knee bends as she lands, that's the quads": they may as well be braking it.
            continue
        expression = model or Expression(
            k, subject.i, subject.j, "noun", pairs, motions=tuple(m for _, m in pairs)
        )
        end = min(n, k + 2) if k + 1 < n and items[k + 1].is_("ATWORK", "DOTHAT") else k + 1
        turned = replace_turn(expression, reading)
        more.append(ActionReading(subject, turned, pairs, False, False, max(0, subject.i), end))
    return more


def with_answers(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
    """ "Glute max? Hip flexor.", and "… . Teres minor does the opposite.": answers to the sentence before."""
    items = reading.items
    memory = reading.memory
    last = memory.last
    if not found and isinstance(last, ActionReading) and reading.has("OPPOSITE", "SAME") and len(items) <= 8:
        place = next((k for k, item in enumerate(items) if "MUS" in item.c), -1)
        subject = reading.subjects.ending_at(place) if place >= 0 else None
        sign = next((k for k, item in enumerate(items) if item.is_("OPPOSITE", "SAME")), -1)
        if subject is not None and subject.i <= 1 and sign >= 0:
            pairs = last.pairs if items[sign].is_("SAME") else reading.acting.opposites(last.pairs)
            here = Expression(sign, sign, sign + 1, "agent", pairs, motions=tuple(m for _, m in pairs))
            return [ActionReading(subject, here, pairs, False, False, 0, len(items))] if pairs else []
    if not found and memory.asked and memory.topic is not None and len(items) <= 9 and _nobody_named(items):
        agents = [
            e
            for e in reading.expressions
            if e.form in ("agent", "noun", "ing", "base")
            and e.pairs
            and e.object != "self"
            and all(
                item.is_("AUX", "DET", "IT", "ADJ", "ADV") or item.text in ("to", "for")
                for item in items[: e.i]
            )
        ]
        if agents:
            return [
                ActionReading(
                    replace(memory.topic, i=0, j=1), agents[0], agents[0].pairs, False, False, 0, agents[0].j
                )
            ]
    return []


def _nobody_named(items: Sequence[Item]) -> bool:
    """Whether no muscle is named but by what it does ("hip flexor")."""
    return not any("MUS" in item.c and "AGT" not in item.c for item in items)


def replace_turn(expression: Expression, reading: Reading) -> Expression:
    """The expression with the side that it turned to, also when the sentence before said it."""
    if not expression.turn and reading.memory.turn and any(m in SPINE_TURNS for _, m in expression.pairs):
        expression.turn = reading.memory.turn
    return expression


def _names_next(reading: Reading, k: int) -> bool:
    while k < len(reading.items) and reading.items[k].is_("DET", "ADJ", "AND", "DIR"):
        k += 1
    return k < len(reading.items) and "MUS" in reading.items[k].c


def _points(reading: Reading, subject: Subject, k: int, model: Expression | None) -> bool:
    """Whether these muscles are said to be at work on the motion before them."""
    items, n = reading.items, len(reading.items)
    after = items[k + 1] if k + 1 < n else None
    if after is not None and (after.is_("DOTHAT") or (after.text in ("does", "do") and reading.memory.asked)):
        return True
    before = items[subject.i - 1] if subject.i else None
    if before is not None and _work_done_by(items[: subject.i], model):
        return after is None or after.is_("COMMA", "ADV", "AND", "SUB", "DASH")
    if (
        before is not None
        and before.text in ("is", "are")
        and items[subject.i - 2].is_("REL")
        and model is not None
    ):
        # "The arm turns in, which is infraspinatus."
        related = subject.i > 2 and items[subject.i - 3].is_("COMMA", "DASH")
        return (
            related
            and model.object != ""
            and (after is None or after.is_("COMMA", "DASH", "DOTHAT", "ATWORK"))
        )
    asking = any(
        item.text
        in (
            "to do that",
            "to do this",
            "to do it",
            "for that",
            "for this",
            "for it",
            "do that",
            "do this",
            "do it",
        )
        for item in items[: subject.i]
    )
    if (
        before is not None
        and before.is_("NEED")
        and asking
        and (after is None or after.is_("COMMA", "ADV", "AND"))
    ):
        return True
    if before is not None and before.text in (
        "that's",
        "those are",
        "that is",
        "these are",
        "it's",
        "are",
        "is",
        "here",
        "that'll be",
        "that will be",
        "that'd be",
        "that would be",
        "nothing but",
    ):
        said = " ".join(item.text for item in items[max(0, subject.i - 2) : subject.i])
        pointing = said.endswith(
            (
                "that's",
                "those are",
                "that is",
                "these are",
                "this is",
                "that'll be",
                "that will be",
                "nothing but",
            )
        )
        return pointing and (after is None or after.is_("ATWORK", "COMMA", "DOTHAT", "ADV"))
    if (
        before is not None
        and before.is_("COMMA", "DASH", "AND")
        and after is not None
        and after.is_("ATWORK")
        and model is not None
    ):
        return model.j >= subject.i - 2
    opening = all(
        item.is_("ADV", "COMMA", "SEE", "NEED", "AUX") or item.text in ASKED_OF for item in items[: subject.i]
    )
    closing = all(
        item.is_("ADV", "COMMA", "ATWORK", "NEG", "DO") or item.text in ("right", "yes")
        for item in items[k + 1 :]
    )
    answers = opening and closing and n <= 9 and reading.memory.asked
    short = before is None and after is None and n <= 6 and reading.memory.commanded
    return model is None and (short or answers)


WORK = frozenset(
    {"the work", "this", "that", "it", "all of this", "all of that", "the job", "that work", "this work"}
)


def _work_done_by(before: Sequence[Item], model: Expression | None) -> bool:
    """ "When she pulls her toes up, the work is done by (soleus)": the motion of the clause before is meant."""
    if model is None or len(before) < 3:
        return False
    done = before[-1].text in ("done by", "down to", "the work of", "the job of", "the doing of", "thanks to")
    said = [item.text for item in before[model.j :]]
    if done and said[:1] and before[model.j].is_("COMMA", "DASH", "SUB", "AND"):
        rest = " ".join(
            word
            for word in said[1:-1]
            if word not in ("is", "are", "was", "mostly", "mainly", "all", "being")
        )
        return rest in WORK
    return False


def _changed(reading: Reading, model: ActionReading, m: int) -> tuple[tuple[Pair, ...], int] | None:
    """The model's motion with another part ("the knee") or another direction ("outwards") from item ``m`` on."""
    items, n = reading.items, len(reading.items)
    if m >= n:
        return None
    expression = model.expression
    if "PART" in items[m].c and (m + 1 >= n or items[m + 1].is_("COMMA", "AND", "ADV", "BUT", "PREP")):
        part = items[m].c["PART"]
        if expression.plain:
            found = reading.lexicon.plain.get(
                (expression.word, part, next(iter(expression.directions), "")), ()
            ) or reading.lexicon.plain.get((expression.word, part, ""), ())
            return (tuple(found), m + 1) if found else None
        pairs = reading.lexicon.pairs(reading.lexicon.joints_of(part), expression.motions)
        return (pairs, m + 1) if pairs else None
    if "DIR" in items[m].c and (m + 1 >= n or items[m + 1].is_("COMMA", "AND", "ADV", "BUT")):
        direction = items[m].c["DIR"]
        if expression.plain:
            turned = [
                pair
                for part in expression.parts or ("arm", "thigh")
                for pair in reading.lexicon.plain.get((expression.word, part, direction), ())
            ]
            return (tuple(turned), m + 1) if turned else None
        motion = reading.lexicon.families.get((expression.word, direction))
        joints = {joint for joint, _ in model.pairs}
        other = reading.lexicon.pairs(sorted(joints), [motion]) if motion else ()
        return (other, m + 1) if other else None
    return None


def with_pairs(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
    """ "A and B flex and extend the elbow respectively": the first does the first, the second the second."""
    if not reading.has("RESP"):
        return found
    result: list[ActionReading] = []
    used: set[int] = set()
    for number, action in enumerate(found):
        if number in used:
            continue
        same = [n for n, other in enumerate(found) if other.subject.names == action.subject.names]
        names = action.subject.names
        if len(names) > 1 and len(same) == len(names):
            used.update(same)
            i = min(found[n].i for n in same)
            j = max(found[n].j for n in same)
            for name, n in zip(names, same, strict=True):
                result.append(replace(found[n], subject=replace(found[n].subject, names=(name,)), i=i, j=j))
        elif len(names) > 1 and action.expression.plain and len(action.expression.directions) == len(names):
            for name, direction in zip(names, action.expression.directions, strict=True):
                pairs = tuple(
                    pair
                    for part in action.expression.parts
                    for pair in reading.lexicon.plain.get((action.expression.word, part, direction), ())
                )
                subject = replace(action.subject, names=(name,))
                result.append(replace(action, subject=subject, pairs=pairs or action.pairs))
        elif len(names) > 1 and (each := _each_direction(reading, action)) is not None:
            for name, pairs in zip(names, each, strict=True):
                result.append(replace(action, subject=replace(action.subject, names=(name,)), pairs=pairs))
        elif (pair := _paired_nouns(reading, action)) is not None:
            for name, expression in zip(names, pair, strict=True):
                subject = replace(action.subject, names=(name,))
                i = min(action.i, pair[0].i)
                result.append(
                    replace(action, subject=subject, expression=expression, pairs=expression.pairs, i=i)
                )
        elif len(names) > 1 and len(action.expression.parts) == len(names):
            for name, part in zip(names, action.expression.parts, strict=True):
                joints = set(reading.lexicon.joints_of(part))
                pairs = tuple(pair for pair in action.pairs if pair[0] in joints)
                result.append(
                    replace(
                        action, subject=replace(action.subject, names=(name,)), pairs=pairs or action.pairs
                    )
                )
        else:
            result.append(action)
    return result


def _each_direction(reading: Reading, action: ActionReading) -> list[tuple[Pair, ...]] | None:
    """ "A and B rotate the arm outwards and inwards respectively": the pairs of each direction."""
    expression, families = action.expression, reading.lexicon.families
    motions = [families.get((expression.word, direction)) for direction in expression.directions]
    if expression.plain or len(motions) != len(action.subject.names) or not all(motions):
        return None
    return [tuple(pair for pair in action.pairs if pair[1] == motion) for motion in motions]


def _paired_nouns(reading: Reading, action: ActionReading) -> tuple[Expression, Expression] | None:
    """ "Inversion and eversion belong to A and B respectively": the two nouns, when the second was linked."""
    nouns = [e for e in reading.expressions if e.form == "noun" and e.pairs]
    place = next((n for n, e in enumerate(nouns) if e is action.expression), 0)
    if place == 0 or len(action.subject.names) != 2:
        return None
    one, other = nouns[place - 1], nouns[place]
    return (one, other) if other.i - one.j == 1 and reading.items[one.j].is_("AND") else None
