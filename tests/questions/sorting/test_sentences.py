"""The sense of whole questions: our reading of the published encoder, and what it brings.

``reference_senses.csv`` was written by sentence-transformers 6.2.0 on transformers 5.24.0 and PyTorch 2.13.0 from the same
weights: the pieces of each text, the first 24 numbers of its vector, and the sum of all 384. The texts are ours.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.questions.sorting import Fingerprint, LikenessIndex, fingerprint, group_questions, similarity
from breakdowns.questions.sorting.sentences import LENGTH, MOST_PIECES, sense_of, sentence_encoder
from breakdowns.questions.sorting.wordpiece import pieces
from tests.questions.sorting.measuring import recall_at, rows, topic_misses

REFERENCE = Path(__file__).parent / "reference_senses.csv"
encoder_is_here = pytest.mark.skipif(
    sentence_encoder() is None, reason="the sentence encoder is not installed"
)
pytestmark = encoder_is_here


def _reference() -> list[tuple[str, dict[str, str]]]:
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        kept = list(csv.DictReader(file))
    return [("word " * 400 if row["text"] == "word × 400" else row["text"], row) for row in kept]


@pytest.mark.parametrize(("text", "row"), _reference())
def test_pieces_and_vectors_are_those_of_the_reference_library(text: str, row: dict[str, str]) -> None:
    encoder = sentence_encoder()
    assert encoder is not None
    assert pieces(text, encoder.place, MOST_PIECES) == [int(one) for one in row["pieces"].split()]
    found = encoder.senses([text])[0]
    first = [float(one) for one in row["first_24_of_the_vector"].split()]
    assert found[:24] == pytest.approx(first, abs=2e-5)
    assert float(found.sum()) == pytest.approx(float(row["of_which_sum_of_all"]), abs=2e-4)


def test_many_at_once_are_as_each_alone() -> None:
    encoder = sentence_encoder()
    assert encoder is not None
    said = [row["text"] for row in rows("topics_open.csv")][:70]
    alone = np.vstack([encoder.senses([one]) for one in said])
    assert np.abs(encoder.senses(said) - alone).max() < 1e-5


@given(st.text(max_size=400))
@settings(max_examples=60, deadline=None)
def test_any_text_has_one_vector_of_length_one_or_none(text: str) -> None:
    found = sense_of(text)
    if not text.strip():
        assert found is None
        return
    assert found is not None
    assert found.shape == (LENGTH,)
    assert float(np.linalg.norm(found)) == pytest.approx(1, abs=1e-4)


def test_a_megabyte_is_read_by_its_beginning() -> None:
    start = "why does my knee click when I squat? " * 400
    assert np.array_equal(sense_of(start), sense_of(start + "x" * 1_000_000))


@pytest.mark.parametrize(("name", "least"), [("pairs_*open", 0.93), ("pairs_*sealed", 0.92)])
def test_the_same_question_in_other_words_is_found(name: str, least: float) -> None:
    assert recall_at(rows(f"{name}.csv"))[0] >= least


@pytest.mark.parametrize(
    ("name", "least"), [("topics_sealed", 0.93), ("topics_voices_sealed", 0.93), ("questions_sealed_*", 0.82)]
)
def test_topics_of_sealed_questions(name: str, least: float) -> None:
    """The last set is of warning signs and near misses, half of which could as well have another label."""
    labelled = [row for row in rows(f"{name}.csv") if row["topic"]]
    assert len(topic_misses(labelled)) <= (1 - least) * len(labelled)


def test_the_index_and_the_pair_agree_and_survive_being_kept() -> None:
    said = [fingerprint(row["asked"]) for row in rows("pairs_open.csv")]
    kept = [Fingerprint.from_json(one.as_json()) for one in said]
    assert kept == said
    index = LikenessIndex(kept)
    for one in said[:10]:
        found = index.likeness(one)
        assert found == pytest.approx([similarity(one, other) for other in said], abs=2e-4)


def test_what_was_kept_without_a_sense_is_compared_by_its_words() -> None:
    one = fingerprint("Why does my knee click when I squat?")
    other = fingerprint("My knee makes a clicking sound in a squat, why?")
    without = Fingerprint(other.terms, other.meaning)
    by_words = similarity(Fingerprint(one.terms, one.meaning), without)
    assert similarity(one, without) == by_words
    assert LikenessIndex([without]).likeness(one) == pytest.approx([by_words], abs=2e-4)


def test_strangers_are_not_grouped() -> None:
    """Of questions that no pair asks few fall into one group; some do ask the same (“is VAT included” stands twice)."""
    said = [row["text"] for row in rows("others.csv")]
    together = [group for group in group_questions([fingerprint(text) for text in said]) if len(group) > 1]
    assert sum(len(group) for group in together) <= 0.2 * len(said)
