"""The order that a sentence says: how each station stands to the next."""

from __future__ import annotations

from anatomy.claims.kinds.order_stations import OrderStations
from anatomy.claims.order_facts import Said
from anatomy.claims.phrases import Sighting

SEPARATORS = ("COMMA", "AND", "BUT", "DASH", "COLON", "SUB")


FILLERS = ("DET", "ADJ", "ADV", "POSS")


class OrderRelations(OrderStations):
    """Reads and judges what one sentence says of an order."""

    # -- the order said --------------------------------------------------------------------------------------------------

    def _said(self) -> Said:
        said = Said()
        relations = self._relations(said)
        chain: list[list[int]] = [[0]]
        chains = [chain]
        for k, relation in enumerate(relations):
            following = relations[k + 1] if k + 1 < len(relations) else ""
            if relation in ("next", "before", "seq"):
                chain.append([k + 1])
            elif relation == "after":
                said.pairs.append((k + 1, k))
                chain = [[k + 1]]
                chains.append(chain)
            elif relation == "eq" and following not in ("before", "after"):
                chain[-1].append(k + 1)
            elif relation == "eq" and self._clause(k):
                chain = [[k + 1]]
                chains.append(chain)
            elif relation == "eq":
                chain[-1].append(k + 1)
            else:
                chain = [[k + 1]]
                chains.append(chain)
        for groups in chains:
            for a, earlier in enumerate(groups):
                for later in groups[a + 1 :]:
                    said.pairs += [(x, y) for x in earlier for y in later]
        said.pairs = [(x, y) for x, y in said.pairs if y not in said.first and x not in said.last]
        everyone = range(len(self.stations))
        said.pairs += [(x, y) for x in said.first for y in everyone if y not in said.first]
        said.pairs += [
            (x, y) for y in said.last for x in everyone if x not in said.last and x not in said.first
        ]
        return said

    def _clause(self, k: int) -> bool:
        between = self.items[self.stations[k].j : self.stations[k + 1].i]
        return any(item.is_("COMMA", "AND", "BUT") for item in between)

    def _relations(self, said: Said) -> list[str]:
        """How each station stands to the next: next, before, after, seq (a list), eq or break."""
        stations = self.stations
        relations: list[str] = []
        pending = self._leading(said)
        for k in range(len(stations) - 1):
            i, j = stations[k].j, stations[k + 1].i
            split = next((m for m in range(i, j) if self._separates(m)), j)
            relation = self._marks(k, i, split, j, said, relations)
            if pending:
                relation, pending = pending, ""
            word = next((s for s in self.seen("relation") if i <= s.i and s.j <= j), None)
            if word is not None and relation not in ("after", "before"):
                if (
                    word.i > split
                    and any(item.is_("AND", "BUT") for item in self.items[split : word.i])
                    and k + 2 < len(stations)
                ):
                    pending = {"before": "after", "after": "before"}.get(word.value, "")
                else:
                    relation = self._related(word.value, k)
            relations.append(relation or self._listed(k, i, j))
        self._trailing(said, relations)
        for k, relation in enumerate(relations):
            if relation in ("before", "after"):
                said.forget(k)
                said.forget(k + 1)
        for held in (said.first, said.last):
            for k in sorted(held, reverse=True):
                while k > 0 and relations[k - 1] == "eq" and self._coordinated(k - 1):
                    k -= 1
                    held.add(k)
        return relations

    def _coordinated(self, k: int) -> bool:
        """Whether a station and the next are one subject: "the legs and hips"."""
        between = self.items[self.stations[k].j : self.stations[k + 1].i]
        return bool(between) and all(item.is_("AND", "COMMA", *FILLERS) for item in between)

    def _separates(self, m: int) -> bool:
        return self.items[m].is_(*SEPARATORS) and self.items[m].text not in (
            "before",
            "after",
            "once",
            "until",
            "as",
            "and then",
        )

    def _related(self, value: str, k: int) -> str:
        if value == "until":
            return (
                "after" if any(item.is_("NEG") for item in self.items[: self.stations[k + 1].i]) else "break"
            )
        return value

    def _leading(self, said: Said) -> str:
        """Marks before the first station; "after the stride comes the wind-up" relates the first two."""
        start = self.stations[0].i
        near = [
            s
            for s in self.seen("mark")
            if start - 6 <= s.i
            and s.j <= start
            and not any(m.i <= s.i and s.j <= m.j and len(m.words) > 1 for m in self.named_moves)
        ]
        for mark in near:
            if mark.value == "first":
                said.first.add(0)
            elif mark.value == "last" and mark.j >= start - 4:
                said.last.add(0)
        word = next((s for s in self.seen("relation") if s.j <= start and s.j >= start - 2), None)
        if word is not None and word.value in ("before", "after"):
            return {"before": "after", "after": "before"}[word.value]
        if any(s.j == start - 1 or s.j == start for s in self.seen("lead")) and "first" not in [
            m.value for m in near
        ]:
            said.first.add(0)
        return ""

    def _marks(self, k: int, i: int, split: int, j: int, said: Said, relations: list[str]) -> str:
        """Reads the marks between two stations: those before the separator belong to the first, the others to the second."""
        relation = ""
        for s in self.seen("lead"):
            if i <= s.i and s.j <= split:
                if split == j and all(
                    item.is_(*FILLERS) or item.text == "the" for item in self.items[s.j : j]
                ):
                    relation = "before"
                else:
                    said.first.add(k)
        for s in self.seen("follow"):
            if not (i <= s.i and s.j <= j) or any(m.i <= s.i < m.j for m in self.seen("mark")):
                continue
            if s.j <= split:
                if split == j and all(item.is_(*FILLERS) for item in self.items[s.j : j]):
                    relation = "after"
                elif relations and relations[-1] == "eq":
                    relations[-1] = "next"
            else:
                relation = relation or "next"
        for s in self.seen("mark"):
            if not (i <= s.i and s.j <= j):
                continue
            if s.value == "next":
                late = s.words[0] in (
                    "catches",
                    "catch",
                    "joins",
                    "afterwards",
                    "later",
                    "subsequently",
                    "second",
                )
                if s.i < split and split < j and late:
                    if relations and relations[-1] == "eq":
                        relations[-1] = "next"
                elif s.words[0] in ("into", "onto", "on", "to", "through", "up", "via") and not self._from_to(
                    i
                ):
                    continue
                else:
                    relation = relation or "next"
            elif s.i < split or (split == j and s.j < j and not self._prefixes(s, j)):
                said.mark(k, s)
            else:
                said.mark(k + 1, s)
        if (
            not relation
            and self._from_to(i)
            and all(
                item.text
                in (
                    "to",
                    "through",
                    "the",
                    "into",
                    "up",
                    "up to",
                    "and",
                    "via",
                    "back",
                    "back to",
                    "down",
                    "down to",
                    "over",
                )
                or item.is_(*FILLERS)
                or item.is_("TO", "COMMA")
                for item in self.items[i:j]
            )
        ):
            texts = [item.text for item in self.items[i:j]]
            if any(text in ("to", "through", "into", "up to", "via", "back to", "down to") for text in texts):
                relation = "next"
        return relation

    def _prefixes(self, mark: Sighting, j: int) -> bool:
        """Whether a mark stands directly before a station and not as the verb of the one before it."""
        gap = self.items[mark.j : j]
        return (
            mark.words[0] in ("finally", "lastly", "last", "ends", "starts", "begins", "starting", "ending")
            and len(gap) <= 3
        )

    def _from_to(self, i: int) -> bool:
        """ "the force goes from the legs through the trunk to the hand"."""
        if not any(s.j <= i for s in self.seen("from")) or self.reading.has("MUS", "NRV"):
            return False
        return bool(self.seen("flow")) or bool(self.moves)

    def _listed(self, k: int, i: int, j: int) -> str:
        """What a bare comma, "and" or nothing between two stations says."""
        between = self.items[i:j]
        if len(between) > 14 or any(item.is_("BUT") for item in between):
            return "break"
        bare = all(item.is_("COMMA", "DASH", "OR", *FILLERS) or item.text in (">", "→") for item in between)
        comma = any(item.is_("COMMA", "DASH", "OR") for item in between)
        if not comma:
            return "eq"
        both = self._is_phase(k) and self._is_phase(k + 1)
        if bare and both:
            return "seq"
        cue = any(s.j <= self.stations[0].i + 1 or s.i >= self.stations[-1].j for s in self.seen("list"))
        if bare and cue:
            return "seq"
        later = self.items[j : self.stations[min(k + 2, len(self.stations) - 1)].i]
        if bare and any(item.text in ("then", "and then") for item in later) and k + 2 < len(self.stations):
            return "seq"
        if comma and both and any(item.is_("AUX", "IT", "PERSON") for item in between):
            return "seq"
        return "eq"

    def _trailing(self, said: Said, relations: list[str]) -> None:
        end = self.stations[-1].j
        stop = next(
            (m for m in range(end, len(self.items)) if self.items[m].is_("COMMA", "DASH", "BUT")),
            len(self.items),
        )
        k = len(self.stations) - 1
        for s in self.seen("mark"):
            if not (end <= s.i and s.j <= min(stop, end + 7)):
                continue
            if s.value in ("first", "last"):
                said.mark(k, s)
            elif relations and relations[-1] == "eq":
                relations[-1] = "next"
        for s in self.seen("follow"):
            if end <= s.i <= min(stop, end + 3) and relations and relations[-1] == "eq":
                relations[-1] = "next"
        if any(end <= s.i <= min(stop, end + 2) for s in self.seen("lead")):
            said.first.add(k)
