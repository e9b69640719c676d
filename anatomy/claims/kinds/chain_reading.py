"""What a sentence says of open and closed chains: kinds, situations, and which kind is said of which."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from anatomy.claims.items import Item
from anatomy.claims.lexicon import listed, rows
from anatomy.claims.phrases import PhraseBook, Sighting, Stream
from anatomy.claims.reading import Reading

NEGATED = frozenset({"isn't", "aren't", "wasn't", "weren't", "isnt", "arent"})


OTHER = {"open": "closed", "closed": "open"}


@dataclass(frozen=True)
class Exercise:
    """A row of chain_exercises.csv; each kind is open, closed, varies or empty."""

    name: str
    whole: str
    arm: str
    leg: str
    note: str
    sources: tuple[str, ...]

    def kind(self, part: str) -> str:
        """What the chain is for a part ("arm", "leg") or, where none is named or known, as a whole."""
        return {"arm": self.arm, "leg": self.leg}.get(part) or self.whole


@dataclass(frozen=True)
class Situation:
    """What a statement calls open or closed: an exercise, a limb or a condition, with the kind that it is."""

    i: int
    j: int
    sort: str
    kind: str
    part: str = ""
    exercise: Exercise | None = None


class ChainBooks:
    """The phrases and tables of this kind."""

    def __init__(self) -> None:
        self.words: dict[str, PhraseBook] = {}
        gathered: dict[str, list[tuple[str, str]]] = {}
        for row in rows("chain_words"):
            gathered.setdefault(row["sort"], []).extend((text, row["value"]) for text in listed(row["words"]))
        self.words = {sort: PhraseBook(entries) for sort, entries in gathered.items()}
        self.exercises = PhraseBook(
            (
                text,
                Exercise(
                    row["exercise"],
                    row["whole"],
                    row["arm"],
                    row["leg"],
                    row["note"],
                    tuple(listed(row["sources"])),
                ),
            )
            for row in rows("chain_exercises")
            for text in listed(row["words"])
        )


@lru_cache(maxsize=1)
def chain_books() -> ChainBooks:
    """The compiled tables."""
    return ChainBooks()


def _is_copula(item: Item) -> bool:
    return (
        item.is_("AUX", "COP")
        or item.text.startswith(("is ", "are "))
        or item.text.endswith((" is", " are"))
        or item.text in NEGATED
    )


class ChainGrammar:
    """Reads and judges the chain statements of one sentence."""

    def __init__(self, reading: Reading, books: ChainBooks) -> None:
        self.reading = reading
        self.items = reading.items
        self.stream = reading.stream
        self.seen = {sort: book.sightings(self.stream) for sort, book in books.words.items()}
        self.exercises = books.exercises.sightings(self.stream)

    def _kinds(self) -> list[Sighting]:
        """The kinds of chain named; a bare "open" counts beside a full name, as what something is."""
        full = self.seen["kind"]
        taken = {k for sighting in full for k in range(sighting.i, sighting.j)}
        found = list(full)
        for bare in self.seen["bare"]:
            if bare.i in taken or not full:
                continue
            before = self.items[bare.i - 1] if bare.i else None
            after = self.items[bare.j] if bare.j < len(self.items) else None
            said = before is not None and (
                _is_copula(before) or before.is_("COMMA", "NEG", "COLON", "ADV", "DASH")
            )
            ends = (
                after is None
                or after.is_("COMMA", "AND", "OR", "BUT", "DASH", "ADV", "NEG", "PREP")
                or (after.text in ("for", "too", "in"))
            )
            if said and ends:
                found.append(bare)
        return sorted(found, key=lambda sighting: sighting.i)

    # -- situations ---------------------------------------------------------------------------------------------------

    def _situations(self, kinds: list[Sighting]) -> list[Situation]:
        taken = {k for kind in kinds for k in range(kind.i, kind.j)}
        found: list[Situation] = []
        for sighting in self.seen["limb"]:
            part, _, kind = sighting.value.partition(" ")
            if not taken.intersection(range(sighting.i, sighting.j)):
                found.append(Situation(sighting.i, sighting.j, "limb", kind, part))
        limbs = {k for s in found for k in range(s.i, s.j)}
        for sighting in self.exercises:
            if limbs.intersection(range(sighting.i, sighting.j)):
                continue
            if not taken.intersection(range(sighting.i, sighting.j)):
                found.append(Situation(sighting.i, sighting.j, "exercise", "", "", sighting.value))
        named = [s for s in found if s.sort == "limb"]
        found += [c for c in self._conditions(taken) if not any(c.i < s.j and c.j > s.i for s in named)]
        return sorted(found, key=lambda s: s.i)

    def _conditions(self, taken: set[int]) -> list[Situation]:
        """Ends of limbs that are said to be fixed or free: "hands on the floor", "the far end moves freely"."""
        found: list[Situation] = []
        for end in self.seen["end"]:
            if taken.intersection(range(end.i, end.j)):
                continue
            state = next((f for f in self.seen["fixed"] if f.i >= end.j and f.i - end.j <= 5), None)
            between = self.items[end.j : state.i] if state else []
            if (
                state is None
                or taken.intersection(range(end.j, state.j))
                or (len(between) > 1 and any(item.is_("COMMA", "DASH", "COLON") for item in between))
                or any(item.text in ("until", "before", "till") for item in between)
                or any(other.i >= end.j and other.j <= state.i for other in self.seen["end"])
            ):
                state = next(
                    (
                        f
                        for f in self.seen["fixed"]
                        if f.j == end.i and f.words[-1] in ("planted", "fixed", "free", "moving", "swinging")
                    ),
                    None,
                )
                between = []
            if state is None or taken.intersection(range(state.i, state.j)):
                continue
            kind = state.value
            if any(item.is_("NEG") for item in between):
                kind = OTHER[kind]
            found.append(Situation(min(end.i, state.i), max(end.j, state.j), "condition", kind, end.value))
        return found

    def _parts(self, i: int, j: int) -> str:
        """The limb that is named between two items, where only one is."""
        parts = {s.value for s in self.seen["part"] if i <= s.i and s.j <= j}
        return parts.pop() if len(parts) == 1 else ""

    # -- who belongs to what --------------------------------------------------------------------------------------------

    def _spoken_of(
        self, kind: Sighting, left: list[Situation], right: list[Situation], before: int
    ) -> tuple[list[Situation], int]:
        """What a kind is said of, and where the last of it ends."""
        left = self._together(left)
        if left and self._linked(left[-1], kind):
            more = [s for s in right if s.sort != "exercise" and self._belongs(kind, s)]
            return [*left, *more], max((s.j for s in more), default=kind.j)
        near = [s for s in right if self._linked_back(kind, s)]
        if near:
            first = near[0]
            group = [first]
            for other in right:
                if other.i >= group[-1].j and not self._new_clause(group[-1].j, other.i):
                    group.append(other)
            return group, group[-1].j
        return [], kind.j

    def _together(self, left: list[Situation]) -> list[Situation]:
        """Of exercises in a row only the last, unless they are listed together."""
        kept: list[Situation] = []
        for situation in reversed(left):
            later = next((s for s in reversed(kept) if s.exercise is not None), None)
            if situation.exercise is not None and later is not None:
                between = self.items[situation.j : later.i]
                if not all(item.is_("COMMA", "AND", "OR", "DET", "ADJ", "ADV") for item in between):
                    continue
            kept.insert(0, situation)
        return kept

    def _within(self, sort: str, i: int, j: int) -> bool:
        return any(s.i < j and s.j > i for s in self.seen[sort])

    def _linked(self, situation: Situation, kind: Sighting) -> bool:
        between = self.items[situation.j : kind.i]
        if any(_is_copula(item) for item in between[-6:]):
            return not self._within("block", situation.j, kind.i)
        if self.items[situation.j - 1].text.endswith(("'s", "s'")) and len(between) <= 3:
            return True
        if self._within("block", 0, kind.i):
            return False
        if not between and situation.sort == "limb":
            return True
        # "(It) puts the throwing arm in a closed chain."
        placed = (
            situation.sort == "limb"
            and bool(between)
            and all(item.is_("PREP", "DET", "DIR", "AS") for item in between)
        )
        if placed and self._within("link", max(0, situation.i - 3), situation.i):
            return True
        if self._within("link", situation.j, kind.i) and len(between) <= 12:
            return True
        if situation.sort == "condition" and self._within("link", situation.i, kind.i):
            return True
        if kind.words[0] in (
            "closes",
            "opens",
            "close",
            "open",
            "closing",
            "opening",
            "chain",
            "chain's",
        ) and (len(kind.words) > 2 or kind.words[0].startswith("chain") or kind.words[0].endswith("s")):
            return True
        if any(item.is_("COMMA", "COLON", "DASH", "OPEN", "SUB") for item in between):
            return not any(item.is_("PERSON", "QUESTION") for item in between) and len(between) <= 5
        return False

    def _belongs(self, kind: Sighting, situation: Situation) -> bool:
        """Whether a condition or a limb after the kind explains it and does not begin the next statement."""
        between = self.items[kind.j : situation.i]
        if situation.sort == "limb" and any(item.is_("COMMA") for item in between):
            return any(item.text == "for" for item in between)
        return not any(item.is_("AND", "BUT") for item in between) or any(
            item.text == "for" for item in between
        )

    def _linked_back(self, kind: Sighting, situation: Situation) -> bool:
        """ "open chain for the arm", "closed chain exercises such as squats", "an open-chain push-up"."""
        between = self.items[kind.j : situation.i]
        if len(between) > 8 or self._within("block", 0, situation.i):
            return False
        texts = [item.text for item in between]
        if any(
            text
            in (
                "for",
                "when",
                "once",
                "if",
                "where",
                "in",
                "during",
                "like",
                "such as",
                "including",
                "that's",
                "because",
                "since",
                "as long as",
                "that is",
                "so",
            )
            for text in texts
        ):
            return (
                self._stated(kind)
                or situation.sort != "exercise"
                or any(text in ("like", "such as", "including", "that's", "for", "that is") for text in texts)
            )
        if any(_is_copula(item) or item.is_("COLON", "DASH", "COMMA") for item in between) or self._within(
            "link", kind.j, situation.i
        ):
            return not any(item.is_("PERSON") for item in between)
        if situation.sort == "condition" and self._within_chain(kind):
            return not any(item.is_("PERSON", "AND", "BUT") for item in between)
        return not between and situation.exercise is not None and situation.exercise.whole in OTHER

    def _within_chain(self, kind: Sighting) -> bool:
        """ "in a closed chain the foot …": a definition opens with where it holds."""
        k = kind.i - 1
        while k >= 0 and self.items[k].is_("DET", "ADJ"):
            k -= 1
        return k >= 0 and self.items[k].text in ("in", "with", "during", "for")

    def _stated(self, kind: Sighting) -> bool:
        """Whether the kind is what something is ("is closed chain") or opens the sentence."""
        k = kind.i - 1
        while k >= 0 and self.items[k].is_("DET", "ADV", "ADJ", "PREP"):
            k -= 1
        return k < 0 or _is_copula(self.items[k]) or self.items[k].is_("COMMA", "IT")

    def _new_clause(self, i: int, j: int) -> bool:
        return any(_is_copula(item) or item.is_("BUT", "PERSON") for item in self.items[i:j])

    def _remembered(self, kind: Sighting) -> list[Situation]:
        """What "it" or an answer without a subject speaks of: the last exercise or limb of the sentence before."""
        memory = self.reading.memory
        start = self.items[: kind.i]
        pronoun = any(
            item.text in ("that's", "it's", "they're")
            or (
                _is_copula(item)
                and k
                and start[k - 1].text in ("it", "that", "this", "that one", "they", "this one")
            )
            or (item.is_("PART") and k and start[k - 1].text in ("those", "that", "these", "this"))
            for k, item in enumerate(start)
        )
        if (
            memory.before is None
            or not (pronoun or (memory.asked and kind.i <= 2))
            or self._within("block", 0, kind.i)
        ):
            return []
        stream = Stream(memory.before)
        books = chain_books()
        limbs = books.words["limb"].sightings(stream)
        if limbs:
            part, _, held = limbs[-1].value.partition(" ")
            return [Situation(kind.i, kind.i, "limb", held, part)]
        named = books.exercises.sightings(stream)
        part = self._parts(kind.j, len(self.items))
        return [Situation(kind.i, kind.i, "exercise", "", part, named[-1].value)] if named else []

    def _continues(self, before: int, kind: Sighting) -> bool:
        between = self.items[before : kind.i]
        return (
            len(between) <= 4
            and not any(item.is_("PERSON", "PART", "SEG") for item in between)
            and any(item.is_("BUT", "NEG", "COMMA", "AND", "DASH") for item in between)
        )
