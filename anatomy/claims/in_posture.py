"""A muscle action judged in the posture of the picture that it is said over: what textbooks leave open, and what they say
of the anatomical position only.

A model's estimate, never more than that: it speaks only where every posture that the measurement leaves open gives the same
answer and the model's levers are trusted there (``anatomy.muscles.known``). Words that name a posture themselves stand alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from anatomy.claims.claim import Finding
from anatomy.claims.inflection import Form
from anatomy.claims.kinds.action_statement import ActionReading
from anatomy.claims.lexicon import Pair
from anatomy.claims.naming import muscle_who, muscles_who
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import motions_said, sentence
from anatomy.claims.subjects import Named
from anatomy.muscles.known import Here, KnownAngle, KnownPosture, muscle_here

__all__ = ["in_posture", "postures_of"]

_ARM = frozenset({"glenohumeral", "shoulder complex", "elbow", "radioulnar", "wrist"})
_SETTLED = ("right", "wrong", "depends")


def in_posture(reading: Reading, action: ActionReading, finding: Finding) -> Finding:
    """The finding as the picture's posture settles it; the same one where it settles nothing."""
    if not reading.postures or finding.verdict not in _SETTLED or _stands_alone(action):
        return finding
    asked = [(named, _asked(reading, action, named)) for named in action.subject.names]
    found: list[Here] = []
    for named, (members, pair) in asked:
        if pair is None:
            return finding
        sides = [one for one in reading.postures if not named.side or one.side == named.side]
        found += [muscle_here(members, *pair, posture) for posture in sides]
    answers = {here.answer for here in found}
    if len(answers) != 1 or answers == {"open"}:
        return finding
    pair = asked[0][1][1]
    assert pair is not None
    if action.denied:
        return _denied(finding, found, answers == {"opposes"})
    if answers == {"makes"}:
        return _makes(action, finding, found, pair)
    return _opposes(reading, action, finding, found, pair)


def _stands_alone(action: ActionReading) -> bool:
    """Whether the statement is not a plain "X makes M": of a stretch, of a posture of its own, too vague."""
    plain = not (action.against or action.posture or getattr(action, "stretch", False))
    return not plain or action.expression.vague or bool(action.expression.turn)


def _asked(reading: Reading, action: ActionReading, named: Named) -> tuple[tuple[str, ...], Pair | None]:
    """The muscles meant and the one motion that is asked of them; None where there is none or several."""
    members, left = reading.acting.parts(named.name, named.qualifiers)
    if named.pairs or left or not members:
        return members, None
    own = {pair for member in members for pair in reading.acting.by_muscle.get(member, ())}
    own |= set(reading.acting.opposites(own))
    pairs = dict.fromkeys(pair for pair in action.pairs if pair in own)
    return members, next(iter(pairs)) if len(pairs) == 1 else None


def _denied(finding: Finding, found: Sequence[Here], opposes: bool) -> Finding:
    """ "X does not make M" is not wrong where the posture has turned X's action over."""
    if finding.verdict != "wrong" or not opposes or not all(here.has_turned for here in found):
        return finding
    estimate = _angles_said(found)
    why = (
        f"{finding.why.rstrip('.')} in the anatomical position, but not in the posture of this picture "
        f"({estimate}), by a model’s estimate"
    )
    return replace(finding, verdict="depends", why=sentence(why), instead="", estimate=estimate)


def _makes(action: ActionReading, finding: Finding, found: Sequence[Here], pair: Pair) -> Finding:
    """It does so here: settled; where textbooks say otherwise of the anatomical position, it hangs on the posture."""
    estimate = _angles_said(found)
    if finding.verdict == "depends":
        who = muscles_who(muscle_who(n.name, n.qualifiers, n.side) for n in action.subject.names)
        does = motions_said([pair], _form(who.plural))
        why = f"in the posture of this picture ({estimate}) {who.text} {does}, by a model’s estimate"
        return replace(finding, verdict="right", why=sentence(why), estimate=estimate)
    if finding.verdict == "wrong" and all(here.has_turned for here in found):
        why = f"{finding.why.rstrip('.')} in the anatomical position; in the posture of this picture ({estimate}) a model’s estimate has it do so"
        sources = (*_sources(pair), *finding.sources)
        return Finding("depends", sentence(why), "", sources, finding.terms, estimate)
    return finding


def _opposes(
    reading: Reading, action: ActionReading, finding: Finding, found: Sequence[Here], pair: Pair
) -> Finding:
    """It does the opposite here: told, where the posture turned its action or textbooks make it hang on one."""
    other = reading.acting.opposites([pair])
    turned = all(here.has_turned for here in found)
    if finding.verdict == "wrong" or not other or (finding.verdict == "right" and not turned):
        return finding
    who = muscles_who(muscle_who(n.name, n.qualifiers, n.side) for n in action.subject.names)
    does = motions_said(other, _form(who.plural))
    estimate, at = _angles_said(found), next((here.turns_at for here in found if here.turns_at), "")
    usual = f"in textbooks {who.text} {motions_said([pair], _form(who.plural))}"
    if finding.verdict == "depends":
        usual = finding.why.rstrip(".")
    where = f"; {'their' if who.plural else 'its'} action turns over at {at}" if turned and at else ""
    it = "they" if who.plural else "it"
    why = f"{usual}; in the posture of this picture ({estimate}) {it} {motions_said(other, _form(who.plural), before=pair[0])}, by a model’s estimate{where}"
    instead = sentence(f"In this position {who.text} probably {does}")
    sources = (*_sources(pair), *finding.sources)
    return Finding("wrong", sentence(why), instead, sources, finding.terms, estimate)


def _form(plural: bool) -> Form:
    return "base" if plural else "s"


def _sources(pair: Pair) -> tuple[str, ...]:
    return ("holzbaur-2005",) if pair[0] in _ARM else ("rajagopal-2016",)


def _angles_said(found: Sequence[Here]) -> str:
    angles: dict[KnownAngle, None] = dict.fromkeys(angle for here in found for angle in here.angles)
    return ", ".join(angle.says for angle in angles)


def postures_of(given: KnownPosture | Iterable[KnownPosture] | None) -> tuple[KnownPosture, ...]:
    """What a caller may give as posture: none, one side's, or both."""
    if given is None:
        return ()
    return (given,) if isinstance(given, KnownPosture) else tuple(given)
