"""Motions in a sentence: "flexes the hip", "external rotation of the shoulder", "turns the palm up", "knee extensor".

Technical words are read by family and direction, plain words by a table of verb, part of the body and direction. Each
expression holds the (joint, motion) pairs that it may mean; several pairs are alternatives ("lifts the arm": flexion or
abduction), never a sum.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from anatomy.claims.inflection import Form
from anatomy.claims.items import Item
from anatomy.claims.lexicon import Lexicon, Pair

ROTATIONS = (
    "internal rotation",
    "external rotation",
    "rotation same side",
    "rotation opposite side",
    "upward rotation",
    "downward rotation",
)
MOVERS = ("move", "take", "bring", "pull", "lift", "swing", "draw", "push", "raise", "go")
BODY = frozenset({"you", "him", "her", "me", "us", "yourself", "the body", "himself", "herself"})
SPINE_TURNS = ("rotation same side", "rotation opposite side")
MANNER = frozenset(
    [
        "tight",
        "close",
        "flat",
        "snug",
        "tightly",
        "closely",
        "firmly",
        "hard",
        "right",
        "clean",
        "nearer",
        "closer",
        "tidily",
        "neatly",
    ]
)
OPENING = frozenset({"spread", "fan", "splay", "part", "separate"})
SETTLED = frozenset(
    [
        "bend",
        "curl",
        "fold",
        "straighten",
        "close",
        "open",
        "spread",
        "shrug",
        "clench",
        "squeeze",
        "uncurl",
        "unbend",
        "arch",
    ]
)
"""Verbs that say the motion by themselves, wherever the part goes."""
NEUTRAL = frozenset(
    [
        "opposed",
        "chest",
        "face",
        "body",
        "upperarm",
        "forearm",
        "buttock",
        "in",
        "through",
        "over",
        "under",
        "straight",
        "level",
    ]
)
AT = frozenset({"at", "in", "of", "around", "about", "on", "through"})


@dataclass
class Expression:
    """One motion said in the items ``i`` to ``j`` (half-open), its head word at ``head``."""

    head: int
    i: int
    j: int
    form: Form
    pairs: tuple[Pair, ...]
    parts: tuple[str, ...] = ()
    object: str = ""
    passive: bool = False
    directions: tuple[str, ...] = ()
    vague: bool = False
    turn: str = ""
    word: str = ""
    plain: bool = False
    object_at: tuple[int, int] = (0, 0)
    motions: tuple[str, ...] = field(default=())


class ExpressionReader:
    """Reads the motion expressions of one sentence's items."""

    def __init__(self, items: list[Item], lexicon: Lexicon, part: str = "") -> None:
        """``part`` is the part of the body that the sentence before named last: "it" may mean it."""
        self.items = items
        self.part = part
        self.lexicon = lexicon
        self.found: list[Expression] = []

    def read(self) -> list[Expression]:
        """Every motion expression, in order; coordinated ones share what only one of them names."""
        for place, item in enumerate(self.items):
            if "FAM" in item.c:
                self._technical(place, item)
            elif "PV" in item.c:
                if "DIR" in item.c and self.found and place < self.found[-1].j:
                    continue
                before = len(self.found)
                self._plain(place, item)
                if "CROSS" in item.c and len(self.found) == before:
                    self._crossed(place, item.c["CROSS"][1])
            elif "MOTN" in item.c:
                self._named(place, item)
            elif "AGT" in item.c:
                self._group_agent(place, item)
            elif "CROSS" in item.c:
                self._crossed(place, item.c["CROSS"][1])
            elif "PAGT" in item.c:
                self._plain_agent(place, item.c["PAGT"])
            elif "MOVE" in item.c:
                self._moved(place)
            elif "PART" in item.c:
                self._posed(place, item)
        self._share()
        return self.found

    # -- technical words ---------------------------------------------------------------------------------------------

    def _technical(self, place: int, item: Item) -> None:
        if "MUS" in item.c and not item.c.get("AGT"):
            return
        family, form = self._chosen(place, item.c["FAM"])
        if form in ("noun", "agent"):
            self._noun(place, family, form)
        else:
            self._verb(place, family, form)
        if "AGT" in item.c and not any(e.head == place for e in self.found):
            self._group_agent(place, item)

    def _chosen(self, place: int, readings: list[tuple[str, Form]]) -> tuple[str, Form]:
        """A word that may be noun or verb ("tilt") is a verb before an object and after no article."""
        if len(readings) == 1:
            return readings[0]
        items = self.items
        after = items[place + 1] if place + 1 < len(items) else None
        before = items[place - 1] if place else None
        acts = (
            after is not None
            and after.is_("DET", "PART", "IT", "ADV")
            and not (before is not None and before.is_("DET", "PART", "ADJ"))
        )
        wanted = [r for r in readings if (r[1] not in ("noun", "agent")) == acts]
        return (wanted or readings)[0]

    def _noun(self, place: int, family: str, form: Form) -> None:
        items = self.items
        directions, parts, left = self._modifiers(place)
        end = place + 1
        after, stop = self._of_part(end)
        if not parts and not after and left > 0 and self.items[left - 1].text in ("into", "to"):
            parts = [part for part in [self._moved_into(left - 2)] if part]
        if after:
            parts, end = (after, stop) if not parts or family == "rotate" else (parts, stop)
        if not directions and end < len(items) and (family, items[end].c.get("DIR")) in self.lexicon.families:
            directions, end = [items[end].c["DIR"]], end + 1
        turn = [d for d in directions if d in ("left", "right")]
        if not turn and form == "noun" and end < len(items) and items[end].c.get("DIR") in ("left", "right"):
            turn, end = [items[end].c["DIR"]], end + 1
        for direction in [d for d in directions if d not in turn] or [""]:
            self._add(
                place, left, end, form, family, [direction] if direction else [], parts, said=turn or None
            )

    def _modifiers(self, place: int) -> tuple[list[str], list[str], int]:
        """Directions and parts in front of a motion noun: "internal and external shoulder (rotation)"."""
        items = self.items
        directions: list[str] = []
        parts: list[str] = []
        left = k = place
        while k > 0:
            item = items[k - 1]
            if "PART" in item.c and not parts and not (item.c.get("DIR") == "back" and directions):
                parts = [item.c["PART"]]
            elif "DIR" in item.c and not item.is_("IT", "PREP"):
                directions.insert(0, item.c["DIR"])
            elif item.is_("AND", "OR") and directions and k > 1 and "DIR" in items[k - 2].c:
                pass
            elif item.is_("AND", "OR") and parts and k > 1 and "PART" in items[k - 2].c and not directions:
                parts = [items[k - 2].c["PART"], *parts]
                k -= 1
            elif item.is_("ADJ") and (parts or directions) is not None and not item.is_("DET"):
                k -= 1
                continue
            else:
                break
            k -= 1
            left = k
        return directions, parts, left

    def _of_part(self, k: int) -> tuple[list[str], int]:
        """ "of the hip", "at the hip and knee" from item ``k`` on."""
        items, n = self.items, len(self.items)
        if k >= n or items[k].text not in AT:
            return [], k
        k = self._past(k + 1, "DET", "ADJ")
        parts: list[str] = []
        while (
            k < n
            and "PART" in items[k].c
            and not (items[k].is_("DIR") and not parts and items[k - 1].text in AT)
        ):
            if k + 1 < n and items[k + 1].text in ("height", "level"):
                return [], k
            parts.append(items[k].c["PART"])
            k += 1
            if k < n and items[k].is_("AND", "OR", "COMMA"):
                ahead = self._past(k + 1, "AND", "OR", "DET", "ADJ")
                if ahead < n and "PART" in items[ahead].c and not self._acts(ahead + 1):
                    k = ahead
                    continue
            break
        return (parts, k) if parts else ([], k)

    def _acts(self, k: int) -> bool:
        k = self._past(k, "ADV")
        return k < len(self.items) and any(form in ("s", "ed") for _, form in self.items[k].c.get("FAM", ()))

    def _verb(self, place: int, family: str, form: Form) -> None:
        items = self.items
        directions: list[str] = []
        left = place
        k = place - 1
        while k >= 0 and items[k].is_("ADV", "DIR") and not items[k].is_("PART"):
            if "DIR" in items[k].c:
                directions.insert(0, items[k].c["DIR"])
                left = k
            k -= 1
        # "Rotates it outward and adducts": a direction goes with the verb after it only in a list of directions.
        while directions and left > 1 and items[left - 1].is_("AND", "OR") and "DIR" in items[left - 2].c:
            directions.insert(0, items[left - 2].c["DIR"])
            left -= 2
        parts, kind, after, end, span = self._object(place + 1, plain=family in ("rotate", "tilt"))
        agent_named = form == "ed" and not kind and self._done_by(left, end)
        described = parts and left > 0 and items[left - 1].is_("DET", "ADJ", "WITH", "PREP", "DIR")
        bare = form == "ed" and not agent_named and not self._is_passive(left)
        if bare and (described or not (kind or after)):
            return
        passive = form == "ed" and self._is_passive(left)
        if passive:
            parts, kind = self._part_before(left), "part"
        elif agent_named:
            parts, kind, passive = self._part_before(left), "part", True
        elif not kind and (not after or self._part_before(left)):
            own = self._part_before(left)
            if own:
                parts, kind = own, "self"
            else:
                shared = self._shared_object(end)
                if (
                    shared
                    and shared[1] == "part"
                    and self._pairs(shared[0], self._motions(family, directions, shared[0])[0])
                ):
                    parts, kind = shared[0], "part"
        elif kind == "it":
            meant = self._antecedent(place)
            if meant and self._pairs([meant], self._motions(family, [*directions, *after], [meant])[0]):
                parts = [meant]
        usable = [d for d in [*directions, *after] if (family, d) in self.lexicon.families]
        self._add(place, left, end, form, family, usable, parts, kind, passive, [*directions, *after], span)

    def _done_by(self, left: int, end: int) -> bool:
        """ "The wrist, extended by …", "a knee straightened by …": a participle between its part and its agent."""
        items = self.items
        by = end < len(items) and items[end].is_("BY", "PASSBY") and left > 0
        return by and bool(self._part_before(left - 1 if items[left - 1].is_("COMMA") else left))

    def _is_passive(self, left: int) -> bool:
        k = left - 1
        while k >= 0 and self.items[k].is_("ADV", "NEG") and not self.items[k].text.endswith("n't"):
            k -= 1
        if k < 0:
            return False
        item = self.items[k]
        contracted = "POSS" in item.c and item.is_("PART", "IT") and item.text.endswith("'s")
        held = item.text in ("kept", "held", "got", "finishes", "stays", "comes out", "remains") and k > 0
        return item.is_("AUX") or contracted or held or item.text in ("isn't", "aren't", "wasn't", "weren't")

    def _part_before(self, left: int) -> list[str]:
        items = self.items
        k = left - 1
        if k > 0 and items[k].is_("COMMA") and "PART" in items[k - 1].c:
            k -= 1
        while k >= 0 and (
            items[k].is_("ADV", "AUX", "MODAL", "NEG", "DO")
            or items[k].text in ("from", "kept", "held", "got", "finishes", "stays")
        ):
            k -= 1
        if k > 0 and items[k].is_("REL") and "PART" in items[k - 1].c:
            k -= 1
        if k > 2 and items[k].is_("COMMA"):
            opened = next((m for m in range(k - 1, max(0, k - 8), -1) if items[m].is_("COMMA")), 0)
            if opened and items[opened + 1].is_("PASSBY", "BY", "WITH", "REL"):
                k = opened - 1
        parts: list[str] = []
        while k >= 0 and "PART" in items[k].c and not items[k].is_("MUS"):
            parts.insert(0, items[k].c["PART"])
            if k > 1 and items[k - 1].is_("AND") and "PART" in items[k - 2].c:
                k -= 2
            elif k > 2 and items[k - 1].is_("DET") and items[k - 2].is_("AND") and "PART" in items[k - 3].c:
                k -= 3
            else:
                break
        return parts

    def _past(self, k: int, *classes: str) -> int:
        """The first item from ``k`` on that is none of these; a direction or a part is never passed over as an adverb."""
        items, n = self.items, len(self.items)
        while k < n and items[k].is_(*classes) and not items[k].is_("PART", "MUS"):
            if "DIR" in items[k].c and "ADJ" not in classes:
                break
            k += 1
        return k

    def _object(self, k: int, plain: bool) -> tuple[list[str], str, list[str], int, tuple[int, int]]:
        """What a verb acts on from item ``k``: parts, "part" or "it" or "", directions, where it ends, the object's items."""
        items, n = self.items, len(self.items)
        directions: list[str] = []
        start = k
        k = self._past(k, "ADV")
        while k < n and "DIR" in items[k].c and self._is_direction(k, plain):
            directions.append(items[k].c["DIR"])
            k = self._past(k + 1, "ADV")
        first = k
        if k < n and items[k].text == "of":
            k += 1
        k = self._past(k, "DET", "ADV") if not self._it_at(k) else k
        parts: list[str] = []
        kind = ""
        span = (0, 0)
        while (
            k < n
            and items[k].is_("ADJ", "DIR", "NUM")
            and not ("PART" in items[k].c and not self._adjective_before_part(k))
        ):
            k += 1
        while k + 1 < n and "POSS" in items[k].c and "PART" in items[k].c and items[k + 1].is_("PART"):
            k += 1
        if k < n and items[k].text in BODY and not self._acts(k + 1) and not self._finite_after(k + 1):
            kind, parts, k = "part", ["body"], k + 1
            span = (first, k)
        elif k < n and "PART" in items[k].c and not items[k].is_("MUS"):
            kind = "part"
            parts.append(items[k].c["PART"])
            k += 1
            while k < n and items[k].is_("AND", "OR", "COMMA"):
                ahead = self._past(k + 1, "AND", "OR", "DET", "ADJ")
                if (
                    ahead < n
                    and "PART" in items[ahead].c
                    and not items[ahead].is_("MUS")
                    and not self._acts(ahead + 1)
                    and not self._finite_after(ahead + 1)
                ):
                    parts.append(items[ahead].c["PART"])
                    k = ahead + 1
                else:
                    break
            if (
                parts[0] in ("hand", "forearm")
                and k + 1 < n
                and items[k].c.get("PART") == "palm"
                and "DIR" in items[k + 1].c
            ):
                parts, k = ["palm"], k + 1
            span = (first, k)
        elif self._it_at(first):
            kind, k = "it", first + 1
            span = (first, k)
        else:
            k = first
        end = k if kind or directions else start
        k = end
        while k < n:
            ahead = self._past(k, "ADV")
            if kind and ahead + 1 < n and items[ahead].text in MANNER and "DIR" in items[ahead + 1].c:
                ahead += 1
            if ahead < n and "DIR" in items[ahead].c and self._is_direction(ahead, True):
                directions.append(items[ahead].c["DIR"])
                end = k = ahead + 1
            elif (
                ahead < n
                and items[ahead].is_("AND", "COMMA")
                and directions
                and ahead + 1 < n
                and "DIR" in items[ahead + 1].c
                and ("PART" not in items[ahead + 1].c or items[ahead + 1].text == "back")
            ):
                k = ahead + 1
            else:
                break
        more, stop = self._of_part(end) if kind else ([], end)
        if more and parts and more[0] in ("knuckle", "fingertip") and parts[0] not in ("finger",):
            return parts, kind, directions, stop, span
        if more == ["shoulder"] and parts and parts[0] in ("arm", "elbow", "hand"):
            return parts, kind, directions, stop, span
        if more and end < n and items[end].text in ("at", "of", "in"):
            if items[end].text == "at" or (items[end].text == "in" and parts != more):
                parts = more
            end = stop
        if len(directions) > 1 and directions[0] == "back" and directions[1] != "side":
            directions = directions[1:]
        return parts, kind, directions, end, span

    def _finite_after(self, k: int) -> bool:
        k = self._past(k, "ADV")
        return k < len(self.items) and any(form in ("s",) for _, form in self.items[k].c.get("PV", ()))

    def _adjective_before_part(self, k: int) -> bool:
        return "DIR" in self.items[k].c and k + 1 < len(self.items) and "PART" in self.items[k + 1].c

    def _it_at(self, k: int) -> bool:
        if k >= len(self.items):
            return False
        item = self.items[k]
        if not item.is_("IT"):
            return False
        if item.text in ("it", "them", "itself"):
            return True
        return not (k + 1 < len(self.items) and self.items[k + 1].is_("PART", "MUS", "ADJ", "FAM"))

    def _is_direction(self, k: int, plain: bool) -> bool:
        """Whether a word that may be a direction, a preposition or a part is a direction here."""
        items, n = self.items, len(self.items)
        item = items[k]
        following = items[k + 1] if k + 1 < n else None
        if "PART" in item.c and k > 0 and items[k - 1].is_("DET"):
            return False
        if item.text in ("left", "right") and following is not None and following.is_("PART", "MUS"):
            return False
        if item.is_("PREP") or item.text in ("across", "behind", "inside"):
            if following is None:
                return True
            if following.is_("PLN", "NUM", "MVT", "FAM"):
                return False
            if following.is_("DET", "PART"):
                ahead = self._past(k + 1, "DET", "ADJ")
                return (
                    plain
                    and item.text == "in"
                    and ahead < n
                    and "PART" in items[ahead].c
                    and k > 0
                    and items[k - 1].is_("PV", "FAM")
                )
            return True
        return True

    # -- plain words -------------------------------------------------------------------------------------------------

    def _plain(self, place: int, item: Item) -> None:
        items = self.items
        verb, form = item.c["PV"][0]
        if item.is_("ADJ") and place + 1 < len(items) and items[place + 1].is_("PART"):
            return
        if "PREP" in item.c and form == "base" and place and items[place - 1].is_("COMMA", "DASH"):
            return
        parts, kind, directions, end, span = self._object(place + 1, plain=True)
        left = place
        passive = form == "ed" and self._is_passive(place)
        if (
            form == "ed"
            and not passive
            and not kind
            and directions
            and (end >= len(items) or items[end].is_("AUX", "COMEFROM", "COP", "COMMA", "PASSBY", "DASH"))
            and self._part_before(place)
        ):
            parts, kind, form = self._part_before(place), "part", "noun"
        elif form == "ed" and not passive and not kind and self._done_by(place, end):
            passive = True
        elif (
            form == "ed"
            and not passive
            and (not kind or (place > 0 and items[place - 1].is_("DET", "ADJ", "WITH")))
        ):
            return
        if passive:
            parts, kind = self._part_before(place), "part"
            if not parts and self._it_before(place):
                kind = "it"
        elif (
            kind == "part"
            and not directions
            and verb in ("go", "come", "swing", "fly", "roll", "pop")
            and place
        ):
            if "DIR" in items[place - 1].c and (place == 1 or not items[place - 2].is_("PART", "MUS", "DET")):
                directions, left, kind = [items[place - 1].c["DIR"]], place - 1, "self"
        elif not kind:
            own = self._part_before(left)
            shared = self._shared_object(end)
            if shared:
                parts, kind, _ = shared
            elif own:
                parts, kind = own, "self"
            elif (
                verb in ("bend", "straighten")
                and place > 0
                and items[place - 1].is_("MUS", "ADV", "MODAL", "REL", "IT")
            ):
                self._bare(place, end, verb, form, directions)
                return
            elif form == "base" and "DIR" in item.c:
                return
            elif form == "ing" and place and items[place - 1].is_("DET"):
                meant = self._antecedent(place)
                parts, kind, form = ([meant], "part", "noun") if meant else ([], "", form)
                said = next((e for e in reversed(self.found) if e.word == verb and e.parts), None)
                if said is not None and not directions:
                    parts, directions = list(said.parts), list(said.directions)
            elif directions and self._it_before(place) and not any(item.is_("MUS") for item in items[:place]):
                meant = self._antecedent(place)
                parts, kind = ([meant], "self") if meant else ([], "")
        pairs: list[Pair] = []
        turn = ""
        if kind in ("part", "self"):
            for part in parts:
                pairs += self._look_up(verb, part, directions)
            turn = next((d for d in directions if d in ("left", "right")), "")
            if turn and not pairs and verb not in ("turn", "rotate", "twist", "swivel", "swing"):
                pairs = [pair for part in parts for pair in self._look_up(verb, part, ["side"])]
            if turn and not pairs and verb in ("turn", "rotate", "twist", "swivel", "swing"):
                pairs = [
                    pair
                    for part in parts
                    for pair in self.lexicon.pairs(self.lexicon.joints_of(part), SPINE_TURNS)
                ]
        elif kind == "it":
            meant = self._antecedent(place)
            if verb in ("close", "shut") and not directions and any(e.word in OPENING for e in self.found):
                directions = ["together"]
            if meant:
                pairs += self._look_up(verb, meant, directions)
                parts = [meant] if pairs else []
            for part in () if pairs else sorted(self.lexicon.plain_parts.get(verb, ())):
                pairs += self._look_up(verb, part, directions, exact=True)
        else:
            pairs += self._look_up(verb, "@none", directions)
            turn = next((d for d in directions if d in ("left", "right")), "")
            if turn and not pairs and verb in ("turn", "rotate", "twist", "swivel", "look"):
                pairs = list(self.lexicon.pairs(self.lexicon.joints_of("spine"), sorted(SPINE_TURNS)))
        if not pairs and not (kind == "it" and not directions):
            return
        motions = tuple(dict.fromkeys(m for _, m in pairs))
        self.found.append(
            Expression(
                place,
                left,
                end,
                form,
                tuple(dict.fromkeys(pairs)),
                tuple(parts),
                kind,
                passive,
                tuple(directions),
                not pairs,
                turn,
                verb,
                True,
                span,
                motions,
            )
        )

    def _bare(self, place: int, end: int, verb: str, form: Form, directions: list[str]) -> None:
        """ "Quads straighten, hams bend": at whichever joint the muscle works."""
        motion = "flexion" if verb == "bend" else "extension"
        pairs = self.lexicon.all_pairs(motion)
        self.found.append(
            Expression(
                place,
                place,
                end,
                form,
                pairs,
                (),
                "",
                False,
                tuple(directions),
                False,
                "",
                verb,
                True,
                (0, 0),
                (motion,),
            )
        )

    def _shared_object(self, k: int) -> tuple[list[str], str, list[str]] | None:
        """ "bend and straighten the elbow": the object that the next verb names for both."""
        items, n = self.items, len(self.items)
        if k + 1 >= n or not items[k].is_("AND", "OR", "BUT"):
            return None
        k = self._past(k + 1, "ADV", "DET")
        while k < n and items[k].is_("MUS", "AND", "NEG"):
            k = self._past(k + 1, "DET", "ADV")
        if k < n and items[k].is_("DIR") and k + 1 < n and items[k + 1].is_("FAM"):
            k += 1
        if k >= n or not items[k].is_("PV", "FAM"):
            return None
        parts, kind, directions, _, _ = self._object(k + 1, plain=True)
        return (parts, kind, directions) if kind else None

    def _antecedent(self, place: int) -> str:
        """The part of the body that "it" stands for: the last one named before, here or in the sentence before."""
        for item in reversed(self.items[:place]):
            if "PART" in item.c and not item.is_("MUS", "DIR"):
                return str(item.c["PART"])
        return self.part

    def _it_before(self, place: int) -> bool:
        k = place - 1
        while k >= 0 and self.items[k].is_("ADV", "AUX", "MODAL", "NEG") and not self.items[k].is_("IT"):
            k -= 1
        return k >= 0 and self.items[k].is_("IT")

    def _look_up(self, verb: str, part: str, directions: list[str], exact: bool = False) -> list[Pair]:
        if part.startswith("joint:"):
            return self._at_joint(verb, part[6:], directions)
        table = self.lexicon.plain
        for direction in directions:
            found = table.get((verb, part, direction))
            if found is not None:
                return list(found)
        likes = self.lexicon.movers.get(verb, ())
        for direction in [d for d in directions if d not in ("left", "right")] if likes else ():
            for other in self._likes(likes):
                found = table.get((other, part, direction))
                if found is not None:
                    return list(found)
        if exact:
            return [] if directions else list(table.get((verb, part, ""), ()))
        if not directions:
            return self._look_up_bare(verb, part, likes)
        known = self.lexicon.plain_directions.get((verb, part), set())
        contrary = [d for d in directions if d not in ("up", "left", "right") or "" not in known]
        settled = verb in SETTLED and all(d in NEUTRAL for d in directions)
        if contrary and known != {""} and not settled:
            return []
        return list(table.get((verb, part, ""), ()))

    def _at_joint(self, verb: str, joint: str, directions: list[str]) -> list[Pair]:
        """What a plain verb means at one joint named in full: as of the part that moves there."""
        for part, joints in self.lexicon.part_joints.items():
            if joint in joints:
                found = [pair for pair in self._look_up(verb, part, directions) if pair[0] == joint]
                if found:
                    return found
        return []

    def _likes(self, likes: tuple[str, ...]) -> tuple[str, ...]:
        """The verbs whose motions a verb shares: every plain mover for one that is like "move", "lift" or "lower"."""
        return (*likes, *MOVERS) if {"move", "lift", "lower"} & set(likes) else likes

    def _look_up_bare(self, verb: str, part: str, likes: tuple[str, ...]) -> list[Pair]:
        """A verb without a direction: its own motion, or that of the verb it is like ("hoists" lifts)."""
        table = self.lexicon.plain
        for other in (verb, *(like for like in likes if like not in ("move", "turn"))):
            found = table.get((other, part, ""))
            if found is not None:
                return list(found)
        for other, direction in (("lift", "up"), ("lower", "down")):
            if other == verb or other in likes:
                for mover in MOVERS:
                    found = table.get((mover, part, direction))
                    if found is not None:
                        return list(found)
        return []

    def _crossed(self, place: int, form: Form) -> None:
        """ "Crosses the knee": said of a muscle that has any action there."""
        parts, kind, _, end, span = self._object(place + 1, plain=True)
        joints = [joint for part in parts for joint in self.lexicon.joints_of(part)]
        motions = [m.name for joint in joints for m in self.lexicon.vocabulary.motions_of(joint)]
        pairs = self.lexicon.pairs(joints, dict.fromkeys(motions))
        if kind == "part" and pairs:
            self.found.append(
                Expression(
                    place,
                    place,
                    end,
                    form,
                    pairs,
                    tuple(parts),
                    kind,
                    vague=False,
                    plain=True,
                    word="cross",
                    object_at=span,
                    motions=tuple(dict.fromkeys(motions)),
                )
            )

    def _plain_agent(self, place: int, verb: str) -> None:
        """ "A better elbow bender", "outward turners of the arm"."""
        directions, parts, left = self._modifiers(place)
        after, end = self._of_part(place + 1)
        pairs: list[Pair] = []
        for part in after or parts or sorted(self.lexicon.plain_parts.get(verb, ())):
            pairs += self._look_up(verb, part, directions, exact=not (after or parts))
        if not pairs or not (after or parts or directions):
            return
        motions = tuple(dict.fromkeys(m for _, m in pairs))
        kind = "part" if after or parts else ""
        self.found.append(
            Expression(
                place,
                left,
                end,
                "agent",
                tuple(dict.fromkeys(pairs)),
                tuple(after or parts),
                kind,
                directions=tuple(directions),
                plain=True,
                word=verb,
                motions=motions,
            )
        )

    def _moved_into(self, k: int) -> str:
        """The part in "powers the hip into (extension)" when item ``k`` stands before "into"."""
        while k >= 0 and self.items[k].is_("DET", "ADJ", "PART"):
            if "PART" in self.items[k].c:
                return str(self.items[k].c["PART"])
            k -= 1
        return ""

    def _moved(self, place: int) -> None:
        """ "The upward movement of the foot", "that movement of the arm across the body"."""
        items, n = self.items, len(self.items)
        directions, parts, left = self._modifiers(place)
        after, end = self._of_part(place + 1)
        while end < n and "DIR" in items[end].c and "PART" not in items[end].c:
            directions, end = [*directions, items[end].c["DIR"]], end + 1
        for part in after or parts:
            for verb in ("lift", "move", "bring", "turn", "pull", "take") if directions else ():
                pairs = self._look_up(verb, part, directions)
                if pairs:
                    motions = tuple(dict.fromkeys(m for _, m in pairs))
                    self.found.append(
                        Expression(
                            place,
                            left,
                            end,
                            "noun",
                            tuple(pairs),
                            (part,),
                            "part",
                            directions=tuple(directions),
                            plain=True,
                            word=verb,
                            motions=motions,
                        )
                    )
                    return

    def _posed(self, place: int, item: Item) -> None:
        """ "Palm down: …", "elbow straight, that's …": a motion named by where the part ends up."""
        items, n = self.items, len(self.items)
        start = place - 1 if place and items[place - 1].is_("DET") else place
        if (
            start
            and not items[start - 1].is_("COMMA", "COLON", "DASH", "SUB", "AND")
            and items[start - 1].text not in ("so", "then")
        ):
            return
        k = place + 1
        while k < n and (
            items[k].is_("AUX", "ADV") or items[k].text in ("ends up", "stays", "comes out", "goes")
        ):
            k += 1
        directions: list[str] = []
        while k < n and "DIR" in items[k].c and not (items[k].text == "straight" and not directions):
            directions.append(items[k].c["DIR"])
            k += 1
        said = items[k].text if k < n else ""
        motion = {"straight": "extension", "bent": "flexion"}.get(said, "") if not directions else ""
        k += 1 if motion else 0
        if not (directions or motion) or (k < n and not items[k].is_("COMMA", "COLON", "DASH")):
            return
        part = item.c["PART"]
        pairs: list[Pair] = list(self.lexicon.pairs(self.lexicon.joints_of(part), [motion])) if motion else []
        for verb in ("turn", "lift", "bring", "pull", "take") if not pairs else ():
            pairs = self._look_up(verb, part, directions)
            if pairs:
                break
        if pairs:
            motions = tuple(dict.fromkeys(m for _, m in pairs))
            self.found.append(
                Expression(
                    place,
                    start,
                    k,
                    "noun",
                    tuple(pairs),
                    (part,),
                    "part",
                    directions=tuple(directions),
                    plain=True,
                    word="turn",
                    motions=motions,
                )
            )

    # -- names and groups ----------------------------------------------------------------------------------------------

    def _named(self, place: int, item: Item) -> None:
        joint, motion = item.c["MOTN"]
        parts, end = self._of_part(place + 1)
        _, before, left = self._modifiers(place)
        parts = parts or before
        joints = [joint] if joint else [j for part in parts for j in self.lexicon.joints_of(part)]
        pairs = self.lexicon.pairs(joints, [motion]) if joints else self.lexicon.all_pairs(motion)
        if pairs:
            self.found.append(
                Expression(
                    place,
                    left,
                    end,
                    "noun",
                    pairs,
                    tuple(parts),
                    "part" if parts else "",
                    motions=(motion,),
                    word=item.text,
                )
            )

    def _group_agent(self, place: int, item: Item) -> None:
        parts, motions = item.c["AGT"]
        after, end = self._of_part(place + 1)
        pairs = self._pairs(after or list(parts), list(motions))
        if pairs:
            self.found.append(
                Expression(
                    place,
                    place,
                    end,
                    "agent",
                    pairs,
                    tuple(after or parts),
                    "part" if parts or after else "",
                    motions=motions,
                    word=item.text,
                )
            )

    # -- together --------------------------------------------------------------------------------------------------------

    def _add(self, head: int, i: int, j: int, form: Form, family: str, directions: list[str], parts: list[str],
             kind: str = "", passive: bool = False, said: list[str] | None = None, span: tuple[int, int] = (0, 0)) -> None:  # fmt: skip
        motions, vague = self._motions(family, directions, parts)
        turn = next((d for d in said or directions if d in ("left", "right")), "")
        if turn and family not in ("rotate", "sidebend", "flex", "tilt"):
            turn = ""
        if not motions:
            sideways = ["side" if d in ("left", "right") else d for d in said or []]
            rolled = bool(turn) and family == "rotate"
            plain = [] if rolled else [p for part in parts for p in self._look_up(family, part, sideways)]
            if plain:
                self._found_plain(
                    head, i, j, form, family, plain, parts, kind, passive, said or [], span, turn
                )
                return
            if family != "rotate":
                return
            motions, vague = list(ROTATIONS), True
            if turn:
                motions, vague = sorted(SPINE_TURNS), False
        pairs = self._pairs(parts, motions)
        if not pairs and said:
            for part in parts:
                pairs += tuple(self._look_up(family, part, said))
        if parts and not pairs:
            return
        self.found.append(
            Expression(
                head,
                i,
                j,
                form,
                tuple(dict.fromkeys(pairs)),
                tuple(parts),
                kind or ("part" if parts else ""),
                passive,
                tuple(said or directions),
                vague,
                turn,
                family,
                False,
                span,
                tuple(motions),
            )
        )

    def _found_plain(
        self,
        head: int,
        i: int,
        j: int,
        form: Form,
        family: str,
        pairs: list[Pair],
        parts: list[str],
        kind: str,
        passive: bool,
        said: list[str],
        span: tuple[int, int],
        turn: str,
    ) -> None:
        """A technical verb used in a plain way ("tilts the hand to the thumb side")."""
        motions = tuple(dict.fromkeys(m for _, m in pairs))
        self.found.append(
            Expression(
                head,
                i,
                j,
                form,
                tuple(dict.fromkeys(pairs)),
                tuple(parts),
                kind,
                passive,
                tuple(said),
                False,
                turn,
                family,
                True,
                span,
                motions,
            )
        )

    def _motions(self, family: str, directions: list[str], parts: list[str]) -> tuple[list[str], bool]:
        families = self.lexicon.families
        found = [families[family, d] for d in directions if (family, d) in families]
        if not found and (family, "") in families:
            found = [families[family, ""]]
        if family in ("abduct", "adduct") and found in (["abduction"], ["adduction"]):
            found.append("radial deviation" if family == "abduct" else "ulnar deviation")
            if any(part == "scapula" for part in parts):
                found = ["protraction"] if family == "abduct" else ["retraction"]
        if family == "flex" and any(part in ("foot", "ankle") for part in parts) and found == ["flexion"]:
            return [], False
        if family == "elevate" and any(part in ("arm",) for part in parts):
            found = ["flexion", "abduction"]
        if family == "depress" and any(part in ("arm",) for part in parts):
            found = ["extension", "adduction"]
        return found, False

    def _pairs(self, parts: list[str], motions: list[str]) -> tuple[Pair, ...]:
        if not parts:
            return tuple(pair for motion in motions for pair in self.lexicon.all_pairs(motion))
        found: list[Pair] = []
        for part in parts:
            wrist = [m for m in motions if m in ("radial deviation", "ulnar deviation")]
            plain = [m for m in motions if m not in wrist]
            joints = self.lexicon.joints_of(part)
            found += self.lexicon.pairs(joints, plain)
            if wrist and "wrist" in joints:
                found += self.lexicon.pairs(["wrist"], wrist)
        return tuple(dict.fromkeys(found))

    def _share(self) -> None:
        """ "flexes and internally rotates the hip", "hip flexion and abduction": both mean the hip."""
        items = self.items
        for one, other in zip(self.found, self.found[1:], strict=False):
            between = items[one.j : other.i]
            if len(between) > 3 or not all(
                item.is_("AND", "OR", "COMMA", "ADV", "THEN", "BUT") for item in between
            ):
                continue
            if other.parts and not one.parts and not one.object and not one.plain and other.form == one.form:
                self._give(one, other.parts)
            elif (
                one.parts
                and not other.parts
                and not other.object
                and not other.plain
                and other.form == one.form
                and one.form in ("noun", "agent")
            ):
                self._give(other, one.parts)
        self.found = [e for e in self.found if e.pairs or e.vague]

    def _give(self, expression: Expression, parts: tuple[str, ...]) -> None:
        pairs = self._pairs(list(parts), list(expression.motions))
        if pairs:
            expression.pairs, expression.parts, expression.object = pairs, parts, "part"
