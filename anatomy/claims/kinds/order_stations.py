"""The movements and stations that a sentence about an order names."""

from __future__ import annotations

from anatomy.claims.items import Item
from anatomy.claims.lexicon import listed
from anatomy.claims.order_facts import OrderBooks
from anatomy.claims.phrases import Sighting, Stream
from anatomy.claims.reading import Reading

HOLDING = frozenset({"muscle_action", "rom", "chain", "innervation"})
"""Kinds of claims whose words tell no order."""
EVENTS = frozenset({"in", "at", "for", "during", "with", "of"})


STARTS = frozenset({"start", "starts", "begin", "begins", "open", "opens", "initiate", "initiates"})
"""What stands before the name of an event: "in the javelin", "they start the drive with …"."""


class OrderStations:
    """Reads and judges what one sentence says of an order."""

    def __init__(self, reading: Reading, books: OrderBooks) -> None:
        self.reading = reading
        self.items = reading.items
        self.books = books
        self.stream = reading.stream
        self.held: dict[str, list[Sighting]] = {}
        self.nouns: list[Sighting] = []
        self.said_verbs: list[Sighting] = []
        self.moves: list[Sighting] = []
        self.named_moves: list[Sighting] = []
        self.stations: list[Sighting] = []

    def seen(self, sort: str) -> list[Sighting]:
        """The sightings of one sort of words, looked up once."""
        if sort not in self.held:
            self.held[sort] = self.books.words[sort].sightings(self.stream)
        return self.held[sort]

    def _movements(self, items: list[Item]) -> list[Sighting]:
        """The movements named; "the back swings" is a clause and not a backswing."""
        stream = self.stream if items is self.items else Stream(items)
        clauses = {s.i for s in self.books.words["clause"].sightings(stream)}
        return [
            s
            for s in self.books.movements.sightings(stream)
            if s.i not in clauses and not (len(s.words) == 1 and s.i and items[s.i - 1].is_("PART", "SEG"))
        ]

    # -- stations -----------------------------------------------------------------------------------------------------

    def _stations(self) -> list[Sighting]:
        found: list[Sighting] = []
        nouns = self.nouns
        verbs = [v for v in self.said_verbs if not any(v.i < s.j and s.i < v.j for s in nouns)]
        phases = sum(1 for s in nouns if self._names_phase(s))
        if phases + len(verbs) < 2 or (not phases and len(nouns) > 1):
            verbs = []
        for s in sorted([*nouns, *verbs], key=lambda s: s.i):
            if any(m.i <= s.i and s.j <= m.j and len(m.words) > len(s.words) for m in self.moves):
                continue
            if self._is_mark(s):
                continue
            following = self.items[s.j] if s.j < len(self.items) else None
            if any(self.items[k].is_("MUS", "NRV") for k in range(s.i, s.j)):
                continue
            if s.value in ("eccentric", "concentric") and self.reading.has("MUS"):
                continue
            if following is not None and following.is_("MUS", "NRV") and not following.is_("PART", "ADV"):
                continue
            if following is not None and any(form == "agent" for _, form in following.c.get("FAM", ())):
                continue
            if following is not None and any(c.i == s.j for c in self.seen("compound")):
                continue
            if self._names_event(s) or self._braked(s):
                continue
            if self._acted_on(s):
                continue
            names = tuple(dict.fromkeys(name for value in s.values for name in listed(value)))
            found.append(Sighting(names, s.i, s.j, s.words))
        found = [s for k, s in enumerate(found) if k + 1 == len(found) or not self._compound(s, found[k + 1])]
        ends = ("ball", "racket", "release")
        while found and found[0].value in ends and len(found) > 1 and self._thing(found[0]):
            found.pop(0)
        return found

    def _compound(self, s: Sighting, after: Sighting) -> bool:
        """ "the racket hand": a station that only says which hand."""
        return (
            s.j == after.i
            and s.value in ("racket", "ball", "release")
            and self.items[after.i].is_("PART", "SEG")
        )

    def _thing(self, s: Sighting) -> bool:
        """Whether a ball or a racket is only what somebody handles: "kicking a ball hard, …"."""
        return (
            s.i > 0
            and self.items[s.i - 1].text in ("a", "the", "your", "his", "her")
            and any(
                form == "ing"
                for k in range(max(0, s.i - 3), s.i)
                for _, form in self.items[k].c.get("PV", ())
            )
        )

    def _acted_on(self, s: Sighting) -> bool:
        """Whether a part is only what a muscle acts on, or what degrees were said of: another claim holds it."""
        start = self.items[s.i].start
        return any(c.start <= start < c.end and c.kind in HOLDING for c in self.reading.claims)

    def _braked(self, s: Sighting) -> bool:
        """ "the cuff brakes the arm", "the back of the cuff": what is acted on, or only a part of something."""
        k = s.i - 1
        while k >= 0 and self.items[k].is_("DET"):
            k -= 1
        if 0 <= k < s.i - 1 and self.items[k].is_("OPP", "ANTAG") and k > 0:
            return True
        after = self.items[s.j] if s.j < len(self.items) else None
        return s.words[-1] in ("back", "front") and after is not None and after.text == "of"

    def _names_event(self, s: Sighting) -> bool:
        """ "in the javelin": the name of an event and no station."""
        if not any(m.i == s.i and m.j == s.j for m in self.moves):
            return False
        k = s.i - 1
        while k >= 0 and self.items[k].is_("DET"):
            k -= 1
        return (
            k >= 0
            and self.items[k].text in EVENTS | STARTS
            and k < s.i - 1
            and (self.items[k].text in STARTS or not self._names_phase(s))
        )

    def _is_mark(self, s: Sighting) -> bool:
        """Whether a word is part of a mark of order ("catches up", "the arm finishes") and no phase."""
        marks = [m for sort in ("mark", "follow", "lead") for m in self.seen(sort) if m.i < s.j and s.i < m.j]
        if any(len(m.words) > len(s.words) for m in marks):
            return True
        return any(len(m.words) == len(s.words) for m in marks) and s.words[0] not in ("finish", "release")

    def _blocked(self) -> bool:
        if self.seen("blockall"):
            return True
        first, last = self.stations[0].i, self.stations[-1].j
        return any(first - 4 <= s.j and s.i <= last + 2 for s in self.seen("block"))

    def _is_phase(self, k: int) -> bool:
        return any(name in self.books.phases for name in self.stations[k].values)

    def _names_phase(self, s: Sighting) -> bool:
        return any(name in self.books.phases for value in s.values for name in listed(value))
