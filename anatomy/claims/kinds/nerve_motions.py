"""Claims that a nerve moves a joint: "the tibial nerve lifts the foot", "without the radial nerve you can't straighten the elbow".

They are judged by the muscles that make the motion: right where a prime mover has the nerve, wrong where no muscle that
makes or helps the motion has it, silent between.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from anatomy.claims.claim import Finding
from anatomy.claims.expressions import Expression
from anatomy.claims.kinds.moved_by import tied
from anatomy.claims.kinds.nerve_supply import Supply, nerve_adjectives
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import motion_noun, sentence

MAIN_JOINTS = frozenset({"talocrural", "elbow", "knee", "hip", "wrist", "shoulder complex", "glenohumeral", "scapulothoracic", "radioulnar"})  # fmt: skip
"""Where a motion is said of one of these, its lesser joints (toes, single fingers) are not what is meant."""
MOST_MUSCLES = 30
"""A motion that more muscles make is too vague to be judged by them."""


def moved_by_nerves(reading: Reading, supply: Supply) -> Iterator[tuple[int, int, Finding]]:
    """Each nerve with the motion beside it, judged."""
    if not reading.has("PV", "FAM", "MOTN") or reading.has("MUS"):
        return
    named = [(k, nerve) for k in range(len(reading.items)) if (nerve := _nerve(reading, k))]
    if not named or len(named) > 3:
        return
    moving = [e for e in reading.expressions if e.pairs and not e.vague and e.form != "agent"]
    for k, nerve in named:
        found = tied(reading.items, k, k + 1, moving)
        if found is None:
            continue
        expression, denied = found
        around = reading.items[min(k, expression.i) : max(k, expression.j)]
        lost = not denied and any(item.is_("NEG") or item.text in ("lose", "loses") for item in around)
        finding = _judged(reading, supply, nerve, expression, denied, lost)
        if finding is not None:
            moving.remove(expression)
            yield min(k, expression.i), max(k + 1, expression.j), finding


def _nerve(reading: Reading, k: int) -> str:
    item = reading.items[k]
    name = str(item.c.get("NRV", ""))
    if not name and item.is_("NADJ") and k and reading.items[k - 1].text in ("the", "a", "dead"):
        name = nerve_adjectives().get(item.text.removesuffix("'s"), "")
    entry = reading.lexicon.vocabulary.nerves.get(name)
    return name if entry is not None and entry.kind == "nerve" else ""


def _judged(
    reading: Reading, supply: Supply, nerve: str, expression: Expression, denied: bool, lost: bool
) -> Finding | None:
    vocabulary = reading.lexicon.vocabulary
    main = [pair for pair in expression.pairs if pair[0] in MAIN_JOINTS] or expression.pairs
    actions = [a for joint, motion, *_ in main for a in vocabulary.actions_at(joint, motion)]
    muscles = {a.muscle for a in actions}
    primes = list(dict.fromkeys(a.muscle for a in actions if a.role == "prime" and not a.conditional))
    if not primes or len(muscles) > MOST_MUSCLES:
        return None
    answers = {m: supply.of_muscle(m, (nerve,)) for m in muscles}
    has = any(answers[m] == "does" for m in primes)
    helped = [m for m, answer in answers.items() if answer != "not"]
    # One helper among many does not make the motion; and without a prime mover's nerve the motion is not lost.
    none = not helped or (not set(helped) & set(primes) and (lost or len(helped) * 5 <= len(answers)))
    if not has and not none:
        return None
    own = Counter(name for m in primes for name in supply.nerves_of(m)[:1]).most_common(1)
    if not own:
        return None
    pair = expression.pairs[0]
    sources = tuple(dict.fromkeys(key for m in primes for key in supply.sources(m)))[:3]
    first = next(m for m in primes if own[0][0] in supply.nerves_of(m))
    terms = (("nerve", nerve), ("muscle", first))
    if has:
        why = sentence(f"a muscle that makes {motion_noun(pair[0], pair[1])} is supplied by the {nerve}")
        return None if denied else Finding("right", why, "", sources, terms)
    why = sentence(
        f"{motion_noun(pair[0], pair[1])} is made by {first}, which is supplied by the {own[0][0]}"
    )
    return Finding("right" if denied else "wrong", why, "" if denied else why, sources, terms)
