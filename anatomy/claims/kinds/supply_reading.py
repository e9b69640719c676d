"""What a sentence says of nerves and muscles, read from its shape."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from anatomy.claims.kinds.nerve_supply import Supply, nerve_adjectives, supply_of
from anatomy.claims.kinds.supply_judging import SupplyReading
from anatomy.claims.reading import Reading
from anatomy.claims.shapes import Alphabet
from anatomy.claims.subjects import Named

LETTERS = Alphabet(
    {
        "both": "a",
        "its": "d",
        "their": "d",
        "share": "G",
        "shares": "G",
        "for": "f",
        "to": "t",
        "that": "r",
        "that's": "e",
        "it's": "e",
        "its own": "d",
        "without": "u",
        "what": "r",
        "is the one to": "S",
        "are the ones to": "S",
        "it is": "e",
    },
    (
        ("NREGION", "M"),
        ("NPASS", "P"),
        ("NREST", "R"),
        ("NSUP", "S"),
        ("NGET", "G"),
        ("NWORD", "W"),
        ("NLOSS", "L"),
        ("CORRECT", "x"),
        ("MUSNOUN", "q"),
        ("FAIL", "L"),
        ("PREP", "p"),
        ("PART", "q"),
        ("DIR", "q"),
        ("NUM", "q"),
        ("NJOB", "J"),
        ("JOB", "J"),
    ),
)


F = "[daqJ]*"
"""Words that may stand before a name."""


MG = rf"{F}M[qJ]*(?:[,&]+t?{F}M[qJ]*)*"


NG = rf"{F}N[WqJ]*(?:[,&nB]+{F}N[WqJ]*)*"


ASIDE = "(?:,[^,MS]{1,8},)?"
"""Words between two commas."""


AND_SO = "(?=$|[,:&)BsreLhxp])"


PATTERNS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (name, re.compile(pattern))
    for name, pattern in (
        # "deltoid is supplied by the axillary nerve", "… and supplied by it"
        ("passive", rf"(?P<m>{MG}|i|e){ASIDE}[mbrn,aW]*(?:SW?a*p|P){F}(?P<n>{NG}|i)"),
        # "gets its supply from the …", "takes its orders from the …"
        ("pierced", rf"(?P<m>{MG})[mab]*[xLS]p{F}N[WqJ]*&[mab]*Sa*p(?P<n>i)"),
        ("get", rf"(?P<m>{MG}|i){ASIDE}[man]*G[da]*[xWqaJS]{{0,3}}[p,]?{F}(?P<n>{NG})"),
        ("rest", rf"(?P<m>{MG}|i)[mabnre]*R[da]*W?p?{F}(?P<n>{NG})"),
        ("run on", rf"(?P<m>{MG}|i)[man]*[SxJ]a*p{F}(?P<n>{NG}){AND_SO}"),
        # "it's by the median nerve that the deltoid is innervated"
        ("cleft", rf"(?:e|ib)[a]*p{F}(?P<n>{NG})r{F}(?P<m>{MG})[mab]*[SG]"),
        # "the median nerve has failed the wrist extensors it supplies"
        ("it supplies", rf"(?P<n>{NG})[^NM]{{0,6}}(?P<m>{MG}),?r?i[ma]*S"),
        # "triceps is a radial nerve muscle", "sartorius is femoral"
        ("is", rf"(?P<m>{MG}|i){ASIDE}[mar]*b{ASIDE}[na]*p?{F}(?P<n>{NG})(?![qM])"),
        # "the nerve of biceps is the …"
        ("nerve of", rf"W[pft]{F}(?:(?P<m>{MG}|i)[mab]*[bn:,]+|(?P<m2>e)n?)a*{F}(?P<n>{NG})"),
        ("its nerve", rf"(?P<m>{MG})(?:J?)W[mab]*[bn:]+a*{F}(?P<n>{NG})"),
        ("is nerve of", rf"(?P<n>{NG}|i)[ma]*b[na]*{F}W[pft]{F}(?P<m>{MG})"),
        # "the radial nerve drives the biceps"
        ("active", rf"(?P<n>{NG}){ASIDE}[,r]*[man]*[SG]+[ta]*(?P<m>{MG}|i)(?!W)"),
        ("the one", rf"(?P<n>{NG})[ma]*b[na]*d?[aJq]*r[ma]*S[ta]*(?P<m>{MG}|i)"),
        ("one to", rf"(?P<n>{NG})[ma]*b[na]*d?[aJq]*[tpf](?P<m>{MG})"),
        ("active it", rf"(?P<n>(?<![xp])i|(?<=r)i)[man]*S[ta]*(?P<m>{MG}|i)(?!W)"),
        ("who", rf"(?P<n>{NG})[,]?r[mban]*S{F}(?P<m>{MG})"),
        # "median nerve for FCR, palmaris and pronator teres"
        ("for", rf"(?P<n>{NG})[,a]*f{F}(?P<m>{MG})"),
        ("that's", rf"(?:^|[,:&]){F}(?P<n>{NG}),?(?:e|:|ib){F}(?P<m>{MG})W?{AND_SO}"),
        # "deltoid, axillary nerve", "teres minor: subscapular nerve"
        ("bare", rf"(?:^|(?<=[,:&B]))(?P<m>{MG})(?:,[a]*[qa]*W?[:,]?|,?a*W?:)a*n?{F}(?P<n>{NG}){AND_SO}"),
        ("bare twin", rf"(?<=[,&B])(?P<m>{MG})(?:p)?d?(?P<n>{NG})(?=$|[,:])"),
    )
)


LOSS = re.compile(
    rf"(?:L[dpa]*(?P<n1>{NG})[a]*|(?P<n2>{NG})[pamb]*L)[,a&sbx]{{0,3}}(?:d?h[mn]*x?|[bdha])*(?P<m>{MG})[mban]*(?:L|R|x$)"
)


ANSWER = re.compile(rf"^(?:a*,)?(?:e|ib|x?b)?{F}(?P<n>N[WqJ]*){AND_SO}")


ITS_NERVE = re.compile(rf"^[a,]*(?P<d>d)[aq]*W[mabn]*b[na]*{F}(?P<n>{NG})")


WITHOUT = re.compile(rf"u{F}(?P<n1>{NG}),?h[mna]*[LG](?P<m>{MG})")


class SupplyReader:
    """What a sentence says of nerves and muscles, read from its shape."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.items = reading.items
        self.supply: Supply = supply_of(reading.lexicon.vocabulary)
        self.motions = self._motions()
        self.places = self._places()
        self.shape = self._shape()

    def _shape(self) -> str:
        letters = list(LETTERS.shape(self.items))
        nerves = self.reading.lexicon.vocabulary.nerves
        agents = self.reading.subjects.agents if self.reading.has("FAM") else {}
        last = len(self.items) - 1
        for k, item in enumerate(self.items):
            held = item.c
            if "NSIGN" in held and "NRV" not in held:
                letters[k] = "Z"
            elif "MUS" in held and letters[k] != "L":
                letters[k] = "M"
            elif "COMEFROM" in held and item.text.endswith(" by"):
                letters[k] = "P"
            elif "NRV" in held:
                entry = nerves.get(held["NRV"])
                letters[k] = "N" if entry is not None and entry.kind in ("nerve", "plexus") else "x"
            elif k in self.places:
                letters[k : k + 4] = "Mqqq"
            elif letters[k] == "q" and any(m in self.places for m in range(max(0, k - 3), k)):
                continue
            elif k in agents or k in self.motions:
                letters[k] = "M"
            elif item.text == "nerve" and k and self.items[k - 1].text in ("that", "this", "the same"):
                letters[k] = "i"
            elif "NADJ" in held and self._stands_as_nerve(k, last):
                letters[k] = "N"
        return "".join(letters)

    def _motions(self) -> dict[int, Named]:
        """Motions that stand for the muscles that make them ("hip adduction runs on the obturator nerve")."""
        if not self.reading.has("FAM", "MOTN"):
            return {}
        return {
            e.head: Named(self.items[e.head].text, pairs=e.pairs)
            for e in self.reading.expressions
            if e.form in ("noun", "ing") and e.parts and e.pairs and not e.vague
        }

    def _places(self) -> dict[int, str]:
        """Regions of muscles said in four words ("front of the forearm"), by their first item."""
        texts = [item.text for item in self.items]
        found: dict[int, str] = {}
        for k in range(len(texts) - 3):
            if texts[k + 1] == "of":
                said = " ".join(texts[k : k + 4])
                if said in self.supply.regions:
                    found[k] = said
        return found

    def _stands_as_nerve(self, k: int, last: int) -> bool:
        """ "is median": an adjective that no noun follows, in a sentence that may speak of nerves."""
        if "nerve" in self.items[k].text or k == last:
            return True
        after = self.items[k + 1]
        if after.is_("NSUP", "NGET", "NREST") and k and self.items[k - 1].is_("DET", "AND", "COMMA", "SUB"):
            return True
        return (
            after.is_("COMMA", "AND", "OR", "BUT", "NEG", "COLON", "DASH", "NLOSS", "SUB", "CORRECT", "CLOSE")
            or after.text
            in ("one", "for", "muscle", "territory", "job", "nerve", "nerves", "division", "too", "as")
        ) and not after.is_("PART", "FAM", "DIR")

    def muscles(self, start: int, end: int) -> tuple[Named, ...]:
        """The muscles named between two items; a pronoun stands for the last ones before it."""
        found: list[Named] = []
        for k in range(start, end):
            if self.shape[k] in "ie":
                return self._meant(k)
            if self.shape[k] != "M":
                continue
            item = self.items[k]
            if k in self.places:
                found.append(Named("@" + self.places[k]))
                continue
            if k in self.motions and "MUS" not in item.c:
                found.append(self.motions[k])
                continue
            if "NREGION" in item.c and "MUS" not in item.c:
                found.append(Named("@" + item.c["NREGION"]))
                continue
            read = self.reading.subjects._one_ending_at(self._noun_after(k, end))
            if read is not None:
                named, first = read
                part = self._part_before(first)
                found.append(replace(named, qualifiers=(*part, *named.qualifiers)) if part else named)
        return tuple(found)

    def _noun_after(self, k: int, end: int) -> int:
        while k + 1 < end and self.items[k + 1].is_("MUSNOUN") and self.shape[k + 1] in "qJ":
            k += 1
        return k

    def _meant(self, k: int) -> tuple[Named, ...]:
        """ "it", "they": the muscles named last before."""
        m = k - 1
        while m >= 0 and self.shape[m] != "M":
            m -= 1
        if m >= 0:
            first = m
            while first > 1 and re.fullmatch(r"[,&daqJM]+", self.shape[first - 1 : m]):
                first -= 1
            return self.muscles(first, m + 1)
        topic = self.reading.memory.topic
        return topic.names if topic is not None else ()

    def _part_before(self, start: int) -> tuple[str, ...]:
        """ "the medial half of …": words for a part in front of "of"."""
        k = start
        while k > 0 and self.items[k - 1].is_("DET"):
            k -= 1
        if k < 2 or self.items[k - 1].text != "of":
            return ()
        return tuple(item.text for item in self.items[max(0, k - 4) : k - 1] if not item.is_("DET", "MUS"))

    def nerves(self, start: int, end: int) -> tuple[list[tuple[int, str]], list[tuple[int, str]], bool]:
        """The nerves said to do it, those said not to, and whether the first one is denied."""
        said: list[tuple[int, str]] = []
        denied: list[tuple[int, str]] = []
        negative = False
        for k in range(start, end):
            letter = self.shape[k]
            if letter in "nB" and (
                self.items[k].is_("NEG") or self.items[k].text in ("rather than", "instead of", "and not")
            ):
                negative = True
            elif letter in ",":
                pass
            elif letter == "N":
                item = self.items[k]
                name = item.c["NRV"] if "NRV" in item.c else nerve_adjectives()[item.c["NADJ"]]
                (denied if negative else said).append((k, name))
                negative = False
            elif letter == "i":
                before = next((m for m in range(k - 1, -1, -1) if self.shape[m] == "N"), -1)
                if before >= 0:
                    more, _, _ = self.nerves(before, before + 1)
                    said += [(k, name) for _, name in more]
                else:
                    said += [(k, name) for name in self._nerve_before()]
        return said, denied, bool(denied and not said)

    def _nerve_before(self) -> list[str]:
        """The nerve that the sentence before spoke of, where it is plain which."""
        before = self.reading.memory.before or []
        kinds = self.reading.lexicon.vocabulary.nerves
        found = [x.c["NRV"] for x in before if "NRV" in x.c and kinds[x.c["NRV"]].kind in ("nerve", "plexus")]
        return found if len(found) == 1 else []

    def _its_nerve(self) -> Iterator[SupplyReading]:
        """ "Its nerve is the radial": what the sentence before spoke of."""
        topic = self.reading.memory.topic
        match = ITS_NERVE.match(self.shape)
        if topic is None or match is None or self.items[match.start("d")].text not in ("its", "their"):
            return
        said, _, negative = self.nerves(*match.span("n"))
        if said:
            no = negative or "n" in self.shape[: match.start("n")]
            yield SupplyReading(topic.names, tuple(said), no, match.start("d"), match.end("n"))

    def _answer(self) -> Iterator[SupplyReading]:
        """ "FCU? Median nerve, like the rest": an answer to a question that named only a muscle."""
        memory = self.reading.memory
        match = ANSWER.match(self.shape)
        if not memory.asked or memory.topic is None or match is None or len(memory.before or ()) > 4:
            return
        said, denied, _ = self.nerves(*match.span("n"))
        if said and not denied:
            yield SupplyReading(memory.topic.names, tuple(said), False, match.start("n"), match.end("n"))

    def read(self) -> Iterator[SupplyReading]:
        """Every statement of supply in the sentence; what one pattern has read no other reads again."""
        taken: list[tuple[int, int]] = []
        found: list[SupplyReading] = []
        for name, pattern in PATTERNS:
            place = 0
            while match := pattern.search(self.shape, place):
                place = max(match.start() + 1, match.start("n") if name == "get" else match.start() + 1)
                span = match.span("m" if match.group("m") else "m2"), (match.start("n"), match.end("n"))
                cores = [k for a, b in span for k in range(a, b) if self.shape[k] in "MNie"]
                if not cores or any(a <= k < b for k in cores for a, b in taken):
                    continue
                made = self._made(match)
                if made is None:
                    continue
                taken.append((min(cores), max(cores) + 1))
                found.append(made)
                place = max(cores) + 1
        found += self._losses()
        found += self._so_is(found)
        if not found:
            found += [*self._its_nerve(), *self._answer()]
        for made in found:
            yield from self._one_by_one(made)

    def _made(self, match: re.Match[str]) -> SupplyReading | None:
        key = "m" if match.group("m") else "m2"
        muscles = self.muscles(match.start(key), match.end(key))
        said, denied, negative = self.nerves(match.start("n"), match.end("n"))
        if (
            len(said) > 1
            and self.shape[max(0, match.start() - 1) : match.start()] == "n"
            and match.start() == match.start("n")
        ):
            denied, said = [*said[:1], *denied], said[1:]
            return SupplyReading(muscles, tuple(said), False, match.start(), match.end()) if muscles else None
        if not muscles or not (said or denied):
            return None
        spans = sorted([match.span(key), match.span("n")])
        between = self.shape[spans[0][1] : spans[1][0]]
        no = between.count("n") + (1 if negative else 0)
        before = self.shape[max(0, match.start() - 1) : match.start()]
        if self.shape[match.start(key)] != "M" and before == "n":
            no += 1
        i = spans[0][0]
        while i < spans[0][1] and self.shape[i] in "aq" and not self.items[i].is_("ADJ"):
            i += 1
        j = spans[1][1]
        stretch = self.items[i:j]
        most = any(
            x.text in ("most of", "most", "mostly", "mainly", "nearly all", "largely", "chiefly")
            for x in self.items
        )
        every = any(
            x.text
            in (
                "every one of",
                "all",
                "all of",
                "every",
                "the whole",
                "whole",
                "each of",
                "entire",
                "all the",
            )
            for x in self.items
        )
        if not stretch:
            return None
        return SupplyReading(muscles, tuple(said or denied), no % 2 == 1, i, j, every, most)

    def _so_is(self, found: list[SupplyReading]) -> Iterator[SupplyReading]:
        """ "brachialis is a median nerve muscle, and so is brachioradialis"."""
        for made in found:
            for k in range(made.j, len(self.items)):
                said = self.items[k].text
                if said in ("so is", "so are", "so does", "so do") or (
                    said == "so" and k + 1 < len(self.items) and self.items[k + 1].is_("AUX", "DO")
                ):
                    match = re.compile(rf"[abmx]*(?P<m>{MG})").match(self.shape, k)
                    if match:
                        yield SupplyReading(
                            self.muscles(*match.span("m")), made.nerves, made.denied, k, match.end()
                        )
                    break

    def _losses(self) -> Iterator[SupplyReading]:
        """ "when the axillary nerve goes the deltoid goes"."""
        if "L" not in self.shape:
            return
        for match in [*LOSS.finditer(self.shape), *WITHOUT.finditer(self.shape)]:
            key = "n1" if match.group("n1") else "n2"
            said, _, _ = self.nerves(*match.span(key))
            muscles = self.muscles(*match.span("m"))
            if said and muscles:
                yield SupplyReading(muscles, tuple(said), False, match.start("m"), match.end())

    def _one_by_one(self, made: SupplyReading) -> Iterator[SupplyReading]:
        if self.reading.has("RESP") and len(made.muscles) == len(made.nerves) > 1:
            for named, nerve in zip(made.muscles, made.nerves, strict=True):
                yield SupplyReading((named,), (nerve,), made.denied, made.i, made.j)
        else:
            yield made
