"""One sentence made ready for the readers of each kind of claim, with what the sentences before it left behind."""

from __future__ import annotations

from dataclasses import dataclass, field
from dataclasses import replace as changed
from functools import cached_property

from anatomy.claims.acting import Acting
from anatomy.claims.claim import Claim, Finding, Kind
from anatomy.claims.expressions import Expression, ExpressionReader
from anatomy.claims.items import Item, Sentence
from anatomy.claims.lexicon import Lexicon, Pair
from anatomy.claims.phrases import Stream
from anatomy.claims.subjects import Subject, SubjectReader
from anatomy.muscles.known import KnownPosture


@dataclass
class Memory:
    """What pronouns and "the same" may refer to in the next sentence."""

    topic: Subject | None = None
    part: str = ""
    motion: tuple[Pair, ...] = ()
    turn: str = ""
    commanded: bool = False
    asked: bool = False
    last: object = None
    quiet: int = 0
    movement: str = ""
    before: list[Item] | None = None


@dataclass
class Reading:
    """A sentence with its motion expressions and the grammar that links them to muscles.

    ``postures``: what is known of the posture of the picture that the words are said over, one for each side known.
    """

    text: str
    sentence: Sentence
    lexicon: Lexicon
    acting: Acting
    memory: Memory
    claims: list[Claim] = field(default_factory=list)
    postures: tuple[KnownPosture, ...] = ()

    @property
    def items(self) -> list[Item]:
        """The sentence's items."""
        return self.sentence.items

    @cached_property
    def expressions(self) -> list[Expression]:
        """The sentence's motion expressions."""
        return ExpressionReader(self.items, self.lexicon, self.memory.part).read()

    @cached_property
    def stream(self) -> Stream:
        """The sentence's words, for looking up phrases."""
        return Stream(self.items)

    @cached_property
    def subjects(self) -> SubjectReader:
        """The grammar of who does what in this sentence."""
        return SubjectReader(
            self.items,
            self.expressions,
            self.memory.topic,
            self.lexicon.special,
            self.lexicon.species,
            self.lexicon.vocabulary.members,
            self.sentence.apart,
        )

    def has(self, *classes: str) -> bool:
        """Whether any of these classes occurs in the sentence."""
        return not self.sentence.classes.isdisjoint(classes)

    def add(
        self, kind: Kind, i: int, j: int, finding: Finding, replace: tuple[int, int, str] | None = None
    ) -> None:
        """A claim from item ``i`` to item ``j``, half-open; ``replace`` is a stretch of items and its new words."""
        items, vocabulary = self.items, self.lexicon.vocabulary
        start, end = items[i].start, items[j - 1].end
        claim = Claim(
            start,
            end,
            self.text[start:end],
            kind,
            finding.verdict,
            finding.why,
            finding.instead,
            finding.sources,
            # A kind's own table may name things that the vocabulary has no entry for ("tongue muscles").
            tuple(term for term in finding.terms if vocabulary.has(*term)),
            estimate=finding.estimate,
        )
        if replace is not None:
            a, b, words = replace
            claim = changed(
                claim, replace_start=items[a].start, replace_end=items[b - 1].end, replacement=words
            )
        self.claims.append(claim)
