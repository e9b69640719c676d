"""A question as sentences of words in their plain form, each with its place in the text as it was written."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator
from functools import cache, lru_cache
from pathlib import Path
from typing import NamedTuple

DATA = Path(__file__).parent / "data"
PIECE = re.compile(
    r"(?P<tag></?[A-Za-z][^<>]{0,300}>)|(?P<address>https?://\S+)|(?P<time>\d{1,2}[:.]\d{2}(?!\d))|(?P<number>\d+(?:[.,]\d+)?(?=\D|$))"
    r"|(?P<word>[^\W_]+(?:['’‘ʼ`´][^\W\d_]+)*)|(?P<end>[.!?…;\n]+)|(?P<comma>[,(–—:-])"
)
LONGEST_SENTENCE = 60
"""Words after which a text without stops is cut, so that reading stays linear."""
APOSTROPHES = str.maketrans("’‘ʼ`´", "'''''")
SPOKEN_NUMBERS = {
    word: value
    for value, words in {
        1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine", 10: "ten",
        11: "eleven", 12: "twelve", 13: "thirteen", 14: "fourteen", 15: "fifteen", 16: "sixteen", 17: "seventeen",
        18: "eighteen", 19: "nineteen", 20: "twenty", 30: "thirty", 40: "forty", 50: "fifty", 60: "sixty",
        70: "seventy", 80: "eighty", 90: "ninety",
    }.items()
    for word in [words]
}  # fmt: skip


class Word(NamedTuple):
    """One word: its plain form, the classes of numbers it falls in, its place, and whether a comma or bracket stands before it."""

    stem: str
    kinds: tuple[str, ...]
    start: int
    end: int
    after_comma: bool


Sentence = list[Word]


def sentences_of(text: str, corrected: Callable[[str], str]) -> Iterator[Sentence]:
    """The sentences of ``text``; ``corrected`` mends a word's spelling. Tags and addresses are stepped over."""
    words: Sentence = []
    comma = False
    for match in PIECE.finditer(text):
        sort = match.lastgroup
        if sort in ("word", "number", "time"):
            found = list(_words(match, sort, comma, corrected))
            if not _repeats(words, found):
                words.extend(found)
            comma = False
        elif sort == "comma":
            comma = True
        elif sort == "end" and words:
            yield words
            words, comma = [], False
        if len(words) >= LONGEST_SENTENCE:
            yield words
            words, comma = [], False
    if words:
        yield words


def _repeats(words: Sentence, found: list[Word]) -> bool:
    """Whether the same word was already said three times running: a text of one word only costs time and says no more."""
    size = len(found)
    said = [word.stem for word in words[-3 * size :]]
    return len(said) == 3 * size and said == [word.stem for word in found] * 3


def _words(match: re.Match[str], sort: str, comma: bool, corrected: Callable[[str], str]) -> Iterator[Word]:
    start, end = match.span()
    if sort == "number":
        value = float(match.group().replace(",", "."))
        bracketed = match.string[start - 1 : start] == "("
        yield Word(match.group(), _number_kinds(value, bracketed), start, end, comma)
    elif sort == "time":
        yield Word(match.group(), ("#", "#time"), start, end, comma)
    else:
        raw = match.group().translate(APOSTROPHES).casefold()
        if end - start > 40:
            yield Word("…", (), start, end, comma)
            return
        for stem, kinds in _forms(raw, corrected):
            yield Word(stem, kinds, start, end, comma)
            comma = False


def _forms(raw: str, corrected: Callable[[str], str]) -> list[tuple[str, tuple[str, ...]]]:
    if raw in SPOKEN_NUMBERS:
        return [(raw, _number_kinds(SPOKEN_NUMBERS[raw], False))]
    if re.fullmatch(r"u\d{1,2}s?", raw):
        return [(raw, ("#under",))]
    if re.fullmatch(r"\d+(?:st|nd|rd|th|s|k|kg|km|m|am|pm|x)", raw):
        return [(raw, ("#",))]
    if age := re.fullmatch(r"(\d{1,2})(?:yo|yr|yrs|y|m|f)", raw):
        return [(age[1], _number_kinds(float(age[1]), False)), ("year", ()), ("old", ())]
    parts = _contractions().get(raw) or _contractions().get(raw.replace("'", ""))
    if parts:
        return [(plain_form(part), ()) for part in parts]
    if raw.endswith(("'s", "s'")):
        raw = raw[:-2]
    raw = raw.replace("'", "")
    return [(plain_form(corrected(raw)), ())]


def _number_kinds(value: float, bracketed: bool) -> tuple[str, ...]:
    kinds = ["#"]
    for name, low, high in NUMBER_CLASSES:
        if low <= value <= high:
            kinds.append(name)
            if bracketed:
                kinds.append("#p" + name[1:])
    if 37.5 <= value <= 42.5 and value != int(value):
        kinds.append("#fever")
    return tuple(kinds)


NUMBER_CLASSES = (
    ("#child", 1, 17),
    ("#teen", 9, 17),
    ("#old", 50, 105),
    ("#age", 16, 105),
    ("#temp", 28, 45),
    ("#year", 1950, 2060),
)


@cache
def _contractions() -> dict[str, tuple[str, ...]]:
    negated = [
        "can",
        "could",
        "will",
        "would",
        "should",
        "must",
        "need",
        "do",
        "does",
        "did",
        "is",
        "are",
        "was",
        "were",
        "have",
        "has",
        "had",
        "might",
        "is",
    ]
    found: dict[str, tuple[str, ...]] = {
        "cannot": ("can", "not"),
        "wont": ("will", "not"),
        "won't": ("will", "not"),
    }
    for verb in negated:
        short = verb + "nt" if verb != "can" else "cant"
        if verb == "will":
            continue
        found[short] = (verb, "not")
    found |= {"aint": ("be", "not"), "dunno": ("do", "not", "know"), "shant": ("will", "not")}
    for subject in [
        "i",
        "you",
        "he",
        "she",
        "it",
        "we",
        "they",
        "that",
        "there",
        "what",
        "who",
        "where",
        "how",
        "here",
        "this",
        "everything",
        "nothing",
        "someone",
    ]:
        for ending, verb in (("'m", "be"), ("'re", "be"), ("'s", "be"), ("'ve", "have")):
            found[subject + ending] = (subject, verb)
        for ending in ("'d", "'ll"):
            found[subject + ending] = (subject, "will")
    found |= {
        "im": ("i", "be"), "ive": ("i", "have"), "hes": ("he", "be"), "shes": ("she", "be"), "theyre": ("they", "be"),
        "theres": ("there", "be"), "whats": ("what", "be"), "thats": ("that", "be"), "youre": ("you", "be"),
        "weve": ("we", "have"), "theyve": ("they", "have"), "id": ("i", "will"), "it's": ("it", "be"),
        "gonna": ("go", "to"), "wanna": ("want", "to"), "gotta": ("get", "to"), "u": ("you",), "ur": ("your",),
        "r": ("be",), "cuz": ("because",), "bc": ("because",), "b4": ("before",), "w": ("with",), "lil": ("little",),
        "alot": ("a", "lot"), "infront": ("in", "front"), "aswell": ("also",), "tho": ("though",), "thru": ("through",),
        "nite": ("night",), "tonite": ("tonight",), "yday": ("yesterday",), "yest": ("yesterday",), "2day": ("today",),
        "hosp": ("hospital",), "wi": ("with",), "abt": ("about",), "plz": ("please",), "ppl": ("people",),
        "headach": ("headache",), "blackedout": ("black", "out"), "passedout": ("pass", "out"),
    }  # fmt: skip
    return found


@lru_cache(maxsize=50_000)
def plain_form(word: str) -> str:
    """The form under which a word is looked up: irregular forms from a table, else endings taken off."""
    known = _irregular().get(word)
    word = known if known is not None else word
    if known is not None and known == word and len(word) < 6:
        return word
    for ending, rest in (("ness", 4), ("ly", 5), ("ing", 3), ("ed", 3)):
        if word.endswith(ending) and len(word) - len(ending) >= rest and word not in _irregular():
            word = _undoubled(word[: -len(ending)])
            break
    else:
        if (
            word.endswith("s")
            and len(word) > 3
            and not word.endswith(("ss", "us", "is"))
            and word not in _irregular()
        ):
            word = _singular(word)
    if word.endswith("e") and len(word) > 3 and not word.endswith("ee"):
        word = word[:-1]
    if word.endswith("y") and len(word) > 3:
        word = word[:-1] + "i"
    return word


def _undoubled(stem: str) -> str:
    if len(stem) > 3 and stem[-1] == stem[-2] and stem[-1] not in "lsez":
        return stem[:-1]
    return stem


def _singular(word: str) -> str:
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("xes", "shes", "ches", "sses", "zes")):
        return word[:-2]
    return word[:-1]


@cache
def _irregular() -> dict[str, str]:
    with (DATA / "plain_forms.csv").open(encoding="utf-8", newline="") as file:
        return {row["word"]: row["form"] for row in csv.DictReader(file)}
