"""Sorting as it is where the sentence encoder is not installed."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from breakdowns.questions.sorting import prints, sentences, topics


@pytest.fixture
def without_encoder(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nothing of the encoder is found, and nothing that was read with it is remembered."""
    monkeypatch.setattr(sentences, "PACKAGE", "a_package_that_is_not_there")
    _forget()
    yield
    monkeypatch.undo()
    _forget()


def _forget() -> None:
    for kept in (
        sentences.sentence_encoder,
        sentences.sense_of,
        prints.fingerprint,
        topics.topic_weights,
    ):
        kept.cache_clear()
