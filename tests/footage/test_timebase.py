"""Exact time against published drop-frame labels, worked figures and its own algebra."""

from __future__ import annotations

from fractions import Fraction

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.footage.timebase import (
    Frames,
    RateMismatch,
    Span,
    TimeError,
    clock_label,
    decimal_text,
    exact_json,
    frames_nearest,
    is_drop_frame_rate,
    parse_rational,
    parse_timecode,
    rational_text,
    timecode,
)

NTSC = Fraction(30000, 1001)
NTSC_DOUBLE = Fraction(60000, 1001)
FILM_PULLED_DOWN = Fraction(24000, 1001)
RATES = [
    FILM_PULLED_DOWN,
    Fraction(24),
    Fraction(25),
    NTSC,
    Fraction(30),
    Fraction(50),
    NTSC_DOUBLE,
    Fraction(60),
    Fraction(120),
]
rates = st.sampled_from(RATES)
day_of_ntsc_frames = st.integers(min_value=0, max_value=2_589_407)

# Drop-frame labels at 30000/1001: labels ;00 and ;01 are left out at the start of every minute that
# is not a tenth one (SMPTE ST 12-1 as told in a national archive's public glossary). The frame
# numbers are worked from that rule: 1798 frames a minute, 17982 in ten, 107892 in an hour.
DROP_FRAME_TABLE = [
    (0, "00:00:00;00"),
    (1799, "00:00:59;29"),
    (1800, "00:01:00;02"),
    (3597, "00:01:59;29"),
    (3598, "00:02:00;02"),
    (17981, "00:09:59;29"),
    (17982, "00:10:00;00"),
    (19781, "00:10:59;29"),
    (19782, "00:11:00;02"),
    (53946, "00:30:00;00"),
    (107891, "00:59:59;29"),
    (107892, "01:00:00;00"),
    (2589407, "23:59:59;29"),
]


def next_label(label: str, base: int) -> str:
    """The label after ``label``, counted by hand: an odometer that leaves out the dropped ones."""
    hh, mm, ss, ff = (int(part) for part in label.replace(";", ":").split(":"))
    ff += 1
    ss, ff = ss + ff // base, ff % base
    mm, ss = mm + ss // 60, ss % 60
    hh, mm = hh + mm // 60, mm % 60
    if ss == 0 and ff == 0 and mm % 10:
        ff = base // 15
    return f"{hh:02d}:{mm:02d}:{ss:02d};{ff:02d}"


class TestTimecode:
    @pytest.mark.parametrize(("frame", "label"), DROP_FRAME_TABLE)
    def test_published_drop_frame_labels(self, frame, label):
        assert timecode(frame, NTSC) == label
        assert parse_timecode(label, NTSC) == frame

    @pytest.mark.parametrize("rate", [NTSC, NTSC_DOUBLE])
    def test_every_label_of_eleven_minutes_follows_the_one_before(self, rate):
        base = 30 if rate == NTSC else 60
        label = "00:00:00;00"
        for frame in range(11 * 60 * base):
            assert timecode(frame, rate) == label
            label = next_label(label, base)

    def test_one_labelled_hour_in_real_seconds(self):
        # Worked: 107892 · 1001/30000 = 3599.9964 s in drop frame; 108000 frames are 3603.6 s.
        assert Frames(parse_timecode("01:00:00;00", NTSC), NTSC).seconds == Fraction("3599.9964")
        assert Frames(parse_timecode("01:00:00:00", NTSC), NTSC).seconds == Fraction("3603.6")

    def test_a_labelled_day_runs_86_milliseconds_ahead(self):
        # Worked from the same rule: 24 · 107892 frames last 86399.9136 s, 86.4 ms less than a day.
        assert 86400 - Frames(24 * 107892, NTSC).seconds == Fraction("0.0864")

    @given(day_of_ntsc_frames)
    def test_drop_frame_round_trip(self, frame):
        assert parse_timecode(timecode(frame, NTSC), NTSC) == frame

    @given(rates, st.integers(min_value=0, max_value=24 * 3600 * 24 - 1), st.booleans())
    def test_round_trip_at_every_rate(self, rate, frame, drop):
        label = timecode(frame, rate, drop=drop and is_drop_frame_rate(rate))
        assert parse_timecode(label, rate) == frame

    @given(st.integers(min_value=0, max_value=2_589_407), st.booleans())
    def test_agrees_with_an_independent_library(self, frame, drop):
        # OpenTimelineIO's opentime, an independent open implementation of SMPTE ST 12-1 labels.
        moment = otio.opentime.RationalTime(frame, float(NTSC))
        theirs = otio.opentime.to_timecode(moment, float(NTSC), drop)
        assert timecode(frame, NTSC, drop=drop) == theirs

    @given(st.sampled_from([Fraction(24), Fraction(25), Fraction(30)]), st.integers(0, 2_000_000))
    def test_whole_rates_agree_with_an_independent_library(self, rate, frame):
        moment = otio.opentime.RationalTime(frame, float(rate))
        assert timecode(frame, rate) == otio.opentime.to_timecode(moment, float(rate))

    @pytest.mark.parametrize("label", ["00:01:00;00", "00:01:00;01", "00:59:00;00", "23:59:00;01"])
    def test_dropped_labels_are_refused(self, label):
        with pytest.raises(TimeError, match="drop frame skips that label"):
            parse_timecode(label, NTSC)

    def test_four_labels_are_dropped_at_twice_the_rate(self):
        # SMPTE ST 12-1 as above: at 60000/1001 labels ;00 to ;03.
        assert timecode(3600, NTSC_DOUBLE) == "00:01:00;04"
        with pytest.raises(TimeError, match="skips"):
            parse_timecode("00:01:00;03", NTSC_DOUBLE)

    @pytest.mark.parametrize("label", ["00:10:00;00", "00:20:00;01", "00:00:00;00"])
    def test_tenth_minutes_keep_their_labels(self, label):
        assert timecode(parse_timecode(label, NTSC), NTSC) == label

    @pytest.mark.parametrize("rate", [Fraction(25), FILM_PULLED_DOWN, Fraction(30), Fraction(60)])
    def test_no_drop_frame_elsewhere(self, rate):
        # 24000/1001 has no drop frame (read in the same glossary).
        assert not is_drop_frame_rate(rate)
        assert ";" not in timecode(1800, rate)
        with pytest.raises(TimeError, match="no drop-frame timecode"):
            timecode(1800, rate, drop=True)
        with pytest.raises(TimeError, match="no drop-frame timecode"):
            parse_timecode("00:01:00;02", rate)

    @pytest.mark.parametrize(
        "label", ["", "1:2:3", "00:00:00:30", "00:60:00:00", "00:00:60:00", "24:00:00:00", "-1:00:00:00"]
    )
    def test_labels_that_do_not_exist(self, label):
        with pytest.raises(TimeError):
            parse_timecode(label, Fraction(30))

    def test_a_day_wraps_and_negative_frames_are_refused(self):
        assert timecode(24 * 3600 * 25, Fraction(25)) == "00:00:00:00"
        with pytest.raises(TimeError, match="labels start at 0"):
            timecode(-1, Fraction(25))

    def test_frames_take_three_digits_above_one_hundred(self):
        assert timecode(119, Fraction(120)) == "00:00:00:119"
        assert parse_timecode("00:00:01:000", Fraction(120)) == 120


class TestFramesNearest:
    @given(rates, st.fractions(min_value=-1000, max_value=100_000))
    def test_never_further_than_half_a_frame(self, rate, seconds):
        assert abs(frames_nearest(seconds, rate).seconds - seconds) <= Fraction(1, 2) / rate

    @given(rates, st.integers(-10_000, 10_000_000))
    def test_frame_starts_stand_still(self, rate, count):
        assert frames_nearest(count / rate, rate) == Frames(count, rate)

    @given(rates, st.fractions(0, 1000), st.fractions(0, 1000))
    def test_keeps_order(self, rate, one, other):
        early, late = sorted((one, other))
        assert frames_nearest(early, rate) <= frames_nearest(late, rate)

    def test_ties_go_up(self):
        # Worked: 0.05 s at 30 is 1.5 frames.
        assert frames_nearest(Fraction("0.05"), Fraction(30)).count == 2
        assert frames_nearest(Fraction("0.1"), Fraction(30)).count == 3
        assert frames_nearest(Fraction("-0.05"), Fraction(30)).count == -1

    def test_a_tenth_of_a_second_on_another_clock(self):
        # Worked: 600 frames at 30000/1001 last 20.02 s, which is 600.6 frames at 30.
        assert Frames(600, NTSC).nearest_at(Fraction(30)) == Frames(601, Fraction(30))


class TestFrames:
    @given(rates, st.integers(-10_000, 10_000), st.integers(-10_000, 10_000))
    def test_adding_and_taking_away(self, rate, one, other):
        a, b = Frames(one, rate), Frames(other, rate)
        assert (a + b) - b == a
        assert (a + b).seconds == a.seconds + b.seconds
        assert (a < b) == (a.seconds < b.seconds)
        assert (a <= b) == (a.seconds <= b.seconds)

    def test_clocks_do_not_mix(self):
        one, other = Frames(1, Fraction(30)), Frames(1, NTSC)
        for mix in (lambda: one + other, lambda: one - other, lambda: one < other, lambda: one <= other):
            with pytest.raises(RateMismatch, match="rescale one first"):
                mix()

    @pytest.mark.parametrize("count", [1.0, "1", True, None, Fraction(3)])
    def test_only_whole_counts(self, count):
        with pytest.raises(TimeError, match="whole number"):
            Frames(count, Fraction(30))

    @pytest.mark.parametrize("rate", [Fraction(0), Fraction(-25)])
    def test_only_rates_above_zero(self, rate):
        with pytest.raises(TimeError, match="above zero"):
            Frames(1, rate)


class TestSpan:
    def test_frames_ten_to_fifteen_are_five(self):
        span = Span(10, 15, Fraction(30))
        assert span.frame_count == 5
        assert [frame for frame in range(20) if span.contains_frame(frame)] == [10, 11, 12, 13, 14]
        assert span.seconds == Fraction(1, 6)
        assert (span.start_seconds, span.end_seconds_exclusive) == (Fraction(1, 3), Fraction(1, 2))

    @given(rates, st.integers(0, 5000), st.integers(0, 5000), st.data())
    def test_the_parts_of_a_split_make_the_whole(self, rate, start, length, data):
        span = Span(start, start + length, rate)
        head, tail = span.split_at(data.draw(st.integers(start, start + length)))
        assert (head.start, tail.end, head.end) == (span.start, span.end, tail.start)
        assert head.seconds + tail.seconds == span.seconds
        assert head.length + tail.length == span.length

    def test_what_is_refused(self):
        with pytest.raises(TimeError, match="before frame 0"):
            Span(-1, 3, Fraction(25))
        with pytest.raises(TimeError, match="out point"):
            Span(5, 4, Fraction(25))
        with pytest.raises(TimeError, match="outside"):
            Span(5, 9, Fraction(25)).split_at(10)

    def test_a_place_is_an_empty_span(self):
        assert Span(7, 7, Fraction(25)).frame_count == 0
        assert not Span(7, 7, Fraction(25)).contains_frame(7)


class TestText:
    @given(st.fractions())
    def test_rational_text_reads_back(self, value):
        if max(abs(value.numerator), value.denominator) < 10**18:
            assert parse_rational(rational_text(value)) == value

    @pytest.mark.parametrize("text", ["", "1/0", "1e3", "abc", "1/2/3", "NaN", "1.2/3", 0.5, None, True])
    def test_what_is_no_rational_number(self, text):
        with pytest.raises(TimeError):
            parse_rational(text)

    @given(st.fractions(-10_000, 10_000), st.integers(0, 9))
    def test_decimal_text_is_nearest(self, value, places):
        assert abs(Fraction(decimal_text(value, places)) - value) <= Fraction(1, 2 * 10**places)

    def test_one_frame_at_29_97_in_milliseconds(self):
        # Worked: 1001/30 ms = 33.366667 ms.
        assert exact_json(1000 / NTSC) == {"exact": "1001/30", "decimal": "33.366667"}

    @pytest.mark.parametrize(
        ("seconds", "places", "label"),
        [
            ("83.25", 1, "1:23.3"),
            ("0", 1, "0:00.0"),
            ("59.96", 1, "1:00.0"),
            ("3661", 0, "1:01:01"),
            ("-1.5", 1, "−0:01.5"),
            ("-0.01", 1, "0:00.0"),
        ],
    )
    def test_clock_label(self, seconds, places, label):
        assert clock_label(Fraction(seconds), places) == label
