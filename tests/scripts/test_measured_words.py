"""Words against measures: floors for what is found and what is wrongly objected to, and the sentences of the notes.

That values within k = 2 standard deviations agree: JCGM 100:2008, 6.2 (from memory). Sentences and picture are invented.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.motion.facts import Measured, MeasuredAngle, MeasuredOrder
from breakdowns.scripts.checks.measured import MeasuredCheck
from breakdowns.scripts.commands import perform
from breakdowns.scripts.margin import Note, read_margin
from breakdowns.scripts.measured.disagreement import disagreements
from breakdowns.scripts.script import BeatView, ScriptView
from tests.scripts.measured_picture import PICTURE
from tests.scripts.measuring_words import figures, outcomes


@pytest.mark.parametrize(
    ("name", "recall", "exact", "alarms"),
    [
        ("built_with", 0.95, 0.9, 0.03),
        ("first", 0.95, 0.85, 0.05),
        ("more", 0.93, 0.82, 0.05),
        ("held_out", 0.9, 0.9, 0.05),
    ],
)
def test_floors(name: str, recall: float, exact: float, alarms: float) -> None:
    false, found, right, true, wrong = figures(outcomes(name))
    assert false >= 20
    assert true >= 20
    assert found >= recall * false
    assert right >= exact * false
    assert wrong <= alarms * true


def elbow(value: float, sd: float) -> Measured:
    return Measured((MeasuredAngle("right_elbow_flexion", "right elbow flexion", value, sd),))


@given(st.floats(0, 180), st.floats(0, 20))
def test_what_is_measured_may_be_said(value: float, sd: float) -> None:
    assert disagreements(f"The right elbow is bent by {round(value)} degrees.", elbow(value, sd)) == []


@given(st.integers(1, 179), st.floats(0.1, 180), st.floats(0.1, 4))
def test_more_error_never_objects_more(said: int, value: float, sd: float) -> None:
    words = f"The right elbow is bent by {said} degrees."
    if not disagreements(words, elbow(value, sd)):
        assert disagreements(words, elbow(value, 3 * sd)) == []


@given(st.integers(1, 179), st.floats(1, 179), st.floats(0.1, 4))
def test_what_is_offered_is_not_objected_to(said: int, value: float, sd: float) -> None:
    words = f"The right elbow is bent by {said} degrees."
    for one in disagreements(words, elbow(value, sd)):
        mended = words[: one.start] + one.instead + words[one.end :]
        assert disagreements(mended, elbow(value, sd)) == []


@given(st.text(max_size=120))
def test_any_text_can_be_read(text: str) -> None:
    for one in disagreements(text, PICTURE):
        assert 0 <= one.start < one.end <= len(text)


@pytest.mark.parametrize("name", ["built_with", "first", "more", "held_out"])
def test_every_offer_settles_its_note(name: str) -> None:
    for row in outcomes(name):
        for one in disagreements(row.text, PICTURE):
            if one.instead:
                mended = row.text[: one.start] + one.instead + row.text[one.end :]
                again = [left for left in disagreements(mended, PICTURE) if left.start == one.start]
                assert not again, mended


def test_an_open_order_is_not_held_against_anybody() -> None:
    order = MeasuredOrder("pelvis", "trunk", 0.05, 0.03, "open")
    assert disagreements("The shoulders lead.", Measured(orders=(order,))) == []
    assert disagreements("The shoulders lead.", Measured(orders=(replace(order, order="settled"),)))


def test_on_a_mirrored_picture_no_side_is_known() -> None:
    shown = replace(PICTURE, mirrored=True)
    words = "The right knee is nearly straight."
    assert disagreements(words, PICTURE)
    assert not disagreements(words, shown)


def test_what_is_unsafe_is_not_held_against_anybody() -> None:
    (angle,) = elbow(71, 3).angles
    unsafe = Measured((replace(angle, caution="strongly foreshortened"),))
    assert disagreements("The right elbow is at 20 degrees.", unsafe) == []


# --- the note --------------------------------------------------------------------------------------


def still(words: str, **fields: object) -> BeatView:
    return BeatView("a", "still", words, **({"seconds": Fraction(9), "measured": PICTURE} | fields))  # type: ignore[arg-type]


def notes(*beats: BeatView) -> tuple[Note, ...]:
    margin = read_margin(ScriptView("Late hips", beats), [MeasuredCheck()])
    assert margin.failures == ()
    return margin.notes


def test_a_note_says_what_was_measured_and_its_key_puts_it_in() -> None:
    beats = (still("Here the right elbow is at about a hundred and forty degrees."),)
    (note,) = notes(*beats)
    assert note.quote == "about a hundred and forty degrees"
    assert "right elbow flexion is 70 ± 3°" in note.says
    assert note.instead == "about one hundred and ten degrees"
    assert [action.key for action in note.actions] == ["Enter"]
    action = note.actions[0]
    mended = perform(beats, action.command, dict(action.arguments), lambda: "new")
    assert notes(*mended) == ()


def test_an_order_is_turned_round() -> None:
    (note,) = notes(still("The shoulders turn before the hips."))
    assert "pelvis leads trunk by 50 ± 8 ms" in note.says
    assert note.instead == "hips turn before the shoulders"


def test_recorded_words_are_corrected_on_the_picture_first() -> None:
    (note,) = notes(still("The shoulders lead.", take_seconds=Fraction(3), take_is_file=True))
    assert [(a.command, a.key) for a in note.actions] == [
        ("insert_correction", "Enter"),
        ("replace_words", ""),
    ]


def test_a_changed_measure_judges_the_beat_again() -> None:
    words = "The right elbow is at about seventy degrees."
    assert notes(still(words)) == ()
    assert notes(still(words, measured=elbow(30, 2)))
    assert notes(still(words, measured=Measured())) == ()
