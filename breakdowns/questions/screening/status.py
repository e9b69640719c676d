"""Whether words that were found hold now, of somebody near: not denied, not long past, not asked in general, not seen in footage."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from breakdowns.questions.screening.lexicon import lexicon
from breakdowns.questions.screening.patterns import FILLER_FORMS, Finder
from breakdowns.questions.screening.reading import Sentence, Word

FARTHEST_DENIAL = 8
"""Words that may stand between a "no" and what it denies."""
MODALS = frozenset(["can", "could", "will", "would", "should", "might", "may", "must"])
NEW_SUBJECT = frozenset(
    [
        "i",
        "my",
        "the",
        "it",
        "he",
        "she",
        "his",
        "her",
        "now",
        "then",
        "we",
        "they",
        "have",
        "feel",
        "can",
        "be",
        "get",
        "keep",
        "there",
        "still",
    ]
)
NOT_LISTED = frozenset(
    [
        "can",
        "could",
        "will",
        "be",
        "feel",
        "keep",
        "have",
        "hard",
        "unable",
        "trouble",
        "lose",
        "hardly",
        "barely",
        "struggle",
    ]
)
LIST_WORDS = frozenset(["or", "nor", "and", "no"])
CUES = (
    "own_first", "own_third", "near_person", "player_generic", "general_ask", "footage", "footage_strong", "if_someone",
    "preventing", "negator", "not_negator", "clause_break", "long_ago", "healed", "ongoing", "recent",
)  # fmt: skip


@dataclass
class Read:
    """One sentence with its cues, and what was found in it: (name, first word, end)."""

    words: Sentence
    finder: Finder
    cues: dict[str, list[tuple[int, int]]]
    framed: frozenset[int]
    found: list[tuple[str, int, int]] = field(default_factory=list)
    general: bool = False
    footage: bool = False
    past: bool = False

    def has(self, cue: str) -> bool:
        """Whether the cue stands in the sentence, outside the words that only frame a question."""
        return any(start not in self.framed for start, _ in self.cues.get(cue, ()))

    def has_general(self) -> bool:
        """Whether the sentence asks how something is in general, and of nobody near."""
        return bool(self.cues.get("general_ask")) and not self.own and not self.cues.get("recent")

    @property
    def own(self) -> bool:
        """Whether somebody near is spoken of."""
        return self.has("own_first") or self.has("own_third") or self.has("near_person")


@cache
def _starts(kinds: tuple[str, ...]) -> dict[str, list[str]]:
    names = [name for kind in kinds for name in lexicon().names(kind)]
    return lexicon().patterns.starting_with(names)


def _all_found(
    finder: Finder, starts: dict[str, list[str]], longest: bool = False
) -> list[tuple[str, int, int]]:
    found = []
    for at, word in enumerate(finder.words):
        for first in (word.stem, *word.kinds):
            for name in starts.get(first, ()):
                ends = finder.ends(name, at)
                if ends:
                    found.append((name, at, ends[-1] if longest else ends[0]))
    return found


def read_sentence(words: Sentence) -> Read:
    """The facts and cues of one sentence; figures of speech are covered first, so that nothing is read out of them."""
    patterns = lexicon().patterns
    covering = Finder(patterns, words)
    covered = list(words)
    for at, word in enumerate(words):
        for name in _starts(("mask",)).get(word.stem, ()):
            for end in covering.ends(name, at)[-1:]:
                for place in range(at, end):
                    covered[place] = Word(
                        "¤", (), words[place].start, words[place].end, words[place].after_comma
                    )
    finder = Finder(patterns, covered)
    framed = frozenset(
        place
        for at, word in enumerate(words)
        for name in _starts(("frame",)).get(word.stem, ())
        for end in covering.ends(name, at)[-1:]
        for place in range(at, end)
    )
    cues: dict[str, list[tuple[int, int]]] = {}
    for name, start, end in _all_found(finder, _cue_starts()):
        cues.setdefault(name, []).append((start, end))
    return Read(covered, finder, cues, framed, _all_found(finder, _starts(("fact", "history")), longest=True))


@cache
def _cue_starts() -> dict[str, list[str]]:
    return lexicon().patterns.starting_with(CUES)


def settle(reads: list[Read]) -> None:
    """Says of each sentence whether it asks in general, tells of footage, or tells of what is over."""
    before = False
    for read in reads:
        read.general = read.has_general()
        third = read.has("own_third") or read.has("player_generic") or bool(read.cues.get("general_ask"))
        near = read.has("own_first") or read.has("near_person")
        shown = (
            read.has("footage_strong")
            or (read.has("footage") and third)
            or (before and read.has("own_third"))
        )
        read.footage = before = shown and not near
        over = bool(read.cues.get("long_ago")) or _is_healed(read)
        read.past = over and not _goes_on_now(read)
    for at, read in enumerate(reads):
        if read.past and _is_healed(read):
            for earlier in reads[:at]:
                earlier.past = earlier.past or not _goes_on_now(earlier)
    if any(read.general for read in reads) and not any(read.own for read in reads):
        for read in reads:
            read.general = not read.cues.get("recent")


def _goes_on_now(read: Read) -> bool:
    healed = read.cues.get("healed", ())
    return any(
        not any(begun <= start and end <= ended for begun, ended in healed)
        for start, end in read.cues.get("ongoing", ())
    )


def _is_healed(read: Read) -> bool:
    return any(
        not is_denied(read, start, end)
        and not any(word.stem == "not" for word in read.words[max(0, start - 2) : start])
        for start, end in read.cues.get("healed", ())
    )


def holds(read: Read, name: str, start: int, end: int) -> bool:
    """Whether what was found counts now."""
    if read.general or read.footage or is_denied(read, start, end):
        return False
    if _is_hypothetical(read, start):
        return False
    return not (read.past and lexicon().kind[name] == "fact")


def _is_hypothetical(read: Read, start: int) -> bool:
    for begun, ended in read.cues.get("if_someone", ()):
        if begun <= start and not any(ended <= place < start for place in _own_places(read)):
            return True
    return any(
        begun <= start and not _breaks_between(read, ended, start)
        for begun, ended in read.cues.get("preventing", ())
    )


def _own_places(read: Read) -> list[int]:
    return [
        place
        for cue in ("own_first", "own_third", "near_person")
        for place, _ in read.cues.get(cue, ())
        if place not in read.framed
    ]


def is_denied(read: Read, start: int, end: int) -> bool:
    """Whether a "no", "not" or "without" before, or a "none" right after, takes back words ``start`` to ``end``."""
    for begun, ended in read.cues.get("negator", ()):
        if (
            ended <= start
            and start - ended <= FARTHEST_DENIAL
            and _is_denial(read, begun)
            and not _breaks_between(read, ended, start)
        ):
            return True
    after = read.words[end : end + 1]
    return bool(after) and after[0].stem in ("none", "nope", "nah", "negativ") and len(read.words) - end <= 2


def _is_denial(read: Read, at: int) -> bool:
    if read.words[at].stem == "not" and at and read.words[at - 1].stem in MODALS:
        return False
    return not any(begun <= at < ended for begun, ended in read.cues.get("not_negator", ()))


def _breaks_between(read: Read, ended: int, start: int) -> bool:
    words = read.words
    if any(ended <= begun < start for begun, _ in read.cues.get("clause_break", ())):
        return True
    for place in range(ended, start + 1):
        if place < start and words[place].stem == "and" and words[place + 1].stem in NEW_SUBJECT:
            return True
        if words[place].after_comma and place > ended and not _goes_on(words, place, start):
            return True
    return False


def _goes_on(words: Sentence, place: int, start: int) -> bool:
    """Whether the list that began before a comma goes on after it: "no numbness, tingling or weakness"."""
    between = words[place:start]
    if words[start].stem in NOT_LISTED or words[place].stem in NOT_LISTED:
        return False
    if all(word.stem in LIST_WORDS or word.stem in FILLER_FORMS for word in between):
        rest = words[start : start + 7]
        alone = start + 1 >= len(words) or words[start + 1].after_comma
        return (
            alone
            or any(word.stem in ("or", "nor") for word in rest)
            or any(w.stem in ("or", "nor") for w in between)
        )
    return any(word.stem in ("or", "nor") for word in words[place : start + 6])
