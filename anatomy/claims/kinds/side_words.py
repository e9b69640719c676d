"""Words for sides and what they stand against."""

from __future__ import annotations

WORDS = {"left": "left", "right": "right"}


BACK = frozenset({"there", "in there", "here", "over there", "under there", "underneath", "in here"})


PLACES = frozenset({"side", "corner", "spot", "region", "area", "place", "quarter", "half", "flank"})


SELF = frozenset({"under", "below", "behind", "next", "beside", "above", "there", "here", "now", "through", "after", "before", "at", "away", "on", "where", "up", "down", "against", "along", "next to", "beneath", "between", "underneath", "near", "over", "by", "into"})  # fmt: skip


OTHER = {
    "left": "right",
    "right": "left",
    "inner": "outer",
    "outer": "inner",
    "front": "back",
    "back": "front",
    "thumb": "little finger",
    "little finger": "thumb",
    "big toe": "little toe",
    "little toe": "big toe",
}


NOTES = {
    "medial": ("ml", "inner"),
    "lateral": ("ml", "outer"),
    "anterior": ("fb", "front"),
    "posterior": ("fb", "back"),
}


HAND = frozenset({"radius", "ulna", "scaphoid", "trapezium", "hamate", "pisiform", "triquetrum", "radial styloid process", "ulnar styloid process", "hook of hamate", "anatomical snuffbox", "triangular fibrocartilage complex", "radial artery", "ulnar artery", "Guyon's canal"})  # fmt: skip


ASIDE_SIDE = {
    "thumb": ("ml", "outer"),
    "little finger": ("ml", "inner"),
    "big toe": ("ml", "inner"),
    "little toe": ("ml", "outer"),
}
