"""Claims about planes and axes: "a side lunge is frontal", "knee flexion goes round a side-to-side axis".

A statement ties a motion or a named movement to a plane or an axis, a plane to an axis, or a plane to the halves that
it parts. It is judged by the plane of the motion in the anatomical position (vocabulary), by what posture makes of it
(plane_conditions.csv), and for named movements by movement_planes.csv.
"""

from __future__ import annotations

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding, Verdict
from anatomy.claims.clauses import clause_start
from anatomy.claims.kinds.plane_reading import PlaneGrammar, is_copula
from anatomy.claims.phrases import Sighting
from anatomy.claims.plane_facts import AXIS_OF, AXIS_SAID, CARDINAL, PLANE_OF, Mover, books_for
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import sentence


def claim_planes(reading: Reading) -> None:
    """Adds the sentence's claims about planes and axes to the reading."""
    if not reading.has("PLANEWORD", "PLN", "AXS"):
        return
    PlaneReader(without_asides(reading), books_for(reading.lexicon.vocabulary)).read()


class PlaneReader(PlaneGrammar):
    """Reads and judges the plane statements of one sentence."""

    def read(self) -> None:
        """Every statement in order; a later one may borrow the mover of the one before."""
        marks = self._marks()
        if not marks:
            return
        movers = self._movers(marks)
        halves = [m for m in marks if m.value[0] == "halves"]
        if halves and self._divides(marks, halves):
            return
        previous: list[Mover] = []
        before, used = 0, 0
        planes = [m for m in marks if m.value[0] in ("plane", "axis")]
        for number, mark in enumerate(planes):
            after = planes[number + 1].i if number + 1 < len(planes) else len(self.items)
            subjects, right = self._subjects(movers, mark, before, after, used)
            if not subjects and number and self._tied_planes(planes[number - 1], mark, bool(previous)):
                before = mark.j
                continue
            if not subjects and previous and self._borrows(before, mark):
                subjects = previous
            if not subjects and not number and (self._pronoun(mark) or self._answers(mark)):
                subjects = self._remembered(mark)
            if subjects:
                self._claim(mark, subjects, before if subjects is previous else None)
                previous = subjects
                used = max(m.j for m in subjects)
            before = max(mark.j, max((m.j for m in subjects), default=0) if right else 0)

    # -- planes among themselves -----------------------------------------------------------------------------------------

    def _divides(self, marks: list[Sighting], halves: list[Sighting]) -> bool:
        """ "The sagittal plane divides the body into left and right": claims of each plane with its halves."""
        if "divide" not in self.others:
            return False
        planes = [m for m in marks if m.value[0] == "plane" and m.value[1] in CARDINAL]
        for number, half in enumerate(halves):
            near = [p for p in planes if p.j <= half.i] or planes
            if not near:
                continue
            plane = near[-1] if near[-1].j <= half.i else near[min(number, len(near) - 1)]
            good = plane.value[1] == half.value[1]
            denied = self._negated(min(plane.i, half.i), max(plane.j, half.j))
            entry = self.reading.lexicon.vocabulary.planes.get(plane.value[1])
            gloss = entry.gloss if entry is not None else ""
            why = sentence(f"the {plane.value[1]} plane is {gloss}")
            verdict: Verdict = "right" if good != denied else "wrong"
            words = "" if verdict == "right" else why
            sources = entry.sources if entry is not None else ()
            finding = Finding(verdict, why, words, sources, (("plane", plane.value[1]),))
            i, j = min(plane.i, half.i), max(plane.j, half.j)
            replace = None if good or denied else (plane.i, plane.j, f"{half.value[1]} plane")
            self.reading.add("plane", i, j, finding, replace)
        return bool(planes)

    def _tied_planes(self, first: Sighting, second: Sighting, spoken_for: bool) -> bool:
        """A plane with an axis, or one name of a plane with another; True when the pair was judged."""
        kinds = first.value[0], second.value[0]
        between = self.items[first.j : second.i]
        if kinds == ("plane", "plane"):
            if not self._within("same", first.j, second.i) or spoken_for:
                return False
            good = first.value[1] == second.value[1]
            why = (
                f"{first.value[1]} and {second.value[1]} are different planes"
                if not good
                else ("both are names of the same plane")
            )
            self._plain(first, second, good, why, None)
            return True
        if set(kinds) != {"plane", "axis"} or spoken_for:
            return False
        linked = any(
            is_copula(item)
            or item.is_("WITH", "COMMA", "COLON", "DASH")
            or item.text in ("around", "about", "round", "with", "of")
            for item in between
        ) or self._within("link", first.j, second.i)
        if not linked or self._within("camera", first.i, second.j) or len(between) > 10:
            return False
        plane, axis = (first, second) if kinds[0] == "plane" else (second, first)
        if plane.value[1] not in CARDINAL or axis.value[1] not in PLANE_OF:
            return False
        good = plane.value[1] in PLANE_OF[axis.value[1]]
        wanted = AXIS_OF[plane.value[1]]
        why = f"movement in the {plane.value[1]} plane turns about the {AXIS_SAID[wanted]}"
        self._plain(first, second, good, why, (axis.i, axis.j, AXIS_SAID[wanted]), plane.value[1])
        return True

    def _plain(
        self, first: Sighting, second: Sighting, good: bool, why: str,
        mend: tuple[int, int, str] | None, plane: str = "",
    ) -> None:  # fmt: skip
        denied = self._negated(first.i, second.i)
        verdict: Verdict = "right" if good != denied else "wrong"
        entry = self.reading.lexicon.vocabulary.planes.get(plane or first.value[1])
        sources = entry.sources if entry is not None else ()
        words = "" if verdict == "right" else sentence(why)
        finding = Finding(verdict, sentence(why), words, sources, (("plane", plane or first.value[1]),))
        self.reading.add("plane", first.i, second.j, finding, None if good or denied else mend)

    def _negated(self, i: int, j: int) -> bool:
        return any(item.is_("NEG") for item in self.items[i:j])

    # -- judging ------------------------------------------------------------------------------------------------------

    def _claim(self, mark: Sighting, subjects: list[Mover], borrowed: int | None) -> None:
        i = min([mark.i, *(m.i for m in subjects if m.i < m.j)])
        if borrowed is not None:
            i = borrowed
            while i < mark.i and self.items[i].is_("COMMA", "AND", "DASH", "COLON"):
                i += 1
        i = clause_start(self.items, i, mark.i)
        j = max([mark.j, *(m.j for m in subjects if m.i < m.j)])
        start = max((m.j for m in subjects if m.j <= mark.i), default=max(0, mark.i - 5))
        start = self._aside(start, mark.i) or start
        denied = any(item.is_("NEG") and item.text != "no" for item in self.items[start : mark.i])
        denied = denied or (
            mark.i > 0 and self.items[mark.i - 1].text in ("rather than", "instead of", "not")
        )
        findings = [self.judge.judged(mover, mark) for mover in subjects]
        order = ("wrong", "unknown", "depends", "right")
        finding = min(findings, key=lambda f: order.index(f.verdict))
        if denied:
            finding = self._denied(findings)
        if finding.verdict == "unknown":
            return
        replace = None
        if finding.verdict == "wrong" and not denied:
            replace = self._mended(mark, finding)
        self.reading.add("plane", i, j, finding, replace)

    def _denied(self, findings: list[Finding]) -> Finding:
        verdicts = {f.verdict for f in findings}
        first = findings[0]
        if verdicts == {"wrong"}:
            return Finding("right", first.why, "", first.sources, first.terms)
        if verdicts == {"right"}:
            return Finding("wrong", first.why, first.why, first.sources, first.terms)
        return Finding("unknown", "")

    def _mended(self, mark: Sighting, finding: Finding) -> tuple[int, int, str] | None:
        wanted = next((name for kind, name in finding.terms if kind == "plane"), "")
        if wanted not in CARDINAL or sum(1 for kind, _ in finding.terms if kind == "plane") > 1:
            return None
        if mark.value[0] == "plane":
            words = f"{wanted} plane" if "plane" in mark.words else wanted
            if mark.words[-1] == "planes":
                return None
            return mark.i, mark.j, words
        axis = AXIS_OF[wanted]
        said = AXIS_SAID[axis]
        if "axis" in mark.words:
            return mark.i, mark.j, said
        return (
            mark.i,
            mark.j,
            {"mediolateral": "side to side", "anteroposterior": "front to back"}.get(axis, "vertically"),
        )
