"""What a piece must carry because its words name a possible injury of head, neck, spine or an organ.

Words name one where a word of injury stands with a guarded structure in one sentence or two that follow each other, or
where a blow is told that lands on a guarded place (the contact engine reads where). A caution counts as carried only when
its parts stand together: signs, help, and for head and spine what to do at once. A sentence that plays it down never
counts. No Django here. Words and lines: ``data/duties.csv``, ``data/duty_words.csv``.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

from anatomy.contact.loading import packaged_facts
from anatomy.contact.read import LONGEST_TEXT, read_contact

__all__ = ["Duty", "Named", "carried", "duties", "injuries_named", "missing", "of_place"]

_TOGETHER = 4
"""Sentences in which the parts of one caution may stand; own choice, no source."""
_REGIONS = {"head": "head", "neck": "spine", "chest": "organ", "trunk": "organ", "belly": "organ"}
_PLACES = {
    "back": "organ", "lower-back": "organ", "kidney-angle": "organ", "lower-ribs-back": "organ", "genitals": "organ",
    "upper-spine": "spine", "low-spine": "spine", "tailbone": "spine",
}  # fmt: skip
_SENTENCE = re.compile(r"[^.!?\n]+(?:[.!?]+|\n|$)")


@dataclass(frozen=True, slots=True)
class Duty:
    """A caution that may have to be carried: ``name`` what it is about, ``line`` ready to say, ``short`` a heading."""

    key: str
    name: str
    line: str
    short: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Named:
    """An injury that the words name: the duty it brings and the half-open characters that name it."""

    duty: str
    start: int
    end: int


def _rows(name: str) -> list[dict[str, str]]:
    text = files("breakdowns.contacts").joinpath("data", f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines(), strict=True))


@cache
def duties() -> dict[str, Duty]:
    """Every duty by its key, in the order in which they are told."""
    return {
        row["key"]: Duty(row["key"], row["name"], row["line"], row["short"], tuple(row["source"].split("; ")))
        for row in _rows("duties")
    }


@cache
def _pattern(kind: str, duty: str = "") -> re.Pattern[str]:
    words = [row["words"] for row in _rows("duty_words") if row["kind"] == kind and row["duty"] == duty]
    joined = "|".join(re.escape(one).replace(r"\ ", r"\s+") for one in sorted(words, key=len, reverse=True))
    return re.compile(rf"(?<![\w-])(?:{joined})(?![\w])", re.I)


def _sentences(text: str) -> list[tuple[int, int]]:
    return [one.span() for one in _SENTENCE.finditer(text) if one.group().strip()]


def _plain(text: str) -> str:
    return text.replace("’", "'")


@lru_cache(maxsize=2048)
def injuries_named(text: str) -> tuple[Named, ...]:
    """The possible injuries that a text names, one for each duty, at the first words that bring it."""
    plain = _plain(text)[:LONGEST_TEXT]
    found: dict[str, Named] = {}
    spans = _sentences(plain)
    for place, (start, end) in enumerate(spans):
        before = spans[place - 1][0] if place else start
        for one in (*_beside_injury(plain, before, start, end), *_struck(plain, start, end)):
            found.setdefault(one.duty, one)
    return tuple(found[key] for key in duties() if key in found)


def _beside_injury(text: str, before: int, start: int, end: int) -> Iterator[Named]:
    """Guarded structures in a sentence with a word of injury, or right before it."""
    injury = _pattern("injury").search(text, start, end)
    if injury is None:
        return
    if _pattern("no_diagnosis", "no_diagnosis").search(text, start, end):
        before = start  # "whether somebody is hurt" is said of nobody and nothing before it
    for duty in ("head", "spine", "organ"):
        pattern = _pattern("structure", duty)
        met = pattern.search(text, start, end) or pattern.search(text, before, start)
        if met:
            yield Named(duty, *met.span())


def _struck(text: str, start: int, end: int) -> Iterator[Named]:
    """Guarded places that a blow told in this sentence lands on."""
    blow = _pattern("blow").search(text, start, end)
    if blow is None:
        return
    for hit in read_contact(text[start:end]).places:
        for duty in of_place(hit.key):
            yield Named(duty, start + hit.start, start + hit.end) if hit.end else Named(duty, *blow.span())


def of_place(key: str) -> tuple[str, ...]:
    """The duties that a blow at a place of the contact map brings. Raises KeyError for an unknown place."""
    facts = packaged_facts()
    place = facts.places[key]
    found = dict.fromkeys(
        [_PLACES[one] for one in (key, *facts.above(key)) if one in _PLACES]
        + ([_REGIONS[place.region]] if place.region in _REGIONS else [])
    )
    if place.region == "head":
        found["spine"] = "spine"  # a blow to the head loads the neck too
    return tuple(found)


def carried(texts: Iterable[str]) -> frozenset[str]:
    """The duties whose cautions stand in these texts (the words of each beat, the text of each plate)."""
    return frozenset(key for text in texts for key in _carried_in(text))


@lru_cache(maxsize=2048)
def _carried_in(text: str) -> frozenset[str]:
    plain = _plain(text)
    sentences = [plain[start:end] for start, end in _sentences(plain)]
    kept = ["" if _pattern("undone").search(one) else one for one in sentences]
    found = set()
    if any(_pattern("no_diagnosis", "no_diagnosis").search(one) for one in kept):
        found.add("no_diagnosis")
    for first in range(len(kept)):
        window = kept[first : first + _TOGETHER]
        # A sentence that plays things down parts what stands before it from what stands behind.
        window = window[: window.index("")] if "" in window else window
        together = " ".join(window)
        if not _pattern("help").search(together):
            continue
        found.update(key for key in ("head", "spine", "organ") if _is_told(key, together))
    return frozenset(found)


def _is_told(key: str, text: str) -> bool:
    signs = {one.group().lower() for one in _pattern("sign", key).finditer(text)}
    return len(signs) >= 2 and (key == "organ" or bool(_pattern("act", key).search(text)))


def missing(needed: Iterable[str], texts: Iterable[str]) -> tuple[Duty, ...]:
    """The cautions that are needed and not carried; whoever needs any owes the word that nobody is diagnosed too."""
    wanted = set(needed)
    wanted |= {"no_diagnosis"} if wanted else set()
    there = carried(texts)
    return tuple(duty for key, duty in duties().items() if key in wanted and key not in there)
