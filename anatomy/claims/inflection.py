"""The regular forms of English verbs and nouns that the claim reader needs, with the irregular ones as data."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Literal

Form = Literal["base", "s", "ing", "ed", "noun", "agent"]

IRREGULAR = {
    "bend": ("bent", "bent"),
    "bring": ("brought", "brought"),
    "take": ("took", "taken"),
    "draw": ("drew", "drawn"),
    "swing": ("swung", "swung"),
    "spin": ("spun", "spun"),
    "drive": ("drove", "driven"),
    "throw": ("threw", "thrown"),
    "hold": ("held", "held"),
    "wind": ("wound", "wound"),
    "shut": ("shut", "shut"),
    "set": ("set", "set"),
    "split": ("split", "split"),
    "spread": ("spread", "spread"),
    "stick": ("stuck", "stuck"),
    "slide": ("slid", "slid"),
    "make": ("made", "made"),
    "do": ("did", "done"),
    "give": ("gave", "given"),
    "come": ("came", "come"),
    "get": ("got", "got"),
    "begin": ("began", "begun"),
    "fight": ("fought", "fought"),
    "send": ("sent", "sent"),
    "run": ("ran", "run"),
    "keep": ("kept", "kept"),
    "lead": ("led", "led"),
    "go": ("went", "gone"),
    "mean": ("meant", "meant"),
    "be": ("was", "been"),
    "lean": ("leaned", "leant"),
    "sink": ("sank", "sunk"),
    "feed": ("fed", "fed"),
    "lie": ("lay", "lain"),
    "sit": ("sat", "sat"),
    "fall": ("fell", "fallen"),
    "rise": ("rose", "risen"),
    "stand": ("stood", "stood"),
    "catch": ("caught", "caught"),
    "put": ("put", "put"),
    "let": ("let", "let"),
}
DOUBLED = frozenset(
    [
        "drop",
        "snap",
        "flip",
        "tip",
        "grip",
        "clamp_",
        "nod",
        "hug",
        "wrap",
        "split",
        "shut",
        "set",
        "spin",
        "get",
        "tap",
        "slip",
        "whip",
        "step",
        "stop",
        "put",
        "let",
        "sit",
        "run",
        "begin",
        "jut",
        "dip",
        "shrug",
        "drag",
        "tug",
        "lug",
        "jam",
        "pin",
        "clip",
        "flap",
        "flop",
        "jab",
        "prod",
        "zip",
        "strap",
        "trap",
        "slam",
        "chop",
        "fan",
        "hop",
        "rub",
        "stub",
    ]
)


@cache
def verb_forms(phrase: str) -> tuple[tuple[str, Form], ...]:
    """Each form of a verb phrase ("slow down") with its name; the first word is inflected."""
    verb, _, rest = phrase.partition(" ")
    tail = f" {rest}" if rest else ""
    past, participle = IRREGULAR.get(verb, (_past(verb), _past(verb)))
    forms: list[tuple[str, Form]] = [
        (verb, "base"),
        (_third(verb), "s"),
        (_ing(verb), "ing"),
        (past, "ed"),
        (participle, "ed"),
    ]
    return tuple((form + tail, name) for form, name in dict.fromkeys(forms))


def _third(verb: str) -> str:
    if verb == "be":
        return "is"
    if verb.endswith(("s", "x", "z", "ch", "sh", "o")):
        return verb + "es"
    if verb.endswith("y") and verb[-2] not in "aeiou":
        return verb[:-1] + "ies"
    return verb + "s"


def _ing(verb: str) -> str:
    if verb == "be":
        return "being"
    if verb == "lie":
        return "lying"
    if verb in DOUBLED:
        return verb + verb[-1] + "ing"
    if verb.endswith("e") and not verb.endswith(("ee", "oe")):
        return verb[:-1] + "ing"
    return verb + "ing"


def _past(verb: str) -> str:
    if verb in DOUBLED:
        return verb + verb[-1] + "ed"
    if verb.endswith("e"):
        return verb + "d"
    if verb.endswith("y") and verb[-2] not in "aeiou":
        return verb[:-1] + "ied"
    return verb + "ed"


@lru_cache(maxsize=50_000)
def singular_forms(word: str) -> tuple[str, ...]:
    """The word itself, then what it may be the plural or the possessive of."""
    forms = [word]
    bare = word
    for ending in ("'s", "'"):
        if bare.endswith(ending):
            bare = bare[: -len(ending)]
            forms.append(bare)
    if len(bare) > 3 and bare.endswith("s") and not bare.endswith(("ss", "us", "is")):
        forms.append(bare[:-1])
        if bare.endswith("ies"):
            forms.append(bare[:-3] + "y")
        elif bare.endswith(("ses", "xes", "ches", "shes")):
            forms.append(bare[:-2])
    return tuple(dict.fromkeys(forms))


def plural(noun: str) -> str:
    """The regular plural of an English noun."""
    if noun.endswith("y") and noun[-2] not in "aeiou":
        return noun[:-1] + "ies"
    if noun.endswith(("s", "x", "ch", "sh")):
        return noun + "es"
    return noun + "s"
