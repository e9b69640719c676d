"""Technical words: "flexes the hip", "external rotation of the shoulder", "knee extensor"."""

from __future__ import annotations

from anatomy.claims.expressing.expression import Expression
from anatomy.claims.expressing.meanings import Meanings
from anatomy.claims.inflection import Form
from anatomy.claims.items import Item

__all__ = ["Technical"]


class Technical(Meanings):
    """Reads words of a family of motions."""

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
            parts, kind, passive = self._part_before(left) or self._passive_shared(left), "part", True
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
