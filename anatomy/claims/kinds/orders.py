"""Claims about order: "the legs start, the trunk follows, the arm comes last", "catch, pull, push, recovery".

The sentence is read into pairs "this before that"; they are judged against the published order of the movement named
in it or in the sentence before (vocabulary chains, order_sequences.csv). Without a named movement only an order that
holds, or fails, in all movements with those stations gets a plain verdict; otherwise it depends on the movement.
"""

from __future__ import annotations

from itertools import pairwise

from anatomy.claims.asides import without_asides
from anatomy.claims.claim import Finding, Verdict
from anatomy.claims.kinds.order_relations import OrderRelations
from anatomy.claims.lexicon import listed
from anatomy.claims.order_facts import Said, Sequence, order_books
from anatomy.claims.phrases import Sighting
from anatomy.claims.reading import Reading
from anatomy.claims.spoken import joined, sentence

THROWLIKE = ("throw", "kick", "punch")


def claim_orders(reading: Reading) -> None:
    """Adds the sentence's claims about the order of segments, joints or phases to the reading."""
    if not reading.has("ORDERWORD", "COMMA", "OR") or not reading.has("SEG", "PART", "MVT", "ORDERPHASE"):
        return
    if not reading.has("ORDERWORD") and sum(1 for item in reading.items if item.is_("COMMA", "OR")) < 2:
        return
    reading = without_asides(reading)
    OrderReader(reading, order_books(reading.lexicon.vocabulary)).read()


class OrderReader(OrderRelations):
    """Reads and judges what one sentence says of an order."""

    def read(self) -> None:
        """The sentence's one statement of order, judged."""
        self.nouns = self.books.stations.sightings(self.stream)
        self.said_verbs = self.books.verbs.sightings(self.stream)
        self.moves = self.named_moves = self._movements(self.items)
        if len(self.nouns) + len(self.said_verbs) < 2 and not self.moves and not self.seen("whole"):
            return
        named = self._stations()
        moves = self.moves
        for run in self._runs(named):
            self.stations = run
            self.moves = self._moves_of(run, named, moves)
            self._read_run()

    def _moves_of(self, run: list[Sighting], named: list[Sighting], moves: list[Sighting]) -> list[Sighting]:
        """The movements that a run of stations is about: those named since the run before and up to the next one."""
        before = max((s.j for s in named if s.j <= run[0].i), default=0)
        after = min((s.i for s in named if s.i >= run[-1].j), default=len(self.items) + 1)
        last = next((m.i for m in moves if m.i >= run[-1].j and m.j <= after), None)
        end = after if after > len(self.items) or last is None else run[-1].j
        own = [m for m in moves if before <= m.i and m.i < end]
        return (
            own
            or [m for m in moves if m.j <= run[0].i][-1:]
            or (moves if len(self._runs(named)) == 1 else [])
        )

    def _runs(self, named: list[Sighting]) -> list[list[Sighting]]:
        """The stations in runs: a new one where somebody else comes in, another movement, or much else is said."""
        if not named:
            return []
        runs = [[named[0]]]
        for before, after in pairwise(named):
            gap = self.items[before.j : after.i]
            joint = next((k for k in range(before.j, after.i) if self.items[k].is_("AND", "BUT")), after.i)
            other = any(joint < m.i and m.j <= after.i for m in self.moves)
            if (
                len(gap) > 9
                or other
                or any(
                    item.text in ("i", "he", "she", "she'd", "he'd", "she's", "he's", "i've") for item in gap
                )
            ):
                runs.append([])
            runs[-1].append(after)
        return [run for run in runs if len(run) > 1] or runs[:1]

    def _read_run(self) -> None:
        if self._blocked():
            return
        if any(item.text == "in that order" and self._strange_before(k) for k, item in enumerate(self.items)):
            return
        said = self._said()
        whole = self.seen("whole")
        if whole and (not said.pairs or len(self.stations) < 2):
            self._claim_whole(whole[0])
            return
        if not (said.pairs or said.first or said.last):
            return
        if len(self.stations) < 2 and not self.moves:
            return
        finding = self._judged(said)
        if finding.verdict == "unknown":
            return
        if self._denied():
            turned: dict[Verdict, Verdict] = {"right": "wrong", "wrong": "right"}
            if finding.verdict not in turned:
                return
            verdict = turned[finding.verdict]
            finding = Finding(
                verdict,
                finding.why,
                finding.why if verdict == "wrong" else "",
                finding.sources,
                finding.terms,
            )
        i, j = self._span(said)
        self.reading.add("order", i, j, finding, self._mended(said, finding))

    def _strange_before(self, k: int) -> bool:
        """ "Your wrists, your hips and your patience, in that order": the list ends in something that is no station."""
        while k > 0 and self.items[k - 1].is_("COMMA"):
            k -= 1
        last = next((m for m in range(k - 1, max(-1, k - 4), -1) if self.items[m].is_("AND")), -1)
        return last >= 0 and not any(last < s.i < k or last < s.j <= k for s in self.stations)

    # -- judging -----------------------------------------------------------------------------------------------------------

    def _denied(self) -> bool:
        if any(s.value == "until" for s in self.seen("relation")):
            return False
        first, last = self.stations[0].i, self.stations[-1].j
        return any(item.is_("NEG") for item in self.items[first:last])

    def _keys(self) -> list[tuple[str, ...]]:
        """Which movements the sentence, or else the one before, is about: alternatives in order of preference."""
        moves = self.moves
        if not moves and self.reading.memory.before is not None:
            moves = self._movements(self.reading.memory.before)
        if not moves:
            return []
        sets = [tuple(dict.fromkeys(key for value in m.values for key in listed(value))) for m in moves]
        sets = [self._meant(keys) for keys in sets]
        common = [key for key in sets[0] if all(key in other for other in sets[1:])]
        return [tuple(common), *sets] if common else sets

    def _meant(self, keys: tuple[str, ...]) -> tuple[str, ...]:
        """Of the movements that one name stands for, those that the sentence means: "you push with the legs …"."""
        if len(keys) < 2:
            return keys
        cued = [key for key in keys if any(s.value == key for s in self.seen("cue"))]
        if len(cued) == 1:
            return tuple(cued)
        elsewhere = {key for m in self.named_moves if m not in self.moves for key in self._alone(m)}
        rest = tuple(key for key in keys if key not in elsewhere)
        return rest if len(rest) == 1 else keys

    @staticmethod
    def _alone(move: Sighting) -> list[str]:
        keys = [key for value in move.values for key in listed(value)]
        return keys if len(set(keys)) == 1 else []

    def _verdict(self, key: str, said: Said) -> tuple[str, Sequence | None]:
        """What one movement's sequences say: right, wrong, varies or nothing."""
        good: Sequence | None = None
        loose: Sequence | None = None
        for sequence in self.books.sequences.get(key, ()):
            outcome = self._against(sequence, said)
            if outcome == "wrong":
                return "wrong", sequence
            if outcome == "right":
                good = good or sequence
            if outcome == "varies":
                loose = sequence
        if good is not None:
            return "right", good
        return ("varies", loose) if loose is not None else ("", None)

    def _against(self, sequence: Sequence, said: Said) -> str:
        ranks = [self._rank(sequence, station) for station in self.stations]
        outcome = ""
        for x, y in said.pairs:
            a, b = ranks[x], ranks[y]
            if a is None or b is None:
                continue
            if sequence.varies:
                return "varies"
            if a > b:
                return "wrong"
            if a < b:
                outcome = "right"
        if len(self.stations) == 1 and not said.pairs and not sequence.varies:
            return self._extreme(sequence, ranks[0], said)
        return outcome

    def _rank(self, sequence: Sequence, station: Sighting) -> int | None:
        return next((sequence.ranks[name] for name in station.values if name in sequence.ranks), None)

    def _extreme(self, sequence: Sequence, rank: int | None, said: Said) -> str:
        """One station said to be first or last: right at that end of the order, wrong at the other."""
        if rank is None:
            return ""
        top = max(sequence.ranks.values())
        share = rank / top if top else 0.0
        if said.last:
            share = 1 - share
        if share <= 0.34:
            return "right"
        return "wrong" if share >= 0.6 else ""

    def _moving(self) -> bool:
        return bool(self.seen("move"))

    def _judged(self, said: Said) -> Finding:
        for keys in self._keys():
            found = {key: self._verdict(key, said) for key in keys}
            known = {key: value for key, value in found.items() if value[0]}
            if not known:
                continue
            verdicts = {value[0] for value in known.values()}
            verdict, sequence = next(iter(known.values()))
            if len(verdicts) > 1 or verdict == "varies":
                return self._depends(known)
            return self._plain(verdict, sequence)
        if self._keys() and self.moves:
            return Finding("unknown", "")
        return self._without_movement(said)

    def _without_movement(self, said: Said) -> Finding:
        phases = all(self._is_phase(k) for k in range(len(self.stations))) and (
            len(self.stations) > 2 or (len(self.stations) == 2 and self._tied())
        )
        if not phases and (not self._moving() or len(self.stations) < 2):
            return Finding("unknown", "")
        if self.seen("throwlike"):
            for key in THROWLIKE:
                verdict, sequence = self._verdict(key, said)
                if verdict in ("right", "wrong"):
                    return self._plain(verdict, sequence)
        known = {
            key: value
            for key in self.books.sequences
            if (value := self._verdict(key, said))[0] in ("right", "wrong")
        }
        if not known:
            return Finding("unknown", "")
        most = max(self._coverage(value[1]) for value in known.values())
        known = {key: value for key, value in known.items() if self._coverage(value[1]) == most}
        verdicts = {value[0] for value in known.values()}
        if len(verdicts) == 1:
            verdict, sequence = next(iter(known.values()))
            return self._plain(verdict, sequence)
        if known.get("throw", ("", None))[0] == "right":
            return self._plain(*known["throw"])
        return self._depends(known)

    def _tied(self) -> bool:
        """Whether a word of order stands between two stations: "is followed by", "comes before"."""
        i, j = self.stations[0].j, self.stations[-1].i
        return any(
            i <= s.i and s.j <= j for sort in ("relation", "follow", "mark", "lead") for s in self.seen(sort)
        )

    def _coverage(self, sequence: Sequence | None) -> int:
        """How many of the stations spoken of a sequence knows."""
        if sequence is None:
            return 0
        return sum(1 for station in self.stations if self._rank(sequence, station) is not None)

    def _plain(self, verdict: str, sequence: Sequence | None) -> Finding:
        if sequence is None or verdict not in ("right", "wrong"):
            return Finding("unknown", "")
        order = self._in_order(sequence)
        why = sentence(f"in the {sequence.movement} the order is {', '.join(order)}")
        terms = (("chain", sequence.movement),)
        if verdict == "right":
            return Finding("right", why, "", sequence.sources, terms)
        return Finding("wrong", why, sentence(f"{', then '.join(order)}"), sequence.sources, terms)

    def _in_order(self, sequence: Sequence) -> list[str]:
        """The stations spoken of in their published order, in the words they were said in."""
        ranked = [(rank, s) for s in self.stations if (rank := self._rank(sequence, s)) is not None]
        names = dict.fromkeys(" ".join(s.words) for _, s in sorted(ranked, key=lambda pair: pair[0]))
        return list(names) if len(names) > 1 else list(sequence.stations)

    def _depends(self, known: dict[str, tuple[str, Sequence | None]]) -> Finding:
        right = [key for key, value in known.items() if value[0] == "right"]
        wrong = [key for key, value in known.items() if value[0] == "wrong"]
        loose = [value[1] for value in known.values() if value[0] == "varies" and value[1] is not None]
        sources = tuple(dict.fromkeys(k for _, s in known.values() if s is not None for k in s.sources))[:4]
        if loose:
            return Finding(
                "depends", sentence(loose[0].note or "it differs between people and styles"), "", sources
            )
        why = f"it depends on the movement: so in {joined(right[:3], 'or')}, the other way round in {joined(wrong[:3], 'or')}"
        return Finding("depends", sentence(why), "", sources)

    def _claim_whole(self, mark: Sighting) -> None:
        """ "the power builds from the ground up", "it unwinds from the hand down"."""
        keys = self._keys()
        for options in keys:
            for key in options:
                sequence = next(
                    (
                        s
                        for s in self.books.sequences.get(key, ())
                        if "legs" in s.ranks or "hip" in s.ranks or "pelvis" in s.ranks
                    ),
                    None,
                )
                if sequence is None:
                    continue
                upward = self._rises(sequence)
                good = (mark.value == "up") == upward
                finding = self._plain("right" if good else "wrong", sequence)
                self.reading.add(
                    "order", min(mark.i, self.stations[0].i if self.stations else mark.i), mark.j, finding
                )
                return

    @staticmethod
    def _rises(sequence: Sequence) -> bool:
        near = min(sequence.ranks.get(name, 99) for name in ("legs", "hip", "pelvis"))
        far = max(
            sequence.ranks.get(name, -1)
            for name in ("hand", "both arms", "foot", "racket", "ball", "upper arm")
        )
        return near < far

    def _span(self, said: Said) -> tuple[int, int]:
        i, j = self.stations[0].i, self.stations[-1].j
        marks = [s for sort in ("mark", "follow", "lead") for s in self.seen(sort)]
        for s in sorted(marks, key=lambda s: s.i):
            if j <= s.i <= j + 2 and not any(self._separates(m) for m in range(j, s.i)):
                j = s.j
            if i - 3 <= s.j <= i:
                i = s.i
        while i > 0 and self.items[i - 1].is_("DET"):
            i -= 1
        return i, j

    def _mended(self, said: Said, finding: Finding) -> tuple[int, int, str] | None:
        """The other word where one "before" or "after" ties two stations; a bare list in its published order."""
        if finding.verdict != "wrong":
            return None
        words = [s for s in self.seen("relation") if self.stations[0].j <= s.i and s.j <= self.stations[-1].i]
        turned = {"before": "after", "after": "before"}
        if len(self.stations) == 2 and len(words) == 1 and words[0].words[-1] in turned:
            k = words[0].j - 1
            return k, k + 1, turned[words[0].words[-1]]
        return None if words else self._sorted(finding)

    def _sorted(self, finding: Finding) -> tuple[int, int, str] | None:
        first, last = self.stations[0], self.stations[-1]
        if any(
            item.is_("PV", "FAM", "AUX", "MODAL", "LVERB", "SVERB") for item in self.items[first.j : last.i]
        ):
            return None
        movement = next((name for kind, name in finding.terms if kind == "chain"), "")
        for sequence in self.books.sequences.get(movement, ()):
            ranks = [self._rank(sequence, s) for s in self.stations]
            known = [rank for rank in ranks if rank is not None]
            if len(set(known)) == len(ranks) and known != sorted(known):
                ordered = [
                    s for _, s in sorted(zip(known, self.stations, strict=True), key=lambda pair: pair[0])
                ]
                return first.i, last.j, self._rewritten(ordered)
        return None

    def _rewritten(self, ordered: list[Sighting]) -> str:
        """The stretch from the first station to the last with the stations exchanged."""
        text, items = self.reading.text, self.items
        said, end = "", items[self.stations[0].i].start
        for place, station in zip(self.stations, ordered, strict=True):
            said += text[end : items[place.i].start]
            said += text[items[station.i].start : items[station.j - 1].end]
            end = items[place.j - 1].end
        return said
