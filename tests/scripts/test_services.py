"""Commands on beats, held against the rules that people rely on."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from breakdowns.people.models import User
from breakdowns.scripts import services
from breakdowns.scripts.models import AnsweredNote, Beat, Revision

from .conftest import write

pytestmark = pytest.mark.django_db


def words(breakdown) -> list[str]:
    return list(breakdown.beats.order_by("position").values_list("words", flat=True))


def positions(breakdown) -> list[int]:
    return list(breakdown.beats.order_by("position").values_list("position", flat=True))


def test_a_new_breakdown_has_one_empty_beat_and_an_address_of_its_own(editor):
    first = services.breakdown_create(by=editor, title="Late hips")
    second = services.breakdown_create(by=editor, title="Late hips")
    assert (first.slug, second.slug) == ("late-hips", "late-hips-2")
    assert words(first) == [""]


@pytest.mark.parametrize("title", ["New", "!!!", "Überschlag", "x" * 160])
def test_any_title_gets_a_usable_address(editor, title):
    breakdown = services.breakdown_create(by=editor, title=title)
    assert breakdown.slug not in ("", "new")
    assert breakdown.get_absolute_url().endswith(f"/{breakdown.slug}/")


def test_every_change_raises_the_versions_and_keeps_the_state_before(editor, breakdown):
    beat = breakdown.beats.get()
    saved = services.beat_words_save(breakdown, beat.key, "From the floor.", base_version=1, by=editor)
    breakdown.refresh_from_db()
    assert saved.outcome == "saved"
    assert saved.beat.version == breakdown.version == 2
    assert saved.beat.changed_by == editor
    assert Revision.objects.get().snapshot["beats"][0]["words"] == ""


def test_saving_the_same_words_changes_nothing(editor, breakdown):
    beat = breakdown.beats.get()
    services.beat_words_save(breakdown, beat.key, "Floor.", base_version=1, by=editor)
    again = services.beat_words_save(breakdown, beat.key, "Floor.", base_version=1, by=editor)
    assert again.outcome == "unchanged"
    assert Revision.objects.count() == 1


def test_words_are_kept_as_typed_but_for_line_ends_and_control_characters(editor, breakdown):
    beat = breakdown.beats.get()
    services.beat_words_save(breakdown, beat.key, " a\r\nb\x00\x07 \n", base_version=1, by=editor)
    assert words(breakdown) == [" a\nb \n"]


def test_changed_words_lose_their_recording(editor, breakdown):
    beat = breakdown.beats.get()
    Beat.objects.filter(pk=beat.pk).update(words="Old.", take="takes/1.wav", spoken_ms=900)
    services.beat_words_save(breakdown, beat.key, "New.", base_version=1, by=editor)
    beat.refresh_from_db()
    assert (beat.take, beat.spoken_ms) == ("", None)


def test_insert_move_delete_keep_the_positions_without_gaps(editor, breakdown):
    one, two, three = write(breakdown, "one", "two", "three", by=editor)
    services.beat_insert(breakdown, after=one.key, by=editor, words="one and a half")
    services.beat_move(breakdown, three.key, 0, by=editor)
    services.beat_delete(breakdown, two.key, by=editor)
    assert words(breakdown) == ["three", "one", "one and a half"]
    assert positions(breakdown) == [0, 1, 2]


def test_moving_beyond_an_end_means_the_end_and_moving_nowhere_is_no_change(editor, breakdown):
    one, two = write(breakdown, "one", "two", by=editor)
    count = Revision.objects.count()
    services.beat_move(breakdown, two.key, 99, by=editor)
    assert Revision.objects.count() == count
    services.beat_move(breakdown, one.key, 99, by=editor)
    assert words(breakdown) == ["two", "one"]


def test_splitting_and_joining_give_an_excerpt_back(editor, breakdown, excerpt):
    (beat,) = write(breakdown, "The foot stops. The pelvis goes on.", by=editor)
    services.beat_picture_save(
        breakdown, beat.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk, speed_num=1, speed_den=2
    )
    second = services.beat_split(breakdown, beat.key, 16, by=editor)
    beat.refresh_from_db()
    assert (beat.words, second.words) == ("The foot stops. ", "The pelvis goes on.")
    assert beat.out_frame == second.in_frame
    assert beat.in_frame is None
    assert second.out_frame is None
    assert second.excerpt_id == excerpt.pk
    assert second.speed_den == 2
    joined = services.beat_join(breakdown, beat.key, by=editor)
    assert (joined.words, joined.in_frame, joined.out_frame) == (
        "The foot stops. The pelvis goes on.",
        None,
        None,
    )
    assert breakdown.beats.count() == 1


def test_splitting_inside_a_hold_leaves_a_still_of_the_held_frame(editor, breakdown, excerpt, source):
    (beat,) = write(breakdown, "Now. And this is where it stays for very much longer.", by=editor)
    services.beat_picture_save(
        breakdown, beat.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk, hold_ms=20_000
    )
    second = services.beat_split(breakdown, beat.key, 40, by=editor)
    assert (second.kind, second.source_id, second.frame) == ("still", source.pk, excerpt.out_frame - 1)
    beat.refresh_from_db()
    assert beat.hold_ms + second.seconds_ms == 20_000


def test_joining_two_pictures_keeps_the_first_for_the_time_of_both(editor, breakdown):
    one, _ = write(breakdown, "one.", "two.", by=editor)
    services.beat_picture_save(breakdown, one.key, by=editor, kind="plate", plate="text", seconds_ms=4000)
    joined = services.beat_join(breakdown, one.key, by=editor)
    assert (joined.words, joined.kind, joined.seconds_ms) == ("one. two.", "plate", 9000)
    with pytest.raises(services.ScriptError, match="last beat"):
        services.beat_join(breakdown, one.key, by=editor)


def test_a_beat_that_is_gone_is_told_and_not_an_accident(editor, breakdown):
    beat = breakdown.beats.get()
    services.beat_delete(breakdown, beat.key, by=editor)
    for command in (services.beat_join, services.beat_split, services.beat_duplicate, services.beat_delete):
        with pytest.raises(services.ScriptError, match="gone"):
            command(breakdown, beat.key, by=editor)


def test_a_copy_has_the_words_and_the_picture_but_not_the_recording(editor, breakdown, excerpt):
    (beat,) = write(breakdown, "one", by=editor)
    services.beat_picture_save(
        breakdown, beat.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk, mirrored=True
    )
    Beat.objects.filter(pk=beat.pk).update(spoken_ms=700)
    copy = services.beat_duplicate(breakdown, beat.key, by=editor)
    assert (copy.words, copy.excerpt_id, copy.mirrored, copy.spoken_ms) == ("one", excerpt.pk, True, None)
    assert copy.key != beat.key


def test_only_picture_fields_can_be_set_as_picture(editor, breakdown):
    with pytest.raises(services.ScriptError, match="words"):
        services.beat_picture_save(breakdown, breakdown.beats.get().key, by=editor, words="smuggled")


def test_a_transcript_replaces_an_only_empty_beat_and_is_appended_to_any_other(editor, breakdown):
    services.beats_take_over(breakdown, [("Start from the floor.", 2100), ("Then turn.", 900)], by=editor)
    assert words(breakdown) == ["Start from the floor.", "Then turn."]
    services.beats_take_over(breakdown, [("And throw.", 800)], by=editor)
    assert words(breakdown)[-1] == "And throw."
    assert breakdown.beats.values_list("spoken_ms", "seconds_ms").first() == (2100, 2100)
    services.revision_undo(breakdown, by=editor)
    services.revision_undo(breakdown, by=editor)
    assert words(breakdown) == [""]


def test_an_answered_note_is_kept_once_with_its_latest_reason(editor, breakdown):
    for reason in ("first", "second"):
        services.note_answer(breakdown, note_id="n", says="so", reason=reason, by=editor)
    assert AnsweredNote.objects.get().reason == "second"


class Splitting(TestCase):
    """For any text and cursor: nothing is lost by splitting, and joining gives it back."""

    @settings(max_examples=25, deadline=None)
    @given(text=st.text(st.sampled_from("ab .\n–é🤾"), max_size=40), at=st.none() | st.integers(0, 50))
    def test_split_then_join(self, text, at):
        by = User.objects.create_user(f"{User.objects.count()}@example.org", name="Editor", role="editor")
        breakdown = services.breakdown_create(by=by, title="Any")
        key = breakdown.beats.get().key
        services.beat_words_save(breakdown, key, text, base_version=1, by=by)
        second = services.beat_split(breakdown, key, at, by=by)
        first = breakdown.beats.get(key=key)
        assert first.words + second.words == text
        assert first.seconds_ms + second.seconds_ms == 5000
        joined = services.beat_join(breakdown, key, by=by)
        assert joined.words.split() == text.split() or "".join(joined.words.split()) == "".join(text.split())
        assert joined.seconds_ms == 5000
