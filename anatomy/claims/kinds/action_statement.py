"""A muscle said to make a motion: who, what, where, and in which posture."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from anatomy.claims.expressing.expression import Expression
from anatomy.claims.grammar.terms import COUNTED
from anatomy.claims.kinds.action_denial import lost, on_occasion
from anatomy.claims.lexicon import Pair
from anatomy.claims.reading import Reading
from anatomy.claims.subjects import Link, Named, Subject

IDLE = frozenset(
    {"weak", "tight", "short", "stiff", "tired", "cold", "relaxed", "overactive", "lazy", "bent", "raised"}
)
STANDING = frozenset({"stand", "stands", "standing", "upright", "stance"})


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
    occasion: bool = False
    """Whether a denial speaks of one moment or one person ("his quads aren't extending the knee here")."""
    stretch: bool = False
    """Whether the motion is said to stretch the muscle."""


def links_of(reading: Reading, expression: Expression) -> list[Link]:
    """The muscles that a motion is said of. A verb in the active voice looks to its subject first."""
    grammar = reading.subjects
    stretched = grammar.stretched_of(expression)
    if stretched is not None:
        return [stretched]
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
    while (
        k >= 0
        and (items[k].is_("DET", "ADJ", "ADV", "NEG", "DIR", "NUM") or items[k].text in COUNTED)
        and not items[k].is_("AUX")
    ):
        k -= 1
    negated = any(item.is_("NEG") and item.text.endswith("n't") for item in items[max(0, k) : expression.i])
    after_be = before is not None and (
        (k >= 0 and items[k].is_("AUX", "COP", "AS", "COLON", "OPEN")) or negated
    )
    apposed = k > 0 and items[k].is_("COMMA") and items[k + 1].text in ("a", "an", "the", "your", "our")
    apposed = apposed or (k > 1 and items[k].text in ("both of them", "all of them", "each of them"))
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


def action_of(reading: Reading, expression: Expression, link: Link) -> ActionReading | None:
    """The statement that an expression and its subject make; None where the muscle is only said to be weak, tight or idle."""
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
    denied = link.denied and not lost(reading, i, j)
    return ActionReading(
        subject,
        expression,
        pairs,
        denied,
        link.against or link.lengthened,
        i,
        j,
        _posture(reading, i, j, expression),
        denied and on_occasion(reading, subject, expression, i, j),
        link.lengthened,
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
