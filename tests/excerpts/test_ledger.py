"""Worked cases of the ledger: facts of published cases and guidelines, and each settled edge."""

from fractions import Fraction

import pytest

from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import Narration, View, read_plan
from breakdowns.excerpts.policies import preset
from breakdowns.excerpts.verdicts import judge
from breakdowns.footage.timebase import decimal_text
from tests.excerpts.plans import own, piece, shot, source

F = Fraction


def account(plan, key="A"):
    return compute(plan).sources[key]


# --- figures with a published source -----------------------------------------------------------


@pytest.mark.parametrize(
    ("seconds", "of_seconds", "percent"),
    [
        # 276 F. Supp. 3d 34 (S.D.N.Y. 2017): 195 s of a 324 s video.
        ("195", "324", "60.2"),
        # 108 F.3d 1119 (9th Cir. 1997): 30 s of about 4 minutes.
        ("30", "240", "12.5"),
        # 672 F.2d 1095 (2d Cir. 1982): 75 s of 72 minutes.
        ("75", "4320", "1.7"),
    ],
)
def test_share_of_the_source_in_decided_cases(seconds, of_seconds, percent):
    plan = piece(shot("X", "0", seconds), sources=[source("X", of_seconds)])
    assert decimal_text(account(plan, "X").share_of_source * 100, 1) == percent


def test_share_of_the_piece_in_a_decided_case():
    # 276 F. Supp. 3d 34 (S.D.N.Y. 2017): about 195 s in a video of about 14 min, about 23 % of the piece.
    plan = piece(own("645"), shot("X", "0", "195"), sources=[source("X", "324")])
    assert decimal_text(account(plan, "X").share_of_piece * 100, 0) == "23"


def test_clips_broken_up_by_comment_are_not_one_run():
    # 276 F. Supp. 3d 34: clips interspersed with comment; 195 s in 15 clips of 13 s (the split is invented).
    segments = [part for n in range(15) for part in (shot("X", str(13 * n), str(13 * n + 13)), own("30"))]
    ledger = compute(piece(*segments, sources=[source("X", "324")]))
    assert ledger.sources["X"].longest_timeline_run_seconds == 13
    assert ledger.sources["X"].longest_union_stretch_seconds == 195
    assert ledger.longest_any_source_run_seconds == 13


@pytest.mark.parametrize(
    ("length", "used", "state"),
    [
        # Educational multimedia guidelines, 1996: up to 10 % or 3 minutes, whichever is less.
        ("600", "60", "near"),
        ("600", "60.1", "over"),
        ("3600", "180", "near"),
        ("3600", "180.1", "over"),
        ("3600", "100", "within"),
    ],
)
def test_ten_percent_or_three_minutes(length, used, state):
    plan = piece(shot("X", "0", used), sources=[source("X", length)])
    states = {verdict.state for verdict in judge(compute(plan), preset("edu_multimedia")).verdicts}
    worst = next(it for it in ("over", "near", "within") if it in states)
    assert worst == state


@pytest.mark.parametrize(("seconds", "over"), [("90", False), ("90.04", True)])
def test_ninety_seconds_of_one_event(seconds, over):
    # Directive 2010/13/EU, recital 55: short extracts should not exceed ninety seconds.
    plan = piece(shot("X", "0", seconds), sources=[source("X", "7200", "25", event="cup", attributed=True)])
    assert bool(judge(compute(plan), preset("eu_short_news")).over) == over


def test_two_cameras_of_one_event_add_up():
    # Directive 2010/13/EU, recital 55; two views are two works (definition of this project).
    sources = [source(key, "7200", "25", event="cup", attributed=True) for key in ("X", "Y")]
    ledger = compute(piece(shot("X", "0", "50"), shot("Y", "0", "50"), sources=sources))
    assert ledger.events["cup"].sum_union_seconds == 100
    assert [verdict.limit.rule for verdict in judge(ledger, preset("eu_short_news")).over] == [
        "sum_union_seconds"
    ]


def test_excerpts_of_eight_to_forty_two_seconds():
    # [2001] FCA 108: twenty excerpts of 8 to 42 s (the lengths between are invented: 8, 10, … then 42).
    lengths = [8 + n for n in range(19)] + [42]
    starts = [sum(lengths[:n]) for n in range(20)]
    segments = [shot("X", str(a), str(a + n)) for a, n in zip(starts, lengths, strict=True)]
    row = account(piece(*segments, sources=[source("X", "5400")]), "X")
    assert row.longest_excerpt_seconds == 42
    assert row.union_seconds == sum(lengths)
    assert row.union_stretches == 1


def test_rate_of_ntsc_frames_is_exact():
    # SMPTE ST 12-1: 29.97 frames per second is 30000/1001.
    plan = read_plan(
        '{"sources": [{"id": "A", "duration": "600", "rate": {"num": 30000, "den": 1001}}], "segments": '
        '[{"kind": "excerpt", "source": "A", "in": {"frames": 0}, "out": {"frames": 1000}}]}'
    )
    assert compute(plan).as_json()["sources"]["A"]["union_seconds"] == {
        "exact": "1001/30",
        "decimal": "33.366667",
    }


# --- how each case is settled ------------------------------------------------------------------


def test_the_whole_of_one_plan_by_hand():
    """Own 10 s; A [100, 108) at half speed with 3 s hold; A [104, 112) again, muted; own 5 s."""
    plan = piece(
        own("10"),
        shot("A", "100", "108", "1/2", "3"),
        shot("A", "104", "112", muted=True),
        own("5"),
        sources=[source("A", "200")],
        spoken=[("0", "12"), ("30", "60")],
    )
    ledger = compute(plan)
    row = ledger.sources["A"]
    assert ledger.piece_seconds == 42
    assert (row.union_seconds, row.played_seconds, row.replayed_seconds) == (12, 16, 4)
    assert (row.screen_seconds, row.hold_seconds, row.original_sound_seconds) == (27, 3, 16)
    assert (row.longest_timeline_run_seconds, row.longest_moving_run_seconds) == (27, 16)
    assert (row.longest_excerpt_seconds, row.longest_excerpt_screen_seconds) == (8, 19)
    assert ledger.narration_seconds == 24
    assert ledger.narration_over_excerpt_seconds == 9
    assert ledger.longest_uncommented_run_seconds == 18
    assert ledger.commentary_to_excerpt_ratio == F(24, 27)


def test_a_shorter_view_stands_still_beside_the_longer():
    beside = View("B", F(31), F(34))
    row_b = account(piece(shot("A", "10", "20", beside=beside)), "B")
    assert (row_b.screen_seconds, row_b.hold_seconds, row_b.union_seconds) == (10, 7, 3)
    assert row_b.longest_moving_run_seconds == 3
    longer = View("B", F(31), F(51))
    ledger = compute(piece(shot("A", "10", "20", hold="2", annotated="hold", beside=longer)))
    assert ledger.sources["A"].hold_seconds == 10
    assert ledger.annotated_excerpt_seconds == 10
    assert ledger.excerpt_screen_seconds == 20


def test_a_view_beside_does_not_break_the_run_of_the_other():
    plan = piece(
        shot("A", "0", "5"), shot("A", "5", "10", beside=View("B", F(0), F(5))), shot("A", "20", "25")
    )
    assert account(plan).longest_timeline_run_seconds == 15
    assert account(plan, "B").longest_timeline_run_seconds == 5


def test_both_views_of_one_source_count_per_view_but_run_once():
    row = account(piece(own("10"), shot("A", "0", "5", beside=View("A", F(50), F(55)))))
    assert (row.screen_seconds, row.longest_timeline_run_seconds, row.union_seconds) == (10, 5, 10)


@pytest.mark.parametrize(
    ("between", "run"),
    [
        ([], 10),
        ([own("0")], 10),
        ([shot("B", "3", "3")], 10),
        ([own("0.1")], 5),
        ([shot("B", "3", "3", hold="0.1")], 5),
        ([shot("B", "3", "4")], 5),
    ],
)
def test_what_breaks_a_run(between, run):
    plan = piece(shot("A", "0", "5"), *between, shot("A", "50", "55"))
    assert account(plan).longest_timeline_run_seconds == run


def test_a_hold_ends_a_moving_run_only():
    row = account(piece(shot("A", "0", "5", hold="1"), shot("A", "5", "9")))
    assert (row.longest_moving_run_seconds, row.longest_timeline_run_seconds) == (5, 10)


@pytest.mark.parametrize(
    ("segments", "stills"),
    [
        ([shot("A", "50", "50", hold="2")], 1),
        ([shot("A", "50", "50", hold="2"), shot("A", "50", "50", hold="1")], 1),
        ([shot("A", "0", "10", hold="2")], 0),
        ([shot("A", "0", "10", hold="2", reverse=True)], 0),
        ([shot("A", "0", "10"), shot("A", "10", "10", hold="2")], 0),
        ([shot("A", "0", "10"), shot("A", "10.1", "10.1", hold="2")], 1),
        ([shot("A", "50", "50")], 0),
        ([shot("B", "0", "4", beside=View("A", F(7), F(7)))], 1),
    ],
)
def test_stills_outside_the_union(segments, stills):
    assert account(piece(*segments)).stills_outside_union == stills


def test_own_terms_are_listed_but_left_out_of_the_sums():
    sources = [
        source("A", event="cup"),
        source("B", event="cup", terms="licensed", attributed=True),
    ]
    ledger = compute(piece(shot("A", "0", "5"), shot("B", "0", "7"), sources=sources, spoken=[("0", "6")]))
    assert ledger.sources["B"].union_seconds == 7
    assert ledger.sources["B"].as_json()["counted"] is False
    assert (ledger.excerpt_screen_seconds, ledger.own_seconds) == (5, 7)
    assert ledger.events["cup"].sources == 1
    assert (ledger.sources_used, ledger.sources_attributed) == (1, 0)
    assert ledger.original_sound_seconds == 5
    assert ledger.narration_over_excerpt_seconds == 5


def test_words_without_times_make_an_estimate():
    plan = piece(own("60"), shot("A", "0", "60"), narration=Narration(None, 330, F(150)))
    answer = compute(plan).as_json()
    assert answer["narration_estimate_seconds"]["exact"] == "132"
    assert answer["narration_fits_piece"] is False
    assert answer["commentary_to_excerpt_ratio"]["exact"] == "11/5"
    assert "bare_excerpt_seconds" not in answer


def test_ratios_without_a_denominator_are_null():
    answer = compute(piece(spoken=[], sources=[source("A", "0")])).as_json()
    assert answer["excerpt_share_of_piece"] is None
    assert answer["commentary_to_excerpt_ratio"] is None
    assert answer["annotated_share_of_excerpt"] is None
    assert answer["sources"]["A"]["share_of_source"] is None
    assert answer["sources"]["A"]["share_of_piece"] is None


def test_narration_is_cut_to_the_piece():
    ledger = compute(piece(shot("A", "0", "10"), spoken=[("-5", "2"), ("1", "3"), ("9", "99")]))
    assert ledger.narration_seconds == 4
    assert ledger.longest_uncommented_run_seconds == 6


def test_marks_and_words_leave_the_rest_bare():
    plan = piece(
        shot("A", "0", "10", hold="5", annotated="hold"),
        shot("A", "10", "14", annotated="all"),
        spoken=[("0", "4")],
    )
    ledger = compute(plan)
    assert (ledger.uncommented_excerpt_seconds, ledger.bare_excerpt_seconds) == (15, 6)
    assert ledger.annotated_share_of_excerpt == F(9, 19)


def test_excerpts_per_minute_counts_segments_on_screen():
    plan = piece(own("20"), shot("A", "0", "10"), shot("A", "1", "1"), shot("B", "0", "10"))
    assert compute(plan).excerpts_per_minute == 3
