"""Technical terms that are said for the first time without plain words beside them: a quiet offer each."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Final, NamedTuple

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Term
from anatomy.vocabulary.naming import fold
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.scripts.checks.figures import act
from breakdowns.scripts.margin import Action, Finding, WholeCheck
from breakdowns.scripts.script import ScriptView
from breakdowns.scripts.spoken_text import read_aloud
from breakdowns.scripts.terms import everyday_words, find_terms, plain_texts

__all__ = ["PlainWordsCheck", "plain_words_of"]

_STYLES: Final = ("standard", "short")
_KINDS: Final = ("muscle", "group", "joint", "structure", "nerve", "concept")
_LONGEST_GLOSS: Final = 120
_ARTICLES: Final = "a|an|the|one|your|what|where|how|when|two|three|four|any|all"
# What often stands right behind a term that is being explained, or right before it.
_AFTER: Final = re.compile(
    rf"\s*(?:\(|[,–—-]+\s*(?:{_ARTICLES}|which|that is|i\.e\.|meaning|or)\b|\s(?:is|are|means)\s+(?:{_ARTICLES})\b)",
    re.I,
)
_BEFORE: Final = re.compile(r"(?:\b(?:called|known as|named)\s+|\(\s*)(?:(?:the|a|an|your)\s+)?$", re.I)
# A term with the noun that belongs to it ("glenohumeral joint"); a joint's name without one is an adjective.
_NOUN: Final = re.compile(r"\s+(?:joint|muscle|nerve|bone)s?\b", re.I)
_PART: Final = re.compile(r"\s+(?:tendon|ligament|insertion|origin|fibre|head|capsule|tear|strain)s?\b", re.I)
_ADJECTIVE: Final = re.compile(r"(?:al|ar|ic)$")
_TELLING: Final = re.compile(r"[^\W\d_]{4,}")


class _First(NamedTuple):
    """A term at its first place; ``plain`` are its plain words, ``after`` the sign that follows it there."""

    beat: str
    end: int
    said: str
    kind: str
    of: str
    plain: str
    after: str


class PlainWordsCheck(WholeCheck):
    """Offers the plain words of each technical term where the piece says it first, unless they stand there already.

    One offer for each term, hung on the piece and not on its place, so that an answer holds wherever the
    term is said. Recorded words can't be added to and are left alone.
    """

    key = "plain_words"
    version = 1

    def reads(self, script: ScriptView) -> tuple[_First, ...] | None:
        vocabulary = script.vocabulary or packaged_vocabulary()
        met: set[tuple[str, str]] = set()
        offered: list[_First] = []
        for beat in script.beats:
            for term, explained in _technical_terms(beat.words, vocabulary):
                if (term.kind, term.of) in met:
                    continue
                met.add((term.kind, term.of))
                if not explained and beat.take_seconds is None:
                    offered.append(term._replace(beat=beat.id))
        return tuple(offered) or None

    def judge(self, material: tuple[_First, ...]) -> Iterator[Finding]:
        for term in material:
            closing = "" if term.after and term.after in ",.;:!?)…" else ","
            text = f", {term.plain}{closing}"
            yield Finding(
                "offer",
                f"{term.said[:1].upper()}{term.said[1:]} comes without plain words",
                "Say what it is where you say it first:",
                (
                    _put_in(term, text),
                    act("Show me", "write_words", beat=term.beat, start=term.end, end=term.end),
                ),
                instead=f"{term.said}, {term.plain}",
                rule=f"{term.kind}:{term.of}",
                about=term.of,
            )


def _put_in(term: _First, text: str) -> Action:
    at = term.end
    return act("Put it in", "replace_words", key="Enter", beat=term.beat, start=at, end=at, was="", text=text)


@lru_cache(maxsize=2048)
def _technical_terms(words: str, vocabulary: Vocabulary) -> tuple[tuple[_First, bool], ...]:
    """The technical terms of one beat in order, each with whether plain words stand near it."""
    found = find_terms(words, vocabulary)
    sentences = [(one.start, one.end) for one in read_aloud(words).sentences] if found else []
    seen = []
    for each in found:
        noun = _NOUN.match(words, each.end)
        end = noun.end() if noun else each.end
        said = words[each.start : end]
        term = _technical(each.terms, said)
        plain = plain_words_of(term, vocabulary) if term else ""
        if term is None or not plain or _PART.match(words, end) or _is_adjective(term, noun is not None):
            continue
        first = _First("", end, said, term.kind, term.of, plain, words[end : end + 1])
        near = fold(_around(words, sentences, each.start, end))
        beside = _AFTER.match(words, end) or _BEFORE.search(words, max(0, each.start - 30), each.start)
        seen.append((first, bool(beside) or _told(near, term, plain, vocabulary)))
    return tuple(seen)


def _technical(terms: Sequence[Term], said: str) -> Term | None:
    """The one technical meaning of what was said; none where it is a word of everyday speech."""
    if fold(said) in everyday_words("body") or any(term.style == "plain" for term in terms):
        return None
    fitting = {(t.kind, t.of): t for t in terms if t.kind in _KINDS and t.style in _STYLES}
    return next(iter(fitting.values())) if len(fitting) == 1 else None


def _is_adjective(term: Term, with_noun: bool) -> bool:
    """Whether the term needs a noun that does not follow it, so that nothing can be put behind it."""
    return term.kind == "joint" and not with_noun and bool(_ADJECTIVE.search(term.text))


def plain_words_of(term: Term, vocabulary: Vocabulary) -> str:
    """The entry's gloss as it can stand behind the term; "" where it has none, or one that only says the term again."""
    entry = vocabulary.entry(term.kind, term.of)
    gloss = re.split(r"[:;.]\s", f"{getattr(entry, 'gloss', '')} ")[0].strip().rstrip(".")
    said = fold(gloss)
    if not gloss or len(gloss) > _LONGEST_GLOSS or fold(term.of) in said or fold(term.text) in said:
        return ""
    noun = re.match(rf"(?:{_ARTICLES})\b", gloss, re.I)
    # A concept's gloss may be a whole clause; one without an article belongs to an adjective ("lateral").
    if term.kind == "concept":
        return f"that is, {gloss}" if noun else ""
    return gloss if noun else f"the {gloss}"


def _around(words: str, sentences: Sequence[tuple[int, int]], start: int, end: int) -> str:
    """The sentence that holds the term, with its neighbours."""
    here = next((n for n, span in enumerate(sentences) if span[0] <= start < span[1]), None)
    if here is None:
        return words[max(0, start - 200) : end + 200]
    return words[sentences[max(0, here - 1)][0] : sentences[min(len(sentences) - 1, here + 1)][1]]


def _told(near: str, term: Term, plain: str, vocabulary: Vocabulary) -> bool:
    """Whether a plain name of the entry, or most of what its gloss tells, is said nearby."""
    names = plain_texts(vocabulary).get((term.kind, term.of), ())
    if any(re.search(rf"\b{re.escape(name)}\b", near) for name in names):
        return True
    telling = {fold(word) for word in _TELLING.findall(plain)} - {fold(word) for word in term.of.split()}
    return len(telling) > 1 and sum(1 for word in telling if word in near) * 3 >= 2 * len(telling)
