"""How muscles are named in a sentence: lists, parts, sides, short names after their relatives."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from anatomy.claims.expressions import Expression
from anatomy.claims.grammar.terms import (
    AREAS,
    FIBRES,
    HEADS,
    KNOWING,
    PART_NAMING,
    SIDES,
    Link,
    Named,
    Subject,
    names_a_part,
    names_part,
)
from anatomy.claims.items import Item


class Naming:
    """Reads muscles' names among the items of one sentence. ``topic`` is what "it" meant when the sentence began."""

    def __init__(
        self,
        items: list[Item],
        expressions: list[Expression],
        topic: Subject | None,
        special: frozenset[str] = frozenset(),
        species: dict[str, dict[str, str]] | None = None,
        members: Callable[[str], tuple[str, ...]] | None = None,
        apart: bool = False,
    ) -> None:
        """``special`` are classes that single kinds of claim add; a word that has no others counts as unknown here.
        ``apart``: the sentence begins on a line of its own, and does not go on from the one before."""
        self.items = items
        self.special = special
        self.species = species or {}
        self.members = members or (lambda name: ())
        self.expressions = expressions
        self.topic = topic
        self.apart = apart
        self.by_end = {e.j: e for e in expressions}
        self.agents = {e.head: e for e in expressions if e.form == "agent"}
        self.known: dict[int, Link | None] = {}

    def _unknown(self, item: Item) -> bool:
        return item.c.keys() <= self.special

    def ending_at(self, k: int) -> Subject | None:
        """The muscles whose naming ends with item ``k``: "the long head of biceps, brachialis and the supinator"."""
        names: list[Named] = []
        end = k + 1
        first = k
        while k >= 0:
            read = self._one_ending_at(k)
            if read is None:
                break
            named, start = read
            names.insert(0, named)
            first = start
            k = start - 1
            commas = 0
            joined = False
            while k >= 0 and self._joins(k):
                joined = joined or self.items[k].is_("AND", "OR")
                commas += 1
                k -= 1
            if commas and k >= 0 and (twin := self._twin(k, start)) is not None:
                names.insert(0, twin)
                first = k
                break
            if not commas or k < 0 or commas > 3:
                break
            if not joined and len(names) == 1 and self._introduced(k):
                break
        return Subject(first, end, tuple(names)) if names else None

    def _joins(self, k: int) -> bool:
        """Whether item ``k`` may stand between the names of a list; "isn't" parts a subject from what it is not."""
        item = self.items[k]
        denies_verb = item.is_("NEG") and item.text not in ("not", "no", "neither", "nor", "never", "hardly")
        return item.is_("AND", "OR", "COMMA", "NEG") and not item.is_("DET") and not denies_verb

    def _twin(self, k: int, start: int) -> Named | None:
        """ "Anterior and posterior deltoid": the first of the two, when only the second is named in full."""
        word, said = self.items[k].text, self.items[start].text
        if (
            word not in PART_NAMING
            or said.partition(" ")[0] not in PART_NAMING
            or "MUS" not in self.items[start].c
        ):
            return None
        other = f"{word} {said.partition(' ')[2]}"
        return Named(other) if self.members(other) else None

    def _introduced(self, k: int) -> bool:
        """Whether the muscle that ends at ``k`` belongs to an opening phrase ("Unlike the biceps, …")."""
        read = self._one_ending_at(k)
        return (
            read is not None
            and read[1] > 0
            and self.items[read[1] - 1].is_("PREP", "WITH", "BY", "SUB", "PV", "STRETCH", "NEG")
        )

    def _one_ending_at(self, k: int) -> tuple[Named, int] | None:
        items = self.items
        if items[k].is_("CLOSE"):
            opened = next((m for m in range(k - 1, max(-1, k - 8), -1) if items[m].is_("OPEN")), -1)
            if opened < 1:
                return None
            k = opened - 1
        qualifiers: list[str] = []
        m = k
        if items[m].is_("MUSNOUN") and "MUS" not in items[m].c and m > 0:
            m -= 1
            while m > 0 and items[m].is_("ADJ", "DIR", "MUSNOUN") and "MUS" not in items[m].c:
                qualifiers.insert(0, items[m].text)
                m -= 1
        agent = self.agents.get(m)
        if "SPEC" in items[m].c and "MUS" not in items[m].c:
            name = self._species(m)
            if name is None:
                return None
            named = Named(name)
        elif "MUS" in items[m].c:
            named = Named(items[m].c["MUS"], others=items[m].c.get("ALT", ()))
        elif agent is not None and not items[m].is_("MUS"):
            named = Named(items[m].text, pairs=agent.pairs)
            m = agent.i
        else:
            return None
        start, side, more = self._qualified(m)
        return replace(named, qualifiers=(*more, *qualifiers), side=side), start

    def _species(self, m: int) -> str | None:
        """The muscle that "medius" or "brevis" stands for after its relatives were named."""
        before = self.items[m - 1] if m else None
        only = self.species.get(self.items[m].c["SPEC"], {})
        if len(only) == 1 and len(self.items[m].text) > 7:
            return next(iter(only.values()))
        if before is None or not before.is_("DET", "AND", "COMMA", "OR", "BUT", "SUB"):
            return None
        k = next((k for k in range(m - 1, -1, -1) if "MUS" in self.items[k].c), -1)
        names = (
            [self.items[k].c["MUS"]]
            if k >= 0
            else [named.name for named in self.topic.names]
            if self.topic
            else []
        )
        by_stem = self.species.get(self.items[m].c["SPEC"], {})
        for name in names:
            for member in (name, *self.members(name)):
                for stem, found in by_stem.items():
                    if member.startswith(stem + " ") and found != member:
                        return found
        return None

    def _qualified(self, m: int) -> tuple[int, str, list[str]]:
        """Walks left over what belongs to a muscle's name; gives where the naming starts, its side and its part words."""
        items = self.items
        qualifiers: list[str] = []
        side = ""
        start = m
        k = m - 1
        passed_of = False
        while k >= 0:
            item = items[k]
            if item.text in SIDES:
                side = item.text
            elif (item.is_("MUSNOUN", "STR") and passed_of and not item.is_("MUS")) or (
                item.is_("ADJ", "DIR")
                and not item.is_("IT", "PART", "AND")
                and (item.is_("ADJ") or names_part(item))
            ):
                qualifiers.insert(0, item.text)
            elif item.text == "that" and k > 0 and items[k - 1].text in KNOWING:
                break
            elif (
                (item.is_("DET") and not item.is_("AND"))
                or (
                    k + 1 == m
                    and item.is_("PART")
                    and not item.is_("DIR")
                    and k > 0
                    and items[k - 1].is_("DET")
                    and "leg" in item.text
                )
                or (item.text.endswith("'s") and not item.is_("AUX", "MUS", "IT"))
            ):
                pass
            elif (
                item.text == "of"
                and k > 0
                and (items[k - 1].is_("MUSNOUN") or names_a_part(items[k - 1]) or items[k - 1].text in AREAS)
            ):
                passed_of = True
            elif passed_of and names_a_part(item):
                qualifiers.insert(0, item.text.rpartition(" ")[0])
            elif (
                item.is_("AND", "OR")
                and qualifiers
                and passed_of
                and k > 0
                and items[k - 1].is_("ADJ", "DIR")
            ):
                pass
            else:
                break
            start = k
            k -= 1
        return start, side, qualifiers

    def starting_at(self, k: int) -> Subject | None:
        """The muscles whose naming starts with item ``k``, up to three words of measure before them ("mainly the")."""
        items, n = self.items, len(self.items)
        first = k
        names: list[Named] = []
        end = k
        while k < n:
            m = k
            steps = 0
            while (
                m < n
                and steps < 8
                and "MUS" not in items[m].c
                and m not in self.agents
                and items[m].is_("DET", "ADJ", "ADV", "DIR", "MUSNOUN", "PREP", "FAM", "PART")
            ):
                if items[m].is_("PREP") and items[m].text != "of":
                    break
                m += 1
                steps += 1
            if m >= n:
                break
            after = m + 1
            if after < n and items[after].is_("MUSNOUN") and not items[after].is_("ADV", "MUS"):
                after += 1
            read = self._one_ending_at(after - 1)
            if read is None:
                break
            named, start = read
            if start > k and not all(
                item.is_("DET", "ADJ", "ADV", "DIR", "MUSNOUN", "PREP", "PART", "FAM")
                for item in items[k:start]
            ):
                break
            names.append(named)
            end = after
            k = after
            joined = 0
            while k < n and items[k].is_("AND", "OR", "COMMA"):
                joined += 1
                k += 1
            if not joined:
                break
        return Subject(first, end, tuple(names)) if names else None

    def _fibres(self, k: int) -> Subject | None:
        """ "The back fibres" of the muscle named before, when no muscle stands beside them."""
        if self._one_ending_at(k) is not None:
            return None
        qualifiers: list[str] = []
        m = k - 1
        while m >= 0 and (
            self.items[m].is_("ADJ")
            or self.items[m].text in PART_NAMING
            or self.items[m].text in ("back", "palmar", "dorsal", "plantar")
        ):
            qualifiers.insert(0, self.items[m].text)
            m -= 1
        while m >= 0 and self.items[m].is_("DET"):
            m -= 1
        before = self._last_subject_before(m + 1)
        if not qualifiers or before is None:
            return None
        names = tuple(
            Named(other)
            if (other := self._sibling(named.name, qualifiers))
            else replace(named, qualifiers=tuple(qualifiers))
            for named in before.names
        )
        return Subject(m + 1, k + 1, names, pronoun=True)

    def _sibling(self, name: str, qualifiers: list[str]) -> str | None:
        """ "The palmar ones" after the dorsal interossei: the muscle with that word in its name instead."""
        first, _, rest = name.partition(" ")
        for word in qualifiers:
            bare = rest.partition(" (")[0]
            for other in (
                f"{word} {rest}",
                f"{word} {bare}",
                f"{word} {bare} (hand)",
                f"{word} {bare} (foot)",
            ):
                if first != word and rest and self.members(other):
                    return other
            # "The short one" after the long head of biceps femoris.
            words = name.split(" ")
            for place, held in enumerate(words):
                other = " ".join([*words[:place], word, *words[place + 1 :]])
                if held in HEADS and held != word and self.members(other):
                    return other
        return None

    def _names_muscle(self, k: int) -> bool:
        """Whether a muscle's name ends with item ``k``, or fibres of the one named before."""
        return self._ends_muscle(k) or (self.items[k].text in FIBRES and self._fibres(k) is not None)

    def _ends_muscle(self, k: int) -> bool:
        item = self.items[k]
        if "MUS" in item.c or k in self.agents or item.is_("CLOSE"):
            return True
        if "SPEC" in item.c:
            return self._one_ending_at(k) is not None
        head = item.text in ("head", "heads") or not item.is_("PART")
        return item.is_("MUSNOUN") and head and not item.is_("ADV") and self._one_ending_at(k) is not None

    def _last_subject_before(self, k: int) -> Subject | None:
        """What "it" refers to: the last muscles named before it in this sentence, or the topic of the one before."""
        best: Subject | None = None
        m = k - 1
        while m >= 0:
            if "MUS" in self.items[m].c or m in self.agents:
                subject = self._said_to_be(m)
                if subject is not None:
                    m = subject
                    continue
                best = self.ending_at(m)
                break
            m -= 1
        return best or self.topic

    def _said_to_be(self, m: int) -> int | None:
        """In "soleus isn't a dorsiflexor" the item before the verb, when ``m`` is what a muscle is said to be."""
        agent = self.agents.get(m)
        if agent is None:
            return None
        k = agent.i - 1
        while (
            k > 0
            and self.items[k].is_("DET", "ADJ", "ADV", "DIR", "NUM", "AS")
            and not self.items[k].is_("AUX", "NEG")
        ):
            k -= 1
        if k < 1 or not self.items[k].is_("AUX", "COP", "NEG") or self.items[k].is_("IT"):
            return None
        while k > 0 and self.items[k].is_("AUX", "COP", "NEG", "ADV", "MODAL"):
            k -= 1
        return k if self._ends_muscle(k) or self.items[k].is_("IT") else None

    def _starts_muscle(self, k: int) -> bool:
        return "MUS" in self.items[k].c or (k in self.agents and self.items[k].is_("MUS"))
