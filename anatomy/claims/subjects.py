"""Which muscles a motion is said of: the grammar that ties a muscle's name to a motion expression.

From the motion the reader walks left over words that may stand between a subject and its verb (auxiliaries, adverbs,
"helps to", asides between commas, phrases such as "on the front of the arm"). Any other word ends the walk: a
sentence that only mentions a muscle has no such path, and stays without a claim.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from anatomy.claims.expressions import BODY, Expression
from anatomy.claims.items import Item
from anatomy.claims.lexicon import Pair

SIDES = frozenset({"left", "right"})
ASIDE = 16
NOT_AGENTS = frozenset({"RELAX"})


@dataclass(frozen=True)
class Named:
    """A muscle or group as it was said; ``qualifiers`` are words for a part of it ("posterior", "upper")."""

    name: str
    qualifiers: tuple[str, ...] = ()
    side: str = ""
    pairs: tuple[Pair, ...] = ()
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class Subject:
    """Muscles in the items ``i`` to ``j``, half-open. ``pronoun`` when they were meant by "it" or "they"."""

    i: int
    j: int
    names: tuple[Named, ...]
    pronoun: bool = False


@dataclass(frozen=True)
class Link:
    """A subject found for an expression, and what was passed on the way."""

    subject: Subject
    denied: bool = False
    against: bool = False
    lengthened: bool = False
    i: int = -1
    j: int = -1
    hedged: bool = False


class SubjectReader:
    """Finds the subjects of one sentence's expressions. ``topic`` is what "it" meant when the sentence began."""

    def __init__(
        self,
        items: list[Item],
        expressions: list[Expression],
        topic: Subject | None,
        special: frozenset[str] = frozenset(),
        species: dict[str, dict[str, str]] | None = None,
        members: Callable[[str], tuple[str, ...]] | None = None,
    ) -> None:
        """``special`` are classes that single kinds of claim add; a word that has no others counts as unknown here."""
        self.items = items
        self.special = special
        self.species = species or {}
        self.members = members or (lambda name: ())
        self.expressions = expressions
        self.topic = topic
        self.by_end = {e.j: e for e in expressions}
        self.agents = {e.head: e for e in expressions if e.form == "agent"}
        self.known: dict[int, Link | None] = {}

    def _unknown(self, item: Item) -> bool:
        return item.c.keys() <= self.special

    # -- muscles ----------------------------------------------------------------------------------------------------------

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
            while k >= 0 and self.items[k].is_("AND", "OR", "COMMA", "NEG") and not self.items[k].is_("DET"):
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
        return replace(named, qualifiers=tuple([*more, *qualifiers]), side=side), start

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
                and (item.is_("ADJ") or _names_part(item))
            ):
                qualifiers.insert(0, item.text)
            elif item.text == "that" and k > 0 and items[k - 1].text in KNOWING:
                break
            elif item.is_("DET") and not item.is_("AND"):
                pass
            elif (
                k + 1 == m
                and item.is_("PART")
                and not item.is_("DIR")
                and k > 0
                and items[k - 1].is_("DET")
                and "leg" in item.text
            ):
                pass
            elif item.text.endswith("'s") and not item.is_("AUX", "MUS", "IT"):
                pass
            elif (
                item.text == "of"
                and k > 0
                and (items[k - 1].is_("MUSNOUN") or _names_a_part(items[k - 1]) or items[k - 1].text in AREAS)
            ):
                passed_of = True
            elif passed_of and _names_a_part(item):
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

    # -- from the motion to the left ------------------------------------------------------------------------------------

    def left_of(self, expression: Expression) -> Link | None:
        """The subject of a verb, or of the verb that a motion noun or agent depends on; None where there is no path."""
        key = expression.head
        if key not in self.known:
            self.known[key] = None
            if expression.form == "noun":
                link = self._of_noun(expression)
            elif expression.form == "agent":
                link = self._of_agent(expression)
            else:
                link = self._walk(expression.i - 1, Link(Subject(0, 0, ())), expression)
                if link is None and expression.form == "ing":
                    link = self._of_noun(expression)
            self.known[key] = link
        return self.known[key]

    def _walk(self, k: int, link: Link, expression: Expression | None) -> Link | None:
        items = self.items
        steps = 0
        to = cleft = False
        loose = 0
        while k >= 0 and steps < 40:
            steps += 1
            item = items[k]
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.text in FIBRES and (fibres := self._fibres(k)) is not None:
                return replace(link, subject=fibres)
            elif (
                item.is_("IT")
                and self._stands_alone(k)
                and not (
                    cleft
                    and k > 0
                    and items[k - 1].is_("AUX")
                    and item.text not in ("this one", "these", "those")
                )
            ):
                return self._pronoun(k, link)
            elif self._ends_muscle(k):
                if expression is not None and expression.passive:
                    return None
                subject = self.ending_at(k)
                if subject is None:
                    return None
                if subject.i > 0 and items[subject.i - 1].is_("NEG") and not items[subject.i - 1].is_("ADV"):
                    link = replace(link, denied=not link.denied)
                if to and self._is_stretched(subject.i - 1):
                    return None
                contrasted = subject.i > 1 and items[subject.i - 1].text in (
                    "rather than",
                    "instead of",
                    "unlike",
                    "and not",
                    "not",
                )
                if contrasted and self._ends_muscle(subject.i - 2):
                    instead = self.ending_at(subject.i - 2)
                    if instead is not None and not self._governed(instead.i - 1):
                        return replace(link, subject=instead)
                if self._governed(subject.i - 1) and not to and not cleft:
                    given = self._given_job(subject.i - 1, k + 1)
                    if not given and expression is not None and expression.form == "s":
                        given = self._after_clause(subject.i)
                    if not given and not self._has_at_work(subject.i - 1, k, expression):
                        return None
                if to and (helped := self._helped(subject)) is not None:
                    subject = helped
                return replace(link, subject=subject)
            elif item.text in ("that", "this") and k == 0 and self.topic is not None:
                return replace(link, subject=Subject(0, 1, self.topic.names, pronoun=True))
            elif item.is_("REL"):
                cleft = True
            elif (
                item.text in ("one", "ones")
                and k > 1
                and items[k - 1].is_("DET")
                and items[k - 2].is_("AUX", "POSS", "COMMA", "DASH")
            ):
                cleft = True
                k -= 1
            elif item.is_("RESP"):
                pass
            elif cleft and item.text in ("these are", "those are", "that's", "they're") and k > 0:
                return self._pronoun(k, link)
            elif cleft and item.is_("MUSNOUN", "DET", "ADJ", "NUM") and not item.is_("MUS"):
                pass
            elif cleft and k > 0 and self._unknown(item) and items[k - 1].is_("AS"):
                k -= 1
            elif (
                cleft
                and k > 0
                and not item.is_("MUS", "PERSON", "COMMA", "AND", "AUX", "IT", "PREP")
                and items[k - 1].is_("DET", "ADJ", "NUM", "AUX", "COP")
            ):
                pass
            elif cleft and item.is_("COMMA") and k > 0 and self._ends_muscle(k - 1):
                denied = self._one_ending_at(k - 1)
                if denied is not None and denied[1] > 1 and items[denied[1] - 1].is_("NEG", "BUT"):
                    k = denied[1] - 1
            elif cleft and item.is_("COMMA", "DASH") and k > 0 and self._names_muscle(k - 1):
                pass
            elif item.text == "whose" or (
                item.is_("FORCE", "JOB") and k > 0 and items[k - 1].text in ("whose", "its", "their")
            ):
                before = self._last_subject_before(k - (0 if item.text == "whose" else 1))
                return replace(link, subject=replace(before, pronoun=True)) if before is not None else None
            elif item.text == "by" and expression is not None and expression.form == "ing" and k > 0:
                if items[k - 1].is_("COMMA") and k > 1 and self._ends_muscle(k - 2):
                    k -= 1
                elif not self._ends_muscle(k - 1):
                    return self._joined(k, expression)
            elif item.is_("COLON", "COMMA", "DASH") and to and k > 0 and items[k - 1].is_("JOB"):
                return self._of_job(k - 1, link)
            elif item.is_("COLON") and k > 0 and (headed := self._headed(k)) is not None:
                return replace(link, subject=headed)
            elif item.is_("HAVE") and not item.is_("AUX"):
                pass
            elif item.is_("CONTRACT") and k + 1 < len(items) and items[k + 1].is_("AND", "COMMA"):
                pass
            elif (
                item.is_("FORCE", "JOB")
                and k > 0
                and "POSS" in items[k - 1].c
                and not items[k - 1].is_("PART")
            ):
                pass
            elif item.text in ("that", "this") and k == 0 and self.topic is not None:
                return replace(link, subject=Subject(0, 1, self.topic.names, pronoun=True))
            elif (
                item.text in ORDINALS
                and k > 0
                and items[k - 1].is_("DET")
                and (expression is None or k + 1 >= expression.i - 1)
            ):
                return self._pronoun(k, link)
            elif item.is_("PERSON") and k > 0 and items[k - 1].is_("LET"):
                k -= 1
            elif item.is_("JOB") and k + 1 < len(items) and items[k + 1].is_("AUX"):
                return self._of_job(k, link)
            elif (
                item.text in ("all", "both", "each", "all three", "all four")
                and k > 0
                and self._ends_muscle(k - 1)
            ):
                pass
            elif item.is_("OPP") and (
                to
                or items[k + 1].is_("ADV", "DET", "FAM", "PART", "PV")
                or k + 1 == (expression.i if expression else -1)
            ):
                link = replace(link, against=not link.against)
            elif item.is_("STRETCH") and not item.is_("ADJ"):
                link = replace(link, lengthened=True)
            elif item.text == "to":
                to = True
            elif item.text == "there is" and k > 0 and items[k - 1].is_("DO"):
                pass
            elif item.text == "what" and k > 0 and items[k - 1].is_("AUX"):
                cleft = True
            elif item.is_("AUX") and to and (job := self._job_far_before(k)) is not None:
                return self._of_job(job, link)
            elif item.is_("AUX", "DO", "PROD") and (named := self._named_by_what(k)) is not None:
                return replace(link, subject=named)
            elif item.is_("AUX", "MODAL", "DO", "ADV", "HELP", "COP", "CORRECT") and not item.is_("PERSON"):
                loose = 0
            elif (
                to
                and loose < 4
                and (
                    item.is_("ADJ", "DET", "FORCE", "JOB")
                    or self._unknown(item)
                    or (item.is_("PV") and item.text.endswith("ed"))
                )
                and self._able(k)
            ):
                loose += 1
            elif item.text in ("in", "at", "by", "for", "with") and k > 0 and items[k - 1].is_("HELP", "JOB"):
                pass
            elif item.is_("BUT", "AND", "COMMA", "OR", "DASH"):
                if item.text in ("rather than", "instead of", "and not"):
                    link = replace(link, denied=not link.denied)
                joined = self._joined(k, expression)
                if joined is not None:
                    return replace(
                        joined,
                        denied=link.denied if link.denied else joined.denied and item.is_("OR"),
                        against=link.against,
                        hedged=link.hedged or joined.hedged,
                    )
                if item.is_("AND") and expression is not None and expression.form in ("s", "base"):
                    same = self._same_subject(k)
                    if same is not None:
                        return replace(link, subject=same.subject)
                apposed = self._apposed_before(k)
                if apposed is not None:
                    return replace(link, subject=apposed)
                if item.is_("COMMA") and k > 0 and self._ends_muscle(k - 1) and self._opens(k - 1):
                    listed = self.ending_at(k - 1)
                    held = items[listed.i : listed.j] if listed is not None else []
                    plain = not any(one.is_("NEG", "BUT") for one in held)
                    if listed is not None and len(listed.names) > 1 and plain:
                        return replace(link, subject=listed)
                aside = self._before_aside(k)
                if aside is not None:
                    example = self._example(aside + 2, k)
                    if example is not None and (outer := self.ending_at(aside)) is not None:
                        return replace(link, subject=Subject(outer.i, k, (*outer.names, *example.names)))
                    k = aside
                    continue
                adjectival = k + 1 < len(items) and items[k + 1].text.startswith(("responsible", "in charge"))
                if item.is_("COMMA") and k > 0 and adjectival and self._ends_muscle(k - 1):
                    subject = self.ending_at(k - 1)
                    return replace(link, subject=subject) if subject is not None else None
                if (
                    item.is_("COMMA", "AND")
                    and k > 0
                    and expression is not None
                    and (
                        items[k - 1].is_("ADV", "HELP", "CONTRACT", "REL", "AND", "COMMA", "BUT")
                        or self._ends_muscle(k - 1)
                    )
                ):
                    if self._ends_muscle(k - 1) and expression.form != "ing" and item.is_("AND"):
                        return None
                    if self._ends_muscle(k - 1) and not self._opens(k - 1):
                        return None
                else:
                    return None
            elif item.is_("PERSON"):
                if item.text in ("he", "she", "they") and (named := self._dislocated(k)) is not None:
                    return replace(link, subject=named)
                return self._with_before(k, link)
            elif (stop := self._held_from(k)) is not None:
                if not items[stop].is_("LET"):
                    link = replace(link, against=not link.against)
                k = stop
            else:
                passed = self._before_phrase(k)
                if passed is None:
                    return None
                k = passed
                continue
            k -= 1
        return None

    def _has_at_work(self, k: int, last: int, expression: Expression | None) -> bool:
        """ "made by the biceps bending …", "with the glutes extending …": a muscle at work behind item ``k``."""
        if expression is None or expression.form != "ing" or last + 1 != expression.i:
            return False
        return self.items[k].is_("BY", "PASSBY", "PASSOPP", "WITH", "COMEFROM", "NEED")

    def _given_job(self, k: int, after: int) -> bool:
        """ "The job I'd give the soleus is …": whether a job is handed to the muscle behind item ``k``."""
        items = self.items
        if after >= len(items) or not items[after].is_("AUX"):
            return False
        before = items[max(0, k - 4) : k]
        return any(item.is_("JOB") for item in before) and any(item.is_("PERSON") for item in before)

    def _after_clause(self, k: int) -> bool:
        """ "Every time he heads the ball his splenius …": whether a clause without a comma opens the sentence before ``k``."""
        items = self.items
        if not items[k].is_("DET") or k > 10:
            return False
        begins = items[0].is_("SUB") or (items[0].is_("ADV") and len(items) > 1 and items[1].is_("SUB"))
        between = items[1:k]
        return (
            begins
            and any(item.is_("PERSON") for item in between)
            and not any(i.is_("MUS", "COMMA") for i in between)
        )

    def _helped(self, subject: Subject) -> Subject | None:
        """ "Anconeus helps the biceps to …": the muscle that helps is said to do it as well."""
        k = subject.i - 1
        if k < 1 or not self.items[k].is_("HELP") or not self._ends_muscle(k - 1):
            return None
        first = self.ending_at(k - 1)
        if first is None or self._governed(first.i - 1):
            return None
        return Subject(first.i, subject.j, (*first.names, *subject.names))

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
        return None

    def _job_far_before(self, k: int) -> int | None:
        """ "ECRB's role in the backhand is to …": where the job stands before the verb at item ``k``."""
        for m in range(k - 1, max(0, k - 8), -1):
            if self.items[m].is_("JOB"):
                return m if m + 1 < k and self.items[m + 1].is_("PREP") else None
            if self.items[m].is_("COMMA", "MUS", "PERSON", "AND", "AUX"):
                return None
        return None

    def _able(self, k: int) -> bool:
        """ "has the power to", "is strong enough to": whether item ``k`` stands between such a verb and "to"."""
        for m in range(k - 1, max(-1, k - 5), -1):
            if self.items[m].is_("AUX", "HAVE") and not self.items[m].is_("MUS"):
                return m > 0 and (self._ends_muscle(m - 1) or self.items[m - 1].is_("IT", "ADV", "MODAL"))
            if self.items[m].is_("MUS", "PERSON", "COMMA", "AND", "PV", "FAM"):
                return False
        return False

    def _named_by_what(self, k: int) -> Subject | None:
        """ "What the soleus does under load is (lift …)" when item ``k`` is the last verb before the motion."""
        items = self.items
        for m in range(k, max(0, k - 7), -1):
            if items[m].text in ("does", "do", "can do", "will do") and self._ends_muscle(m - 1):
                subject = self.ending_at(m - 1)
                asked = (
                    subject is not None
                    and subject.i > 0
                    and items[subject.i - 1].text in ("what", "all", "thing")
                )
                return subject if asked and m < k else None
            if (
                items[m].text in ("does", "do")
                and m > 1
                and items[m - 1].is_("IT", "DET")
                and items[m - 2].text == "what"
            ):
                meant = self._last_subject_before(m - 1)
                return replace(meant, i=m - 1, j=m, pronoun=True) if meant is not None and m < k else None
            if items[m].is_("COMMA", "MUS", "PERSON") and m < k:
                return None
        return None

    def _same_subject(self, k: int) -> Link | None:
        """ "The vastus crosses the hip and bends it": the subject of an ordinary verb before "and" at item ``k``."""
        items = self.items
        for m in range(k - 1, max(-1, k - 12), -1):
            if items[m].is_("PERSON", "SUB", "REL", "COLON", "COMMA", "OPEN") or (
                items[m].is_("PV", "FAM") and not items[m].is_("PART", "CROSS")
            ):
                return None
            if not self._ends_muscle(m):
                continue
            verb = items[m + 1]
            finite = (
                verb.text.endswith("s")
                and (self._unknown(verb) or verb.is_("LVERB", "SVERB", "HELP", "HAVE", "CROSS"))
                or verb.is_("AUX", "HELP")
            )
            subject = self.ending_at(m)
            if subject is None or not finite or m + 1 >= k or verb.is_("MUSNOUN", "PERSON", "FAIL"):
                return None
            return None if self._governed(subject.i - 1) else Link(subject)
        return None

    def _names_muscle(self, k: int) -> bool:
        """Whether a muscle's name ends with item ``k``, or fibres of the one named before."""
        return self._ends_muscle(k) or (self.items[k].text in FIBRES and self._fibres(k) is not None)

    def _opens(self, k: int) -> bool:
        subject = self.ending_at(k)
        return subject is not None and (
            subject.i == 0
            or self.items[subject.i - 1].is_(
                "COMMA", "SUB", "BUT", "AND", "COLON", "DASH", "SEE", "CORRECT", "ADV"
            )
        )

    def _ends_muscle(self, k: int) -> bool:
        item = self.items[k]
        if "MUS" in item.c or k in self.agents or item.is_("CLOSE"):
            return True
        if "SPEC" in item.c:
            return self._one_ending_at(k) is not None
        head = item.text in ("head", "heads") or not item.is_("PART")
        return item.is_("MUSNOUN") and head and not item.is_("ADV") and self._one_ending_at(k) is not None

    def _stands_alone(self, k: int) -> bool:
        following = self.items[k + 1] if k + 1 < len(self.items) else None
        return (
            following is None
            or not following.is_("MUS", "PART", "MUSNOUN", "ADJ")
            or following.is_("ADV", "PV")
        )

    def _pronoun(self, k: int, link: Link) -> Link | None:
        before = self._named_at_end(k) or self._last_subject_before(k)
        if before is None:
            return None
        names = before.names
        said = self.items[k].text
        said = f"the {said}" if said in ORDINALS else said
        if said.startswith("the first") or said == "the former":
            names = names[:1]
        elif said.startswith(("the second", "the last", "the latter", "the third", "the other")):
            names = names[-1:]
        return replace(link, subject=Subject(k, k + 1, names, pronoun=True))

    def _dislocated(self, k: int) -> Subject | None:
        """ "Plantaris, well, he pulls …": the muscles just before a pronoun that speaks of them as of a person."""
        m = k - 1
        while m > 0 and self.items[m].is_("COMMA", "ADV"):
            m -= 1
        return self.ending_at(m) if 0 <= m < k - 1 and self._ends_muscle(m) else None

    def _named_at_end(self, k: int) -> Subject | None:
        """ "It bends the elbow, the triceps.": the muscles that the sentence adds at its end."""
        items = self.items
        end = len(items) - 1
        if k > 1 or not self._ends_muscle(end):
            return None
        subject = self.ending_at(end)
        if subject is None:
            return None
        m = subject.i - 1
        if m > k and items[m].is_("DO"):
            m -= 1
        return subject if m > k + 1 and items[m].is_("COMMA", "DASH") else None

    def named_last(self, expression: Expression) -> Link | None:
        """ "Lifts the outer edge, tib post does.": a verb that opens its sentence, its muscle added at the end."""
        items = self.items
        opens = expression.i == 0 or all(
            item.is_("ADV", "COMMA", "SUB", "AND") for item in items[: expression.i]
        )
        if expression.form != "s" or not (opens or items[expression.i - 1].is_("AND", "COMMA")):
            return None
        if not opens and not any(e.form == "s" and e.i == 0 for e in self.expressions):
            return None
        unnamed = self.topic is not None and not any(item.is_("MUS", "PERSON") for item in items)
        if opens and unnamed and self.topic is not None:
            return Link(Subject(0, 0, self.topic.names, pronoun=True))
        for end in range(expression.j, min(len(items), expression.j + 10)):
            if not self._ends_muscle(end):
                continue
            subject = self.ending_at(end)
            after = end + 1
            while after < len(items) and items[after].is_("DO", "ADV"):
                after += 1
            closes = after >= len(items) or items[after].is_("COMMA", "DASH")
            apart = subject is not None and items[subject.i - 1].is_("COMMA", "DASH")
            return Link(subject) if subject is not None and closes and apart else None
        return None

    def _last_subject_before(self, k: int) -> Subject | None:
        """What "it" refers to: the last muscles named before it in this sentence, or the topic of the one before."""
        best: Subject | None = None
        m = k - 1
        while m >= 0:
            if "MUS" in self.items[m].c or m in self.agents:
                best = self.ending_at(m)
                break
            m -= 1
        return best or self.topic

    def _governed(self, k: int) -> bool:
        """Whether a preposition or a verb governs the muscle, so that it can't be the subject ("I trained my biceps")."""
        if k < 0:
            return False
        item = self.items[k]
        if item.is_("SEE") or item.text.endswith((" feel", " see")) or self._opens_with_phrase(k):
            return False
        if k in self.agents and "MUS" not in item.c:
            return False
        if item.text in ("the two", "the three", "all three", "all four", "both", "these two", "muscle"):
            return False
        if item.is_("DO") and (k == 0 or self.items[k - 1].is_("ADV", "NEG", "AND", "SAME")):
            return False
        if item.is_("FORCE") and k >= 0 and item.text.endswith("ing"):
            return False
        if item.text in ("of", "in", "on", "from") and k > 0 and self.items[k - 1].is_("FORCE"):
            return False
        if item.is_(
            "COMMA",
            "AND",
            "OR",
            "SUB",
            "BUT",
            "COLON",
            "DASH",
            "REL",
            "ADV",
            "CORRECT",
            "NEG",
            "OPEN",
            "QUOTE",
            "MARK",
            "DIR",
            "AS",
            "SUCHAS",
            "LET",
            "NUM",
            "SAME",
        ) and not item.is_("PREP"):
            return False
        if item.text in (
            "that",
            "so",
            "with",
            "then",
            "see",
            "watch",
            "feel",
            "have",
            "let",
            "lets",
            "makes",
            "make",
            "has",
            "how",
            "where",
            "why",
            "means",
            "remember",
            "know",
            "knows",
            "think",
            "say",
            "notice",
            "here",
            "it's",
            "say:",
            "is",
            "are",
        ):
            return False
        return True

    def _opens_with_phrase(self, k: int) -> bool:
        """Whether item ``k`` ends a phrase or clause that opens the sentence ("In his last step the glutes …")."""
        items = self.items
        for m in range(k, max(-1, k - 9), -1):
            opener = items[m].is_("PREP", "POSTURE", "WITH", "BY", "SUB", "AS") and m < k
            if opener and (
                m == 0 or items[m - 1].is_("COMMA", "AND", "SUB", "BUT", "ADV", "DASH", "COLON", "DIR", "PV")
            ):
                clause = items[m].is_("SUB", "AS") and not items[m].is_("PREP")
                return not clause or not any(item.is_("MUS", "PERSON") for item in items[m:k])
            if items[m].is_("COMMA", "PERSON", "MUS"):
                return False
            acts = items[m].is_("AUX", "MODAL", "PV", "FAM", "HELP", "PROD") and not items[m].is_(
                "ADJ", "MVT", "PART", "MUSNOUN"
            )
            if acts and not items[m - 1].is_("DET", "ADJ", "PREP", "PART", "SEG", "DIR", "MVT"):
                return False
        return False

    def _is_stretched(self, k: int) -> bool:
        return k >= 0 and (
            self.items[k].is_("STRETCH", "OPP")
            or self.items[k].text
            in ("relax", "rest", "massage", "release", "without", "than", "loosen", "from", "against")
        )

    def _joined(self, k: int, expression: Expression | None) -> Link | None:
        """The subject of the predicate that ends before a comma or "and"."""
        items = self.items
        m = k
        while (
            m > 0
            and items[m - 1].is_("ADV", "COMMA", "AND", "BUT", "OR", "SUB")
            and not items[m - 1].is_("DIR")
        ):
            m -= 1
        if (
            expression is not None
            and expression.form == "base"
            and items[expression.i - 1].text in ("so", "therefore")
        ):
            return None
        earlier = self.by_end.get(m)
        steps = 0
        while (
            earlier is None
            and m > 0
            and steps < 7
            and not items[m - 1].is_("MUS", "PERSON", "AUX", "SUB", "COLON", "IT", "REL")
        ):
            m -= 1
            steps += 1
            earlier = self.by_end.get(m)
        if (
            earlier is None
            or earlier is expression
            or (earlier.form in ("noun", "agent") and expression is not None and expression.form in ("s",))
        ):
            return None
        if earlier.form in ("noun", "agent"):
            return self.left_of(earlier) if expression is None or expression.form == earlier.form else None
        if earlier.object == "self" and not earlier.passive:
            return None
        return self.left_of(earlier)

    def _before_aside(self, k: int) -> int | None:
        """Item before "…, which sits on the back of the shoulder blade," when ``k`` is the closing comma."""
        items = self.items
        if not items[k].is_("COMMA", "DASH"):
            return None
        for m in range(k - 1, max(0, k - ASIDE), -1):
            if (
                items[m].is_("COMMA", "DASH")
                and m > 0
                and (self._ends_muscle(m - 1) or self._before_phrase(m - 1) is not None)
            ):
                inside = items[m + 1 : k]
                if (
                    inside
                    and (inside[0].is_("REL", "DET", "ADV", "SUCHAS", "ADJ", "PREP") or len(inside) <= 10)
                    and (not inside[0].is_("PERSON") or self._opens(m - 1))
                ):
                    return m - 1
        return None

    def _example(self, i: int, j: int) -> Subject | None:
        """ "…, gluteus minimus for example, …": the muscles that an aside from ``i`` to ``j`` gives as examples."""
        items = self.items
        given = items[i:j]
        if not any(item.is_("SUCHAS") or item.text in EXAMPLES for item in given):
            return None
        while i < j and items[i].is_("SUCHAS", "ADV", "COMMA"):
            i += 1
        subject = self.starting_at(i) if i < j else None
        if subject is None or subject.j > j:
            return None
        rest = items[subject.j : j]
        return subject if all(item.is_("SUCHAS", "ADV") or item.text in EXAMPLES for item in rest) else None

    def _apposed_before(self, k: int) -> Subject | None:
        """ "The muscle behind the shin bone, tibialis posterior, …": a name between marks where no name stands before."""
        items = self.items
        if not items[k].is_("COMMA", "DASH", "CLOSE") or k == 0 or not self._ends_muscle(k - 1):
            return None
        subject = self.ending_at(k - 1)
        if subject is None or subject.i < 2 or not items[subject.i - 1].is_("COMMA", "DASH", "OPEN"):
            return None
        before = subject.i - 2
        if len(subject.names) > 1 or self._ends_muscle(before) or items[before].is_("ADV", "PERSON", "NEG"):
            return None
        opens = next(
            (m for m in range(before, max(-1, before - 9), -1) if items[m].is_("COMMA", "SUB", "AUX", "AND")),
            -1,
        )
        inside = items[opens + 1 : before + 1]
        named = bool(inside) and (inside[0].is_("DET") or inside[0].text.startswith("the "))
        return (
            subject if named and not any(item.is_("MUS", "PERSON", "PV", "FAM") for item in inside) else None
        )

    def _before_phrase(self, k: int) -> int | None:
        """Item before a phrase such as "on the front of the arm" that ends with item ``k`` and follows a muscle."""
        items = self.items
        for m in range(k, max(-1, k - 9), -1):
            item = items[m]
            if item.is_(
                "COMMA", "PERSON", "SUB", "AND", "COLON", "REL", "AUX", "MODAL", "DO"
            ) and not item.is_("PREP"):
                return None
            if item.is_("PREP", "WITH", "BY") and m > 0:
                if self._ends_muscle(m - 1) or (items[m - 1].is_("IT") and items[m - 1].text != "this"):
                    return m - 1
        return None

    def _with_before(self, k: int, link: Link) -> Link | None:
        """ "With your glutes you extend the hip": the subject behind a person."""
        if k < 2:
            return None
        m = k - 1
        if self.items[m].is_("COMMA"):
            m -= 1
        if not self._ends_muscle(m):
            return None
        subject = self.ending_at(m)
        if subject is None or subject.i == 0:
            return None
        means = self.items[subject.i - 1]
        if (
            means.text in ("contracting", "using", "firing", "squeezing", "engaging", "tightening")
            and subject.i > 1
        ):
            means = self.items[subject.i - 2]
        if not means.is_("WITH", "BY"):
            return None
        return replace(link, subject=subject)

    # -- motion nouns and agents ------------------------------------------------------------------------------------------

    def _of_noun(self, expression: Expression) -> Link | None:
        """ "produces elbow flexion", "is for hip extension", "the job of psoas is hip flexion"."""
        items = self.items
        k = expression.i - 1
        link = Link(Subject(0, 0, ()))
        if k > 2 and items[k].text == "no" and items[k - 1].is_("COMMA") and self._ends_muscle(k - 2):
            lacking = self.ending_at(k - 2)
            if lacking is not None and lacking.i > 0 and items[lacking.i - 1].text in ("no", "without"):
                return replace(link, subject=lacking)
        steps = 0
        while k >= 0 and steps < 10:
            steps += 1
            item = items[k]
            if item.is_("NOPART"):
                return self._walk(k - 1, replace(link, denied=not link.denied), None)
            if item.is_("PROD", "OPP") and self._is_verb(k):
                if item.is_("OPP"):
                    link = replace(link, against=True)
                return self._walk(k - 1, link, None)
            if item.is_("STRETCH"):
                return None
            if k == expression.i - 1 and "POSS" in item.c and self._ends_muscle(k):
                subject = self.ending_at(k)
                return replace(link, subject=subject) if subject is not None else None
            if item.text in BODY and k > 0 and items[k - 1].is_("PROD"):
                k -= 1
                continue
            if item.text == "into" and (verb := self._verb_before_object(k - 1)) is not None:
                return self._walk(verb - 1, link, None)
            if item.is_("JOB") and k + 1 < len(items):
                return self._of_job(k, link)
            if item.is_("COLON", "DASH") and k > 0 and self._ends_muscle(k - 1):
                return self._opening(k - 1, link)
            if item.is_("COLON") and (headed := self._headed(k)) is not None:
                return replace(link, subject=headed)
            if (
                item.text in ("for", "in", "of", "behind", "at", "during")
                and k > 1
                and items[k - 1].is_("ROLE", "ANTAG", "CPT")
            ):
                return self._of_role(k - 1, link)
            if item.is_("HAVE") and link.denied:
                return self._walk(k - 1, link, None)
            if item.text in ("for", "in") and k > 0 and self._ends_muscle(k - 1) and item.text == "for":
                return self._opening(k - 1, link, loose=True)
            if item.is_("AND", "OR", "COMMA"):
                joined = self._joined(k, expression)
                if joined is not None:
                    return joined
                return None
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.is_("AUX", "COP"):
                m = k - 1
                while m > 0 and items[m].is_("ADV", "MODAL"):
                    m -= 1
                if m >= 0 and items[m].is_("JOB"):
                    return self._of_job(m, link)
                if m >= 0 and self._ends_muscle(m):
                    subject = self.ending_at(m)
                    if subject is not None and (item.is_("COP") or self._job_before(subject.i - 1)):
                        return replace(link, subject=subject)
                if (
                    items[k + 1].text in ("for", "about", "all about")
                    and m >= 0
                    and (self._ends_muscle(m) or items[m].is_("IT"))
                ):
                    return self._walk(m, link, None)
                return None
            elif item.is_("MUS") or (
                not item.is_("DET", "ADJ", "ADV", "PREP", "DIR", "WITH", "SUCHAS") and item.text != "as"
            ):
                return None
            k -= 1
        return None

    def _verb_before_object(self, k: int) -> int | None:
        """The verb in "takes the arm into (external rotation)" when item ``k`` ends its object."""
        items = self.items
        seen = False
        while (
            k >= 0
            and (items[k].is_("PART", "DET", "ADJ", "IT") or items[k].text in BODY)
            and not items[k].is_("MUS")
        ):
            seen = seen or items[k].is_("PART", "IT") or items[k].text in BODY
            k -= 1
        return (
            k
            if seen and k > 0 and not items[k].is_("MUS", "PERSON", "AUX", "COMMA", "AND", "PREP", "SUB")
            else None
        )

    def _of_role(self, k: int, link: Link) -> Link | None:
        """ "is the prime mover for", "acts as an antagonist in": item ``k`` is the role."""
        items = self.items
        if items[k].is_("ANTAG") or "antagonist" in items[k].text:
            link = replace(link, against=not link.against)
        elif (
            items[k].is_("CPT")
            and not items[k].is_("ROLE")
            and not items[k].text.startswith(("prime mover", "agonist", "synergist"))
        ):
            return None
        k -= 1
        while k >= 0 and items[k].is_("DET", "ADJ", "ROLE", "ADV", "NUM") and not items[k].is_("AUX"):
            k -= 1
        if k > 0 and items[k].is_("AUX", "COP", "AS"):
            return self._walk(k - 1, link, None)
        if k > 0 and items[k].is_("COMMA") and self._ends_muscle(k - 1):
            subject = self.ending_at(k - 1)
            return replace(link, subject=subject) if subject is not None else None
        return None

    def _job_before(self, k: int) -> bool:
        """Whether "the action (we want) of" stands before the muscle that begins after item ``k``."""
        items = self.items
        if k < 1 or items[k].text not in ("of", "for", "from", "with"):
            return False
        return any(item.is_("JOB") for item in items[max(0, k - 4) : k])

    def _is_verb(self, k: int) -> bool:
        if self.items[k].is_("OPP") and k > 0 and self.items[k - 1].is_("DET"):
            return False
        return True

    def _headed(self, k: int) -> Subject | None:
        """ "Action of popliteus: …", "Teres major, action: …": the muscle that a heading before the colon ``k`` names."""
        items = self.items
        m = k - 1
        if m >= 0 and items[m].is_("JOB"):
            m -= 1
            while m > 0 and items[m].is_("COMMA", "ADJ", "DET"):
                m -= 1
            return self.ending_at(m) if m >= 0 and self._ends_muscle(m) else None
        if m < 2 or not self._ends_muscle(m):
            return None
        subject = self.ending_at(m)
        of_job = subject is not None and subject.i > 1 and items[subject.i - 1].text in ("of", "for")
        return subject if subject is not None and of_job and items[subject.i - 2].is_("JOB") else None

    def _opening(self, k: int, link: Link, loose: bool = False) -> Link | None:
        """Muscles ending at ``k`` that open their clause ("Biceps: elbow flexion")."""
        subject = self.ending_at(k)
        if subject is None:
            return None
        before = self.items[subject.i - 1] if subject.i else None
        if (
            before is None
            or before.is_("COMMA", "AND", "SUB", "ADV", "COLON", "DASH", "BUT")
            or (before.text == "of" and subject.i > 1 and self.items[subject.i - 2].is_("JOB"))
            or (
                loose
                and before.text
                in (
                    "use",
                    "uses",
                    "need",
                    "needs",
                    "using",
                    "think",
                    "have",
                    "got",
                    "want",
                    "recruit",
                    "recruits",
                    "take",
                    "with",
                    "thank",
                    "thanks",
                    "blame",
                    "credit",
                    "praise",
                    "train",
                )
            )
        ):
            return replace(link, subject=subject)
        return None

    def _of_job(self, k: int, link: Link) -> Link | None:
        """Around "job": "its main job is", "the job of the deltoid is", "subscapularis' job is"."""
        items = self.items
        m = k - 1
        while m >= 0 and items[m].is_("ADJ", "ADV") and not items[m].is_("MUS"):
            m -= 1
        while m > 0 and (items[m].is_("NUM") or (items[m].is_("DET") and items[m - 1].is_("HAVE"))):
            m -= 1
        if m > 0 and items[m].is_("HAVE") and self._ends_muscle(m - 1):
            m -= 1
        if m >= 0 and items[m].text in ("its", "their", "whose"):
            subject = self._last_subject_before(m)
            return replace(link, subject=Subject(m, m + 1, subject.names, pronoun=True)) if subject else None
        if m >= 0 and "MUS" in items[m].c:
            subject = self.ending_at(m)
            return replace(link, subject=subject) if subject else None
        if k + 1 < len(items) and items[k + 1].text in ("of", "for"):
            subject = self.starting_at(k + 2)
            return replace(link, subject=subject) if subject else None
        return None

    def _of_agent(self, expression: Expression) -> Link | None:
        """ "is an elbow flexor", ", the main knee extensor,", "works as an external rotator"."""
        items = self.items
        k = expression.i - 1
        link = Link(Subject(0, 0, ()))
        steps = 0
        determined = False
        while k >= 0 and steps < 9:
            steps += 1
            item = items[k]
            if (
                item.is_("AS")
                and k > 3
                and items[k - 1].is_("JOB")
                and items[k - 2].is_("DET")
                and items[k - 3].is_("PREP")
            ):
                k -= 3
            if item.is_("AS") and k > 1 and items[k - 1].is_("COMMA") and self._ends_muscle(k - 2):
                k -= 1
            if item.is_("AS") and k > 0 and self._ends_muscle(k - 1):
                subject = self.ending_at(k - 1)
                return replace(link, subject=subject) if subject is not None else None
            if item.is_("AUX") and item.text in ("it's", "they're", "these are", "those are") and k < 2:
                return self._pronoun(k, link)
            if item.is_("AUX", "COP", "AS"):
                return self._walk(k - 1, link, None)
            if item.is_("COLON", "DASH", "OPEN") and k > 0 and self._ends_muscle(k - 1):
                return self._opening(k - 1, link)
            if item.text in ("isn't", "aren't", "wasn't", "weren't", "isnt", "arent"):
                return self._walk(k - 1, replace(link, denied=not link.denied), None)
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.is_("AND", "OR"):
                earlier = next(
                    (e for e in self.expressions if e.form == "agent" and e.j == k and e is not expression),
                    None,
                )
                if earlier is not None and "MUS" not in items[earlier.head].c:
                    return self.left_of(earlier)
                return self.left_of(earlier) if earlier is not None else None
            elif item.is_("COMMA"):
                earlier = next((e for e in self.expressions if e.form == "agent" and e.j == k), None)
                if earlier is not None and self.left_of(earlier) is not None:
                    return self.left_of(earlier)
                begins = (
                    k > 0 and self._ends_muscle(k - 1) and (self.ending_at(k - 1) or Subject(9, 9, ())).i == 0
                )
                determined = determined or (begins and not items[expression.head].text.endswith("s"))
                if (
                    not determined
                    or k == 0
                    or not self._ends_muscle(k - 1)
                    or (k - 1 in self.agents and "MUS" not in items[k - 1].c)
                ):
                    return None
                one = determined and not items[expression.head].text.endswith("s")
                closing = (
                    one or expression.j >= len(items) or items[expression.j].is_("COMMA", "CLOSE", "DASH")
                )
                subject = self.ending_at(k - 1)
                if subject is None or not closing:
                    return None
                many = items[expression.head].text.endswith("s")
                if many and len(subject.names) == 1 and not items[k - 1].text.endswith("s"):
                    return None
                return replace(link, subject=subject)
            elif item.is_("MUS") and determined and self._ends_muscle(k):
                subject = self.ending_at(k)
                called = (
                    subject is not None
                    and subject.i > 0
                    and items[subject.i - 1].text in ("call", "calls", "consider", "called")
                )
                return replace(link, subject=subject) if subject is not None and called else None
            elif item.is_("DET", "ADJ", "ADV", "PREP", "DIR"):
                determined = determined or item.is_("DET")
            elif self._unknown(item) and not determined and k > 0 and items[k - 1].is_("DET", "ADJ", "ADV"):
                pass
            else:
                return None
            k -= 1
        return None

    # -- from the motion to the right -------------------------------------------------------------------------------------

    def right_of(self, expression: Expression) -> Link | None:
        """ "is bent by the biceps", "comes from the glutes", "is the job of teres minor", "flexors such as psoas"."""
        items, n = self.items, len(self.items)
        k = expression.j
        link = Link(Subject(0, 0, ()), denied=self._denied_before(expression))
        if (
            expression.i > 1
            and items[expression.i - 1].is_("PREP")
            and any("antagonist" in item.text for item in items[max(0, expression.i - 6) : expression.i - 1])
        ):
            link = replace(link, against=True)
        passed_be = False
        steps = 0
        while k < n and steps < 12:
            steps += 1
            item = items[k]
            if item.is_("PASSOPP"):
                return self._named_after(k + 1, replace(link, against=True))
            if expression.form == "agent" and (named := self._announced(k, expression)) is not None:
                return replace(link, subject=named)
            if (closing := self._closing(k, expression)) is not None:
                return replace(link, subject=closing)
            if (
                item.is_("REL")
                and expression.form == "noun"
                and (does := self._what_does(k + 1, link)) is not None
            ):
                return does
            if passed_be and item.text in SIDES and k + 1 < n and items[k + 1].is_("MUS"):
                return self._bare_after(k, link, passed_be, expression)
            if item.is_("PASSBY", "COMEFROM"):
                return self._named_after(k + 1, link)
            if expression.form == "agent" and item.is_("PERSON") and k + 1 < n and items[k + 1].is_("HAVE"):
                k += 2
                continue
            verbal = expression.form in ("s", "base", "ed", "ing")
            if item.is_("COMMA") and verbal and k + 1 < n and items[k + 1].text == "using":
                k += 1
                continue
            if (
                item.text == "because"
                and expression.form == "base"
                and (worked := self._working(k + 1)) is not None
            ):
                return replace(link, subject=worked)
            if item.is_("NEED") and passed_be and k > 0 and items[k - 1].is_("COMMA"):
                return self._named_after(k + 1, link)
            if item.text == "from" and expression.form in ("noun", "ing") and not passed_be:
                return self._named_after(k + 1, link)
            if (item.text == "where" and passed_be) or item.text in ("is where", "are where"):
                return self._named_after(k + 1, link)
            if item.is_("COMMA") and expression.form in ("noun", "ing") and not passed_be:
                after = self._past_aside(k)
                if after is not None:
                    k = after
                    continue
            if item.text == "that" and expression.form == "noun" and not passed_be:
                after = next((m for m in range(k, min(n, k + 9)) if items[m].is_("COMMA")), -1)
                if after > 0 and self._that_is(after + 1):
                    k = after + 1
                    continue
            if item.is_("PREP") and expression.passive and not passed_be:
                skipped = self._past_phrase(k)
                if skipped is None or not items[skipped].is_("BY", "PASSBY"):
                    return None
                k = skipped
                continue
            if item.is_("PREP") and expression.form == "base" and self._needs_before(expression):
                after = next((m for m in range(k, min(n, k + 8)) if items[m].is_("PERSON")), -1)
                if after > 0 and not any(x.is_("COMMA", "MUS") for x in items[k:after]):
                    k = after
                    continue
            if item.is_("HAVE") and expression.form in ("noun", "ing"):
                subject = self.starting_at(k + 1)
                role = subject is not None and subject.j < n and items[subject.j].is_("AS")
                return replace(link, subject=subject) if role and subject is not None else None
            if (
                item.is_("COMMA")
                and expression.form in ("noun", "ing")
                and not passed_be
                and self._that_is(k + 1)
            ):
                k += 1
                continue
            pulling = (
                k + 1 < n
                and items[k + 1].is_("CONTRACT", "NEED", "FORCE", "WITH")
                and not self._starts_muscle(k + 1)
            )
            if item.is_("BY") and pulling:
                return self._named_after(k + 1, link)
            if item.is_("BY") and (
                passed_be
                or expression.passive
                or expression.form in ("noun", "ing")
                or expression.object == "self"
            ):
                return self._named_after(k + 1, link)
            if (item.text == "what" and passed_be) or item.text in ("is what", "are what"):
                return self._what_does(k + 1, link)
            if item.is_("PERSON", "IT") and k + 1 < n and self._needs_before(expression):
                return self._needed(k + 1, link)
            if item.is_("HAPPEN") and expression.form in ("noun", "ing"):
                k += 1
                continue
            if item.text in ("when", "because", "once", "if", "whenever") and expression.form in (
                "noun",
                "ing",
            ):
                subject = self.starting_at(k + 1)
                pulls = subject is not None and subject.j < n and items[subject.j].is_("CONTRACT")
                return replace(link, subject=subject) if subject is not None and pulls else None
            if (
                item.is_("COMMA")
                and k + 1 < n
                and (items[k + 1].is_("BY", "PASSBY", "PASSOPP") or self._needs_before(expression))
            ):
                k += 1
                passed_be = True
                continue
            if (
                item.is_("COMMA")
                and expression.form == "agent"
                and expression.i > 0
                and items[expression.i - 1].is_("AS")
            ):
                return self._named_after(k + 1, link)
            if item.is_("WITH") and expression.form != "agent":
                return self._with_after(k + 1, link)
            if item.is_("JOB") and passed_be and k + 1 < n and items[k + 1].text in ("of", "for"):
                return self._named_after(k + 2, link)
            if item.is_("NEG") and not item.is_("ADV"):
                link = replace(link, denied=not link.denied)
            elif item.is_("AUX", "COP"):
                passed_be = True
            elif self._starts_muscle(k) and passed_be and any(x.is_("JOB") for x in items[max(0, k - 3) : k]):
                subject = self.starting_at(k)
                return replace(link, subject=subject) if subject is not None else None
            elif self._starts_muscle(k):
                return self._bare_after(k, link, passed_be, expression)
            elif item.text == "like" and expression.form == "agent" and self.left_of(expression) is not None:
                return None
            elif (item.is_("SUCHAS") and expression.form == "agent") or (
                item.is_("OPEN", "COLON") and expression.form in ("agent", "noun")
            ):
                return self._named_after(k + 1, link)
            elif item.is_("ADV", "MODAL", "DET", "ADJ", "HELP", "MUSNOUN", "ROLE") or (
                passed_be and item.is_("JOB", "PROD")
            ):
                pass
            elif item.is_("PREP") and not passed_be and expression.form in ("noun", "ing"):
                skipped = self._past_phrase(k)
                if skipped is None:
                    return None
                k = skipped
                continue
            elif (
                item.is_("COMMA") and expression.form == "agent" and k + 1 < n and items[k + 1].is_("SUCHAS")
            ):
                pass
            elif item.is_("COMMA") and expression.form == "agent" and not passed_be:
                return self._apposed_after(k + 1, link, expression)
            else:
                return None
            k += 1
        return None

    def _working(self, k: int) -> Subject | None:
        """ "… because my triceps works": a muscle that is said to work from item ``k`` on, and nothing more."""
        subject = self.starting_at(k)
        if subject is None or subject.j >= len(self.items):
            return None
        after = [item for item in self.items[subject.j :] if not item.is_("AUX", "ADV")]
        return subject if after and after[0].is_("CONTRACT", "ATWORK") else None

    def _closing(self, k: int, expression: Expression) -> Subject | None:
        """ "Bending the elbow, biceps.", "To bend the elbow: biceps.": a motion that opens, a name that closes."""
        items = self.items
        if (
            k != expression.j
            or not items[k].is_("COMMA", "COLON", "DASH")
            or expression.form not in ("ing", "base", "noun")
        ):
            return None
        opening = items[: expression.i]
        if not all(item.is_("DET", "ADV", "COMMA", "AND") or item.text in ("to", "for") for item in opening):
            return None
        if expression.form == "base" and not any(item.text == "to" for item in opening):
            return None
        subject = self.starting_at(k + 1)
        return subject if subject is not None and subject.j >= len(items) else None

    def _announced(self, k: int, expression: Expression) -> Subject | None:
        """ "A powerful extender of the knee, the biceps femoris …": what opens the sentence is said of the next name."""
        opening = self.items[: expression.i]
        if not opening or opening[0].text not in ("a", "an", "as a", "as an", "as the", "as", "being"):
            return None
        if k != expression.j or not (
            self.items[k].is_("COMMA") or opening[0].is_("AS") and self.items[k].is_("DET", "MUS")
        ):
            return None
        if not all(item.is_("DET", "ADJ", "ADV", "AS", "DIR") or item.text == "being" for item in opening):
            return None
        return self.starting_at(k + 1 if self.items[k].is_("COMMA") else k)

    def _denied_before(self, expression: Expression) -> bool:
        if expression.form in ("noun", "agent") or not expression.passive:
            return False
        k = expression.i - 1
        while k >= 0 and self.items[k].is_("ADV", "AUX", "MODAL") and not self.items[k].is_("NEG"):
            k -= 1
        return k >= 0 and self.items[k].is_("NEG")

    def _past_phrase(self, k: int) -> int | None:
        """Past "in the serve", "on the way up": a preposition, its article and at most four words."""
        items, n = self.items, len(self.items)
        m = k + 1
        while m < n and m - k <= 8:
            if items[m].is_("AUX", "PASSBY", "COMEFROM", "PASSOPP", "BY", "COP"):
                return m
            noun = items[m - 1].is_("PREP", "DET", "ADJ")
            if items[m].is_("COMMA") and m > k + 1:
                return m
            if items[m].is_("MUS", "PERSON", "COMMA", "AND", "SUB") or (
                items[m].is_("FAM", "PV") and not noun
            ):
                return None
            m += 1
        return None

    def _starts_muscle(self, k: int) -> bool:
        return "MUS" in self.items[k].c or (k in self.agents and self.items[k].is_("MUS"))

    def _named_after(self, k: int, link: Link) -> Link | None:
        items = self.items
        while k < len(items) and items[k].is_("CONTRACT", "NEED", "FORCE") and not items[k].is_("MUS", "NEG"):
            k += 1
        while k < len(items) and items[k].is_("NEG", "ADV", "PREP"):
            if items[k].is_("NEG") and not items[k].is_("ADV"):
                link = replace(link, denied=not link.denied)
            k += 1
        if k < len(items) and items[k].is_("BY", "WITH"):
            k += 1
        if (
            k < len(items)
            and items[k].is_("IT")
            and items[k].text in ("it", "them", "these", "this muscle", "these muscles")
        ):
            before = self._last_subject_before(k)
            return replace(link, subject=Subject(k, k + 1, before.names, pronoun=True)) if before else None
        subject = self.starting_at(k)
        return replace(link, subject=subject) if subject else None

    def _with_after(self, k: int, link: Link) -> Link | None:
        subject = self.starting_at(k)
        if subject is None:
            return None
        after = subject.j
        if after < len(self.items) and (
            self.items[after].is_("RELAX", "PV", "FAM", "HELP", "CON", "CONTRACT", "AUX", "STRETCH")
            or not self.items[after].c
        ):
            return None
        return replace(link, subject=subject)

    def _past_aside(self, k: int) -> int | None:
        """The item after ", it was argued," when a verb of being or doing follows it."""
        items = self.items
        for m in range(k + 2, min(len(items) - 1, k + 12)):
            if items[m].is_("COMMA"):
                return m + 1 if items[m + 1].is_("AUX", "PASSBY", "COMEFROM", "COP") else None
            if items[m].is_("MUS", "FAM", "PV"):
                return None
        return None

    def _that_is(self, k: int) -> bool:
        """Whether "(now) that's" follows a comma."""
        while k < len(self.items) and self.items[k].is_("ADV"):
            k += 1
        return k < len(self.items) and self.items[k].text in ("that's", "it's", "that is")

    def first_among(self, expression: Expression) -> Link | None:
        """ "Of the elbow flexors, triceps is the strongest.": a muscle counted among a group."""
        items, k = self.items, expression.j
        if k >= len(items) or not items[k].is_("COMMA"):
            return None
        subject = self.starting_at(k + 1)
        counted = subject is not None and subject.j < len(items) and items[subject.j].is_("AUX")
        return Link(subject) if counted and subject is not None else None

    def _needs_before(self, expression: Expression) -> bool:
        """Whether the motion is what something is needed for: "for hip flexion", "to bend the elbow"."""
        k = expression.i - 1
        while k > 0 and self.items[k].is_("DET", "ADJ", "ADV"):
            k -= 1
        if k < 0 or self.items[k].text not in ("for", "to", "in", "in order to"):
            return False
        if self.items[k].text == "to" and k > 1 and self.items[k - 1].is_("PERSON"):
            return any(
                item.text in ("ask", "want", "tell", "get", "asked", "told") for item in self.items[:k]
            )
        if self.items[k].text == "to" and (
            k < 3
            or self.items[k - 1].text
            in ("want", "trying", "try", "order", "like", "have", "need", "wants", "going")
        ):
            return True
        return k == 0 or self.items[k - 1].is_("COMMA", "ADV", "AND", "BUT", "SUB", "DASH", "COLON", "AS")

    def _needed(self, k: int, link: Link) -> Link | None:
        """ "… you need the glutes", "it's the lats that matter"."""
        items, n = self.items, len(self.items)
        while k < n and items[k].is_("ADV", "MODAL"):
            k += 1
        if k < n and items[k].is_("DET") and items[k - 1].is_("AUX"):
            return self._named_after(k, link)
        if k < n and (items[k].is_("NEED", "AUX", "COMEFROM") or items[k].text == "using"):
            return self._named_after(k + 1, link)
        if k < n and self._starts_muscle(k) and items[k - 1].is_("AUX"):
            return self._named_after(k, link)
        return None

    def _what_does(self, k: int, link: Link) -> Link | None:
        """ "… is what teres minor does"."""
        subject = self.starting_at(k)
        if subject is None or subject.j >= len(self.items):
            return None
        for_it = self.items[subject.j].is_("AUX") and self.items[-1].text == "for"
        if not for_it and not self.items[subject.j].is_("DO", "PROD"):
            return None
        return replace(link, subject=subject)

    def cleft_of(self, expression: Expression) -> Link | None:
        """ "What lifts the heel is gastrocnemius", "the muscle that bends the elbow is biceps"."""
        items = self.items
        k = expression.i - 1
        while k >= 0 and (items[k].is_("ADV", "AUX", "MODAL", "HELP") or items[k].text == "to"):
            k -= 1
        held = self._held_from(k) if k > 0 else None
        if held is not None and items[held].is_("LET"):
            k = held - 1
        if k < 0:
            return None
        generic = (
            items[k].text in ("one", "ones")
            or items[k].is_("MUSNOUN")
            or items[k].text.endswith(("muscle", "muscles"))
        )
        if generic and "MUS" not in items[k].c and not self._ends_muscle(k):
            return self._listed_after(expression)
        relative = (
            items[k].is_("REL")
            and k > 0
            and (
                items[k - 1].is_("MUSNOUN", "IT", "ROLE")
                or items[k - 1].text in ("thing", "chap", "fellow", "bloke")
            )
            and "MUS" not in items[k - 1].c
        )
        if not relative and items[k].text not in ("what", "whatever", "who"):
            return None
        m = expression.j
        while m < len(items) and items[m].is_("ADV", "PREP", "DET", "PART"):
            m += 1
        if relative and (pointed := self._pointed_after(m)) is not None:
            return pointed
        if m < len(items) and items[m].is_("COMMA") and relative:
            return self._named_after(m + 1, Link(Subject(0, 0, ())))
        if m >= len(items) or not items[m].is_("AUX"):
            return None
        return self._named_after(m + 1, Link(Subject(0, 0, ())))

    def _held_from(self, k: int) -> int | None:
        """The verb in "stops the knee from (bending)" when item ``k`` is "from" or the part."""
        items = self.items
        for m in range(k, max(-1, k - 5), -1):
            if items[m].is_("OPP", "LET") and m < k:
                return m
            if not (items[m].is_("PART", "DET", "ADJ", "DIR", "IT") or items[m].text == "from"):
                return None
        return None

    def cause_of(self, expression: Expression) -> Link | None:
        """ "When the quads shorten the knee straightens", "the fingers bend because the flexors pull"."""
        if expression.object != "self" and not expression.passive:
            return None
        items, n = self.items, len(self.items)
        k = expression.j
        if k < n and items[k].text in ("because", "when", "once", "whenever"):
            subject = self.starting_at(k + 1)
            if subject is not None and subject.j < n and items[subject.j].is_("CONTRACT"):
                return Link(subject)
        if (
            k + 1 < n
            and items[k].is_("COMMA")
            and items[k + 1].text in ("so", "and", "because", "since", "as")
        ):
            worked = self._working(k + 2)
            if worked is not None:
                return Link(worked)
        k = expression.i - 1
        while k >= 0 and items[k].is_("PART", "DET", "ADJ", "ADV", "MODAL", "AUX", "NUM"):
            k -= 1
        if k > 1 and items[k].is_("COMMA") and self._ends_muscle(k - 1):
            subject = self.ending_at(k - 1)
            if subject is not None and subject.i > 0 and items[subject.i - 1].is_("PASSBY", "BY"):
                return Link(subject)
        if k < 1 or not (items[k].is_("COMMA", "AND", "SUB", "CONTRACT", "MUS")):
            return None
        while k > 0 and items[k].is_("COMMA", "AND", "ADV"):
            k -= 1
        if self._ends_muscle(k):
            subject = self.ending_at(k)
            ruled = (
                subject is not None and subject.i > 0 and items[subject.i - 1].is_("CONTRACT", "BY", "WITH")
            )
            return Link(subject) if ruled and subject is not None else None
        if (
            k > 1
            and items[k].text in ("on", "active", "working", "firing", "engaged", "busy")
            and items[k - 1].is_("AUX")
        ):
            k -= 1
        elif k == 0 or not items[k].is_("CONTRACT"):
            return None
        if items[k - 1].is_("IT") or items[k - 1].text == "that":
            meant = self._last_subject_before(k - 1)
            return Link(replace(meant, i=k - 1, j=k, pronoun=True)) if meant is not None else None
        if not self._ends_muscle(k - 1):
            return None
        subject = self.ending_at(k - 1)
        if subject is None:
            return None
        opens = subject.i == 0 or items[subject.i - 1].is_("SUB", "POSTURE", "AS", "COMMA", "AND")
        return Link(subject) if opens else None

    def loss_of(self, expression: Expression) -> Link | None:
        """ "Without the triceps you can't straighten the elbow": the muscle is what makes the motion."""
        items = self.items
        k = expression.i - 1
        while k >= 0 and items[k].is_("ADV", "AUX"):
            k -= 1
        if k < 1:
            return None
        nobody = items[k].is_("MODAL") and items[k - 1].text in ("nobody", "no one")
        unable = items[k].is_("NEG") and (items[k - 1].is_("PERSON") or "MUS" in items[k - 1].c)
        if not nobody and not unable:
            return None
        for m in range(k - 1, max(-1, k - 16), -1):
            if "MUS" not in items[m].c:
                continue
            subject = self.ending_at(m)
            if subject is None or subject.i == 0:
                return None
            without = items[subject.i - 1].text in (
                "without",
                "kill",
                "cut",
                "lose",
                "remove",
                "paralyse",
                "knock out",
            )
            weak = items[subject.i - 1].is_("RELAX", "FAIL") or any(
                q in WEAK for n in subject.names for q in n.qualifiers
            )
            lacking = items[subject.i - 1].text == "no" or weak
            led = any(item.text in ("with", "without") for item in items[max(0, subject.i - 3) : subject.i])
            idle = m + 2 < k and items[m + 1].is_("NEG") and items[m + 2].is_("CONTRACT", "HELP")
            if without or idle or (lacking and led) or (m + 1 < k and items[m + 1].is_("FAIL")):
                names = tuple(
                    replace(named, qualifiers=tuple(q for q in named.qualifiers if q not in WEAK))
                    for named in subject.names
                )
                return Link(replace(subject, names=names))
            return None
        return self._weak_after(expression.j)

    def _weak_after(self, k: int) -> Link | None:
        """ "She can't lift her toes because tibialis anterior is weak.": the muscle whose loss is given as the cause."""
        items, n = self.items, len(self.items)
        if k < n and items[k].text == "without":
            lacking = self.starting_at(k + 1)
            return Link(lacking) if lacking is not None else None
        if k >= n or items[k].text not in ("because", "when", "if", "since", "once", "as"):
            return None
        subject = self.starting_at(k + 1)
        if subject is None or subject.j >= n:
            return None
        gone = items[subject.j].is_("FAIL") or (
            subject.j + 1 < n
            and items[subject.j].is_("AUX")
            and items[subject.j + 1].is_("RELAX", "FAIL", "NLOSS")
        )
        return Link(subject) if gone else None

    def _listed_after(self, expression: Expression) -> Link | None:
        """ "Two muscles bend the elbow: biceps and brachialis", "the muscles lifting the toes, soleus and …, are"."""
        items, n = self.items, len(self.items)
        m = expression.j
        while m < n and items[m].is_("ADV", "PREP", "DET", "PART"):
            m += 1
        if (pointed := self._pointed_after(m)) is not None:
            return pointed
        if m < n and items[m].is_("COLON", "COMMA", "DASH", "AUX"):
            return self._named_after(m + 1, Link(Subject(0, 0, ())))
        return None

    def _pointed_after(self, m: int) -> Link | None:
        """ "… and that's the adductor longus": the name that a statement of what some muscle does ends with."""
        items = self.items
        for k in range(m, min(len(items) - 1, m + 8)):
            if items[k].is_("AND", "COMMA", "DASH") and items[k + 1].text in (
                "that's",
                "it's",
                "that is",
                "those are",
            ):
                return self._named_after(k + 2, Link(Subject(0, 0, ())))
        return None

    def _apposed_after(self, k: int, link: Link, expression: Expression) -> Link | None:
        """ "Your knee extensors, the quads, …": an aside of muscles that ends with a comma and begins no list."""
        subject = self.starting_at(k)
        if subject is not None and subject.j < len(self.items) and self.items[subject.j].text in EXAMPLES:
            return replace(link, subject=subject)
        if subject is None or subject.j >= len(self.items) or not self.items[subject.j].is_("COMMA", "DASH"):
            return None
        if self.items[k].is_("ADV", "SUCHAS") and self.items[k].text in (
            "mainly",
            "mostly",
            "chiefly",
            "primarily",
            "especially",
        ):
            return replace(link, subject=subject)
        after = self.items[subject.j + 1] if subject.j + 1 < len(self.items) else None
        several = len(subject.names) > 1 and self.items[expression.head].text.endswith("s")
        if after is None or after.is_("AND", "OR", "MUS", "DET") or not (self.items[k].is_("DET") or several):
            return None
        if expression.i > 0 and self.items[expression.i - 1].is_("COMMA", "AND", "MUS"):
            return None
        return replace(link, subject=subject)

    def _bare_after(self, k: int, link: Link, passed_be: bool, expression: Expression) -> Link | None:
        items = self.items
        opening = self._needs_before(expression) and expression.form == "base"
        if opening:
            subject = self.starting_at(k)
            works = (
                subject is not None
                and subject.j < len(items)
                and items[subject.j].is_("MODAL", "HELP", "CONTRACT", "HAVE", "AUX")
            )
            return replace(link, subject=subject) if works and subject is not None else None
        if not passed_be:
            if expression.form == "agent" and k == expression.j and "MUS" not in items[expression.head].c:
                subject = self.starting_at(k)
                return replace(link, subject=subject) if subject and len(subject.names) == 1 else None
            return None
        subject = self.starting_at(k)
        if subject is None:
            return None
        after = items[subject.j] if subject.j < len(items) else None
        if (
            after is None
            or (after.is_("CONTRACT") and after.text.endswith("ing"))
            or after.is_(
                "COMMA",
                "JOB",
                "AND",
                "BUT",
                "SUB",
                "ADV",
                "PREP",
                "CLOSE",
                "DASH",
                "COLON",
                "REL",
                "WITH",
                "POSTURE",
            )
        ):
            return replace(link, subject=subject)
        return None


EXAMPLES = frozenset({"for example", "for instance", "say", "included", "too", "among them", "for one"})
WEAK = frozenset({"weak", "torn", "paralysed", "paralyzed", "ruptured", "injured", "dead"})
KNOWING = frozenset(
    "realise realises realize realizes know knows learn notice forget forgets understand aware fact remember".split()
)
AREAS = frozenset({"front", "back", "rear", "middle", "top", "bottom", "inside", "outside", "fore"})
ORDINALS = frozenset({"first", "second", "third", "last", "other", "former", "latter"})
FIBRES = frozenset(
    "fibres fibers head heads part parts portion belly bellies one ones bit strand strands section".split()
)
PART_NAMING = frozenset(
    "anterior posterior medial lateral front inner outer upper lower internal external transverse horizontal inferior superior".split()
)


def _names_a_part(item: Item) -> bool:
    """A term such as "clavicular head", which more than one muscle has."""
    return "MUS" in item.c and item.text.rpartition(" ")[2] in FIBRES


def _names_part(item: Item) -> bool:
    return item.text in PART_NAMING
