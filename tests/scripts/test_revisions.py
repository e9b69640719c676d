"""The algebra of beats: split and join, and meeting changes."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from breakdowns.scripts.meeting import merge_words
from breakdowns.scripts.revisions import (
    RevisionError,
    can_join,
    delete,
    duplicate,
    edit,
    insert,
    join,
    move,
    replace_words,
    split,
    word_boundary,
)
from breakdowns.scripts.script import BeatView

RATES = [Fraction(25), Fraction(30), Fraction(30000, 1001), Fraction(60)]
SPEEDS = [Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(3, 2)]
WORDS = ["the", "pelvis", "turns", "first,", "trunk.", "35°", "infraspinatus", "throw!", "L4/5"]

texts = st.lists(st.sampled_from(WORDS), min_size=0, max_size=14).flatmap(
    lambda words: st.lists(
        st.sampled_from([" ", "  ", "\n", "\n\n"]), min_size=len(words), max_size=len(words)
    ).map(lambda gaps: "".join(word + gap for word, gap in zip(words, gaps, strict=True)).rstrip())
)
milliseconds = st.integers(2, 20_000).map(lambda count: Fraction(count, 1000))


@st.composite
def excerpts(draw: st.DrawFn) -> BeatView:
    start = draw(st.integers(0, 5000))
    frames = draw(st.integers(1, 400))
    hold = draw(st.one_of(st.just(Fraction(0)), milliseconds))
    assume(frames > 1 or hold > 0)
    return BeatView(
        id="a",
        kind="excerpt",
        words=draw(texts),
        source_id="baseline",
        source_rate=draw(st.sampled_from(RATES)),
        in_frame=start,
        out_frame=start + frames,
        speed=draw(st.sampled_from(SPEEDS)),
        hold=hold,
        mirrored=draw(st.booleans()),
    )


@st.composite
def stills(draw: st.DrawFn) -> BeatView:
    kind = draw(st.sampled_from(["still", "plate", "camera"]))
    return BeatView(id="a", kind=kind, words=draw(texts), seconds=draw(milliseconds), in_frame=7, out_frame=8)


class TestSplit:
    @given(st.one_of(excerpts(), stills()), st.integers(0, 120))
    def test_then_join_gives_the_whole_back(self, beat: BeatView, offset: int) -> None:
        halves = split((beat,), "a", offset, "b")
        assert can_join(*halves)
        assert join(halves, "a") == (beat,)

    @given(excerpts(), st.integers(0, 120))
    def test_an_excerpt_keeps_every_frame_once_and_its_time(self, beat: BeatView, offset: int) -> None:
        first, second = split((beat,), "a", offset, "b")
        assert first.frame_count >= 1
        assert first.frame_count + second.frame_count == beat.frame_count
        assert second.frame_count >= 1 or (second.kind == "still" and second.in_frame == beat.out_frame - 1)
        assert first.picture_seconds + second.picture_seconds == beat.picture_seconds
        assert min(first.picture_seconds, second.picture_seconds) > 0

    @given(stills(), st.integers(0, 120))
    def test_stills_divide_at_whole_milliseconds(self, beat: BeatView, offset: int) -> None:
        for half in split((beat,), "a", offset, "b"):
            assert half.seconds > 0
            assert (half.seconds * 1000).denominator == 1

    def test_divides_in_proportion_to_what_is_said(self) -> None:
        words = "the trunk turns now " * 4 + "and the arm is last " * 4
        beat = BeatView("a", "excerpt", words, source_rate=Fraction(30), in_frame=100, out_frame=200)
        first, second = split((beat,), "a", 80, "b")
        # 16 of 36 syllables: 44.4 of 100 frames
        assert (first.in_frame, first.out_frame, second.out_frame) == (100, 144, 200)

    def test_beyond_the_movement_the_rest_is_a_still_of_the_held_frame(self) -> None:
        beat = BeatView(
            "a", "excerpt", "one two three four", source_rate=Fraction(30), out_frame=30, hold=Fraction(9)
        )
        first, second = split((beat,), "a", 8, "b")
        assert (first.frame_count, first.hold) == (30, Fraction(4))
        assert (second.kind, second.in_frame, second.seconds) == ("still", 29, Fraction(5))

    def test_never_inside_a_word(self) -> None:
        assert word_boundary("the pelvis turns", 7) == 4
        assert word_boundary("the pelvis turns", 10) == 11
        assert word_boundary("pelvis", 3) == 0

    def test_a_single_frame_can_not_be_divided(self) -> None:
        beat = BeatView("a", "excerpt", "one two", source_rate=Fraction(30), out_frame=1)
        with pytest.raises(RevisionError, match="single frame"):
            split((beat,), "a", 4, "b")

    def test_recordings_are_dropped(self) -> None:
        beat = BeatView("a", "camera", "one two", seconds=Fraction(3), take_seconds=Fraction(2))
        assert [half.take_seconds for half in split((beat,), "a", 4, "b")] == [None, None]


class TestJoin:
    def test_of_two_pictures_keeps_the_time_of_both(self) -> None:
        first = BeatView("a", "excerpt", "one", source_rate=Fraction(25), out_frame=50)
        second = BeatView("b", "plate", "two", seconds=Fraction(3))
        assert not can_join(first, second)
        (joined,) = join((first, second), "a")
        assert (joined.words, joined.hold, joined.picture_seconds) == ("one two", Fraction(3), Fraction(5))

    def test_takes_the_other_picture_when_there_is_none(self) -> None:
        (joined,) = join((BeatView("a", "camera"), BeatView("b", "plate", "x", seconds=Fraction(3))), "a")
        assert (joined.id, joined.kind, joined.seconds) == ("a", "plate", Fraction(3))

    def test_the_last_beat_has_none_to_join(self) -> None:
        with pytest.raises(RevisionError, match="last beat"):
            join((BeatView("a", "camera"),), "a")


beat_lists = st.lists(st.integers(0, 99), unique=True, min_size=1, max_size=8).map(
    lambda ids: tuple(BeatView(str(number), "camera", f"words {number}") for number in ids)
)


class TestLists:
    @given(beat_lists, st.integers(-2, 10), st.integers(0, 7))
    def test_insert_then_delete_and_move_and_back(self, beats: tuple, place: int, which: int) -> None:
        assert delete(insert(beats, place, BeatView("new", "camera")), "new") == beats
        at = which % len(beats)
        moved = move(beats, beats[at].id, place)
        assert Counter(moved) == Counter(beats)
        assert move(moved, beats[at].id, at) == beats

    @given(beat_lists)
    def test_duplicate_then_delete(self, beats: tuple) -> None:
        doubled = duplicate(beats, beats[0].id, "new")
        assert doubled[1] == replace(beats[0], id="new")
        assert delete(doubled, "new") == beats

    def test_edit_refuses_what_no_beat_has(self) -> None:
        with pytest.raises(RevisionError, match="no colour"):
            edit((BeatView("a", "camera"),), "a", colour="red")

    def test_changed_words_lose_their_recording(self) -> None:
        beats = (BeatView("a", "camera", "one", take_seconds=Fraction(2)),)
        assert edit(beats, "a", heading="x")[0].take_seconds == 2
        assert edit(beats, "a", words="two")[0].take_seconds is None

    def test_replace_words_only_where_they_still_stand(self) -> None:
        beats = (BeatView("a", "camera", "turns the left hip"),)
        assert replace_words(beats, "a", 10, 14, "left", "right")[0].words == "turns the right hip"
        with pytest.raises(RevisionError, match="changed since"):
            replace_words(beats, "a", 10, 14, "hips", "right")

    def test_unknown_beat(self) -> None:
        with pytest.raises(RevisionError, match="no longer in the script"):
            delete((), "a")


TOKENS = st.sampled_from(["pelvis", "trunk", "arm", "turns", "first", "late", "the", "35°", "hip."])


@st.composite
def meetings(draw: st.DrawFn) -> tuple[str, str, str]:
    """A base and two changed copies, each with words of its own that nobody else uses."""
    base = draw(st.lists(TOKENS, min_size=1, max_size=25))

    def changed(own: str) -> list[str]:
        words, result = list(base), []
        for number, word in enumerate(words):
            what = draw(st.sampled_from(["keep"] * 8 + ["drop", "swap", "add"]))
            result += {"keep": [word], "drop": [], "swap": [f"{own}{number}"]}.get(
                what, [word, f"{own}{number}"]
            )
        return result

    gap = draw(st.sampled_from([" ", "\n\n"]))
    return gap.join(base), gap.join(changed("mine")), gap.join(changed("theirs"))


class TestMeeting:
    @given(meetings())
    def test_no_word_of_either_side_is_lost(self, meeting: tuple[str, str, str]) -> None:
        base, mine, theirs = meeting
        merged = merge_words(base, mine, theirs)
        if merged is None:
            assert mine not in (base, theirs)
            assert theirs != base
            return
        counts = Counter(merged.split())
        old, ours, others = Counter(base.split()), Counter(mine.split()), Counter(theirs.split())
        for word in {*old, *ours, *others}:  # what either side added is there, what nobody took out is there
            taken = max(0, old[word] - ours[word]) + max(0, old[word] - others[word])
            added = max(0, ours[word] - old[word], others[word] - old[word])
            assert counts[word] >= max(0, old[word] - taken) + added
        assert all(counts[word] == 1 for word in counts if word.startswith(("mine", "theirs")))
        for word in (*mine.split(), *theirs.split()):
            assert not word.startswith(("mine", "theirs")) or counts[word] == 1

    @given(meetings())
    def test_it_does_not_matter_who_is_who(self, meeting: tuple[str, str, str]) -> None:
        base, mine, theirs = meeting
        assert merge_words(base, mine, theirs) == merge_words(base, theirs, mine)

    @given(meetings())
    def test_one_side_unchanged_means_the_other(self, meeting: tuple[str, str, str]) -> None:
        base, mine, _ = meeting
        assert merge_words(base, mine, base) == mine == merge_words(base, base, mine)

    def test_different_paragraphs_merge(self) -> None:
        base = "The pelvis turns.\n\nThe trunk waits.\n\nThe arm is last."
        met = merge_words(base, base.replace("turns", "turns first"), base.replace("last", "late"))
        assert met == "The pelvis turns first.\n\nThe trunk waits.\n\nThe arm is late."

    def test_different_words_of_one_sentence_merge(self) -> None:
        base = "The pelvis turns first and then the trunk follows late."
        assert merge_words(base, base.replace("first", "early"), base.replace("late", "on")) == (
            "The pelvis turns early and then the trunk follows on."
        )

    def test_the_same_words_changed_twice_do_not_merge(self) -> None:
        assert merge_words("The hip opens.", "The left hip opens.", "The right hip opens.") is None

    def test_the_same_change_twice_is_the_same(self) -> None:
        assert merge_words("a", "a b", "a b") == "a b"

    def test_an_addition_at_the_end_is_not_glued_to_a_change_before_it(self) -> None:
        merged = merge_words("one two three four", "zero two three four", "one two three four five")
        assert merged == "zero two three four five"
