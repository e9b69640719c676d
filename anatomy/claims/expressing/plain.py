"""Plain words: "turns the palm up", "brings the arm across the body", "keeps the elbow straight"."""

from __future__ import annotations

from anatomy.claims.expressing.expression import SPINE_TURNS, Expression
from anatomy.claims.expressing.technical import Technical
from anatomy.claims.inflection import Form
from anatomy.claims.items import Item
from anatomy.claims.lexicon import Pair

__all__ = ["Plain"]

OPENING = frozenset({"spread", "fan", "splay", "part", "separate"})


class Plain(Technical):
    """Reads everyday verbs with what they move and where to."""

    def _plain(self, place: int, item: Item) -> None:
        items = self.items
        verb, form = item.c["PV"][0]
        after = items[place + 1] if place + 1 < len(items) else None
        # "Its bent back" is a part, "it is bent back by …" a motion.
        moved = after is not None and after.is_("DIR") and place > 0 and items[place - 1].is_("AUX")
        if item.is_("ADJ") and after is not None and after.is_("PART") and not moved:
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
            parts, kind = self._part_before(place) or self._passive_shared(place), "part"
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
