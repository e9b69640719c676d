"""What is found of a statement, in words: why, and what to say instead."""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.acting import Doing
from anatomy.claims.claim import Finding
from anatomy.claims.expressing.expression import SPINE_TURNS
from anatomy.claims.inflection import Form
from anatomy.claims.kinds.action_statement import ActionReading
from anatomy.claims.lexicon import Pair
from anatomy.claims.naming import Who, gathered, muscle_who, muscles_who
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import joined, joint_said, motion_noun, motion_verb, motions_said, sentence
from anatomy.claims.subjects import Named
from anatomy.vocabulary.entries import Action

STRONG = ("opposite", "not", "elsewhere")
TRUNK = frozenset({"lumbar spine", "thoracic spine", "thoracolumbar spine"})
CIRCUMSTANCE = ("with ", "when ", "while ", "in ", "from ", "at ", "if ", "past ", "beyond ", "for ", "to ")


def turned_pairs(action: ActionReading, named: Named) -> tuple[Pair, ...]:
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


def bends_away(action: ActionReading, named: Named) -> bool:
    """ "The left scalenes tilt the neck to the right": a muscle bends the trunk and neck to its own side."""
    turn = action.expression.turn
    away = bool(turn and named.side and turn != named.side) or "other" in action.expression.directions
    return away and any(m == "lateral flexion" for _, m in action.pairs)


def who_of(named: Named) -> Who:
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


def _shown(actions: Sequence[Action], pairs: Sequence[Pair]) -> list[Action]:
    """The actions worth naming: those at the joints in question first, main ones before helping ones."""
    joints = {joint for joint, _ in pairs}
    ordered = sorted(actions, key=lambda a: (a.joint not in joints, a.conditional, a.role != "prime"))
    seen: dict[Pair, Action] = {}
    for action in ordered:
        seen.setdefault((action.joint, action.motion), action)
    return list(seen.values())


def wrong_finding(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Finding:
    """The muscle does not do that: what it does, and which muscles do what was said."""
    pairs = turned_pairs(action, named) or action.pairs
    who = who_of(named)
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
    who, pairs = who_of(named), turned_pairs(action, named) or action.pairs
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


def able_of(reading: Reading, pairs: Sequence[Pair]) -> str:
    """The prime movers of a motion by name, as a list in words; empty where the vocabulary names none."""
    return _who_does(reading, pairs)[1]


def _terms(reading: Reading, named: Named, actions: Sequence[Action]) -> tuple[tuple[str, str], ...]:
    kind = "group" if named.name in reading.lexicon.vocabulary.groups else "muscle"
    found = [(kind, named.name)] if named.name else []
    return (*found, *dict.fromkeys(("motion", f"{a.joint}: {a.motion}") for a in actions))


def depends_finding(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Finding:
    """It does so in one part or posture only: which, and what the others do."""
    who, pairs = who_of(named), turned_pairs(action, named) or action.pairs
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


def right_finding(reading: Reading, action: ActionReading, answers: Sequence[tuple[Named, Doing]]) -> Finding:
    """Every muscle named does what was said."""
    actions = [a for _, doing in answers for a in doing.actions]
    sources = tuple(dict.fromkeys(key for a in actions for key in a.sources))[:4]
    who = muscles_who(who_of(named) for named, _ in answers)
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


def denied_finding(
    reading: Reading, action: ActionReading, answers: Sequence[tuple[Named, Doing]]
) -> Finding:
    """ "X does not do M": right when it does not, wrong when it plainly does."""
    plainly = [(named, doing) for named, doing in answers if doing.answer == "does" and not action.posture]
    if action.occasion and plainly:
        return Finding("unknown", "")
    if len(plainly) == len(answers) and not action.expression.vague:
        named, doing = plainly[0]
        shown = _shown(doing.actions, action.pairs)
        if not shown:
            return Finding("unknown", "")
        who, pairs = who_of(named), turned_pairs(action, named) or action.pairs
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
            sentence(f"{who_of(named).text} {who_of(named).do} not do that"),
            "",
            tuple(dict.fromkeys(k for a in doing.actions[:2] for k in a.sources)),
            _terms(reading, named, doing.actions[:1]),
        )
    if any(doing.answer == "conditional" for _, doing in answers) and not action.posture:
        named, doing = next((n, d) for n, d in answers if d.answer == "conditional")
        return Finding("unknown", "")
    return Finding("unknown", "")


def _all_reach(reading: Reading, named: Named, pairs: Sequence[Pair]) -> bool:
    """Whether every member of a group acts at the joints of ``pairs``: bending the knee stretches soleus, if not its neighbour."""
    members = reading.lexicon.vocabulary.members(named.name) if not named.pairs else ()
    return len(members) < 2 or all(
        reading.acting.of_muscle(member, pairs).answer not in ("elsewhere", "unknown") for member in members
    )


def stretch_finding(
    reading: Reading, action: ActionReading, answers: Sequence[tuple[Named, Doing]]
) -> Finding:
    """ "Extending the hip stretches the glutes": a motion that the muscle itself makes shortens it; said of nothing less."""
    if all(doing.answer == "does" for _, doing in answers):
        return right_finding(reading, action, answers)
    named, doing = next(((n, d) for n, d in answers if d.answer == "opposite"), answers[0])
    if doing.answer != "opposite" or not _all_reach(reading, named, action.pairs):
        return Finding("unknown", "")
    who, shown = who_of(named), _shown(doing.actions, action.pairs)
    said = next(((a.joint, a.motion) for a in shown), action.pairs[0])
    other = reading.acting.opposites([said])
    if not other:
        return Finding("unknown", "")
    stretch = motion_noun(*other[0])
    why = f"{motion_noun(*said)} shortens {who.text}; what stretches {'them' if who.plural else 'it'} is {stretch}"
    sources = tuple(dict.fromkeys(key for a in shown[:2] for key in a.sources))[:4]
    instead = sentence(f"{stretch} stretches {who.text}")
    return Finding("wrong", sentence(why), instead, sources, _terms(reading, named, shown[:1]))


def away_finding(reading: Reading, action: ActionReading, named: Named, doing: Doing) -> Finding:
    """The side bent away from, or turned to, is the wrong one for the side of the muscle."""
    who = who_of(named)
    shown = _shown(doing.actions, action.pairs)
    bends = f"{who.text} {'bend' if who.plural else 'bends'} {joint_said(shown[0].joint if shown else '')}"
    said = sentence(f"{bends} to {'the ' + named.side if named.side else who.own + ' side'}")
    why = sentence(f"{bends} to {who.own} side{', the ' + named.side if named.side else ''}")
    sources = tuple(dict.fromkeys(key for a in shown for key in a.sources))[:4]
    return Finding("wrong", why, said, sources, _terms(reading, named, shown[:1]))


def replacement_for(reading: Reading, action: ActionReading, finding: Finding) -> tuple[int, int, str] | None:
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
        if bends_away(action, named) and wanted == "lateral flexion" and named.side:
            said = said.replace("sideways", f"to the {named.side}")
        return expression.i, expression.j, said
    if expression.form == "noun":
        return expression.i, expression.j, motion_noun(joint, wanted)
    return None
