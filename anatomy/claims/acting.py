"""What the vocabulary says of a muscle and a motion: does it, does the opposite, does it only in some posture."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from anatomy.claims.lexicon import Pair
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Action

ANSWERS_KEPT = 20_000
"""Questions whose answer is remembered, so that no text can fill the memory."""
Answer = Literal["does", "conditional", "disputed", "opposite", "not", "elsewhere", "unknown"]
FRONT = ("anterior", "front", "clavicular", "upper", "superior")
PART_WORDS = {
    "front": "anterior",
    "anterior": "anterior",
    "fore": "anterior",
    "rear": "posterior",
    "back": "posterior",
    "posterior": "posterior",
    "upper": "upper",
    "superior": "upper",
    "lower": "lower",
    "inferior": "lower",
    "middle": "middle",
    "mid": "middle",
    "long": "long",
    "short": "short",
    "medial": "medial",
    "inner": "medial",
    "lateral": "lateral",
    "outer": "lateral",
    "clavicular": "clavicular",
    "sternal": "sternal",
    "deep": "deep",
    "superficial": "superficial",
    "hamstring": "hamstring",
    "adductor": "adductor",
    "descending": "upper",
    "ascending": "lower",
    "transverse": "middle",
}
SAME_MOTION = (
    ("thoracolumbar spine", "lumbar spine"),
    ("thoracolumbar spine", "thoracic spine"),
    ("shoulder complex", "glenohumeral"),
    ("subtalar and midtarsal", "subtalar"),
)


@dataclass(frozen=True)
class Doing:
    """What one muscle or group does with the asked motions, with the actions that say so."""

    answer: Answer
    actions: tuple[Action, ...] = ()
    muscles: tuple[str, ...] = ()
    condition: str = ""


class Acting:
    """Answers for one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.known: dict[tuple[str, tuple[str, ...], tuple[Pair, ...], bool], Doing] = {}

    @cached_property
    def by_muscle(self) -> dict[str, dict[Pair, list[Action]]]:
        """Each muscle's actions by (joint, motion)."""
        found: dict[str, dict[Pair, list[Action]]] = {}
        for action in self.vocabulary.actions:
            found.setdefault(action.muscle, {}).setdefault((action.joint, action.motion), []).append(action)
        return found

    def opposites(self, pairs: Iterable[Pair]) -> tuple[Pair, ...]:
        """The opposite motion of each pair, where it has one."""
        table = self._opposites
        return tuple(dict.fromkeys(table[pair] for pair in pairs if pair in table))

    @cached_property
    def _opposites(self) -> dict[Pair, Pair]:
        motions = self.vocabulary.motions.values()
        return {(m.joint, m.name): (m.joint, m.opposite) for m in motions if m.opposite}

    def widened(self, pairs: Sequence[Pair]) -> tuple[Pair, ...]:
        """The pairs with those that say the same of a larger or smaller joint ("trunk", "lumbar spine")."""
        found = dict.fromkeys(pairs)
        for large, small in SAME_MOTION:
            for joint, motion in pairs:
                if joint == large:
                    found[small, motion] = None
                elif joint == small:
                    found[large, motion] = None
        return tuple(found)

    def parts(self, name: str, qualifiers: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The muscles meant by a name and part words, and the part words that no member's name took up."""
        members = self.vocabulary.members(name)
        words = [PART_WORDS[word] for said in qualifiers for word in said.split() if word in PART_WORDS]
        left: list[str] = []
        for word in words:
            fitting = tuple(m for m in members if word in m or (word == "sternal" and "sternocostal" in m))
            if fitting and len(members) > 1:
                members = fitting
            elif not any(word in m.split() for m in members):
                left.append(word)
        return members, tuple(left)

    def of_muscle(
        self, muscle: str, pairs: Sequence[Pair], part: Sequence[str] = (), beyond: bool = False
    ) -> Doing:
        """What one muscle does with a motion; ``part`` are words that name fibres ("anterior")."""
        held = self.by_muscle.get(muscle)
        if not held:
            return Doing("unknown")
        wide = self.widened(pairs)
        hits = [action for pair in wide for action in held.get(pair, ())]
        if beyond:
            hits = [a for a in hits if not (a.conditional and _on_the_way_back(a.depends_on))]
        opposite = [action for pair in self.opposites(wide) for action in held.get(pair, ())]
        if part:
            return self._of_fibres(muscle, hits, opposite, part)
        free = [action for action in hits if not action.conditional]
        settled = [action for action in free if not action.disputed]
        if settled:
            contrary = {motion for _, motion in self.opposites((a.joint, a.motion) for a in settled)}
            apart = [
                a
                for a in opposite
                if _digit(a.joint) and a.motion in contrary and not a.conditional and not a.disputed
            ]
            if apart and {a.joint for a in apart}.isdisjoint(a.joint for a in settled):
                return Doing("conditional", tuple(settled), (muscle,), _by_joint(settled, apart))
            return Doing("does", tuple(settled), (muscle,))
        if free:
            return Doing("disputed", tuple(free), (muscle,), free[0].depends_on)
        if hits:
            firm = [a for a in opposite if not a.conditional]
            if firm and any(a.role == "prime" for a in firm) and all(a.disputed for a in hits):
                return Doing("disputed", tuple(hits), (muscle,))
            return Doing("conditional", tuple(hits), (muscle,), hits[0].depends_on)
        if opposite:
            return Doing("opposite", tuple(opposite), (muscle,))
        joints = {joint for joint, _ in wide}
        here = [a for (joint, _), actions in held.items() if joint in joints for a in actions]
        if here:
            return Doing("not", tuple(here), (muscle,))
        return Doing("elsewhere", tuple(a for actions in held.values() for a in actions), (muscle,))

    def _of_fibres(
        self, muscle: str, hits: list[Action], opposite: list[Action], part: Sequence[str]
    ) -> Doing:
        named = [a for a in hits if not a.depends_on or any(word in a.depends_on for word in _said(part))]
        if named:
            return Doing("does", tuple(named), (muscle,))
        if (
            hits
            and any(a.conditional for a in hits)
            and any(word in a.depends_on for a in hits for word in FIBRE_WORDS)
        ):
            against = [a for a in opposite if any(word in a.depends_on for word in _said(part))]
            if against:
                return Doing("opposite", tuple(against), (muscle,))
            return Doing("conditional", tuple(hits), (muscle,), hits[0].depends_on)
        if hits:
            return Doing("does", tuple(hits), (muscle,))
        if opposite:
            return Doing("opposite", tuple(opposite), (muscle,))
        return Doing("unknown")

    def of_name(
        self, name: str, qualifiers: Sequence[str], pairs: Sequence[Pair], beyond: bool = False
    ) -> Doing:
        """What a muscle or a group does: "does" when its main members do and none of them mainly does the opposite."""
        asked = (name, tuple(qualifiers), tuple(pairs), beyond)
        found = self.known.get(asked)
        if found is None:
            found = self._found_of_name(name, qualifiers, pairs, beyond)
            if len(self.known) < ANSWERS_KEPT:
                self.known[asked] = found
        return found

    def _found_of_name(
        self, name: str, qualifiers: Sequence[str], pairs: Sequence[Pair], beyond: bool
    ) -> Doing:
        members, part = self.parts(name, qualifiers)
        if not members:
            return Doing("unknown")
        motions = dict.fromkeys(motion for _, motion in pairs)
        if len(motions) > 1:
            for motion in motions:
                one = [pair for pair in pairs if pair[1] == motion]
                if self.of_name(name, qualifiers, one, beyond).answer == "does":
                    return self.of_name(name, qualifiers, one, beyond)
        if len(members) == 1:
            return self.of_muscle(members[0], pairs, part, beyond)
        each = {muscle: self.of_muscle(muscle, pairs, part, beyond) for muscle in members}
        return self._together(name, each, pairs)

    def _together(self, name: str, each: dict[str, Doing], pairs: Sequence[Pair]) -> Doing:
        does = {m: d for m, d in each.items() if d.answer == "does"}
        prime = [m for m, d in does.items() if any(a.role == "prime" for a in d.actions)]
        maybe = {m: d for m, d in each.items() if d.answer in ("conditional", "disputed")}
        against = {
            m: d
            for m, d in each.items()
            if d.answer == "opposite" and not all(a.conditional for a in d.actions)
        }
        mainly_against = [
            m for m, d in against.items() if any(a.role == "prime" and not a.conditional for a in d.actions)
        ]
        actions = tuple(a for d in does.values() for a in d.actions)
        group = self.vocabulary.groups.get(name)
        whole = group is not None and group.kind == "whole"
        far = [m for m, d in each.items() if d.answer == "elsewhere"]
        contrary = [m for m, d in each.items() if d.answer == "opposite"]
        if does and whole and contrary:
            return Doing("conditional", actions, tuple(does), "")
        leg = all(joint in ("hip", "knee", "talocrural", "subtalar") for joint, _ in pairs)
        if does and far and leg and not whole and len(does) / len(each) <= 0.7:
            return Doing("conditional", actions, tuple(does), "")
        if does:
            idle = 0 if not prime else sum(1 for d in each.values() if d.answer in ("elsewhere", "unknown"))
            share = len(does) / max(1, len(each) - idle)
            if mainly_against:
                return Doing("conditional", actions, tuple(does), "")
            if share > 0.5 or (prime and (whole or not against or len(prime) / len(each) >= 0.5)):
                return Doing("does", actions, tuple(does))
            return Doing("conditional", actions, tuple(does), "")
        weak = all(a.role == "assist" for d in maybe.values() for a in d.actions)
        if maybe and not whole and weak and mainly_against:
            return Doing("opposite", tuple(a for d in against.values() for a in d.actions), tuple(against))
        if maybe and len(against) > len(maybe):
            return Doing("opposite", tuple(a for d in against.values() for a in d.actions), tuple(against))
        if maybe:
            first = next(iter(maybe.values()))
            kind: Answer = (
                "conditional" if any(d.answer == "conditional" for d in maybe.values()) else "disputed"
            )
            return Doing(kind, first.actions, tuple(maybe), first.condition)
        if against:
            return Doing("opposite", tuple(a for d in against.values() for a in d.actions), tuple(against))
        answers = {d.answer for d in each.values()}
        if answers == {"unknown"}:
            return Doing("unknown")
        for answer in ("not", "elsewhere"):
            found = [d for d in each.values() if d.answer == answer]
            if found:
                return Doing(answer, tuple(a for d in found for a in d.actions), tuple(each))
        return Doing("unknown")


def _digit(joint: str) -> bool:
    return "finger" in joint or "toe" in joint or "thumb" in joint


def _by_joint(does: Sequence[Action], against: Sequence[Action]) -> str:
    """Why a motion of the fingers as a whole depends on which of their joints is meant."""
    one, other = does[0], against[0]
    return f"{one.motion} at the {one.joint} joints, but {other.motion} at the {other.joint} joints"


def _on_the_way_back(condition: str) -> bool:
    """Whether an action holds only on the way back to the anatomical position ("from a flexed arm")."""
    return condition.startswith("from ") or " from a " in condition or "raised" in condition


FIBRE_WORDS = (
    "anterior",
    "posterior",
    "upper",
    "lower",
    "superior",
    "inferior",
    "fibres",
    "middle",
    "part",
    "head",
)


def _said(part: Sequence[str]) -> tuple[str, ...]:
    words = list(part)
    words += ["front" for word in part if word == "anterior"] + [
        "back" for word in part if word == "posterior"
    ]
    words += ["superior" for word in part if word == "upper"] + [
        "inferior" for word in part if word == "lower"
    ]
    return tuple(words)
