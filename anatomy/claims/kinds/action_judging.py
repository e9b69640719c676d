"""Whether a muscle makes the motion that is said of it: by the vocabulary, the posture named and the part meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from anatomy.claims.acting import Doing
from anatomy.claims.claim import Finding
from anatomy.claims.kinds.action_findings import (
    STRONG,
    away_finding,
    bends_away,
    denied_finding,
    depends_finding,
    right_finding,
    stretch_finding,
    turned_pairs,
    wrong_finding,
)
from anatomy.claims.kinds.action_statement import ActionReading
from anatomy.claims.lexicon import Pair
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence
from anatomy.claims.subjects import Named

EVERY = ("all", "both", "each", "every", "any")
STRAIGHT = frozenset({"straight", "extended", "extension", "straightened", "neutral", "standing"})
BENT = frozenset({"bent", "flexed", "flexion", "bending"})


def judge_action(reading: Reading, action: ActionReading) -> Finding:
    """A verdict on one statement: every muscle that it names must bear it out."""
    answers: list[tuple[Named, Doing]] = []
    for named in action.subject.names:
        pairs = turned_pairs(action, named)
        if action.against:
            pairs = reading.acting.opposites(pairs)
        if not pairs:
            return Finding("unknown", "")
        answers.append((named, _doing(reading, named, pairs, action.expression.directions)))
    if action.denied:
        return denied_finding(reading, action, answers)
    if action.stretch:
        return stretch_finding(reading, action, answers)
    answers = [(named, _of_every(reading, action, named, doing)) for named, doing in answers]
    for named, doing in answers:
        if bends_away(action, named) and doing.answer == "does" and not action.denied:
            return away_finding(reading, action, named, doing)
    for named, doing in answers:
        if doing.answer in STRONG and not _doubtful(reading, action, named, doing):
            return wrong_finding(reading, action, named, doing)
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
            return depends_finding(reading, action, named, doing)
    return _at_one_of_several(reading, action, answers) or right_finding(reading, action, answers)


def _at_one_of_several(
    reading: Reading, action: ActionReading, answers: Sequence[tuple[Named, Doing]]
) -> Finding | None:
    """ "It extends the hip and the knee": wrong where it does the opposite at one of the joints that are named."""
    parts = action.expression.parts
    if len(parts) < 2 or len(answers) > 1 or action.against or action.expression.turn:
        return None  # several muscles may share the joints out among them
    for part in parts:
        joints = reading.lexicon.joints_of(part)
        pairs = tuple(pair for pair in action.pairs if pair[0] in joints)
        for named, doing in answers if pairs else ():
            one = _doing(reading, named, pairs, action.expression.directions)
            if doing.answer == "does" and one.answer == "opposite" and not named.pairs:
                return wrong_finding(reading, replace(action, pairs=pairs), named, one)
    return None


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
    finding = wrong_finding(reading, action, named, against)
    return replace(
        finding, why=sentence(f"{finding.why.rstrip('.')} in that posture; otherwise only {doing.condition}")
    )


def _knuckles_named(reading: Reading, doing: Doing) -> bool:
    """ "Flex the knuckles and straighten the fingers" names both joints, so that nothing hangs open."""
    return " joints, but " in doing.condition and any(
        item.c.get("PART") == "knuckle" for item in reading.items
    )


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
        if doing.answer == "elsewhere" and _one_limb(action, doing):
            return False
        return not all(joint for joint in joints) or doing.answer != "opposite"
    return False


OF_ONE_JOINT = {
    frozenset({"supination", "pronation"}): frozenset(
        {
            "elbow",
            "wrist",
            "radioulnar",
            "radiocarpal",
            "fingers",
            "thumb",
            "glenohumeral",
            "shoulder complex",
        }
    ),
    frozenset({"dorsiflexion", "plantar flexion"}): frozenset({"hip", "knee", "tibiofemoral"}),
}
"""Motions that only one joint of a limb makes, and the joints of that limb at which the muscles of its neighbours act."""


def _one_limb(action: ActionReading, doing: Doing) -> bool:
    """ "Brachialis supinates": said without a joint, of a muscle of the same limb that doesn't reach the joint meant."""
    motions = {motion for _, motion in action.pairs}
    acts_at = {one.joint for one in doing.actions}
    return any(motions <= said and acts_at and acts_at <= near for said, near in OF_ONE_JOINT.items())
