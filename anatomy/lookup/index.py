"""One search over the whole vocabulary: standard names, plain words, slang, dictation errors, descriptions.

A question is matched against every way of saying an entry and against what the entry is said to be; words
that are rare in the vocabulary count more. What turns up through a motion ("what turns the arm out") brings
the muscles that produce that motion.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import Literal

from anatomy.lookup.words import EMPTY_WORDS, WordBook, words_of
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.naming import fold, motion_key, split_motion

__all__ = ["KINDS", "Hit", "SearchIndex", "index_of", "resolve"]

# In the order in which results stand when they fit equally well.
KINDS = (
    "muscle", "group", "motion", "joint", "nerve", "structure", "contraction", "plane", "segment", "chain", "concept",
)  # fmt: skip
_STYLES = {"standard": 1.0, "short": 0.98, "plain": 0.98, "own": 0.98, "slang": 0.97, "dictation": 0.95}
_LEAST = 0.34
_OF_BEST = 0.7
_BEST_COUNTED = 1.0  # an exact name does not hide what merely fits well
_UNKNOWN = 0.5

Through = Literal["name", "description", "action"]


@dataclass(frozen=True, slots=True)
class Hit:
    """An entry that a question may mean. ``said`` is the text that matched; ``score`` is 0 … about 2.

    ``through`` tells how: by a name, by its description, or by an action ("said" is then the motion).
    """

    kind: str
    name: str
    score: float
    said: str
    through: Through


@dataclass(frozen=True, slots=True)
class _Saying:
    """One text of an entry: a term, or its description."""

    entry: tuple[str, str]
    text: str
    words: tuple[str, ...]
    weight: float
    described: bool
    misheard: bool = False


class SearchIndex:
    """The sayings of one vocabulary, by word. Made once for each vocabulary (``index_of``)."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.sayings = tuple(_sayings(vocabulary))
        self._by_word: dict[str, list[int]] = defaultdict(list)
        for place, saying in enumerate(self.sayings):
            for word in set(saying.words):
                self._by_word[word].append(place)
        said = {word for saying in self.sayings if not saying.misheard for word in saying.words}
        self.book = WordBook(self._by_word, self._by_word.keys() - said)

    def search(self, question: str, *, kinds: Iterable[str] = KINDS) -> list[Hit]:
        """Hits, best first; nothing for a question without words. ``kinds`` limits what may be found."""
        asked = self._asked(question)
        if not asked:
            return []
        best = self._scored(asked, fold(question))
        self._add_actors(best)
        wanted = set(kinds)
        hits = [hit for hit in best.values() if hit.kind in wanted]
        top = max((hit.score for hit in hits), default=0.0)
        least = max(_LEAST, min(top, _BEST_COUNTED) * _OF_BEST)
        return sorted(
            (hit for hit in hits if hit.score >= least),
            key=lambda hit: (-round(hit.score, 3), KINDS.index(hit.kind), hit.name),
        )

    def _asked(self, question: str) -> list[dict[str, float]]:
        """For each word of the question, the words of the index that it may stand for."""
        words = words_of(question[:200])
        full = [word for word in words if word not in EMPTY_WORDS] or list(words)
        found = [self.book.like(word) for word in full]
        for place in range(len(full) - 1):  # "ham strings", "glut max" heard as two words or one
            joined = full[place] + full[place + 1]
            if joined in self.book.words:
                for at in (place, place + 1):
                    found[at] = {**found[at], joined: 0.9}
        return found

    def _rarity(self, likely: dict[str, float]) -> float:
        """How much a word of the question tells: a word that stands everywhere tells little."""
        count = sum(len(self._by_word[word]) for word, sure in likely.items() if sure >= 0.7)
        return log(1 + len(self.sayings) / (1 + count))

    def _scored(self, asked: Sequence[dict[str, float]], whole: str) -> dict[tuple[str, str], Hit]:
        known = [self._rarity(likely) for likely in asked if likely]
        strange = _UNKNOWN * min(known, default=1.0)  # a word that stands nowhere must not hide the others
        weights = [self._rarity(likely) if likely else strange for likely in asked]
        total = sum(weights)
        met: dict[int, dict[int, tuple[float, str]]] = defaultdict(dict)
        for number, likely in enumerate(asked):
            for word, sure in likely.items():
                for place in self._by_word[word]:
                    if sure > met[place].get(number, (0.0, ""))[0]:
                        met[place][number] = (sure, word)
        best: dict[tuple[str, str], Hit] = {}
        for place, matched in met.items():
            saying = self.sayings[place]
            covered = sum(weights[number] * sure for number, (sure, _) in matched.items()) / total
            score = self._of_saying(saying, covered, {word for _, word in matched.values()}, whole)
            hit = Hit(*saying.entry, score, saying.text, "description" if saying.described else "name")
            if saying.entry not in best or score > best[saying.entry].score:
                best[saying.entry] = hit
        return best

    @staticmethod
    def _of_saying(saying: _Saying, covered: float, words: set[str], whole: str) -> float:
        if saying.described:
            return 0.8 * covered * saying.weight
        used = len(words) / len(set(saying.words))
        exact = 0.6 if fold(saying.text) == whole else 0.0
        return (covered * (0.62 + 0.38 * used) + exact) * saying.weight

    def _add_actors(self, best: dict[tuple[str, str], Hit]) -> None:
        """The muscles that produce the motions that fit best; where muscles fit at least as well, none."""
        motions = sorted((hit for hit in best.values() if hit.kind == "motion"), key=lambda hit: -hit.score)
        top = max((hit.score for hit in best.values()), default=0.0)
        for motion in motions[:3]:
            if motion.score < max(0.45, 0.93 * top):
                return
            joint, name = split_motion(motion.name)
            for action in self.vocabulary.actions_at(joint, name) if joint else ():
                score = motion.score * (0.85 if action.role == "prime" else 0.7)
                key = ("muscle", action.muscle)
                if key not in best or score > best[key].score:
                    best[key] = Hit("muscle", action.muscle, score, f"{joint} {name}", "action")


def _sayings(vocabulary: Vocabulary) -> Iterable[_Saying]:
    for term in vocabulary.terms:
        entry = _entry_of(vocabulary, term.kind, term.of)
        if entry and (words := words_of(term.text)):
            yield _Saying(entry, term.text, words, _STYLES[term.style], False, term.style == "dictation")
    for entry, text, more in _descriptions(vocabulary):
        if words := words_of(f"{text} {more}"):
            yield _Saying(entry, text or more, words, 1.0, True)


def _entry_of(vocabulary: Vocabulary, kind: str, of: str) -> tuple[str, str] | None:
    if kind != "axis":
        return kind, of
    plane = next((one for one in vocabulary.planes.values() if one.axis == of), None)
    return ("plane", plane.name) if plane else None


def _descriptions(vocabulary: Vocabulary) -> Iterable[tuple[tuple[str, str], str, str]]:
    """(entry, its plain words, what else belongs to it) of everything that is described."""
    for muscle in vocabulary.muscles.values():
        yield ("muscle", muscle.name), muscle.gloss, f"{muscle.name} {muscle.latin} {muscle.region}"
    for motion in vocabulary.motions.values():
        key = motion_key(motion.joint, motion.name)
        joint = vocabulary.joints.get(motion.joint)
        yield (
            ("motion", key),
            motion.gloss,
            f"{motion.joint} {motion.name} {joint.within if joint else ''}",
        )
    for joint in vocabulary.joints.values():
        yield ("joint", joint.name), joint.gloss, f"{joint.name} {joint.region} {joint.within}"
    for kind, table in (
        ("group", vocabulary.groups),
        ("structure", vocabulary.structures),
        ("nerve", vocabulary.nerves),
        ("contraction", vocabulary.contractions),
        ("plane", vocabulary.planes),
        ("segment", vocabulary.segments),
        ("concept", vocabulary.concepts),
    ):
        for one in table.values():
            yield (kind, one.name), one.gloss, one.name
    for chain in vocabulary.chains:
        yield ("chain", chain.movement), chain.note, " ".join((chain.movement, *chain.order))


@lru_cache(maxsize=4)
def index_of(vocabulary: Vocabulary) -> SearchIndex:
    """The index of a vocabulary, made once as long as the vocabulary stays the same object."""
    return SearchIndex(vocabulary)


def resolve(vocabulary: Vocabulary, text: str, kinds: Sequence[str] = KINDS) -> list[tuple[str, str]]:
    """Which entries a text names exactly, by any way of saying them; in the order of ``kinds``.

    A motion may be written "hip: flexion" or "hip flexion". One meaning is an answer; several have to be
    chosen from; none: see ``SearchIndex.search`` for what may have been meant.
    """
    folded = fold(text)
    found = {(kind, name) for kind in kinds for name in _named(vocabulary, kind, folded)}
    if not found:
        found = {(term.kind, term.of) for term in vocabulary.meanings(text)}
        found = {(kind, name) for kind, name in found if kind in kinds and vocabulary.entry(kind, name)}
    return sorted(found, key=lambda one: (kinds.index(one[0]), one[1]))


def _named(vocabulary: Vocabulary, kind: str, folded: str) -> Iterable[str]:
    return (name for name in vocabulary.names(kind) if fold(name) == folded and vocabulary.entry(kind, name))
