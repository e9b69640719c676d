"""Claims that a muscle makes a motion: read, judged, and the words to say instead."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from anatomy.claims.acting import Doing
from anatomy.claims.claim import Finding
from anatomy.claims.expressions import SPINE_TURNS, Expression
from anatomy.claims.inflection import Form
from anatomy.claims.items import Item
from anatomy.claims.lexicon import Pair
from anatomy.claims.naming import Who, gathered, muscle_who, muscles_who
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import joined, joint_said, motion_noun, motion_verb, motions_said, sentence
from anatomy.claims.subjects import Link, Named, Subject
from anatomy.vocabulary.entries import Action

HIP_RANGE = ("flexion", "extension")
IDLE = frozenset(
    {"weak", "tight", "short", "stiff", "tired", "cold", "relaxed", "overactive", "lazy", "bent", "raised"}
)
STRONG = ("opposite", "not", "elsewhere")


@dataclass(frozen=True)
class ActionReading:
    """ "These muscles make one of these motions", said in the items ``i`` to ``j``."""

    subject: Subject
    expression: Expression
    pairs: tuple[Pair, ...]
    denied: bool
    against: bool
    i: int
    j: int
    posture: str = ""


def read_actions(reading: Reading) -> list[ActionReading]:
    """Every muscle-action statement of a sentence."""
    moving = reading.has("PV", "FAM", "MOTN", "AGT", "MOVE", "ATWORK", "DOTHAT", "PAGT", "CROSS") and (
        reading.has("MUS", "FAM", "SPEC") or reading.memory.topic is not None
    )
    moving = moving or (reading.has("PART") and reading.has("DIR") and reading.has("MUS"))
    answering = reading.memory.asked or reading.has("OPPOSITE", "SAME")
    if not moving and not ((reading.memory.motion or answering) and reading.has("MUS")):
        return []
    if not reading.expressions and not (reading.has("MUS") and (reading.memory.motion or answering)):
        return []
    found: list[ActionReading] = []
    for expression in reading.expressions:
        for link in _links(reading, expression):
            made = _action(reading, expression, link)
            if made is not None:
                found.append(made)
    found += _elliptic(reading, found)
    found += _pointed_at(reading, found) or _answered(reading, found)
    return _respectively(reading, found)


def _links(reading: Reading, expression: Expression) -> list[Link]:
    """The muscles that a motion is said of. A verb in the active voice looks to its subject first."""
    grammar = reading.subjects
    if expression.form == "agent" and "MUS" in reading.items[expression.head].c:
        return _agent_name_links(reading, expression)
    order: tuple[Callable[[Expression], Link | None], ...]
    active = expression.form in ("s", "base", "ing", "ed") and not expression.passive
    if active:
        order = (
            grammar.loss_of,
            grammar.left_of,
            grammar.cleft_of,
            grammar.right_of,
            grammar.cause_of,
            grammar.named_last,
        )
    else:
        order = (grammar.right_of, grammar.left_of, grammar.cleft_of, grammar.cause_of)
    return next(([link] for find in order if (link := find(expression)) is not None), [])


def _agent_name_links(reading: Reading, expression: Expression) -> list[Link]:
    """A name such as "hip flexors" is a predicate only after "is a" or before a muscle ("hip flexors such as psoas")."""
    items = reading.items
    before = items[expression.i - 1] if expression.i else None
    k = expression.i - 1
    while k >= 0 and items[k].is_("DET", "ADJ", "ADV", "NEG", "DIR") and not items[k].is_("AUX"):
        k -= 1
    negated = any(item.is_("NEG") and item.text.endswith("n't") for item in items[max(0, k) : expression.i])
    after_be = before is not None and (
        (k >= 0 and items[k].is_("AUX", "COP", "AS", "COLON", "OPEN")) or negated
    )
    apposed = k > 0 and items[k].is_("COMMA") and items[k + 1].text in ("a", "an", "the", "your", "our")
    called = (
        k > 0
        and items[k].is_("MUS")
        and any(item.text in ("call", "calls", "consider") for item in items[:k])
    )
    if after_be or apposed or called:
        link = reading.subjects.left_of(expression) or reading.subjects.right_of(expression)
        return [link] if link is not None else []
    if k >= 0 and items[k].text in ("of", "among") and k <= 1:
        link = reading.subjects.first_among(expression)
        return [link] if link is not None else []
    link = reading.subjects.right_of(expression)
    return [link] if link is not None else []


def _action(reading: Reading, expression: Expression, link: Link) -> ActionReading | None:
    subject = link.subject
    if expression.vague and not expression.pairs:
        return None
    if any(_idle(reading, named) for named in subject.names):
        return None
    own = expression.head
    if subject.i <= own < subject.j and expression.form != "agent":
        return None
    subject = _sided(reading, subject)
    i = min(subject.i, expression.i)
    j = max(subject.j, expression.j)
    pairs = expression.pairs
    if not pairs:
        return None
    denied = link.denied
    return ActionReading(
        subject,
        expression,
        pairs,
        denied,
        link.against or link.lengthened,
        i,
        j,
        _posture(reading, i, j, expression),
    )


def _idle(reading: Reading, named: Named) -> bool:
    """A tight or tired muscle is not said to do anything; a "short head" is a part, not a state."""
    members = reading.lexicon.vocabulary.members(named.name)
    parts = {word for member in members for word in member.split()}
    return any(word in IDLE and word not in parts for word in named.qualifiers)


def _sided(reading: Reading, subject: Subject) -> Subject:
    """ "Splenius on the right": a side said after the muscle belongs to it."""
    part = _part_after(reading, subject)
    if part:
        names = tuple(replace(named, qualifiers=(*named.qualifiers, part)) for named in subject.names)
        subject = replace(subject, names=names)
    after = reading.items[subject.j : subject.j + 4]
    said = " ".join(item.text for item in (after[1:] if after and after[0].is_("COMMA") else after))
    side = next(
        (
            side
            for side in ("left", "right")
            if said.startswith(
                (f"on the {side}", f"on your {side}", f"on his {side}", f"of the {side}", f"on her {side}")
            )
        ),
        "",
    )
    if not side or subject.pronoun:
        return subject
    return replace(
        subject, names=tuple(named if named.side else replace(named, side=side) for named in subject.names)
    )


def _part_after(reading: Reading, subject: Subject) -> str:
    """ "Adductor magnus, in its hamstring part,": the word that names the part."""
    items = reading.items
    k = subject.j + (1 if subject.j < len(items) and items[subject.j].is_("COMMA") else 0)
    said = items[k : k + 4]
    if (
        len(said) == 4
        and said[0].text in ("in", "with", "through", "by")
        and said[1].text in ("its", "their", "the")
    ):
        return said[2].text.partition(" ")[0] if said[3].is_("MUSNOUN") else ""
    return ""


def _posture(reading: Reading, i: int, j: int, expression: Expression) -> str:
    """The words that name a posture for this statement ("with the hip bent"), or nothing."""
    items = reading.items
    for k, item in enumerate(items):
        if i <= k < j or not item.is_("POSTURE", "SUB"):
            continue
        ahead = items[k + 1 : k + 8]
        stop = next((n for n, x in enumerate(ahead) if x.is_("COMMA")), len(ahead))
        inside = ahead[:stop]
        if any(x.is_("PART") for x in inside) and any(x.is_("FAM", "PV", "ADJ", "NUM") for x in inside):
            return " ".join(x.text for x in [item, *inside])
        if item.text in ("when", "while", "in") and any(x.text in STANDING for x in inside):
            return " ".join([item.text, "standing"])
        if any(x.is_("FAM") for x in inside) and item.text in ("in", "from", "past", "beyond", "with", "at"):
            return " ".join(x.text for x in [item, *inside])
    return ""


def _elliptic(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
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


def _pointed_at(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
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
        expression = model or Expression(
            k, subject.i, subject.j, "noun", pairs, motions=tuple(m for _, m in pairs)
        )
        end = min(n, k + 2) if k + 1 < n and items[k + 1].is_("ATWORK", "DOTHAT") else k + 1
        turned = replace_turn(expression, reading)
        more.append(ActionReading(subject, turned, pairs, False, False, max(0, subject.i), end))
    return more


def _answered(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
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


ASKED_OF = frozenset(
    {"ask", "try", "blame", "thank", "credit", "look to", "say", "for that", "phone", "ring"}
)


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


def _respectively(reading: Reading, found: list[ActionReading]) -> list[ActionReading]:
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


# -- judging -------------------------------------------------------------------------------------------------------------


def judge_action(reading: Reading, action: ActionReading) -> Finding:
    """A verdict on one statement: every muscle that it names must bear it out."""
    answers: list[tuple[Named, Doing]] = []
    for named in action.subject.names:
        pairs = _turned(action, named)
        if action.against:
            pairs = reading.acting.opposites(pairs)
        if not pairs:
            return Finding("unknown", "")
        answers.append((named, _doing(reading, named, pairs, action.expression.directions)))
    if action.denied:
        return _denied(reading, action, answers)
    answers = [(named, _of_every(reading, action, named, doing)) for named, doing in answers]
    for named, doing in answers:
        if _bends_away(action, named) and doing.answer == "does" and not action.denied:
            return _away(reading, action, named, doing)
    for named, doing in answers:
        if doing.answer in STRONG and not _doubtful(reading, action, named, doing):
            return _wrong(reading, action, named, doing)
    for _, doing in answers:
        if doing.answer in STRONG or doing.answer in ("unknown", "disputed"):
            return Finding("unknown", "")
    for named, doing in answers:
        if doing.answer == "conditional" and _other_posture(reading, action, doing):
            return _wrong_here(reading, action, named, doing)
    for named, doing in answers:
        if doing.answer == "conditional" and _knuckles_named(reading, doing):
            continue
        if doing.answer == "conditional" and not (action.posture and doing.condition):
            return _depends(reading, action, named, doing)
    return _right(reading, action, answers)


def _turned(action: ActionReading, named: Named) -> tuple[Pair, ...]:
    """ "the left splenius turns the head to the right": sides made same or opposite where both are named."""
    turn = action.expression.turn
    if not turn:
        return action.pairs
    if not named.side:
        return ()
    wanted = "rotation same side" if turn == named.side else "rotation opposite side"
    bending = tuple(pair for pair in action.pairs if pair[1] == "lateral flexion")
    if bending:
        return bending
    return tuple(pair for pair in action.pairs if pair[1] == wanted or pair[1] not in SPINE_TURNS)


def _doing(reading: Reading, named: Named, pairs: Sequence[Pair], directions: Sequence[str] = ()) -> Doing:
    if named.pairs:
        return _by_task(reading, named.pairs, pairs)
    beyond = "back" in directions
    doing = reading.acting.of_name(named.name, named.qualifiers, pairs, beyond=beyond)
    for other in named.others if doing.answer != "does" else ():
        instead = reading.acting.of_name(other, named.qualifiers, pairs, beyond=beyond)
        if instead.answer == "does" or (
            doing.answer in ("unknown", "elsewhere") and instead.answer not in ("unknown", "elsewhere")
        ):
            doing = instead
    return doing


EVERY = ("all", "both", "each", "every", "any")


def _of_every(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Doing:
    """ "All three turn the shin in", "quads bend": one member that does the opposite makes the whole statement wrong."""
    members = reading.lexicon.vocabulary.members(named.name)
    if doing.answer != "conditional" or doing.condition or len(members) < 2:
        return doing
    if not action.expression.parts and action.expression.word in ("bend", "straighten"):
        held = [set(reading.acting.by_muscle.get(m, ())) for m in members]
        against = [p for p in reading.acting.opposites(action.pairs) if all(p in one for one in held)]
        same = [p for p in action.pairs if all(p in one for one in held)]
        if against and not same:
            return reading.acting.of_name(named.name, named.qualifiers, reading.acting.opposites(against))
    subject = action.subject
    said = reading.items[subject.i : subject.j] + reading.items[subject.j : subject.j + 1]
    if len(action.subject.names) > 1 or not any(item.text.partition(" ")[0] in EVERY for item in said):
        return doing
    for member in members:
        one = reading.acting.of_muscle(member, action.pairs)
        if one.answer == "opposite" and not all(a.conditional for a in one.actions):
            return one
    return doing


STRAIGHT = frozenset({"straight", "extended", "extension", "straightened", "neutral", "standing"})
STANDING = frozenset({"stand", "stands", "standing", "upright"})
BENT = frozenset({"bent", "flexed", "flexion", "bending"})


def _posture_words(reading: Reading, action: ActionReading) -> set[str]:
    """Words of posture beside the object ("the straight hip") and in the phrase of circumstance."""
    a, b = action.expression.object_at
    said = reading.items[a:b] + reading.items[action.expression.i : action.expression.j]
    return {item.text for item in said} | set(action.posture.split())


def _other_posture(reading: Reading, action: ActionReading, doing: Doing) -> bool:
    """Whether the sentence names the very posture in which a conditional action does not hold."""
    words = _posture_words(reading, action)
    needs_bent = "flex" in doing.condition or "bent" in doing.condition
    return needs_bent and bool(words & STRAIGHT) and not words & BENT and "extended" not in doing.condition


def _wrong_here(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Finding:
    against = reading.acting.of_name(named.name, named.qualifiers, reading.acting.opposites(action.pairs))
    if against.answer != "does":
        return Finding("unknown", "")
    finding = _wrong(reading, action, named, against)
    return replace(
        finding, why=sentence(f"{finding.why.rstrip('.')} in that posture; otherwise only {doing.condition}")
    )


def _knuckles_named(reading: Reading, doing: Doing) -> bool:
    """ "Flex the knuckles and straighten the fingers" names both joints, so that nothing hangs open."""
    return " joints, but " in doing.condition and any(
        item.c.get("PART") == "knuckle" for item in reading.items
    )


def _bends_away(action: ActionReading, named: Named) -> bool:
    """ "The left scalenes tilt the neck to the right": a muscle bends the trunk and neck to its own side."""
    turn = action.expression.turn
    away = bool(turn and named.side and turn != named.side) or "other" in action.expression.directions
    return away and any(m == "lateral flexion" for _, m in action.pairs)


def _away(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Finding:
    who = _who(named)
    shown = _shown(doing.actions, action.pairs)
    bends = f"{who.text} {'bend' if who.plural else 'bends'} {joint_said(shown[0].joint if shown else '')}"
    said = sentence(f"{bends} to {'the ' + named.side if named.side else who.own + ' side'}")
    why = sentence(f"{bends} to {who.own} side{', the ' + named.side if named.side else ''}")
    sources = tuple(dict.fromkeys(key for a in shown for key in a.sources))[:4]
    return Finding("wrong", why, said, sources, _terms(reading, named, shown[:1]))


def _by_task(reading: Reading, task: Sequence[Pair], pairs: Sequence[Pair]) -> Doing:
    """Muscles named by what they do ("the knee extensors")."""
    wide = reading.acting.widened(pairs)
    if any(pair in wide for pair in task):
        return Doing("does")
    if any(pair in wide for pair in reading.acting.opposites(task)):
        return Doing("opposite")
    return Doing("unknown")


def _doubtful(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> bool:
    """Where silence is safer than "wrong": vague motions, or a motion of a region that the muscle's data do not reach."""
    if action.expression.vague:
        return True
    if doing.answer == "opposite":
        return False
    joints = {joint for joint, _ in action.pairs}
    if not action.expression.parts and action.expression.object != "part":
        return not all(joint for joint in joints) or doing.answer != "opposite"
    return False


def _who(named: Named) -> Who:
    """The muscle as the subject of a sentence."""
    if named.pairs:
        return Who(f"the {named.name}", plural=True)
    return muscle_who(named.name, named.qualifiers, named.side)


def _does(who: Who, actions: Sequence[Action], pairs: Sequence[Pair], side: str, before: str = "") -> str:
    """What the actions are, as a predicate: "extends the shoulder and adducts it"."""
    form: Form = "base" if who.plural else "s"
    given = [(_joint_meant(a.joint, pairs), a.motion) for a in actions]
    return motions_said(given, form, side=side, before=before)


def _joint_meant(joint: str, pairs: Sequence[Pair]) -> str:
    """Where the words speak of several regions of the spine, the trunk is meant."""
    several = {"lumbar spine", "thoracic spine"} <= {j for j, _ in pairs}
    return "thoracolumbar spine" if several and joint in TRUNK else joint


TRUNK = frozenset({"lumbar spine", "thoracic spine", "thoracolumbar spine"})


def _shown(actions: Sequence[Action], pairs: Sequence[Pair]) -> list[Action]:
    """The actions worth naming: those at the joints in question first, main ones before helping ones."""
    joints = {joint for joint, _ in pairs}
    ordered = sorted(actions, key=lambda a: (a.joint not in joints, a.conditional, a.role != "prime"))
    seen: dict[Pair, Action] = {}
    for action in ordered:
        seen.setdefault((action.joint, action.motion), action)
    return list(seen.values())


def _wrong(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Finding:
    pairs = _turned(action, named) or action.pairs
    who = _who(named)
    if named.pairs:
        opposites = reading.acting.opposites(pairs)
        joint, wanted = opposites[0] if opposites else pairs[0]
        does = motion_verb(joint, wanted, "base")
        return Finding(
            "wrong", sentence(f"{who.text} do the opposite: they {does}"), sentence(f"{who.text} {does}")
        )
    shown = _shown(doing.actions, pairs)
    main = [a for a in shown if a.role == "prime" and not a.conditional] or shown
    top = main[:2]
    joint, motion = _meant(reading, pairs, top)
    joint = _joint_meant(joint, pairs)
    if action.against:
        does = _does(who, top, pairs, named.side)
        why = f"{who.text} {who.do} not work against {motion_noun(joint, motion)}; {who.they} {does}"
    elif doing.answer == "elsewhere":
        does = _does(who, top, pairs, named.side)
        have = "have" if who.plural else "has"
        why = f"{who.text} {have} no action at {joint_said(joint)}; {who.they} {does}"
    else:
        claimed = motions_said([(joint, motion)], "base", side=named.side)
        does = _does(who, top, pairs, named.side, before=joint)
        why = f"{who.text} {who.do} not {claimed}; {who.they} {does}"
    instead = _instead(reading, action, named, top)
    sources = tuple(dict.fromkeys(key for a in top for key in a.sources))
    return Finding("wrong", sentence(why), instead, sources, _terms(reading, named, top))


def _meant(reading: Reading, pairs: Sequence[Pair], top: Sequence[Action]) -> Pair:
    """Of the motions that the words may mean, the one to answer: first the opposite of what the muscle does."""
    does = [(a.joint, a.motion) for a in top]
    against = set(reading.acting.opposites(does))
    return next((pair for pair in pairs if pair in against), pairs[0])


def _instead(reading: Reading, action: ActionReading, named: Named, top: Sequence[Action]) -> str:
    who, pairs = _who(named), _turned(action, named) or action.pairs
    said = sentence(f"{who.text} {_does(who, top[:1], pairs, named.side)}")
    wanted = pairs if not action.against else reading.acting.opposites(pairs)
    pair, able = _who_does(reading, wanted)
    if able:
        joint, motion = pair
        said += " " + sentence(f"{motion_noun(_joint_meant(joint, pairs), motion)} is the work of {able}")
    return said


def _who_does(reading: Reading, pairs: Sequence[Pair]) -> tuple[Pair, str]:
    """The prime movers of the first pair that has any, whole muscles before their parts, at most three by name."""
    for joint, motion in pairs:
        prime = [
            a.muscle
            for a in reading.lexicon.vocabulary.actions_at(joint, motion)
            if a.role == "prime" and not a.conditional
        ]
        if prime:
            named = gathered(reading.lexicon.vocabulary, prime)
            texts = [muscle_who(name).text for name in named[:3]]
            return (joint, motion), joined(texts) + (", among others" if len(named) > 3 else "")
    return ("", ""), ""


def _terms(reading: Reading, named: Named, actions: Sequence[Action]) -> tuple[tuple[str, str], ...]:
    kind = "group" if named.name in reading.lexicon.vocabulary.groups else "muscle"
    found = [(kind, named.name)] if named.name else []
    return (*found, *dict.fromkeys(("motion", f"{a.joint}: {a.motion}") for a in actions))


def _depends(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Finding:
    who, pairs = _who(named), _turned(action, named) or action.pairs
    shown = _shown(doing.actions, pairs)
    given = [(_joint_meant(a.joint, pairs), a.motion) for a in shown[:1]]
    if doing.condition:
        does = (
            motions_said(given, "base" if who.plural else "s", side=named.side) if given else f"{who.do} that"
        )
        joint = "" if doing.condition.startswith(CIRCUMSTANCE) else "on a condition: "
        why = f"{who.text} {does} only {joint}{doing.condition}"
    else:
        vocabulary = reading.lexicon.vocabulary
        others = [m for m in vocabulary.members(named.name) if m not in doing.muscles]
        able = muscles_who(muscle_who(name) for name in gathered(vocabulary, sorted(doing.muscles)))
        rest = [muscle_who(name).text for name in gathered(vocabulary, sorted(others))]
        does = (
            motions_said(given, "base" if able.plural else "s", side=named.side)
            if given
            else f"{able.do} that"
        )
        group = vocabulary.groups.get(named.name)
        which = "which part of" if group is not None and group.kind == "whole" else "which of"
        unable = (
            f"; {joined(rest)} {'do' if len(rest) > 1 else 'does'} not"
            if 0 < len(rest) <= 3
            else "; the others do not"
        )
        why = f"it depends on {which} {who.text} you mean: {able.text} {does}{unable}"
    sources = tuple(dict.fromkeys(key for a in doing.actions for key in a.sources))[:4]
    return Finding("depends", sentence(why), "", sources, _terms(reading, named, shown[:2]))


CIRCUMSTANCE = ("with ", "when ", "while ", "in ", "from ", "at ", "if ", "past ", "beyond ", "for ", "to ")


def _right(reading: Reading, action: ActionReading, answers: Sequence[tuple[Named, Doing]]) -> Finding:
    actions = [a for _, doing in answers for a in doing.actions]
    sources = tuple(dict.fromkeys(key for a in actions for key in a.sources))[:4]
    who = muscles_who(_who(named) for named, _ in answers)
    pair = (actions[0].joint, actions[0].motion) if actions else action.pairs[0]
    shown = (_joint_meant(pair[0], action.pairs), pair[1])
    if action.against:
        turned = reading.acting.opposites([pair])
        shown = turned[0] if turned else pair
        does = f"{'work' if who.plural else 'works'} against {motion_noun(*shown)}"
    else:
        sides = {named.side for named, _ in answers}
        does = motions_said(
            [shown], "base" if who.plural else "s", side=sides.pop() if len(sides) == 1 else ""
        )
    terms = _terms(reading, answers[0][0], actions[:2])
    return Finding("right", sentence(f"{who.text} {does}"), "", sources, terms)


def _denied(reading: Reading, action: ActionReading, answers: Sequence[tuple[Named, Doing]]) -> Finding:
    """ "X does not do M": right when it does not, wrong when it plainly does."""
    plainly = [(named, doing) for named, doing in answers if doing.answer == "does" and not action.posture]
    if len(plainly) == len(answers) and not action.expression.vague:
        named, doing = plainly[0]
        shown = _shown(doing.actions, action.pairs)
        if not shown:
            return Finding("unknown", "")
        who, pairs = _who(named), _turned(action, named) or action.pairs
        given = [(_joint_meant(shown[0].joint, pairs), shown[0].motion)]
        return Finding(
            "wrong",
            sentence(f"{who.text} {who.do} {motions_said(given, 'base', side=named.side)}"),
            sentence(f"{who.text} {motions_said(given, 'base' if who.plural else 's', side=named.side)}"),
            tuple(dict.fromkeys(key for a in shown for key in a.sources))[:4],
            _terms(reading, named, shown[:2]),
        )
    if all(doing.answer in STRONG for _, doing in answers):
        named, doing = answers[0]
        return Finding(
            "right",
            sentence(f"{_who(named).text} {_who(named).do} not do that"),
            "",
            tuple(dict.fromkeys(k for a in doing.actions[:2] for k in a.sources)),
            _terms(reading, named, doing.actions[:1]),
        )
    if any(doing.answer == "conditional" for _, doing in answers) and not action.posture:
        named, doing = next((n, d) for n, d in answers if d.answer == "conditional")
        return Finding("unknown", "")
    return Finding("unknown", "")


def claim_actions(reading: Reading) -> None:
    """Adds the sentence's muscle-action claims to the reading."""
    supposed = bool(reading.items) and reading.items[0].text == "if"
    for action in read_actions(reading):
        if supposed and action.expression.form == "ed" and not action.expression.passive:
            continue
        finding = judge_action(reading, action)
        reading.add("muscle_action", action.i, action.j, finding, _replacement(reading, action, finding))
        reading.memory.topic = action.subject
        reading.memory.last = action


def _replacement(reading: Reading, action: ActionReading, finding: Finding) -> tuple[int, int, str] | None:
    """The smallest change that makes a wrong statement right: the motion said anew in the same form."""
    if finding.verdict != "wrong" or len(action.subject.names) != 1 or action.against or action.denied:
        return None
    motion = next((name for kind, name in finding.terms if kind == "motion"), "")
    joint, _, wanted = motion.partition(": ")
    expression = action.expression
    if not wanted or expression.passive or expression.object == "self":
        return None
    if expression.form in ("s", "base", "ing"):
        named = action.subject.names[0]
        meant = _joint_meant(joint, action.pairs)
        said = motions_said([(meant, wanted)], expression.form, side=named.side)
        if _bends_away(action, named) and wanted == "lateral flexion" and named.side:
            said = said.replace("sideways", f"to the {named.side}")
        return expression.i, expression.j, said
    if expression.form == "noun":
        return expression.i, expression.j, motion_noun(joint, wanted)
    return None
