"""Which breakdown and which moment of it a question asks about, proposed with its reason, or nothing.

A question is compared with the words of every beat, as questions are compared with one another
(``breakdowns.questions.sorting``): concepts of the vocabulary, words, their meaning, and the sense of the whole where an
encoder is installed. A breakdown is named where a beat, or its title, is near enough; a moment only where one beat
stands out from the others, or where the question gives a time. A proposal is put right with one key, so it is made
rather than left where the nearest beat is near; a wrong one costs a glance.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from anatomy.lookup.words import EMPTY_WORDS
from breakdowns.footage.timebase import clock_label
from breakdowns.questions.sorting import Fingerprint, similarity
from breakdowns.questions.sorting.reading import read

__all__ = ["TITLE", "Proposal", "Spoken", "propose", "time_said"]

TITLE = -1
"""The place of a breakdown's title among its beats."""
NEAR = 0.27
"""Likeness from which a beat names its breakdown (``tests/questions/about``: the open table; own choice)."""
NEAR_TITLE = 0.3
NAMED = 0.1
"""How much is added where the question speaks of the video itself ("you showed", "in the clip"), or of the newest one."""
_SAYS_LITTLE = frozenset({"ask", "aspect", "off", "side"})
"""Kinds of concepts that are no reason to a reader."""
STANDS_OUT = 0.05
"""By how much the nearest beat must be nearer than the next one of its breakdown, to be called the moment."""

_THE_VIDEO = re.compile(
    r"\b(?:your|the|this|that|last|latest|newest|new)\s+(?:\S+\s+){0,3}?(?:video|clip|breakdown|analysis|piece|film)\b"
    r"|\byou\s+(?:\w+\s+)?(?:say|said|show|showed|shown|name|named|explain|explained|call|called|mention|mentioned)\b",
    re.IGNORECASE,
)
_NEWEST = re.compile(
    r"\b(?:last|latest|newest|most recent|new)\s+(?:\S+\s+)?(?:video|clip|breakdown|analysis|piece|film)\b",
    re.IGNORECASE,
)
_CLOCK = re.compile(r"(?<![\d:.])(\d{1,2}):([0-5]\d)(?![\d:])(?!\s*(?:am|pm|h|o'clock)\b)", re.IGNORECASE)
_SECONDS = re.compile(
    r"\b(?:second|sec)\s+(\d{1,3})\b|\b(?:at|around|about|near)\s+(\d{1,3})\s*(?:s|secs?|seconds?)\b"
    r"|\b(\d{1,3})\s*(?:s|secs?|seconds?)\s+in\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Spoken:
    """What is said at one place of a breakdown: its title (``place`` is TITLE) or one beat, with its fingerprint."""

    release: Hashable
    title: str
    place: int
    start_frame: int
    heading: str
    print: Fingerprint


@dataclass(frozen=True, slots=True)
class Proposal:
    """A breakdown, a frame of its video or None for the whole, one sentence of why, and the likeness, 0 to 1."""

    release: Hashable
    frame: int | None
    because: str
    score: float


def time_said(text: str) -> int | None:
    """Seconds of a time that a question gives ("at 0:26", "26 seconds in"), or None."""
    if clock := _CLOCK.search(text):
        return int(clock[1]) * 60 + int(clock[2])
    if seconds := _SECONDS.search(text):
        return int(seconds[1] or seconds[2] or seconds[3])
    return None


def propose(
    text: str,
    said: Fingerprint,
    spoken: Iterable[Spoken],
    *,
    rates: dict[Hashable, tuple[Fraction, int]],
    newest: Hashable = None,
    given: Hashable = None,
) -> Proposal | None:
    """The breakdown and moment that a question asks about, or None where nothing is near enough.

    ``rates``: frames a second and number of frames of each breakdown. ``newest``: the last one released.
    ``given``: the breakdown that the member came from; then only its moment is looked for.
    """
    by_release: dict[Hashable, list[tuple[float, Spoken]]] = defaultdict(list)
    for one in spoken:
        if given is None or one.release == given:
            by_release[one.release].append((similarity(said, one.print), one))
    if not by_release:
        return None
    extra = NAMED if _THE_VIDEO.search(text) else 0.0
    favoured = newest if _NEWEST.search(text) else None
    best = max(
        by_release.items(),
        key=lambda item: (_nearness(item[1]) + (NAMED if item[0] == favoured else 0.0), str(item[0])),
    )
    release, found = best[0], sorted(best[1], key=lambda pair: (-pair[0], pair[1].place))
    near = _nearness(found) + extra + (NAMED if release == favoured else 0.0)
    if given is None and near < NEAR and favoured != release:
        return None
    rate, frames = rates[release]
    seconds = time_said(text) if extra or given is not None or release == favoured else None
    if seconds is not None and seconds * rate < frames:
        frame = int(seconds * rate)
        return Proposal(release, frame, f"It gives the time {clock_label(Fraction(seconds), 0)}.", near)
    beats = [(score, one) for score, one in found if one.place != TITLE]
    moment = _moment(beats, given is not None)
    if moment is None:
        if given is not None:
            return None
        return Proposal(
            release, None, _because(text, said, [one for _, one in found[:3]], release == favoured), near
        )
    return Proposal(release, moment.start_frame, _because(text, said, [moment], release == favoured), near)


def _nearness(found: Sequence[tuple[float, Spoken]]) -> float:
    """How near a breakdown is: its nearest beat, or its title where that is nearer by what titles must have more."""
    return max(score - (NEAR_TITLE - NEAR if one.place == TITLE else 0.0) for score, one in found)


def _moment(beats: Sequence[tuple[float, Spoken]], sure: bool) -> Spoken | None:
    """The beat that stands out, or None. ``sure``: the breakdown is known, so that less is enough."""
    if not beats:
        return None
    first, second = beats[0][0], beats[1][0] if len(beats) > 1 else 0.0
    least = NEAR - NAMED if sure else NEAR - NAMED / 2
    return beats[0][1] if first >= least and first - second >= STANDS_OUT else None


def _because(text: str, said: Fingerprint, spoken: Sequence[Spoken], newest: bool) -> str:
    """The words that question and breakdown have in common, as the question says them."""
    words = _shared_words(text, said, spoken)
    shared = f"It shares {_listed(words)} with" if words else "It means much the same as"
    one = spoken[0]
    where = f"“{one.heading}” in “{one.title}”" if one.heading and len(spoken) == 1 else f"“{one.title}”"
    return f"{shared} {where}{', the newest one' if newest else ''}."


def _shared_words(text: str, said: Fingerprint, spoken: Sequence[Spoken]) -> list[str]:
    theirs: dict[str, float] = {}
    for one in spoken:
        for term, weight in one.print.terms:
            theirs[term] = max(weight, theirs.get(term, 0.0))
    worth = {term: weight * theirs[term] for term, weight in said.terms if term in theirs}
    reading = read(text)
    shown: dict[str, float] = {}
    for found in reading.found:
        if found.key in worth and not found.denied and found.kind not in _SAYS_LITTLE:
            words = reading.said(found).casefold()
            shown[words] = max(worth[found.key], shown.get(words, 0.0))
    for word in reading.words:
        if (term := f"w:{word.stem}") in worth and word.text not in EMPTY_WORDS:
            shown.setdefault(word.text, worth[term])
    # A name in whole words says what its pieces say; it takes the worth of the best of them.
    whole = [words for words in shown if not any(words != other and words in other for other in shown)]
    best = {words: max(shown[one] for one in shown if one in words) for words in whole}
    return sorted(best, key=lambda words: (-best[words], words))[:3]


def _listed(words: Sequence[str]) -> str:
    quoted = [f"“{word}”" for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
