"""What a sentence says of planes and axes: marks, movers, and which mover a plane is said of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from anatomy.claims.items import Item
from anatomy.claims.lexicon import Pair
from anatomy.claims.phrases import Sighting, Stream
from anatomy.claims.plane_facts import CARDINAL, Mover, PlaneBooks
from anatomy.claims.plane_judging import PlaneJudge
from anatomy.claims.reading import Reading

NEGATED = frozenset({"isn't", "aren't", "wasn't", "weren't", "isnt", "arent"})


CONTRACTED = frozenset({"that's", "it's", "we're", "you're", "he's", "she's", "they're"})


CALLING = frozenset({"call", "calls", "called", "calling", "put", "puts", "file", "filed", "files", "class", "classed", "classify", "count", "counts", "counted", "label", "labelled", "mark", "marked", "list", "listed", "book", "booked", "log", "logged", "write", "wrote", "consider", "considered", "regard", "regarded", "sort", "sorted"})  # fmt: skip
"""Verbs by which a speaker says what something counts as."""


SPEAKERS = frozenset({"i", "you", "we", "he", "she", "i'll", "we'll", "you'll"})


def is_copula(item: Item) -> bool:
    return (
        item.is_("AUX", "COP")
        or item.text.startswith(("is ", "are "))
        or item.text.endswith((" is", " are"))
        or (item.text in NEGATED or item.text in CONTRACTED)
    )


class PlaneGrammar:
    """Reads and judges the plane statements of one sentence."""

    def __init__(self, reading: Reading, books: PlaneBooks) -> None:
        self.reading = reading
        self.items = reading.items
        self.books = books
        self.stream = reading.stream
        self.others: dict[str, list[Sighting]] = {}
        for sighting in books.others.sightings(self.stream):
            for sort, value in sighting.values:
                self.others.setdefault(sort, []).append(
                    Sighting((value,), sighting.i, sighting.j, sighting.words)
                )
        postures = {s.value for s in books.postures.sightings(self.stream)}
        self.judge = PlaneJudge(reading.lexicon.vocabulary, books, postures, set(self.others))

    # -- what is said -----------------------------------------------------------------------------------------------

    def _marks(self) -> list[Sighting]:
        """Planes, axes and halves in order; a bare "axis" takes its direction from words further on."""
        found: list[Sighting] = []
        loose = self.books.marks.sightings(self.stream)
        for number, mark in enumerate(loose):
            sort = mark.value[0]
            if sort == "plane" and not self._is_plane(mark):
                continue
            if sort == "bare":
                ahead = next(
                    (s for s in loose[number + 1 :] if s.value[0] in ("towards", "bare", "axis")), None
                )
                if ahead is not None and ahead.value[0] == "towards":
                    found.append(Sighting((("axis", ahead.value[1]),), ahead.i, ahead.j, ahead.words))
                continue
            if sort == "towards":
                continue
            found.append(mark)
        return found

    def _is_plane(self, mark: Sighting) -> bool:
        if len(mark.words) > 1:
            return True
        if any(self.items[k].is_("MUS", "STR", "NRV") for k in range(mark.i, mark.j)):
            return False
        following = self.items[mark.j] if mark.j < len(self.items) else None
        return following is None or not (
            following.is_("FAM", "MUS", "STR")
            or following.text in ("axis", "lobe", "process", "arch", "section")
        )

    def _movers(self, marks: list[Sighting]) -> list[Mover]:
        taken = {k for mark in marks for k in range(mark.i, mark.j) if mark.value[0] != "towards"}
        links = {s.i for s in self.others.get("link", ()) if s.j == s.i + 1}
        found = [
            Mover(s.i, s.j, s.value)
            for s in self.books.moves.sightings(self.stream)
            if not taken.intersection(range(s.i, s.j))
            and not self._is_verb(s)
            and (s.i not in links or s.j > s.i + 1)
        ]
        named = {k for mover in found for k in range(mover.i, mover.j)}
        for e in self.reading.expressions:
            if (
                (e.form in ("agent", "ed") and not e.passive)
                or not e.pairs
                or e.head in named
                or e.head in taken
            ):
                continue
            pairs = e.pairs
            if e.word == "rotate" and not e.parts and not e.directions:
                pairs = tuple(p for p in pairs if p[1].startswith("rotation"))
            elif not e.parts:
                pairs = self._usual(pairs)
            i = e.i
            if e.object == "self":
                while i > 0 and self.items[i - 1].is_("PART", "DET", "AND", "ADJ") and i > e.head - 4:
                    i -= 1
            covered = [m for m in found if m.movement is not None and i <= m.i and m.j <= e.j]
            for mover in covered:
                found.remove(mover)
            found.append(Mover(i, e.j, None, pairs, e.form, e.parts))
        return sorted(found, key=lambda mover: mover.i)

    def _usual(self, pairs: tuple[Pair, ...]) -> tuple[Pair, ...]:
        """Of a motion without its joint the pairs in the plane that most joints move it in: not the thumb's own one."""
        count = Counter(plane for plane in map(self.judge.plane_of, pairs) if plane in CARDINAL)
        if not count:
            return pairs
        usual = count.most_common(1)[0][0]
        return tuple(pair for pair in pairs if self.judge.plane_of(pair) == usual)

    def _is_verb(self, sighting: Sighting) -> bool:
        """A lone word after "to" or a person ("you squat", "to throw") or before a part of the body is not a name."""
        if sighting.j - sighting.i > 1 or len(sighting.words) > 1:
            return False
        if any(item.text in CONTRACTED for item in self.items):
            return False
        before = self.items[sighting.i - 1] if sighting.i else None
        if before is not None and (before.text in ("to", "we'll", "you'll", "i'll") or before.is_("PERSON")):
            return not sighting.words[0].endswith("ing")
        return False

    # -- who belongs to what -------------------------------------------------------------------------------------------

    def _subjects(
        self, movers: list[Mover], mark: Sighting, before: int, after: int, used: int
    ) -> tuple[list[Mover], bool]:
        """The movers tied to a plane, and whether they stand to its right."""
        if self._within("camera", mark.j, mark.j + 1):
            return [], False
        left = [m for m in movers if m.j <= mark.i and m.i >= before and m.i >= used]
        left = self._heads([m for m in left if not self._example(m)] or left)
        if left and self._linked(left[-1], mark):
            return left, False
        right = [m for m in movers if m.i >= mark.j and m.j <= max(after, mark.j)]
        if right and not (left and self._linked(left[-1], mark)):
            first = right[0]
            if self._linked_back(mark, first):
                group = [first]
                for mover in right[1:]:
                    if self._coordinated(group[-1], mover):
                        group.append(mover)
                return group, True
        return [], False

    def _heads(self, left: list[Mover]) -> list[Mover]:
        """The last mover and those coordinated with it; one inside "with …", "in …" gives way to an earlier one."""
        if not left:
            return []
        k = len(left) - 1
        while k > 0 and self._predicate(left[k]):
            k -= 1
        while k > 0 and self._subordinate(left[k]) and not self._clause_between(left[k - 1], left[k]):
            k -= 1
        group = [left[k]]
        while k > 0 and self._coordinated(left[k - 1], left[k]):
            k -= 1
            group.insert(0, left[k])
        return group

    def _example(self, mover: Mover) -> bool:
        """ "as in the forehand": a mover that only illustrates another."""
        k = mover.i - 1
        while k >= 0 and self.items[k].is_("DET", "ADJ"):
            k -= 1
        return (
            k > 0
            and self.items[k].text in ("in", "with")
            and self.items[k - 1].text in ("as", "like", "just as")
        )

    def _predicate(self, mover: Mover) -> bool:
        """ "is a rotation in the …": a motion that is only said of the one before."""
        k = mover.i - 1
        while k >= 0 and self.items[k].is_("DET", "ADJ"):
            k -= 1
        return k >= 0 and is_copula(self.items[k]) and mover.movement is None and mover.form == "noun"

    def _subordinate(self, mover: Mover) -> bool:
        k = mover.i - 1
        while k >= 0 and self.items[k].is_("DET", "ADJ", "ADV"):
            k -= 1
        return k >= 0 and (
            (
                self.items[k].is_("PREP", "WITH", "SUB", "BY")
                and (self.items[k].text != "into" or mover.movement is not None)
            )
            or self.items[k].text in ("to", "when", "while")
        )

    def _clause_between(self, first: Mover, second: Mover) -> bool:
        return any(
            self.items[k].is_("COMMA", "BUT", "COLON", "DASH") for k in range(first.j, second.i)
        ) and not any(self.items[k].is_("WITH") for k in range(first.j, second.i))

    def _coordinated(self, first: Mover, second: Mover) -> bool:
        between = self.items[first.j : second.i]
        return (
            bool(between)
            and all(item.is_("AND", "OR", "COMMA", "DET", "ADJ", "ADV", "PREP") for item in between)
            and any(item.is_("AND", "OR", "COMMA") for item in between)
        )

    def _within(self, sort: str, i: int, j: int) -> bool:
        return any(s.i < j and s.j > i for s in self.others.get(sort, ()))

    def _linked(self, mover: Mover, mark: Sighting) -> bool:
        """Whether a mover on the left is the subject of what is said of the plane."""
        i, j = mover.j, mark.i
        aside = self._aside(i, j)
        if aside is not None:
            return not self._within("camera", max(0, mover.i - 4), i) and not self._within("camera", aside, j)
        if self._within("camera", max(0, mover.i - 4), j) or self._within("plain_list", 0, mover.i):
            return False
        between = self.items[i:j]
        linked = any(is_copula(item) for item in between) or self._within("link", i, j)
        if linked:
            return not self._another(i, j)
        before = self.items[max(0, mover.i - 3) : mover.i]
        if any(item.text == "into" for item in before) and self._within("link", mover.i - 4, mover.i):
            return all(item.is_("PREP", "DET", "ADV", "DIR") for item in between)
        texts = [item.text for item in between]
        if self._called(mover, between):
            return True
        if mover.i <= 1 and (
            ":" in texts
            or (mark.value[0] == "axis" and any(t in ("about", "around", "round") for t in texts[:1]))
        ):
            return True
        if mover.movement is not None and self._said_as_verb(mover):
            return all(item.is_("PREP", "DET", "ADV") for item in between)
        if mover.form in ("s",) or (mover.form == "base" and mover.i < mover.j - 1 and self._own(mover)):
            return all(
                item.is_("PREP", "DET", "ADV", "COMMA", "DIR", "BY", "AND", "PV", "FAM") for item in between
            )
        if not all(
            item.is_("PREP", "DET", "ADV", "COMMA", "COLON", "DASH", "OPEN", "AND", "DIR", "MODAL")
            for item in between
        ):
            return False
        if mover.i and self.reading.claims and self.items[mover.i - 1].is_("COMMA", "AND", "DET"):
            return True
        return any(item.is_("COMMA", "COLON", "DASH", "OPEN") for item in between) and self._ends_after(mark)

    def _aside(self, i: int, j: int) -> int | None:
        """ "the cartwheel, when I film it, happens in …": where the verb takes up again after what commas enclose."""
        commas = [k for k in range(i, j) if self.items[k].is_("COMMA", "DASH")]
        if not commas or (commas[-1] == commas[0] and not self._resumes(commas[-1] + 1, j)):
            return None
        start = commas[-1] + 1
        return start if self._resumes(start, j) else None

    def _resumes(self, k: int, j: int) -> bool:
        while k < j and self.items[k].is_("ADV", "SUB", "AND") and not is_copula(self.items[k]):
            k += 1
        if k >= j:
            return False
        return (
            is_copula(self.items[k])
            or any(s.i == k for s in self.others.get("link", ()))
            or (
                self.items[k].text in ("what", "that", "it", "this", "those", "these", "they")
                and any(is_copula(item) for item in self.items[k:j])
            )
        )

    def _another(self, i: int, j: int) -> bool:
        """Whether somebody else acts between two places; "every squat you do", "trains you in" name no other doing."""
        for k in range(i, j):
            following = self.items[k + 1] if k + 1 < len(self.items) else None
            if self.items[k].text in SPEAKERS and not (following is not None and following.is_("DO", "PREP")):
                return True
        return False

    def _called(self, mover: Mover, between: Sequence[Item]) -> bool:
        """ "I'd call the lunge a … drill", "we put the calf raise down as a …", "file it under …"."""
        before = self.items[max(0, mover.i - 4) : mover.i]
        return any(item.text in CALLING for item in before) and all(
            item.is_("DET", "ADJ", "ADV", "AS") or item.text in ("down", "as", "under", "in", "with", "among")
            for item in between
        )

    def _said_as_verb(self, mover: Mover) -> bool:
        """ "the wrist deviates", "the head nods": a name that is a clause of its own."""
        held = self.items[mover.j - 1].c
        forms = [form for _, form in (*held.get("FAM", ()), *held.get("PV", ()))]
        clause = mover.j - mover.i > 1 or (mover.i > 0 and self.items[mover.i - 1].is_("PART"))
        return "s" in forms and clause

    def _own(self, mover: Mover) -> bool:
        return mover.i < mover.j and self.items[mover.i].is_("PART", "DET")

    def _ends_after(self, mark: Sighting) -> bool:
        """After a verbless statement nothing but a short tail may follow the plane."""
        k = mark.j
        while k < len(self.items) and self.items[k].text in (
            "plane", "movement", "motion", "work", "exercise", "axis", "thing", "stuff", "movements", "job",
        ):  # fmt: skip
            k += 1
        return k >= len(self.items) or not self.items[k].is_("PERSON", "AUX")

    def _linked_back(self, mark: Sighting, mover: Mover) -> bool:
        """Whether a mover on the right is what the plane is said of: "frontal plane for abduction"."""
        between = self.items[mark.j : mover.i]
        if len(between) > 8 or any(
            item.is_("PERSON") and item.text != "we" and item.text != "you" for item in between
        ):
            return False
        if self._within("camera", mark.i - 3, mover.i) or self._within("plain_list", 0, mover.i):
            return False
        words = [item.text for item in between]
        if any(
            word in ("for", "where", "like", "such as", "including", "of", "that's", "is for")
            for word in words
        ):
            return True
        if any(item.is_("COLON", "DASH") for item in between):
            return True
        if any(is_copula(item) for item in between) or self._within("link", mark.j, mover.i):
            return not any(word in ("so", "because", "and") for word in words) or "in" in words
        start = mark.i
        while start > 0 and self.items[start - 1].is_("DET", "PREP"):
            start -= 1
        if start < mark.i and self.items[start].text in ("in", "round", "around", "about"):
            return start == 0 and any(
                w in ("we", "you", "we have", "you get", "you have", "comes", "come") for w in words
            )
        return False

    def _borrows(self, before: int, mark: Sighting) -> bool:
        """ "…, its axis runs front to back", "… and goes round a vertical axis": the mover of the statement before."""
        between = self.items[before : mark.i]
        texts = {item.text for item in between}
        if texts & {"its", "it", "that", "which", "whose"}:
            return True
        if any(
            item.is_("AND", "COMMA", "BUT", "DASH") or item.text in ("around", "round", "about", "with")
            for item in between
        ):
            return (
                not any(item.is_("PERSON", "PART", "FAM", "PV") for item in between)
                and (self._within("link", before, mark.i) or len(between) <= 5)
                and not self._within("camera", before, mark.i)
            )
        return False

    def _answers(self, mark: Sighting) -> bool:
        """ "Squats? Frontal plane.": an answer without a verb to the question before."""
        return self.reading.memory.asked and mark.i <= 3 and not self._within("camera", 0, mark.j)

    def _pronoun(self, mark: Sighting) -> bool:
        """ "it is a sagittal movement", "that's frontal"."""
        for k in range(mark.i - 1, max(-1, mark.i - 7), -1):
            item = self.items[k]
            if item.text in ("it's", "that's", "they're", "this is", "that is") or (
                item.is_("AUX")
                and k > 0
                and self.items[k - 1].text in ("it", "that", "this", "they", "which")
            ):
                return not self._within("camera", k, mark.i)
            if (item.text in ("it", "its") or (k == 0 and item.text in ("that", "this", "they"))) and (
                self._within("link", k, mark.i) or (mark.value[0] == "axis" and "go" in self.stream.at)
            ):
                return not self._within("camera", k, mark.i)
        return False

    def _remembered(self, mark: Sighting) -> list[Mover]:
        """What "it" stands for: the last movement in this sentence, else in the one before."""
        movers = [m for m in self._movers([mark]) if m.j <= mark.i]
        if movers:
            return [movers[-1]]
        memory = self.reading.memory
        if memory.before is not None:
            stream = Stream(memory.before)
            named = self.books.moves.sightings(stream)
            if named:
                return [Mover(mark.i, mark.i, named[-1].value)]
        if memory.motion:
            return [Mover(mark.i, mark.i, None, memory.motion)]
        return []
