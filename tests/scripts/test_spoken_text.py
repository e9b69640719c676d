"""Figures as they are spoken, and what of a text is spoken at all."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.scripts.spoken_numbers import cardinal, ordinal, spell_out
from breakdowns.scripts.spoken_text import measure, read_aloud, spoken_words
from breakdowns.scripts.tables import rows


def said(text: str) -> str:
    return " ".join(spell_out(text).split())


class TestFigures:
    @pytest.mark.parametrize(
        ("written", "spoken"),
        [
            ("35°", "thirty-five degrees"),
            ("a 90-degree turn", "a ninety degree turn"),
            ("−10°", "minus ten degrees"),
            ("1°", "one degree"),
            ("T10", "T ten"),
            ("C5-C6", "C five C six"),
            ("L4/5", "L four five"),
            ("L5/S1", "L five S one"),
            ("C3–C6", "C three to C six"),
            ("2:1", "two to one"),
            ("1/2", "one half"),
            ("3/4", "three quarters"),
            ("2½ turns", "two and a half turns"),
            ("4/10", "four out of ten"),
            ("120/80", "one hundred and twenty over eighty"),
            ("46 ± 12 ms", "forty-six plus or minus twelve milliseconds"),
            ("1 ms", "one millisecond"),
            ("in ms", "in milliseconds"),
            ("12.5°/s", "twelve point five degrees per second"),
            ("10–15 cm", "ten to fifteen centimetres"),
            ("10°–15°", "ten to fifteen degrees"),
            ("a 35-cm step", "a thirty-five centimetre step"),
            ("45%", "forty-five percent"),
            ("10:30", "ten thirty"),
            ("9:00", "nine o'clock"),
            ("1:04", "one oh four"),
            ("10:30 am", "ten thirty A M"),
            ("the 1st and the 22nd", "the first and the twenty-second"),
            ("in 1998", "in nineteen ninety-eight"),
            ("1998–2003", "nineteen ninety-eight to two thousand and three"),
            ("in her 30s", "in her thirties"),
            ("for 30s", "for thirty seconds"),
            ("1,250.5 kg", "one thousand two hundred and fifty point five kilograms"),
            ("007", "zero zero seven"),
            ("No. 7 and #11", "number seven and number eleven"),
            ("$3.50", "three dollars fifty"),
            ("3-2-1", "three two one"),
            ("the ACL and ACLs", "the A C L and A C L's"),
            ("RICE is NOT it", "rice is not it"),
            ("e.g. this vs. that", "for example this versus that"),
            ("3D, VO2max", "three D, V O two max"),
            ("and/or", "and or"),
            ("≥ 45°", "at least forty-five degrees"),
            ("2026-11-25", "twenty twenty-six eleven twenty-five"),
            ("3x10", "three times ten"),
            ("no figures here", "no figures here"),
        ],
    )
    def test_as_spoken(self, written: str, spoken: str) -> None:
        assert said(written) == spoken

    def test_thirty_five_degrees_is_five_syllables(self) -> None:
        # reference: speech timing notes, §1, "Numbers, units and abbreviations must be spelt out first"
        assert measure("35°").syllables == 5

    @given(st.integers(-(10**16), 10**16))
    def test_every_whole_number_has_words(self, number: int) -> None:
        words = cardinal(number)
        assert words
        assert not any(character.isdigit() for character in words)

    @given(st.integers(0, 10**9 - 1))
    def test_no_two_numbers_sound_alike(self, number: int) -> None:
        assert read_back(cardinal(number)) == number

    @pytest.mark.parametrize(
        ("number", "words"),
        [
            (1, "first"),
            (12, "twelfth"),
            (20, "twentieth"),
            (32, "thirty-second"),
            (100, "one hundredth"),
            (105, "one hundred and fifth"),
        ],
    )
    def test_ordinals(self, number: int, words: str) -> None:
        assert ordinal(number) == words

    @given(st.text(st.sampled_from("0123456789.,:/-–°%CTLS msx½²+# abAB()$"), max_size=40))
    def test_no_figure_is_left(self, text: str) -> None:
        assert not any(character in "0123456789%±½²" for character in spell_out(text))

    def test_tables_are_unique_and_cited(self) -> None:
        for name, key in (
            ("units", "symbol"),
            ("abbreviations", "written"),
            ("limits", "name"),
            ("voices", "key"),
        ):
            table = rows(name)
            assert len({row[key] for row in table}) == len(table), name
            assert all(row["source"].strip() for row in table), name
        assert all(row["source"].strip() for row in rows("phrases"))


ONES = {cardinal(number): number for number in range(100)}
SCALES = {"thousand": 10**3, "million": 10**6}


def read_back(words: str) -> int:
    """The number that the words name: an inverse written for this test alone."""
    total = part = 0
    for word in words.replace(" and ", " ").split():
        if word == "hundred":
            part *= 100
        elif word in SCALES:
            total, part = total + part * SCALES[word], 0
        else:
            part += ONES[word]
    return total + part


class TestWhatIsSpoken:
    def sentences(self, text: str) -> list[str]:
        return [text[one.start : one.end] for one in read_aloud(text).sentences]

    def test_marks_tags_and_addresses_are_not(self) -> None:
        text = "## The **hip**\n\n- *opens* `late`, see [this](https://a.example/x)\n- <b>then</b> &amp; only then"
        words = [word for one in read_aloud(text).sentences for word in spoken_words(one.spoken)]
        assert words == ["The", "hip", "opens", "late", "see", "this", "then", "and", "only", "then"]

    def test_directions_are_not_but_a_pause_adds_its_seconds(self) -> None:
        spoken = read_aloud(
            "Look. [look up] Wait [pause 1.5] here [pause] and [pause 250 ms] go [PAUSE: 2 s]."
        )
        assert spoken.directed_seconds == Fraction("4.75")
        assert [
            word for one in spoken.sentences for word in spoken_words(one.spoken)
        ] == "Look Wait here and go".split()  # noqa: SIM905

    def test_a_pause_that_is_a_slip_of_the_finger_is_bounded(self) -> None:
        assert read_aloud("[pause 9999]").directed_seconds == 60

    def test_sentences_end_where_they_end(self) -> None:
        assert self.sentences(
            "It is 5 m. Then Dr. X, e.g. here, turns... slowly. At 10 a.m. The end! No. 7 throws?"
        ) == [
            "It is 5 m.",
            "Then Dr. X, e.g. here, turns... slowly.",
            "At 10 a.m.",
            "The end!",
            "No. 7 throws?",
        ]

    def test_headings_list_items_and_paragraphs_end_sentences(self) -> None:
        assert self.sentences("# Head\none\n- two\n- three\n\nfour\nfive") == [
            "Head",
            "one",
            "two",
            "three",
            "four\nfive",
        ]

    @given(st.text(st.sampled_from("abc .!?\n\t[]()*_#>-`<&;1:\r\x00é…"), max_size=120))
    def test_offsets_lie_in_the_text_and_rise(self, text: str) -> None:
        at = 0
        for one in read_aloud(text).sentences:
            assert at <= one.start < one.end <= len(text)
            at = one.end
        assert read_aloud(text).directed_seconds >= 0

    def test_hostile_lengths(self) -> None:
        for text in (
            "[" * 20_000,
            "(" * 20_000,
            "*" * 20_000,
            "<a" * 10_000,
            "9" * 20_000,
            "&" * 20_000,
            "1/" * 9_000,
            "- " * 9_000,
        ):
            measure_all = [measure(one.spoken) for one in read_aloud(text).sentences]
            assert all(one.words >= 0 for one in measure_all)


class TestMeasure:
    @pytest.mark.parametrize(
        ("text", "commas"),
        [
            ("one, two; three: four", 3),
            ("one (two) three", 2),
            ("one — two – three", 2),
            ("one - two", 1),
            ("well-known one-legged", 0),
            ("1,250 and 10:30 and 2:1", 0),
            ("one, (two), three,", 2),
        ],
    )
    def test_short_stops(self, text: str, commas: int) -> None:
        assert measure(text).commas == commas

    def test_hyphenated_words_are_one(self) -> None:
        # SMOG counting rule: a hyphenated word is one word
        assert measure("a single-leg-landing").words == 2
