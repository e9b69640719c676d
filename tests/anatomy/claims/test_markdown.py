"""Words are checked as they stand in Markdown; offsets count the text as given (CommonMark 0.31 for the marks)."""

from __future__ import annotations

import pytest

from anatomy.claims.check import check_claims
from anatomy.vocabulary.packaged import packaged_vocabulary


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("The **biceps** extends the elbow.", "The **biceps** extends the elbow"),
        ("- *Soleus* lifts the toes\n- next", "Soleus* lifts the toes"),
        (
            "See [infraspinatus](https://example.org/a_b) turns the arm in.",
            "infraspinatus](https://example.org/a_b) turns the arm in",
        ),
        ("# Muscles\nThe quads bend the knee.", "The quads bend the knee"),
        ("Muscles:\n1. `Triceps` bends the elbow\n2. more", "Triceps` bends the elbow"),
    ],
)
def test_marks_between_words_do_not_hide_a_slip(text: str, span: str) -> None:
    wrong = [claim for claim in check_claims(text, packaged_vocabulary()) if claim.verdict == "wrong"]
    assert [(claim.text, text[claim.start : claim.end]) for claim in wrong] == [(span, span)]


def test_items_of_a_list_are_read_one_by_one() -> None:
    text = "- the biceps\n- extends the elbow\n- the triceps\n"
    assert [c for c in check_claims(text, packaged_vocabulary()) if c.verdict == "wrong"] == []
