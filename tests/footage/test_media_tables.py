"""Limits, presets and rates are data, each with its reason and source."""

from __future__ import annotations

from fractions import Fraction

import pytest

from breakdowns.footage.media.limits import limits, presets, rows, standard_rates


@pytest.mark.parametrize("table", ["media_limits", "working_copies"])
def test_every_row_says_why_and_whence(table):
    found = rows(table)
    names = [row["name"] for row in found]
    assert len(set(names)) == len(names)
    for row in found:
        assert all(row[column].strip() for column in ("name", "value", "unit", "why", "source")), row


def test_tables_and_readers_hold_the_same_names():
    assert {row["name"] for row in rows("media_limits")} == set(limits().__slots__)
    assert {row["name"] for row in rows("working_copies")} == set(presets().__slots__)


def test_four_k_is_let_in_and_eight_k_is_not():
    # ITU-R BT.2020-2, table 1: 3840 × 2160 and 7680 × 4320; DCI 4K 4096 × 2160: SMPTE ST 428-1.
    assert limits().max_pixels >= 3840 * 2160
    assert limits().max_pixels >= 4096 * 2160
    assert limits().max_pixels < 7680 * 4320


def test_the_standard_rates_are_those_of_the_standards():
    # ITU-R BT.709-6, part 2, table 1.2 (field/frame frequency), and ITU-R BT.2020-2, table 2.
    bt709 = ["60", "60/1.001", "50", "30", "30/1.001", "25", "24", "24/1.001"]
    bt2020 = ["120", "120/1.001", "60", "50", "30", "25", "24"]
    for text in bt709 + bt2020:
        top, _, bottom = text.partition("/")
        assert Fraction(top) / Fraction(bottom or 1) in standard_rates()
    assert list(standard_rates()) == sorted(set(standard_rates()))
    assert all(row["source"].strip() for row in rows("standard_rates"))
