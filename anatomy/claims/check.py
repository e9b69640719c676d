"""Checks a text: every anatomical claim in it, read, judged and explained. No network, no model, no chance."""

from __future__ import annotations

from functools import lru_cache

from anatomy.claims.acting import Acting
from anatomy.claims.claim import Claim
from anatomy.claims.corrections import corrected
from anatomy.claims.items import Sentence, sentences_of
from anatomy.claims.kinds.actions import claim_actions
from anatomy.claims.lexicon import Lexicon
from anatomy.claims.reading import Memory, Reading
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["Claim", "Claims", "check_claims"]

READERS = (claim_actions,)


class Claims:
    """A checker for one vocabulary. Compiling takes about a tenth of a second; keep it for the texts that follow."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.lexicon = Lexicon.of(vocabulary)
        self.acting = Acting(vocabulary)

    def check(self, text: str) -> list[Claim]:
        """The claims of a text in the order of their places. Never raises; linear in the length of the text."""
        memory = Memory()
        found: list[Claim] = []
        for sentence in sentences_of(text, self.lexicon):
            found += self._sentence(text, sentence, memory)
        return sorted(found, key=lambda claim: (claim.start, claim.end, claim.kind))

    def _sentence(self, text: str, sentence: Sentence, memory: Memory) -> list[Claim]:
        if sentence.question or "REPORT" in sentence.classes:
            return []
        sentence = corrected(sentence)
        reading = Reading(text, sentence, self.lexicon, self.acting, memory)
        before = memory.topic
        for read in READERS:
            read(reading)
        if memory.topic is before:
            memory.topic = self._topic(reading)
        return reading.claims

    def _topic(self, reading: Reading) -> object:
        """What "it" may mean in the next sentence: the muscles that this one names first, when it names any."""
        if "MUS" not in reading.sentence.classes:
            return None
        place = next(k for k, item in enumerate(reading.items) if "MUS" in item.c)
        return reading.subjects.starting_at(place)


@lru_cache(maxsize=4)
def _claims_for(vocabulary: Vocabulary) -> Claims:
    return Claims(vocabulary)


def check_claims(text: str, vocabulary: Vocabulary) -> list[Claim]:
    """Every anatomical claim in ``text`` with its verdict; offsets are characters of the text as given."""
    return _claims_for(vocabulary).check(text)
