"""Checks a text: every anatomical claim in it, read, judged and explained. No network, no model, no chance."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache

from anatomy.claims.acting import Acting
from anatomy.claims.claim import Claim
from anatomy.claims.corrections import corrected
from anatomy.claims.in_posture import postures_of
from anatomy.claims.items import Item, Sentence, sentences_of
from anatomy.claims.kinds.actions import claim_actions
from anatomy.claims.kinds.breathing import claim_breathing
from anatomy.claims.kinds.chains import claim_chains
from anatomy.claims.kinds.contraction import claim_contraction
from anatomy.claims.kinds.innervation import claim_innervation
from anatomy.claims.kinds.levels import claim_levels
from anatomy.claims.kinds.orders import claim_orders
from anatomy.claims.kinds.planes import claim_planes
from anatomy.claims.kinds.ranges import claim_ranges
from anatomy.claims.kinds.side_blows import claim_blows
from anatomy.claims.kinds.sides import claim_sides
from anatomy.claims.kinds.stated import claim_stated
from anatomy.claims.kinds.training import claim_training
from anatomy.claims.lexicon import Lexicon
from anatomy.claims.reading import Memory, Reading
from anatomy.claims.referring import said_in_full
from anatomy.claims.subjects import Subject
from anatomy.muscles.known import KnownPosture
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["Claim", "Claims", "check_claims"]

READERS = (
    claim_actions,
    claim_training,
    claim_breathing,
    claim_innervation,
    claim_planes,
    claim_levels,
    claim_chains,
    claim_sides,
    claim_blows,
    claim_ranges,
    claim_contraction,
    claim_orders,
    claim_stated,
)


READ_IN_FULL = (
    claim_sides,
    claim_levels,
    claim_planes,
    claim_ranges,
    claim_chains,
    claim_innervation,
    claim_contraction,
    claim_stated,
)
"""Readers that are given a sentence once more, with what it leaves out put in; muscle actions have their own memory."""


class Claims:
    """A checker for one vocabulary. Compiling takes about a tenth of a second; keep it for the texts that follow."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.lexicon = Lexicon.of(vocabulary)
        self.acting = Acting(vocabulary)

    def check(self, text: str, postures: tuple[KnownPosture, ...] = ()) -> list[Claim]:
        """The claims of a text in the order of their places. Never raises; linear in the length of the text."""
        memory = Memory()
        found: list[Claim] = []
        last: list[Claim] = []
        for sentence in sentences_of(text, self.lexicon):
            if last and _rejects(sentence):
                del found[len(found) - len(last) :]
            last = self._sentence(text, sentence, memory, postures)
            found += last
        return sorted(found, key=lambda claim: (claim.start, claim.end, claim.kind))

    def _sentence(
        self, text: str, sentence: Sentence, memory: Memory, postures: tuple[KnownPosture, ...]
    ) -> list[Claim]:
        asked = sentence.question and not _only_tag(sentence)
        sentence = corrected(sentence)
        reading = Reading(text, sentence, self.lexicon, self.acting, memory, postures=postures)
        last = memory.last
        for read in () if asked else READERS:
            read(reading)
        if not reading.claims and not asked:
            reading.claims = self._in_full(reading)
        if "REPORT" in sentence.classes:
            reading.claims = _asserted(reading)
        memory.last = None if memory.last is last else memory.last
        memory.asked = asked or _asks_indirectly(sentence)
        memory.topic = self._topic(reading, memory)
        self._remember(reading, memory)
        memory.before = reading.items
        return reading.claims

    def _in_full(self, reading: Reading) -> list[Claim]:
        """The claims of the sentence with what it leaves out put in: a pronoun's thing, the question that it answers."""
        memory = reading.memory
        for whole in said_in_full(reading.sentence, memory.before or [], memory.asked):
            full = Reading(reading.text, whole, self.lexicon, self.acting, memory)
            for read in READ_IN_FULL:
                read(full)
            if full.claims:
                return [
                    _without_words_put_in(claim, whole, reading)
                    for claim in full.claims
                    if claim.end > claim.start
                ]
        return []

    def _remember(self, reading: Reading, memory: Memory) -> None:
        """What the next sentence may point back to: a part of the body, and a motion that no muscle was named for."""
        parts = []
        if reading.has("PART"):
            parts = [
                item.c["PART"] for item in reading.items if "PART" in item.c and not item.is_("MUS", "DIR")
            ]
        if len(reading.items) <= 3 and not reading.has("MUS", "PART", "FAM", "PV"):
            return
        memory.part = parts[-1] if parts else ""
        memory.motion, memory.turn, memory.commanded = (), "", False
        if reading.has("PV", "FAM", "MOTN", "AGT") and not reading.claims:
            said = [
                e
                for e in reading.expressions
                if e.pairs and not e.vague and (memory.asked or e.form != "agent")
            ]
            if said:
                memory.motion, memory.turn = said[-1].pairs, said[-1].turn
                memory.commanded = said[-1].form == "base" and said[-1].i <= 2

    def _topic(self, reading: Reading, memory: Memory) -> Subject | None:
        """What "it" may mean in the next sentence: the muscles that this one names last at its end, else first."""
        items = reading.items
        if "MUS" not in reading.sentence.classes:
            memory.quiet += 1
            return memory.topic if memory.quiet <= 2 else None
        memory.quiet = 0
        if "MUS" in items[-1].c:
            return reading.subjects.ending_at(len(items) - 1)
        if memory.topic is not None and any(claim.kind == "muscle_action" for claim in reading.claims):
            return memory.topic
        place = next(k for k, item in enumerate(items) if "MUS" in item.c)
        return reading.subjects.starting_at(place)


def _without_words_put_in(claim: Claim, whole: Sentence, reading: Reading) -> Claim:
    """The claim, offering to replace only words that the sentence itself has."""
    own = {id(item) for item in reading.items}
    start = claim.replace_start
    if start < 0 or any(item.start == start and id(item) in own for item in whole.items):
        return claim
    return replace(claim, replace_start=-1, replace_end=-1, replacement="")


def _asserted(reading: Reading) -> list[Claim]:
    """The claims of a sentence that are the speaker's own: not what "people say" or "a myth" holds."""
    items = reading.items
    places = [k for k, item in enumerate(items) if "REPORT" in item.c and not _only_told(items, k)]
    if not places:
        return reading.claims
    if any(items[k].text in JUDGED for k in places):
        return []
    first = places[0]
    turn = next(
        (
            item.start
            for item in items[first:]
            if item.is_("BUT", "CORRECT") or item.text in ("in fact", "actually", "really")
        ),
        None,
    )
    start = items[first].start
    return [c for c in reading.claims if c.end <= start or (turn is not None and c.start >= turn)]


def _only_told(items: list[Item], k: int) -> bool:
    """ "As the student told me", "nobody told me that": the speaker says it himself."""
    before = items[max(0, k - 3) : k]
    if before and before[-1].text in ("as", "like", "whatever", "what", "nobody", "no one"):
        return True
    return any(item.text in ("as", "as the", "as a", "as your", "as our") for item in before)


JUDGED = frozenset(
    [
        "myth",
        "a myth",
        "not true",
        "untrue",
        "isn't true",
        "is not true",
        "is false",
        "was wrong",
        "is wrong",
        "nonsense",
        "would be wrong",
        "false that",
        "misconception",
        "popular belief",
        "the old idea",
        "rumour",
        "folklore",
        "true or false",
        "a mistake",
        "the mistake",
    ]
)


def _rejects(sentence: Sentence) -> bool:
    """ "That's wrong.", "They're mistaken.": the sentence before is taken back."""
    items = sentence.items
    return (
        "REJECT" in sentence.classes
        and len(items) <= 7
        and items[0].is_("IT", "DET", "AUX", "PERSON", "NEG", "REJECT")
        and not sentence.classes & {"MUS", "PART"}
    )


def _asks_indirectly(sentence: Sentence) -> bool:
    """ "Ask yourself what lifts the arm.": a question in the words of a statement, that the next sentence answers."""
    words = {item.text for item in sentence.items}
    asks = not words.isdisjoint({"ask", "guess", "question", "riddle", "quiz"})
    return asks and not words.isdisjoint({"what", "who", "which"}) and "MUS" not in sentence.classes


def _only_tag(sentence: Sentence) -> bool:
    """A statement with a short tag at its end ("…, right?", "…, okay?") is a statement still."""
    items = sentence.items
    for k in range(len(items) - 1, max(0, len(items) - 5), -1):
        if items[k].is_("COMMA"):
            return k > 3 and not any(item.is_("MUS", "PART", "FAM", "PV") for item in items[k:])
    return False


@lru_cache(maxsize=4)
def _claims_for(vocabulary: Vocabulary) -> Claims:
    return Claims(vocabulary)


def check_claims(
    text: str, vocabulary: Vocabulary, posture: KnownPosture | Iterable[KnownPosture] | None = None
) -> list[Claim]:
    """Every anatomical claim in ``text`` with its verdict; offsets are characters of the text as given.

    ``posture``: the measured joint angles of the picture that the text is said over, one side or both
    (``anatomy.muscles.known.known_posture``); what hangs on posture is then judged in it, as a model's estimate.
    """
    return _claims_for(vocabulary).check(text, postures_of(posture))
