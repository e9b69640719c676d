"""Judges a motion or a named movement against a plane or an axis."""

from __future__ import annotations

from collections.abc import Collection

from anatomy.claims.claim import Finding
from anatomy.claims.lexicon import Pair
from anatomy.claims.phrases import Sighting
from anatomy.claims.plane_facts import (
    AXIS_OF,
    AXIS_SAID,
    CARDINAL,
    PLANE_OF,
    SPINS,
    Condition,
    Movement,
    Mover,
    PlaneBooks,
)
from anatomy.claims.spoken import joined, motion_noun, sentence
from anatomy.vocabulary.collection import Vocabulary


class PlaneJudge:
    """Judges for one sentence: its postures, and which hedges ("mostly", "exclusive", "universal") are ``said``."""

    def __init__(
        self, vocabulary: Vocabulary, books: PlaneBooks, postures: Collection[str], said: Collection[str]
    ) -> None:
        self.vocabulary = vocabulary
        self.books = books
        self.postures = postures
        self.said = said

    def judged(self, mover: Mover, mark: Sighting) -> Finding:
        """A verdict on one mover and one plane or axis."""
        sort, value = mark.value
        if sort == "plane" and value in ("one", "several"):
            return self._count(mover, value)
        if mover.movement is not None:
            planes = self._planes_meant(sort, value)
            return self._of_movement(mover.movement, planes, value if sort == "axis" else "")
        return self._of_pairs(mover, sort, value)

    @staticmethod
    def _planes_meant(sort: str, value: str) -> tuple[str, ...]:
        return (value,) if sort == "plane" else PLANE_OF.get(value, ())

    def _count(self, mover: Mover, value: str) -> Finding:
        """ "in one plane", "in several planes"."""
        movement = mover.movement
        if movement is None:
            held = {p for p in (self.plane_of(pair) for pair in mover.pairs) if p}
            if value == "several" and "oblique plane" in held:
                return Finding("right", "The motion runs in all three planes.")
            return Finding("unknown", "")
        several = len(movement.planes) > 1
        why = sentence(movement.note)
        if value == "several":
            return Finding("right" if several or movement.also else "unknown", why, "", movement.sources)
        if several:
            return Finding("depends", why, "", movement.sources)
        return Finding("unknown" if movement.also else "right", why, "", movement.sources)

    def _of_movement(self, movement: Movement, planes: tuple[str, ...], axis: str) -> Finding:
        if not planes:
            return Finding("unknown", "")
        mostly = "mostly" in self.said
        exclusive = "exclusive" in self.said and not mostly
        hit = [p for p in planes if p in movement.planes]
        also = [p for p in planes if p in movement.also]
        why = sentence(f"{movement.name}: {movement.note}")
        top = movement.mostly or movement.planes[0]
        terms = tuple(("plane", p) for p in dict.fromkeys((top, *movement.planes)))
        if hit and len(movement.planes) == 1:
            if exclusive and movement.also:
                return Finding("depends", why, "", movement.sources, terms)
            return Finding("right", why, "", movement.sources, terms)
        if hit:
            if exclusive:
                return self._wrong(movement.name, movement.planes, why, movement.sources, terms, axis)
            if mostly and movement.mostly in planes:
                return Finding("right", why, "", movement.sources, terms)
            if mostly and movement.mostly:
                return self._wrong(movement.name, (movement.mostly,), why, movement.sources, terms, axis)
            return Finding("depends", why, "", movement.sources, terms)
        if also:
            if mostly and movement.mostly:
                return self._wrong(movement.name, (movement.mostly,), why, movement.sources, terms, axis)
            return Finding("depends" if not mostly else "unknown", why, "", movement.sources, terms)
        return self._wrong(movement.name, movement.planes, why, movement.sources, terms, axis)

    def _wrong(
        self, said: str, planes: tuple[str, ...], why: str, sources: tuple[str, ...],
        terms: tuple[tuple[str, str], ...], axis: str,
    ) -> Finding:  # fmt: skip
        if axis:
            words = joined([f"the {AXIS_SAID.get(AXIS_OF.get(p, ''), p)}" for p in planes])
            return Finding("wrong", why, sentence(f"{said} turns about {words}"), sources, terms)
        return Finding(
            "wrong",
            why,
            sentence(f"{said} is in the {joined(planes)} plane{'s' if len(planes) > 1 else ''}"),
            sources,
            terms,
        )

    def plane_of(self, pair: Pair) -> str:
        """The plane of a motion in the anatomical position, "" when the vocabulary names none."""
        motion = self.vocabulary.motions.get(f"{pair[0]}: {pair[1]}")
        return motion.plane if motion is not None else ""

    def _condition(self, pair: Pair, parts: bool = True) -> Condition | None:
        fitting = [c for c in self.books.conditions if pair[0] in c.joints and pair[1] in c.motions]
        if not fitting:
            return None
        postures = set(self.postures)
        if "universal" in self.said:
            postures.add("universal")
        if "side" in postures:
            postures -= {"abducted", "universal"}
        for condition in fitting:
            if condition.posture in postures:
                return condition
        return next((c for c in fitting if not c.posture), None) if parts else None

    def _of_pairs(self, mover: Mover, sort: str, value: str) -> Finding:
        """The best verdict that any reading of the motion allows; alternatives that differ make it depend."""
        findings = [
            self._of_pair(pair, sort, value, bool(mover.parts) or not mover.j)
            for pair in mover.pairs
            if self.plane_of(pair)
        ]
        findings = [f for f in findings if f.verdict != "unknown"]
        if not findings:
            return Finding("unknown", "")
        postured = [
            self._of_pair(pair, sort, value) for pair in mover.pairs
            if (c := self._condition(pair)) is not None and c.posture
        ]  # fmt: skip
        if postured:
            findings = postured
        verdicts = {f.verdict for f in findings}
        right = next((f for f in findings if f.verdict == "right"), None)
        depends = next((f for f in findings if f.verdict == "depends"), None)
        if right is not None and "wrong" not in verdicts and depends is None:
            return right
        if depends is not None:
            return depends
        if right is not None:
            return (
                right
                if self._one_region(mover)
                else Finding(
                    "depends",
                    "It depends on which of its motions is meant: " + findings[-1].why,
                    "",
                    right.sources,
                    right.terms,
                )
            )
        return findings[0]

    def _one_region(self, mover: Mover) -> bool:
        """Whether the readings differ by joint only ("the thumb" among fingers), not by motion."""
        return len({motion for _, motion in mover.pairs}) == 1

    def _of_pair(self, pair: Pair, sort: str, value: str, parts: bool = True) -> Finding:
        motion = self.vocabulary.motions[f"{pair[0]}: {pair[1]}"]
        terms: tuple[tuple[str, str], ...] = (("motion", f"{pair[0]}: {pair[1]}"), ("plane", motion.plane))
        said = motion_noun(*pair)
        condition = self._condition(pair, parts)
        if (
            sort == "axis"
            and value in ("long", "longitudinal")
            and (pair[1] in SPINS or pair[1].startswith("rotation"))
        ):
            return Finding(
                "right", sentence(f"{said} is a turn about the long axis"), "", motion.sources, terms
            )
        meant = self._planes_meant(sort, value)
        if not meant:
            return Finding("unknown", "")
        axis = value if sort == "axis" else ""
        if condition is not None:
            why = sentence(condition.note)
            if any(p in condition.right for p in meant):
                return Finding("right", why, "", condition.sources, terms)
            if any(p in condition.depends for p in meant):
                return Finding("depends", why, "", condition.sources, terms)
            if not condition.right and not condition.depends:
                return Finding("unknown", "")
            good = condition.right or (motion.plane,)
            terms = (terms[0], ("plane", good[0]))
            return self._wrong(said, good, why, condition.sources, terms, axis)
        why = sentence(
            f"{said} runs in the {motion.plane} plane about the {AXIS_SAID.get(AXIS_OF.get(motion.plane, ''), motion.axis + ' axis')}"
        )
        if motion.plane in meant:
            return Finding("right", why, "", motion.sources, terms)
        if motion.plane not in CARDINAL:
            return Finding("depends" if meant[0] in CARDINAL else "unknown", why, "", motion.sources, terms)
        if value in ("scapular plane", "oblique plane", "oblique"):
            return Finding("unknown", "")
        return self._wrong(said, (motion.plane,), why, motion.sources, terms, axis)
