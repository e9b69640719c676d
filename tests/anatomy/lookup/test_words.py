"""Words as the search compares them."""

from __future__ import annotations

from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from anatomy.lookup.words import WordBook, distance, plain_words, stem, words_of

short = st.text("abcd", max_size=6)


def slips(one: str, other: str) -> int:
    """Optimal string alignment by its definition (recursion of Boytsov 2011, section 2.2; from memory)."""

    @cache
    def at(i: int, j: int) -> int:
        if i == 0 or j == 0:
            return i + j
        found = [at(i - 1, j) + 1, at(i, j - 1) + 1, at(i - 1, j - 1) + (one[i - 1] != other[j - 1])]
        if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
            found.append(at(i - 2, j - 2) + 1)
        return min(found)

    return at(len(one), len(other))


@given(short, short, st.integers(0, 4))
def test_slips_are_counted_as_defined(one, other, most):
    assert distance(one, other, most) == min(slips(one, other), most + 1)


def test_forms_of_a_word_share_a_stem():
    for forms in ("turn turns turning turned", "rotate rotation rotator rotators", "bend bends bending"):
        assert len({stem(word) for word in forms.split()}) == 1, forms
    assert stem("flexion") != stem("flexor")
    assert stem("hip") == "hip"


@given(st.text(max_size=40))
def test_words_are_folded_letters_and_figures(text):
    assert all(word and word == word.casefold() for word in words_of(text))
    assert words_of("Glúteo-Máximo, L5") == ("gluteo", "maximo", "l5")


def test_a_word_is_found_by_itself_its_stem_its_beginning_and_nearly():
    book = WordBook(["infraspinatus", "rotator", "rotation", "turning", "out"])
    assert book.like("infraspinatus")["infraspinatus"] == 1
    assert book.like("turns")["turning"] > 0.9
    assert book.like("infra")["infraspinatus"] > 0.5
    assert book.like("infraspinatous")["infraspinatus"] > 0.5
    assert book.like("infrasipnatus")["infraspinatus"] > 0.5
    assert "rotation" in book.like("twist")
    assert book.like("oot") == {}  # too short to guess at
    assert book.like("xylophone") == {}


def test_each_plain_word_leads_somewhere():
    assert plain_words()[stem("bends")] == {stem("flexion")}
    assert all(plain_words().values())
