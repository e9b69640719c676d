"""What in a text may tell who somebody is: found and shown before anything is published; a person decides.

High recall first: e-mail addresses, links, names of accounts, telephone numbers, dates, ages, and words with a
capital inside a sentence that are neither terms of the vocabulary nor usual words. What is taken out is replaced
by a plain word in square brackets (HHS guidance on the Safe Harbor method, 45 CFR 164.514(b)(2), lists the kinds).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

__all__ = ["Telling", "hidden", "tellings"]


@dataclass(frozen=True, slots=True)
class Telling:
    """A stretch [start, end) of the text that may identify somebody; ``instead`` is what to put there."""

    start: int
    end: int
    text: str
    kind: str
    instead: str


_PATTERNS: tuple[tuple[str, str, re.Pattern[str]], ...] = (
    ("e-mail address", "[address]", re.compile(r"[\w.+%-]+@[\w-]+(?:\.[\w-]+)+")),
    ("web address", "[link]", re.compile(r"\b(?:https?://|www\.)[^\s<>()\[\]]+", re.I)),
    ("account", "[account]", re.compile(r"(?<![\w@])@\w[\w.]{1,30}")),
    ("date", "[date]", re.compile(
        r"\b(?:\d{1,2}[./-]\d{1,2}[./-]\d{2,4}|\d{4}-\d{2}-\d{2}|"
        r"\d{1,2}(?:st|nd|rd|th)?(?:\s+of)?\s+(?:January|February|March|April|May|June|July|August|September|October|"
        r"November|December)(?:\s+\d{4})?|(?:January|February|March|April|May|June|July|August|September|October|"
        r"November|December)\s+\d{1,2}(?:st|nd|rd|th)?(?:,?\s+\d{4})?)\b", re.I)),
    ("age", "[age]", re.compile(
        r"\b(?:\d{1,3}[ -](?:years?|yrs?|months?)[ -]old|aged?\s+\d{1,3}|(?:I['’]m|I am|he is|she is|he['’]s|"
        r"she['’]s|who is|is)\s+\d{1,2}(?=[,.;)]|\s+and\b|$)|\d{1,2}\s?(?:yo|y/o)|my\s+\d{1,2}[ -]year)\b", re.I)),
    ("telephone or other number", "[number]", re.compile(r"(?<![\w.])\+?\d(?:[\d ()/.-]{5,}\d)(?![\w])")),
    ("post code", "[place]", re.compile(r"\b[A-Z]{1,2}\d[A-Z\d]? ?\d[A-Z]{2}\b|\b\d{5}(?:-\d{4})?\b")),
    ("number on a shirt", "[number]", re.compile(
        r"\b(?:number|no\.|shirt|jersey)\s*#?\d{1,3}\b|#\d{1,3}\b", re.I)),
)  # fmt: skip
_TITLE = re.compile(
    r"\b(?:Dr|Prof|Mr|Mrs|Ms|Miss|Coach|Doctor|Nurse|Physio)\.?\s+(\w[\w'’-]+(?:\s+[A-Z][\w'’-]+)?)"
)
_MY_NAME = re.compile(
    r"\b(?:my name is|this is|i am called|called|named|regards,?|cheers,?|thanks,?|yours,?|love,?)\s+"
    r"([^\W\d_][\w'’-]+(?:\s+[A-Z][\w'’-]+)?)",
    re.I,
)
_CAPITAL = re.compile(r"[^\W\d_][\w'’-]*")
_PLACE_BEFORE = re.compile(r"\b(?:in|at|near|from|for|with|club|team|against|versus|vs)\s+$", re.I)
_USUAL = frozenset(
    [
        "I",
        "I'm",
        "I've",
        "I'd",
        "I'll",
        "I’m",
        "I’ve",
        "I’d",
        "I’ll",
        "MRI",
        "CT",
        "ACL",
        "PCL",
        "MCL",
        "LCL",
        "ITB",
        "SI",
        "GP",
        "ER",
        "AC",
        "RICE",
        "ROM",
        "US",
        "EMG",
        "DOMS",
        "PT",
        "OK",
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
        "Monday",
        "Tuesday",
        "Wednesday",
        "Thursday",
        "Friday",
        "Saturday",
        "Sunday",
        "English",
        "Hi",
        "Hello",
        "Hey",
        "Dear",
        "Thanks",
        "Thank",
        "Please",
        "Ottawa",
        "Achilles",
        "Nordic",
        "Copenhagen",
        "Romanian",
        "Olympic",
        "Pilates",
    ]
)


def _is_name(word: str, known: Collection[str]) -> bool:
    bare = word.strip("'’-").removesuffix("'s").removesuffix("’s")
    if len(bare) < 2 or bare in _USUAL or bare.casefold() in known:
        return False
    return bare[0].isupper() and not (bare.isupper() and len(bare) <= 4)


def _names(text: str, known: Collection[str]) -> Iterable[Telling]:
    for pattern in (_TITLE, _MY_NAME):
        for match in pattern.finditer(text):
            if pattern is _TITLE or match[1][0].isupper():
                yield Telling(match.start(1), match.end(1), match[1], "name", "[name]")
    starts = {0} | {
        match.end() for match in re.finditer(r"(?:[.!?:;]+[\"”’)]*\s+|\n+[\s>*#-]*|[“\"(]\s*)", text)
    }
    words = list(_CAPITAL.finditer(text))
    for match in words:
        if match.start() in starts and not _PLACE_BEFORE.search(text[: match.start()]):
            continue
        if _is_name(match[0], known):
            place = _PLACE_BEFORE.search(text[max(0, match.start() - 10) : match.start()])
            kind, instead = ("name or place", "[place]") if place else ("name", "[name]")
            yield Telling(match.start(), match.end(), match[0], kind, instead)


def tellings(text: str, known: Collection[str] = ()) -> tuple[Telling, ...]:
    """What may identify somebody, in order, without overlaps. ``known``: usual words, lower case."""
    found = [
        Telling(match.start(), match.end(), match[0], kind, instead)
        for kind, instead, pattern in _PATTERNS
        for match in pattern.finditer(text)
    ]
    found += _names(text, known)
    kept: list[Telling] = []
    for one in sorted(found, key=lambda one: (one.start, -(one.end - one.start))):
        if not kept or one.start >= kept[-1].end:
            kept.append(one)
    return tuple(kept)


def hidden(text: str, known: Collection[str] = ()) -> str:
    """The text with everything that ``tellings`` finds replaced; names side by side become one word."""
    out: list[str] = []
    place = 0
    for one in tellings(text, known):
        between = text[place : one.start]
        if not (out and out[-1] == one.instead and between.strip() == ""):
            out += [between, one.instead]
        place = one.end
    return "".join([*out, text[place:]])
