"""Claims about open and closed kinetic chains: "a squat is closed chain", "the swing leg is an open chain".

A chain is closed where the far end of the limb is fixed, open where it moves freely (Steindler 1955). A statement ties
a kind of chain to an exercise, a limb ("the stance leg") or a condition ("hands on the floor"); exercises stand in
chain_exercises.csv with what arm and leg do in them.
"""

from __future__ import annotations

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding, Verdict
from anatomy.claims.clauses import clause_start
from anatomy.claims.kinds.chain_reading import OTHER, ChainGrammar, Situation, chain_books
from anatomy.claims.phrases import Sighting
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence

DEFINITION = ("memory-nsca-chains",)


RULE = "a chain is closed where the far end of the limb is fixed, open where it moves freely"


def claim_chains(reading: Reading) -> None:
    """Adds the sentence's claims about open and closed chains to the reading."""
    if not reading.has("CHAINWORD", "CPT"):
        return
    if not any("chain" in item.text or item.text in ("okc", "ckc") for item in reading.items):
        return
    ChainReader(without_asides(reading), chain_books()).read()


class ChainReader(ChainGrammar):
    """Reads and judges the chain statements of one sentence."""

    def read(self) -> None:
        """Every statement in order; "not open but closed" shares what it speaks of."""
        kinds = self._kinds()
        if not any(len(kind.words) > 1 or kind.words[0] in ("okc", "ckc") for kind in kinds):
            return
        situations = self._situations(kinds)
        before = 0
        previous: list[Situation] = []
        for number, kind in enumerate(kinds):
            after = kinds[number + 1].i if number + 1 < len(kinds) else len(self.items)
            left = [s for s in situations if before <= s.i and s.j <= kind.i]
            right = [s for s in situations if s.i >= kind.j and s.j <= after]
            spoken, end = self._spoken_of(kind, left, right, before)
            if not spoken and not left and not number:
                spoken = self._remembered(kind)
            if not spoken and not left and previous and self._continues(before, kind):
                spoken = previous
            if spoken:
                self._claim(kind, spoken)
                previous = spoken
            before = max(kind.j, end)

    # -- judging ----------------------------------------------------------------------------------------------------------

    def _claim(self, kind: Sighting, spoken: list[Situation]) -> None:
        i = clause_start(self.items, min([kind.i, *(s.i for s in spoken)]), kind.i)
        j = max([kind.j, *(s.j for s in spoken if s.sort == "limb")])
        first = min(s.i for s in spoken)
        finding = self._judged(kind, spoken, min(first, kind.i), max(j, kind.j))
        denied = self._denied(kind, spoken)
        if denied:
            finding = self._turned(kind, finding)
        if finding.verdict == "unknown":
            return
        replace = None
        alone = len(self._deciding(spoken, min(first, kind.i), max(j, kind.j))) == 1
        if (
            finding.verdict == "wrong"
            and kind.value in OTHER
            and alone
            and not denied
            and not self._contrasted(kind)
        ):
            replace = self._mended(kind)
        self.reading.add("chain", i, j, finding, replace)

    def _denied(self, kind: Sighting, spoken: list[Situation]) -> bool:
        start = max((s.j for s in spoken if s.j <= kind.i), default=kind.i - 3)
        between = self.items[max(start, kind.i - 5, 0) : kind.i]
        return any(
            item.is_("NEG") or item.text in ("rather than", "instead of", "and not", "as opposed to")
            for item in between
        )

    def _contrasted(self, kind: Sighting) -> bool:
        """ "open rather than closed": one word alone would not mend it."""
        after = self.items[kind.j : kind.j + 3]
        return any(item.is_("NEG") or item.text in ("rather than", "instead of") for item in after)

    def _turned(self, kind: Sighting, finding: Finding) -> Finding:
        if finding.verdict not in ("right", "wrong"):
            return Finding("unknown", "")
        verdict: Verdict = "wrong" if finding.verdict == "right" else "right"
        words = "" if verdict == "right" else finding.why
        return Finding(verdict, finding.why, words, finding.sources, finding.terms)

    def _mended(self, kind: Sighting) -> tuple[int, int, str] | None:
        turned = {
            "open": "closed",
            "closed": "open",
            "close": "open",
            "opens": "closes",
            "closes": "opens",
            "okc": "ckc",
            "ckc": "okc",
        }
        if not any(word in turned for word in kind.words):
            return None
        return kind.i, kind.j, " ".join(turned.get(word, word) for word in kind.words)

    def _judged(self, kind: Sighting, spoken: list[Situation], i: int, j: int) -> Finding:
        findings = [self._one(kind.value, s, spoken, i, j) for s in self._deciding(spoken, i, j)]
        order = ("wrong", "depends", "right", "unknown")
        return min(findings, key=lambda f: order.index(f.verdict))

    def _deciding(self, spoken: list[Situation], i: int, j: int) -> list[Situation]:
        """A named limb decides before an exercise whose kind is firm, that before a condition."""
        limbs = [s for s in spoken if s.sort == "limb"]
        if limbs:
            return limbs
        part = self._parts(i, j)
        exercises = [s for s in spoken if s.exercise is not None]
        firm = [s for s in exercises if s.exercise is not None and s.exercise.kind(part) in OTHER]
        conditions = [s for s in spoken if s.sort == "condition"]
        if firm and exercises[-1] in firm:
            return firm
        disputed = [s for s in exercises if s.exercise is not None and "authors" in s.exercise.note]
        sure = any(item.text == "fixed" for s in conditions for item in self.items[s.i : s.j])
        if disputed and not sure:
            return disputed
        return conditions or exercises

    def _one(self, said: str, situation: Situation, spoken: list[Situation], i: int, j: int) -> Finding:
        exercise = situation.exercise
        terms = (("concept", f"{said} chain"),) if said in OTHER else ()
        if exercise is None:
            part = {"arm": "hand", "leg": "foot"}.get(situation.part, "far end of the limb")
            state = "is fixed" if situation.kind == "closed" else "moves freely"
            why = sentence(f"the {part} {state}, so the chain is {situation.kind}: {RULE}")
            return self._verdict(said, situation.kind, why, "it", DEFINITION, terms)
        part = self._parts(i, j)
        kind = exercise.kind(part)
        why = sentence(f"{exercise.name}: {exercise.note}")
        return self._verdict(said, kind, why, exercise.name, exercise.sources, terms)

    def _verdict(
        self,
        said: str,
        kind: str,
        why: str,
        name: str,
        sources: tuple[str, ...],
        terms: tuple[tuple[str, str], ...],
    ) -> Finding:
        if not kind:
            return Finding("unknown", "")
        if said == "both":
            return Finding("right" if kind == "varies" else "unknown", why, "", sources, terms)
        if kind == "varies":
            return Finding("depends", why, "", sources, terms)
        if said == kind:
            return Finding("right", why, "", sources, terms)
        return Finding("wrong", why, sentence(f"{name} is {kind} chain"), sources, terms)
