"""How muscles are named in a sentence: with the article where speech has one, one or many, parts before wholes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from anatomy.claims.spoken import joined
from anatomy.vocabulary.collection import Vocabulary

HEAD = re.compile(r"^(?P<whole>.+?) (?P<part>(?:long|short|medial|lateral) head)$")
PART = re.compile(r"^(?P<whole>.+?) \((?P<part>.+ part)\)$")
PLACE = re.compile(r"^(?P<whole>.+?) \((?P<part>hand|foot)\)$")
MANY = frozenset(
    [
        "interossei",
        "intercostals",
        "lumbricals",
        "rotatores",
        "interspinales",
        "intertransversarii",
        "levatores",
        "vasti",
        "gemelli",
        "transversospinales",
        "spinae",
        "muscles",
    ]
)
ONE = ("us", "is", "as", "ss", "ceps", "teres")
ARTICLE = ("deltoid", "trapezius", "diaphragm", "oblique")
PORTION = ("fibres", "fibers", "part", "parts", "head", "heads", "portion", "slips", "bundle")
SHORT = {"quadriceps femoris": ("the quadriceps", True)}
WHOLES = frozenset(
    [
        "quadriceps femoris",
        "hamstrings",
        "medial hamstrings",
        "iliopsoas",
        "rhomboids",
        "gluteus medius and minimus",
        "gemelli",
        "scalene muscles",
    ]
)


@dataclass(frozen=True)
class Who:
    """A muscle or several as the subject of a sentence."""

    text: str
    plural: bool = False

    @property
    def they(self) -> str:
        """The pronoun for a second mention."""
        return "they" if self.plural else "it"

    @property
    def own(self) -> str:
        """Its own, or their own."""
        return "their own" if self.plural else "its own"

    @property
    def do(self) -> str:
        """The auxiliary that agrees."""
        return "do" if self.plural else "does"


def _is_many(name: str) -> bool:
    words = name.partition(" of ")[0].split()
    if MANY & set(words) or " and " in name:
        return True
    return words[-1].endswith("s") and not words[-1].endswith(ONE)


def muscle_who(name: str, qualifiers: Sequence[str] = (), side: str = "") -> Who:
    """A muscle, group or part as one names it: "the long head of biceps brachii", "the left hamstrings"."""
    if name in SHORT and not qualifiers:
        text, many = SHORT[name]
        return Who(text.replace("the ", f"the {side} ", 1) if side else text, many)
    found = HEAD.match(name) or PART.match(name)
    if found:
        return Who(f"the {side + ' ' if side else ''}{found['part']} of {found['whole']}")
    place = PLACE.match(name)
    if place:
        whole = muscle_who(place["whole"], qualifiers, side)
        return Who(f"{whole.text} of the {place['part']}", whole.plural)
    many = _is_many(name)
    words = [word for word in qualifiers if word and word not in name]
    if words and words[-1].split()[-1] in PORTION:
        own = muscle_who(name)
        portion = " ".join([side, *words]).strip()
        return Who(f"the {portion} of {own.text}", portion.endswith("s"))
    bare = " ".join([side, *words, name]).strip()
    article = bool(side or words) or name.endswith(ARTICLE) or (many and " and " not in name)
    return Who(f"the {bare}" if article else bare, many)


def muscles_who(names: Iterable[Who]) -> Who:
    """Several subjects as one."""
    given = list(names)
    return Who(joined(one.text for one in given), len(given) > 1 or any(one.plural for one in given))


def gathered(vocabulary: Vocabulary, muscles: Sequence[str]) -> list[str]:
    """Muscles with those that make up a whole named by the whole ("the hamstrings"), largest wholes first.

    Groups that are named by their work ("knee extensors") stay out: they would say nothing of who does that work.
    """
    left = list(dict.fromkeys(muscles))
    groups = [one for one in vocabulary.groups.values() if one.kind == "whole" or one.name in WHOLES]
    wholes = sorted(
        ((one.name, vocabulary.members(one.name)) for one in groups), key=lambda one: -len(one[1])
    )
    for name, members in wholes:
        if len(members) > 1 and set(members) <= set(left):
            at = min(left.index(m) for m in members)
            left[at] = name
            left = [m for m in left if m not in members]
    return left
