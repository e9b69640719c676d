"""What stands around a motion's word: its part of the body, its object, its directions, its auxiliaries."""

from __future__ import annotations

from anatomy.claims.expressing.expression import BODY, Expression
from anatomy.claims.items import Item
from anatomy.claims.lexicon import Lexicon

__all__ = ["Surroundings"]

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
AT = frozenset({"at", "in", "of", "around", "about", "on", "through"})
# What "in" leads to when it names how the body is held and not where something is moved.
STANCES = frozenset({"standing", "stance", "sitting", "seated", "lying", "kneeling", "squatting", "crouching", "hanging", "prone", "supine"})  # fmt: skip


class Surroundings:
    """Reads the items beside a place in one sentence."""

    def __init__(self, items: list[Item], lexicon: Lexicon, part: str = "") -> None:
        """``part`` is the part of the body that the sentence before named last: "it" may mean it."""
        self.items = items
        self.part = part
        self.lexicon = lexicon
        self.found: list[Expression] = []

    def _past(self, k: int, *classes: str) -> int:
        """The first item from ``k`` on that is none of these; a direction or a part is never passed over as an adverb."""
        items, n = self.items, len(self.items)
        while k < n and items[k].is_(*classes) and not items[k].is_("PART", "MUS"):
            if "DIR" in items[k].c and "ADJ" not in classes:
                break
            k += 1
        return k

    def _acts(self, k: int) -> bool:
        k = self._past(k, "ADV")
        return k < len(self.items) and any(form in ("s", "ed") for _, form in self.items[k].c.get("FAM", ()))

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

    def _done_by(self, left: int, end: int) -> bool:
        """ "The wrist, extended by …", "a knee straightened by …": a participle between its part and its agent."""
        items = self.items
        by = end < len(items) and items[end].is_("BY", "PASSBY") and left > 0
        return by and bool(
            self._part_before(left - 1 if items[left - 1].is_("COMMA") else left)
            or self._passive_shared(left)
        )

    def _passive_shared(self, left: int) -> list[str]:
        """ "(The knee is extended by the quads) and bent by …": the part that the passive before was said of."""
        k = left - 1
        while k > 0 and self.items[k].is_("ADV") and not self.items[k].is_("AND"):
            k -= 1
        if k < 1 or not self.items[k].is_("AND", "COMMA", "BUT", "DASH"):
            return []
        before = self.found[-1] if self.found else None
        return list(before.parts) if before is not None and before.passive and before.j <= k else []

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

    def _it_before(self, place: int) -> bool:
        k = place - 1
        while k >= 0 and self.items[k].is_("ADV", "AUX", "MODAL", "NEG") and not self.items[k].is_("IT"):
            k -= 1
        return k >= 0 and self.items[k].is_("IT")

    def _antecedent(self, place: int) -> str:
        """The part of the body that "it" stands for: the last one named before, here or in the sentence before."""
        for item in reversed(self.items[:place]):
            if "PART" in item.c and not item.is_("MUS", "DIR"):
                return str(item.c["PART"])
        return self.part

    def _moved_into(self, k: int) -> str:
        """The part in "powers the hip into (extension)" when item ``k`` stands before "into"."""
        while k >= 0 and self.items[k].is_("DET", "ADJ", "PART"):
            if "PART" in self.items[k].c:
                return str(self.items[k].c["PART"])
            k -= 1
        return ""

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
            if following.is_("PLN", "NUM", "MVT", "FAM") or following.text in STANCES:
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
