"""Whatever is typed, pasted or dictated: the check answers, its places are true, and its work grows as the text does."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from collections import Counter
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from anatomy.claims.check import Claims
from anatomy.claims.claim import Claim, Kind, Verdict
from anatomy.claims.items import LONGEST_SENTENCE, sentences_of
from anatomy.claims.lexicon import Lexicon, listed, rows, word_files
from anatomy.claims.tokens import END_OF_SENTENCE, tokens_of
from anatomy.vocabulary.packaged import packaged_vocabulary
from tests.anatomy.claims.hurting_texts import hurting_texts, repeated

SENTENCES = Path(__file__).parent / "data" / "development.csv"


@cache
def checker() -> Claims:
    return Claims(packaged_vocabulary())


@cache
def sentences() -> tuple[str, ...]:
    with SENTENCES.open(encoding="utf-8", newline="") as file:
        return tuple(row["text"] for row in csv.DictReader(file))


@cache
def phrases() -> tuple[str, ...]:
    """Every term of the vocabulary and every word of speech that the reader knows."""
    said = [term.text for term in packaged_vocabulary().terms]
    said += [text for name in word_files() for row in rows(name) for text in listed(row["words"])]
    said += [text for row in rows("plain_motions") for text in listed(row["verbs"])]
    said += [text for row in rows("family_words") for key in ("noun", "verb") for text in listed(row[key])]
    said += [text for row in rows("directions") for text in listed(row["words"])]
    return tuple(sorted(set(said)))


def sound(text: str) -> list[Claim]:
    """The claims of a text after everything that must hold for any text has been seen to hold."""
    vocabulary = checker().lexicon.vocabulary
    claims = checker().check(text)
    assert checker().check(text) == claims
    assert [(c.start, c.end, c.kind) for c in claims] == sorted((c.start, c.end, c.kind) for c in claims)
    for claim in claims:
        assert 0 <= claim.start < claim.end <= len(text)
        assert claim.text == text[claim.start : claim.end]
        assert claim.verdict in get_args(Verdict)
        assert claim.kind in get_args(Kind)
        assert len(vocabulary.cite(claim.sources)) == len(set(claim.sources))
        for kind, name in claim.terms:
            assert vocabulary.has(kind, name), (kind, name)
        assert bool(claim.why) or claim.verdict == "unknown"
        assert not claim.instead or claim.verdict == "wrong"
        if claim.replace_start < 0:
            assert (claim.replace_start, claim.replace_end, claim.replacement) == (-1, -1, "")
        else:
            assert 0 <= claim.replace_start <= claim.replace_end <= len(text)
            assert claim.replacement
    return claims


ANY_CHARACTER = st.characters(exclude_categories=["Cs"])
MARKS = [
    *".,;:!?()[]{}<>«»„“”\"'’`-–—/&%°=+*#_|\\~^@",
    "…",
    "\n",
    "\n\n",
    "\r\n",
    "\t",
    "\0",
    "\u200b",
    "\ufeff",
]
ODD = [
    "\u0301",
    "\u202e",
    "🤾",
    "𝛂",
    "ß",
    "İ",
    "ﬁ",
    "Å",
    "٣",
    "½",
    "Ⅶ",
    "x" * 300,
    "9" * 400,
    "C99",
    "l5/s1",
    "T12",
]
JOINTS = [
    "and",
    "or",
    "but",
    "not",
    "the",
    "of",
    "at",
    "in",
    "is",
    "by",
    "which",
    "it",
    "they",
    "sorry",
    "no",
]


def glued() -> st.SearchStrategy[str]:
    """Terms, words of speech, connectives, marks and oddities in any order, with and without gaps."""
    piece = st.one_of(
        st.sampled_from(phrases()),
        st.sampled_from(phrases()),
        st.sampled_from(JOINTS),
        st.sampled_from(MARKS),
        st.sampled_from(ODD),
        st.integers(-400, 10**6).map(str),
    )
    return st.lists(st.tuples(piece, st.sampled_from([" ", " ", " ", "", "\n", ", "])), max_size=40).map(
        lambda parts: "".join(word + gap for word, gap in parts)
    )


def mangled() -> st.SearchStrategy[str]:
    """Development sentences with words left out, doubled, swapped and joined."""

    def mangle(drawn: tuple[list[str], list[tuple[int, int]]]) -> str:
        words = " ".join(drawn[0]).split()
        for place, how in drawn[1]:
            at = place % len(words)
            if how == 0 and len(words) > 1:
                del words[at]
            elif how == 1:
                words.insert(at, words[at])
            elif how == 2:
                other = (place // 7) % len(words)
                words[at], words[other] = words[other], words[at]
            else:
                words[at] = words[at].upper() if how == 3 else words[at][::-1]
        return " ".join(words)

    chosen = st.lists(st.sampled_from(sentences()), min_size=1, max_size=4)
    slips = st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 4)), max_size=8)
    return st.tuples(chosen, slips).map(mangle)


@settings(max_examples=300)
@given(st.text(ANY_CHARACTER, max_size=400))
@example("")
@example("\0")
@example("\n" * 50)
@example("9" * 400 + " degrees of knee flexion")
@example("L4/" + "5" * 5000 + " and ribs " + "9" * 5000)
@example("The knee bends " + "٣" * 400 + " degrees.")
@example("the biceps flexes the elbow to " + "1" + "0" * 308 + ".5 degrees")
def test_any_characters(text: str) -> None:
    sound(text)


@settings(max_examples=600)
@given(glued())
def test_any_words_of_the_trade(text: str) -> None:
    sound(text)


@settings(max_examples=400)
@given(mangled())
def test_sentences_with_slips(text: str) -> None:
    sound(text)


def test_the_development_sentences_and_one_text_of_them_all() -> None:
    found = sum(len(sound(text)) for text in sentences())
    assert found > 700
    assert len(sound("\n\n".join(sentences()))) > 0.9 * found


@settings(max_examples=60)
@given(
    st.lists(st.sampled_from(sentences()), min_size=1, max_size=3),
    st.sampled_from(["", "🤾 ", "\ufeff", "\r\n\r\n", "é "]),
)
def test_places_count_characters_of_the_text_as_given(chosen: list[str], before: str) -> None:
    text = "\n\n".join(chosen)
    plain = [(c.start, c.end, c.verdict) for c in sound(text)]
    moved = [(c.start - len(before), c.end - len(before), c.verdict) for c in sound(before + "\n\n" + text)]
    assert [(a + 0, b + 0, v) for a, b, v in moved] == [(a + 2, b + 2, v) for a, b, v in plain]


PROGRAM = """
import csv, hashlib, sys
from anatomy.claims.check import Claims
from anatomy.vocabulary.packaged import packaged_vocabulary
claims = Claims(packaged_vocabulary())
with open(sys.argv[1], encoding="utf-8", newline="") as file:
    said = repr([claims.check(row["text"]) for row in csv.DictReader(file)])
print(hashlib.sha256(said.encode()).hexdigest())
"""


def test_every_run_of_the_program_gives_the_same_answers() -> None:
    """The order in which a set is walked changes from run to run; nothing may hang on it."""
    answers = {
        subprocess.run(
            [sys.executable, "-c", PROGRAM, str(SENTENCES)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=Path(__file__).resolve().parents[3],
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(answers) == 1


def steps(text: str) -> int:
    """How many functions of Python are entered while a text is checked: the work, whatever the machine."""
    count = 0

    def count_calls(_frame: Any, event: str, _argument: Any) -> None:
        nonlocal count
        count += event == "call"

    before = sys.getprofile()
    sys.setprofile(count_calls)
    try:
        checker().check(text)
    finally:
        sys.setprofile(before)
    return count


@pytest.mark.parametrize("name", ["ordinary", *hurting_texts()])
def test_four_times_the_text_is_four_times_the_work(name: str) -> None:
    make = {**hurting_texts(), "ordinary": repeated("\n".join(sentences()[:60]) + "\n")}[name]
    steps(make(200))
    small, large = steps(make(8_000)), steps(make(32_000))
    assert large <= 4.6 * small + 2_000


def test_a_text_of_a_million_characters_is_read_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each token begins at most two look-ups: its own, and one more where a misspelling was mended."""
    last = "The biceps extends the elbow."
    text = repeated("\n".join(sentences()[::9]) + "\n, and so on ")(1_000_000) + "\n\n" + last
    looked = Counter[str]()
    match = Lexicon.match

    def counted(self: Lexicon, *where: Any) -> Any:
        looked["up"] += 1
        return match(self, *where)

    monkeypatch.setattr(Lexicon, "match", counted)
    claims = checker().check(text)
    assert claims[-1].text == last.rstrip(".")
    assert claims[-1].verdict == "wrong"
    assert looked["up"] <= 2 * len(tokens_of(text))


@given(glued())
def test_items_cover_each_token_once_and_no_sentence_is_endless(text: str) -> None:
    read = list(sentences_of(text * 20, checker().lexicon))
    assert all(0 < len(sentence.items) <= LONGEST_SENTENCE for sentence in read)
    places = [(item.start, item.end) for sentence in read for item in sentence.items]
    assert all(one[1] <= other[0] for one, other in pairwise(places))
    covered = {n for start, end in places for n in range(start, end)}
    for token in tokens_of(text * 20):
        if token.text not in END_OF_SENTENCE:
            assert token.start in covered
