"""What a sentence says of contractions: kinds, phases, exercises and muscles, and which belong together."""

from __future__ import annotations

from collections.abc import Iterator

from anatomy.claims.items import Item
from anatomy.claims.kinds.exercises import (
    EXPECTED,
    Exercise,
    Phase,
    Said,
    exercises,
)
from anatomy.claims.reading import Reading
from anatomy.claims.subjects import Named

MOVING = frozenset({"way", "go", "goes", "going", "phase", "we", "come", "comes", "coming", "swing", "swings", "walk", "walks", "walking", "part", "portion", "half", "bit", "stairs", "hill", "you", "trip", "leg", "stroke", "move", "movement", "slow", "journey", "stand", "stands", "standing", "sit", "sits", "sitting", "get", "gets", "getting", "step", "steps", "stepping", "straighten", "straightens", "straightening", "squat", "squatting", "drop", "drops", "dropping", "sink", "sinks", "sinking", "slowly", "controlled", "ride", "bar", "ladder", "ease", "eases", "easing"})  # fmt: skip


PUT = frozenset(
    {"let", "lets", "letting", "set", "sets", "setting", "put", "puts", "putting", "bring", "brings"}
)


STEMS = frozenset({"pull", "push", "press", "chin", "sit", "step", "curl"})


PHASE_NOUNS = frozenset({"phase", "phases", "part", "portion", "half", "bit"})


MAKING = frozenset({"it", "involves", "involve", "needs", "takes", "means", "demands", "requires", "uses", "wants", "calls for", "asks for", "makes it", "makes this", "gives"})  # fmt: skip


class ContractionReader:
    """What a sentence says of contractions: kinds, phases, exercises and muscles, and which belong together."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.items = reading.items
        self.kinds = [said for k in range(len(self.items)) if (said := self._kind(k)) is not None]
        self.ends: list[int] = []
        self.taken = {said.k for said in self.kinds}
        self.phases = list(self._phases())
        self.exercises = list(self._exercises())
        self.muscles = list(self._muscles())

    # -- kinds ------------------------------------------------------------------------------------------------------------

    def _kind(self, k: int) -> Said | None:
        item = self.items[k]
        work: str | None = item.c.get("CON")
        by_length = False
        if work is None or " under load" in item.text:
            if item.text.startswith(("lengthen", "shorten")):
                by_length = True
            for name, meant in (("CSHORT", "concentric"), ("CLONG", "eccentric"), ("CSAME", "isometric")):
                if name in item.c:
                    work, by_length = meant, True
        if work not in EXPECTED.values():
            return None
        if by_length and not self._is_length_verb(k):
            return None
        if not by_length and not self._is_predicate(k):
            return None
        return Said(k, work, by_length, self._denied(k))  # type: ignore[arg-type]

    def _is_length_verb(self, k: int) -> bool:
        """ "shortens" of a muscle, not "shorten your stride"."""
        following = self.items[k + 1] if k + 1 < len(self.items) else None
        if following is None:
            return True
        if (
            following.text == "the"
            and k + 2 < len(self.items)
            and self.items[k + 2].text in ("whole", "entire", "time", "way", "muscle", "fibres")
        ):
            return True
        if following.is_("DET") and not following.text.startswith(
            ("all", "both", "each", "every", "any", "this", "that")
        ):
            return False
        if following.is_("MUS", "PART", "STR"):
            return False
        before = self.items[k - 1] if k else None
        if self.items[k].text in ("shorter", "longer"):
            return before is not None and before.text in (
                "gets",
                "get",
                "getting",
                "becomes",
                "become",
                "is",
                "grows",
                "being",
            )
        return not (before is not None and before.is_("DET"))

    def _is_predicate(self, k: int) -> bool:
        items = self.items
        item = items[k]
        if item.text.endswith("ly") or "under load" in item.text:
            return True
        after = items[k + 1] if k + 1 < len(items) else None
        if after is not None and (after.is_("AUX", "COP", "CMEAN") or after.text in ("means", "is", "when")):
            return True
        if after is not None and after.is_("PERSON"):
            return False
        if k and items[k - 1].is_("AS") and after is not None and after.is_("CWORK"):
            return True
        if (
            k
            and items[k - 1].is_("COLON", "DASH")
            and after is not None
            and after.is_("MUS")
            and self._way_told(k)
        ):
            return True
        if after is not None and (after.text in PHASE_NOUNS or after.is_("MUS")):
            told = after.text in PHASE_NOUNS and any(x.is_("AUX") for x in items[k + 2 : k + 8])
            return told or self._is_made(k)
        if (
            k + 2 < len(items)
            and items[k + 1].is_("CWORK", "MUSNOUN")
            and (items[k + 2].is_("AUX", "COP", "CMEAN") or items[k + 2].text == "means")
        ):
            return True
        m = k - 1
        while (
            m >= 0
            and items[m].is_("DET", "ADJ", "ADV", "NEG", "AS")
            and not items[m].is_("AUX", "MUS", "CHOLD")
        ):
            m -= 1
        if m < 0:
            return after is None or after.is_("COMMA", "CWORK", "COLON")
        before = items[m]
        if (
            before.is_("AUX", "COP", "MUS", "CMEAN", "CWORK", "COLON", "CONTRACT", "POSS")
            or before.text in ("it is", "they are", "this is", "that is", "it's")
            or "CON" in before.c
        ):
            return True
        if before.is_("WITH", "BY", "HELP") or before.text in (
            "with",
            "in",
            "do",
            "does",
            "stay",
            "stays",
            "remain",
            "call",
            "calls",
            "an",
            "goes",
            "through",
            "it",
            "them",
            "becomes",
            "turns",
            "as",
        ):
            return not (after is not None and after.is_("EXERCISE"))
        if before.is_("COMMA", "DASH"):
            return (
                after is None
                or after.is_("COMMA", "ADV", "CWORK", "NEG", "PREP", "BUT", "SUB")
                or "CON" in after.c
            )
        return before.is_("PART", "MUSNOUN", "SUB", "AND", "EXERCISE", "DIR") and (
            after is None or after.is_("COMMA", "CWORK", "PREP", "ADV", "NEG")
        )

    def _way_told(self, k: int) -> bool:
        """ "Coming down, slowly: concentric triceps": a way is told, and what follows names the work."""
        return any(
            x.is_("CDOWN", "CUP", "CHOLD", "EXERCISE") or _direction(x) in ("up", "down")
            for x in self.items[:k]
        )

    def _is_made(self, k: int) -> bool:
        """ "that makes it a concentric phase", "involves a concentric deltoid"."""
        if k and self.items[k - 1].is_("AUX", "COP"):
            return True
        m = k - 1
        while m >= 0 and self.items[m].is_("DET", "ADJ", "ADV") and not self.items[m].is_("AUX", "IT"):
            m -= 1
        before = self.items[m] if m >= 0 else None
        return before is not None and m < k - 1 and (before.is_("AUX", "COP", "SEE") or before.text in MAKING)

    def _denied(self, k: int) -> bool:
        m = k - 1
        while m >= 0 and k - m < 5:
            if self.items[m].is_("NEG") or self.items[m].text in ("rather than", "instead of", "and not"):
                return True
            if not self.items[m].is_("DET", "ADJ", "ADV", "AUX", "DO", "MODAL", "CWORK", "HELP"):
                return False
            m -= 1
        return False

    # -- phases, exercises, muscles ---------------------------------------------------------------------------------------

    def _phases(self) -> Iterator[tuple[int, Phase]]:
        items = self.items
        for k, item in enumerate(items):
            if k in self.taken or "CON" in item.c:
                after = items[k + 1].text if k + 1 < len(items) else ""
                if (
                    "CON" in item.c
                    and after in ("phase", "phases", "part", "portion")
                    and k not in self.taken
                ):
                    for phase, work in EXPECTED.items():
                        if item.c["CON"] == work:
                            yield k, phase
                continue
            direction = _direction(item)
            if (
                direction in ("up", "down")
                and k
                and items[k - 1].text in STEMS
                and "EXERCISE" in items[k - 1].c
                and item.text == direction
                and not (k > 1 and items[k - 2].is_("PERSON", "MODAL"))
            ):
                continue
            verb = item.text.split()
            if len(verb) > 1 and verb[-1] in ("up", "down") and "EXERCISE" not in item.c:
                yield k, verb[-1]  # type: ignore[misc]
            elif direction in ("up", "down") and self._is_way(k):
                yield k, direction  # type: ignore[misc]
            elif "EXERCISE" in item.c and exercises()[item.c["EXERCISE"]].mode in ("lower", "raise"):
                yield k, "down" if exercises()[item.c["EXERCISE"]].mode == "lower" else "up"
            elif "EXERCISE" in item.c and not (item.c.keys() & {"CDOWN", "CUP", "CHOLD"}):
                continue
            elif "CHOLD" in item.c and self._holds(k):
                yield k, "hold"
            elif "CDOWN" in item.c and self._acts(k):
                yield k, "down"
            elif "CUP" in item.c and self._acts(k):
                yield k, "up"

    def _is_way(self, k: int) -> bool:
        near = self.items[max(0, k - 2) : k] + self.items[k + 1 : k + 3]
        if any(x.text in PUT for x in self.items[max(0, k - 4) : k]):
            return True
        after = self.items[k + 1] if k + 1 < len(self.items) else None
        if after is not None and after.is_("AUX"):
            return True
        return any(x.text in MOVING or x.text.endswith("way") for x in near) or (
            k == 0 and len(self.items) > 2
        )

    def _holds(self, k: int) -> bool:
        item = self.items[k]
        if item.text == "still":
            if k + 1 < len(self.items) and self.items[k + 1].is_("PART"):
                return True
            before = self.items[max(0, k - 5) : k]
            return any(
                x.is_("CHOLD", "EXERCISE")
                or x.text in ("hang", "hanging", "stay", "stand", "standing", "out", "sit")
                for x in before
            )
        after = self.items[k + 1] if k + 1 < len(self.items) else None
        return not (after is not None and after.text in ("on", "on to", "onto", "your breath"))

    def _acts(self, k: int) -> bool:
        """Not "the lower back", "a raised arm", "the slow version"."""
        item = self.items[k]
        after = self.items[k + 1] if k + 1 < len(self.items) else None
        before = self.items[k - 1] if k else None
        if item.text in ("lower", "slow", "raised", "lowered", "drop", "dip"):
            if (
                before is not None
                and before.is_("DET", "ADJ")
                and after is not None
                and (after.is_("PART", "MUS", "STR", "MUSNOUN", "EXERCISE", "ADJ", "DIR") or not after.c)
            ):
                return False
            if item.text == "slow" and before is not None and before.is_("DET"):
                return False
        return True

    def _exercises(self) -> Iterator[tuple[int, Exercise]]:
        table = exercises()
        for k, item in enumerate(self.items):
            word = item.c.get("EXERCISE")
            if word is None or k in self.taken:
                continue
            if item.text in (
                "run",
                "runs",
                "hang",
                "hangs",
                "serve",
                "serves",
                "dumbbell",
                "bridge",
                "bench",
            ) and not self._noun_like(k):
                continue
            yield k, table[word]

    def _noun_like(self, k: int) -> bool:
        before = self.items[k - 1] if k else None
        return before is None or before.is_("DET", "PREP", "ADJ") or self.items[k].text == "dumbbell"

    def _muscles(self) -> Iterator[tuple[int, int, tuple[Named, ...]]]:
        last = len(self.items)
        subjects = self.reading.subjects
        agents = subjects.agents if self.reading.has("FAM") else {}
        ends = [k for k, item in enumerate(self.items) if "MUS" in item.c or k in agents]
        seen = last
        for k in reversed(ends):
            if k >= seen:
                continue
            m = k
            while (
                m + 1 < last
                and self.items[m + 1].is_("MUSNOUN")
                and not self.items[m + 1].is_("PART", "EXERCISE", "CWORK", "CUP", "CDOWN")
            ):
                m += 1
            subject = subjects.ending_at(m) or subjects.ending_at(k)
            if subject is not None:
                seen = subject.i
                yield subject.i, subject.j, subject.names

    def muscle_of(self, said: Said) -> tuple[int, int, tuple[Named, ...]] | None:
        """The muscles that a kind is said of: the nearest before it, or those named after it ("for the quads")."""
        before = [m for m in self.muscles if m[1] <= said.k]
        after = [m for m in self.muscles if m[0] > said.k]
        following = min(after, default=None, key=lambda m: m[0])
        earlier = max(before, default=None, key=lambda m: m[1])
        if following is not None:
            gap = self.items[said.k + 1 : following[0]]
            direct = len(gap) <= 6 and not any(
                x.is_("COMMA", "SUB", "AND") for x in gap if x.text not in ("what",)
            )
            if direct and (
                earlier is None
                or any(x.text in ("for", "of", "in") for x in gap)
                or any(x.is_("AUX") for x in gap[:1])
            ):
                return following
        if earlier is not None:
            return earlier
        pronoun = next((k for k in range(said.k - 1, -1, -1) if self.items[k].is_("IT")), -1)
        topic = self.reading.memory.topic
        if pronoun >= 0 and topic is not None:
            return pronoun, pronoun + 1, topic.names
        return None

    def _twin(self, said: Said) -> Said | None:
        """ "the pecs shorten, concentric": the word before that says the same."""
        for other in self.kinds:
            gap = self.items[other.k + 1 : said.k]
            if (
                other.k < said.k
                and other.work == said.work
                and len(gap) <= 3
                and all(x.is_("COMMA", "ADV", "DET", "SUB") for x in gap)
            ):
                return other
        return None

    def phase_of(self, said: Said) -> tuple[int, Phase] | None:
        """The phase that a kind is said of."""
        if not self.phases:
            return None
        twin = self._twin(said)
        if twin is not None:
            return self.phase_of(twin)
        if len(self.phases) == len(self.kinds) and len(self.kinds) > 1:
            return self.phases[self.kinds.index(said)]
        others = [other.k for other in self.kinds if other.work != said.work]

        def distance(phase: tuple[int, Phase]) -> tuple[int, int]:
            low, high = sorted((phase[0], said.k))
            crossed = sum(low < k < high for k in others)
            stretch = self.items[low:high]
            commas = sum(x.is_("COMMA", "BUT", "SUB") for x in stretch)
            later = (
                12
                if phase[0] > said.k
                and any(not {"then", "before", "until"}.isdisjoint(x.text.split()) for x in stretch)
                else 0
            )
            return crossed, commas * 4 + later + high - low

        return min(self.phases, key=distance)

    def generic(self, said: Said) -> bool:
        """Whether the sentence speaks of "the muscle" as such."""
        return (
            any(x.is_("CGENERIC") or x.text in ("muscle", "muscles") for x in self.items)
            or not said.by_length
        )


def _direction(item: Item) -> str:
    """ "up" or "down" where an item says so ("upwards", "down to")."""
    if not item.is_("DIR", "PASSBY"):
        return ""
    words = item.text.split()
    return next((d for d in ("up", "down") if d in words or item.text.startswith(d)), "")
