"""From a verb, a part of the body and directions to the motions that they may mean; what coordinated ones share."""

from __future__ import annotations

from collections.abc import Sequence

from anatomy.claims.expressing.expression import SPINE_TURNS, Expression
from anatomy.claims.expressing.surroundings import Surroundings
from anatomy.claims.inflection import Form
from anatomy.claims.lexicon import Pair

__all__ = ["Meanings"]

ROTATIONS = (
    "internal rotation",
    "external rotation",
    "rotation same side",
    "rotation opposite side",
    "upward rotation",
    "downward rotation",
)
RAISED = {"side": ["abduction"], "out": ["abduction"], "front": ["flexion"]}
"""What "elevates the arm" means once it is said where to."""
MOVERS = ("move", "take", "bring", "pull", "lift", "swing", "draw", "push", "raise", "go")
SETTLED = frozenset(
    [
        "bend",
        "curl",
        "fold",
        "straighten",
        "close",
        "open",
        "spread",
        "shrug",
        "clench",
        "squeeze",
        "uncurl",
        "unbend",
        "arch",
    ]
)
"""Verbs that say the motion by themselves, wherever the part goes."""
NEUTRAL = frozenset(
    [
        "opposed",
        "chest",
        "face",
        "body",
        "upperarm",
        "forearm",
        "buttock",
        "in",
        "through",
        "over",
        "under",
        "straight",
        "level",
    ]
)


class Meanings(Surroundings):
    """Looks motions up and keeps the expressions found."""

    def _look_up(self, verb: str, part: str, directions: list[str], exact: bool = False) -> list[Pair]:
        if part.startswith("joint:"):
            return self._at_joint(verb, part[6:], directions)
        table = self.lexicon.plain
        for direction in directions:
            found = table.get((verb, part, direction))
            if found is not None:
                return list(found)
        likes = self.lexicon.movers.get(verb, ())
        for direction in [d for d in directions if d not in ("left", "right")] if likes else ():
            for other in self._likes(likes):
                found = table.get((other, part, direction))
                if found is not None:
                    return list(found)
        if exact:
            return [] if directions else list(table.get((verb, part, ""), ()))
        if not directions:
            return self._look_up_bare(verb, part, likes)
        known = self.lexicon.plain_directions.get((verb, part), set())
        contrary = [d for d in directions if d not in ("up", "left", "right") or "" not in known]
        settled = verb in SETTLED and all(d in NEUTRAL for d in directions)
        if contrary and known != {""} and not settled:
            return []
        return list(table.get((verb, part, ""), ()))

    def _at_joint(self, verb: str, joint: str, directions: list[str]) -> list[Pair]:
        """What a plain verb means at one joint named in full: as of the part that moves there."""
        for part, joints in self.lexicon.part_joints.items():
            if joint in joints:
                found = [pair for pair in self._look_up(verb, part, directions) if pair[0] == joint]
                if found:
                    return found
        return []

    def _likes(self, likes: tuple[str, ...]) -> tuple[str, ...]:
        """The verbs whose motions a verb shares: every plain mover for one that is like "move", "lift" or "lower"."""
        return (*likes, *MOVERS) if {"move", "lift", "lower"} & set(likes) else likes

    def _look_up_bare(self, verb: str, part: str, likes: tuple[str, ...]) -> list[Pair]:
        """A verb without a direction: its own motion, or that of the verb it is like ("hoists" lifts)."""
        table = self.lexicon.plain
        for other in (verb, *(like for like in likes if like not in ("move", "turn"))):
            found = table.get((other, part, ""))
            if found is not None:
                return list(found)
        for other, direction in (("lift", "up"), ("lower", "down")):
            if other == verb or other in likes:
                for mover in MOVERS:
                    found = table.get((mover, part, direction))
                    if found is not None:
                        return list(found)
        return []

    def _motions(
        self, family: str, directions: list[str], parts: list[str], said: Sequence[str] = ()
    ) -> tuple[list[str], bool]:
        families = self.lexicon.families
        found = [families[family, d] for d in directions if (family, d) in families]
        if not found and (family, "") in families:
            found = [families[family, ""]]
        if family in ("abduct", "adduct") and found in (["abduction"], ["adduction"]):
            found.append("radial deviation" if family == "abduct" else "ulnar deviation")
            if any(part == "scapula" for part in parts):
                found = ["protraction"] if family == "abduct" else ["retraction"]
        if family == "flex" and any(part in ("foot", "ankle") for part in parts) and found == ["flexion"]:
            return [], False
        if family == "elevate" and any(part in ("arm",) for part in parts):
            found = RAISED.get(next((d for d in said if d in RAISED), ""), ["flexion", "abduction"])
        if family == "depress" and any(part in ("arm",) for part in parts):
            found = ["extension", "adduction"]
        return found, False

    def _pairs(self, parts: list[str], motions: list[str]) -> tuple[Pair, ...]:
        if not parts:
            return tuple(pair for motion in motions for pair in self.lexicon.all_pairs(motion))
        found: list[Pair] = []
        for part in parts:
            wrist = [m for m in motions if m in ("radial deviation", "ulnar deviation")]
            plain = [m for m in motions if m not in wrist]
            joints = self.lexicon.joints_of(part)
            found += self.lexicon.pairs(joints, plain)
            if wrist and "wrist" in joints:
                found += self.lexicon.pairs(["wrist"], wrist)
        return tuple(dict.fromkeys(found))

    def _found_plain(
        self,
        head: int,
        i: int,
        j: int,
        form: Form,
        family: str,
        pairs: list[Pair],
        parts: list[str],
        kind: str,
        passive: bool,
        said: list[str],
        span: tuple[int, int],
        turn: str,
    ) -> None:
        """A technical verb used in a plain way ("tilts the hand to the thumb side")."""
        motions = tuple(dict.fromkeys(m for _, m in pairs))
        self.found.append(
            Expression(
                head,
                i,
                j,
                form,
                tuple(dict.fromkeys(pairs)),
                tuple(parts),
                kind,
                passive,
                tuple(said),
                False,
                turn,
                family,
                True,
                span,
                motions,
            )
        )

    def _add(self, head: int, i: int, j: int, form: Form, family: str, directions: list[str], parts: list[str],
             kind: str = "", passive: bool = False, said: list[str] | None = None, span: tuple[int, int] = (0, 0)) -> None:  # fmt: skip
        motions, vague = self._motions(family, directions, parts, said or ())
        turn = next((d for d in said or directions if d in ("left", "right")), "")
        if turn and family not in ("rotate", "sidebend", "flex", "tilt"):
            turn = ""
        if not motions:
            sideways = ["side" if d in ("left", "right") else d for d in said or []]
            rolled = bool(turn) and family == "rotate"
            plain = [] if rolled else [p for part in parts for p in self._look_up(family, part, sideways)]
            if plain:
                self._found_plain(
                    head, i, j, form, family, plain, parts, kind, passive, said or [], span, turn
                )
                return
            if family != "rotate":
                return
            motions, vague = list(ROTATIONS), True
            if turn:
                motions, vague = sorted(SPINE_TURNS), False
        pairs = self._pairs(parts, motions)
        if not pairs and said:
            for part in parts:
                pairs += tuple(self._look_up(family, part, said))
        if parts and not pairs:
            return
        self.found.append(
            Expression(
                head,
                i,
                j,
                form,
                tuple(dict.fromkeys(pairs)),
                tuple(parts),
                kind or ("part" if parts else ""),
                passive,
                tuple(said or directions),
                vague,
                turn,
                family,
                False,
                span,
                tuple(motions),
            )
        )

    def _share(self) -> None:
        """ "flexes and internally rotates the hip", "hip flexion and abduction": both mean the hip."""
        items = self.items
        for one, other in zip(self.found, self.found[1:], strict=False):
            between = items[one.j : other.i]
            if len(between) > 3 or not all(
                item.is_("AND", "OR", "COMMA", "ADV", "THEN", "BUT") for item in between
            ):
                continue
            if other.parts and not one.parts and not one.object and not one.plain and other.form == one.form:
                self._give(one, other.parts)
            elif (
                one.parts
                and not other.parts
                and not other.object
                and not other.plain
                and other.form == one.form
                and one.form in ("noun", "agent")
            ):
                self._give(other, one.parts)
        self.found = [e for e in self.found if e.pairs or e.vague]

    def _give(self, expression: Expression, parts: tuple[str, ...]) -> None:
        pairs = self._pairs(list(parts), list(expression.motions))
        if pairs:
            expression.pairs, expression.parts, expression.object = pairs, parts, "part"
