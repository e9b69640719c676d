"""When a site may add a term or an entry of its own: the rules, held against a vocabulary. No database here."""

from __future__ import annotations

import csv
import unicodedata
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, get_args

from anatomy.vocabulary.checks import SIDES
from anatomy.vocabulary.collection import OWN_SOURCE, Vocabulary
from anatomy.vocabulary.entries import (
    Concept,
    Entry,
    Joint,
    Motion,
    Muscle,
    Nerve,
    Segment,
    Structure,
    Style,
    Term,
)
from anatomy.vocabulary.naming import fold, motion_key
from anatomy.vocabulary.term_checks import SHARED_STYLES, family

__all__ = [
    "OWN_KINDS",
    "EntryGiven",
    "OwnFault",
    "TermGiven",
    "entry_faults",
    "record_of",
    "term_faults",
    "term_of",
]

LONGEST_TEXT = 120
LONGEST_PROSE = 2000
OWN_KINDS = ("muscle", "joint", "motion", "structure", "nerve", "segment", "concept")
OWN_STYLES = tuple(style for style in get_args(Style) if style != "standard")
_KEYS = (OWN_SOURCE.key,)


class OwnFault(ValueError):
    """Why an addition can't be taken: one sentence for each field that is wrong, in ``faults``."""

    def __init__(self, faults: dict[str, str]) -> None:
        super().__init__(" ".join(faults.values()))
        self.faults = faults


@dataclass(frozen=True, slots=True)
class TermGiven:
    """Another way of saying the entry ``of``; fields as in ``entries.Term``."""

    text: str
    kind: str
    of: str
    style: str = "own"
    gloss: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class EntryGiven:
    """An entry that the vocabulary lacks. A motion needs its joint; a structure needs its side."""

    kind: str
    name: str
    gloss: str = ""
    joint: str = ""
    plane: str = ""
    side: str = ""
    note: str = ""

    @property
    def key(self) -> str:
        """The name by which the vocabulary would have it."""
        return motion_key(self.joint, self.name) if self.kind == "motion" else self.name


def term_of(given: TermGiven) -> Term:
    """The term as the vocabulary holds it."""
    return Term(given.text, given.kind, given.of, given.style, _KEYS)  # type: ignore[arg-type]


def term_faults(given: TermGiven, vocabulary: Vocabulary) -> dict[str, str]:
    """What speaks against a term, by field; nothing when it can be taken."""
    faults = _text_fault("text", given.text) | _prose_faults(given.gloss, given.note)
    if given.style not in OWN_STYLES:
        faults["style"] = f"Choose one of {', '.join(OWN_STYLES)} as the style, not {given.style!r}."
    if not vocabulary.has(given.kind, given.of):
        faults["of"] = f"The vocabulary has no {given.kind} called {given.of!r}: choose a standard name."
    return faults or _meaning_fault(given, vocabulary)


def _meaning_fault(given: TermGiven, vocabulary: Vocabulary) -> dict[str, str]:
    said = [term for term in vocabulary.meanings(given.text) if family(term.kind) == family(given.kind)]
    if any((term.kind, term.of) == (given.kind, given.of) for term in said):
        return {"text": f"{given.text!r} stands for {given.of!r} already: nothing needs to be added."}
    for term in said:
        if term.style == "standard":
            return {"text": f"{given.text!r} is a name of {term.of!r}: choose another text."}
    if said and given.style not in SHARED_STYLES:
        styles = f"{', '.join(SHARED_STYLES[:-1])} or {SHARED_STYLES[-1]}"
        return {"style": f"{given.text!r} stands for {said[0].of!r} too: if both are said, choose {styles}."}
    return {}


def entry_faults(given: EntryGiven, vocabulary: Vocabulary) -> dict[str, str]:
    """What speaks against an entry, by field; nothing when it can be taken."""
    if given.kind not in OWN_KINDS:
        return {"kind": f"Choose one of {', '.join(OWN_KINDS)} as the kind, not {given.kind!r}."}
    faults = _text_fault("name", given.name) | _prose_faults(given.gloss, given.note)
    if ":" in given.name or ";" in given.name:
        faults["name"] = "Leave colons and semicolons out of the name: they part names elsewhere."
    if not given.gloss.strip():
        faults["gloss"] = "Say in plain words what it is."
    if given.kind == "motion":
        faults |= _motion_faults(given, vocabulary)
    if given.kind == "structure" and given.side not in SIDES:
        faults["side"] = f"Say on which side it lies: {', '.join(SIDES)}."
    return faults or _name_fault(given, vocabulary)


def _motion_faults(given: EntryGiven, vocabulary: Vocabulary) -> dict[str, str]:
    faults = {}
    if given.joint not in vocabulary.joints:
        faults["joint"] = f"The vocabulary has no joint called {given.joint!r}: choose the joint that moves."
    if given.plane and given.plane not in vocabulary.planes:
        faults["plane"] = f"Choose one of {', '.join(vocabulary.planes)} as the plane, or none."
    return faults


def _name_fault(given: EntryGiven, vocabulary: Vocabulary) -> dict[str, str]:
    said = f"{given.joint} {given.name}" if given.kind == "motion" else given.name
    for term in vocabulary.meanings(said):
        if family(term.kind) == family(given.kind):
            return {"name": f"{said!r} is in the vocabulary already, as a way of saying {term.of!r}."}
    return {}


def _text_fault(field: str, text: str) -> dict[str, str]:
    if not fold(text):
        return {field: f"Write the {field}: it is empty."}
    if len(text) > LONGEST_TEXT:
        return {field: f"Write the {field} in at most {LONGEST_TEXT} characters; it has {len(text)}."}
    if text != " ".join(text.split()) or not text.isprintable():
        return {field: f"Write the {field} in one line without stray spaces or invisible characters."}
    if sum(letter.isalnum() for letter in text) < 2 or not any(letter.isalpha() for letter in text):
        return {field: f"Write the {field} with two letters at least: {text!r} alone stands for too much."}
    if set(fold(text).split()) <= _small_words():
        return {
            field: f"Every sentence needs {text!r}, so it can't be a name: add a word that tells what it is."
        }
    return {}


@cache
def _small_words() -> frozenset[str]:
    """Words that hold sentences together: a name made of them alone would hide what sentences say."""
    with files("anatomy.vocabulary").joinpath("small_words.csv").open(encoding="utf-8") as file:
        return frozenset(row["word"] for row in csv.DictReader(file))


def _prose_faults(gloss: str, note: str) -> dict[str, str]:
    faults = {}
    for field, text in (("gloss", gloss), ("note", note)):
        if len(text) > LONGEST_PROSE:
            faults[field] = f"Write the {field} in at most {LONGEST_PROSE} characters; it has {len(text)}."
        elif any(unicodedata.category(letter) in ("Cc", "Cs") and letter not in "\n\r\t" for letter in text):
            faults[field] = f"Leave control characters out of the {field}."
    return faults


def record_of(given: EntryGiven, vocabulary: Vocabulary) -> Entry:
    """The entry as the vocabulary holds it; what was not asked for stays empty. Raises KeyError for another kind."""
    name, gloss = given.name, given.gloss
    if given.kind == "motion":
        plane = vocabulary.planes.get(given.plane)
        name_of_plane, axis = (plane.name, plane.axis) if plane else ("", "")
        return Motion(given.joint, name, "", name_of_plane, axis, gloss, "", _KEYS)
    makers: dict[str, Any] = {
        "muscle": lambda: Muscle(name, "", "", "", gloss, "", "", "", (), (), "", "", _KEYS),
        "joint": lambda: Joint(name, "", "", "", "", "", "", gloss, "", _KEYS),
        "structure": lambda: Structure(name, "", given.side, (), (), (), gloss, "", "", _KEYS),
        "nerve": lambda: Nerve(name, "nerve", "", (), (), gloss, _KEYS),
        "segment": lambda: Segment(name, gloss, _KEYS),
        "concept": lambda: Concept(name, gloss, _KEYS),
    }
    made: Entry = makers[given.kind]()
    return made
