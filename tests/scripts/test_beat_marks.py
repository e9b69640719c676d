"""A beat shows the marks of a kept still: chosen, kept through undo and copies, and let go with its frame."""

from __future__ import annotations

import pytest
from django.urls import reverse

from breakdowns.scripts import services
from breakdowns.scripts.selectors import beat_view
from breakdowns.stills.models import Still
from breakdowns.stills.services import still_delete

from .conftest import write

pytestmark = pytest.mark.django_db

LINE = {"id": "m1", "kind": "line", "points": [{"at": [10, 20]}, {"at": [300, 200]}], "text": "hips"}


@pytest.fixture
def still(source):
    document = {"version": 1, "landmarks": {}, "marks": [LINE]}
    return Still.objects.create(source=source, frame=419, name="release", document=document)


def choose(studio, beat, **data):
    url = reverse("scripts:beat_picture", args=[beat.breakdown.slug, beat.key])
    answer = studio.post(url, {"seconds": "4", **data})
    beat.refresh_from_db()
    return answer


def test_choosing_a_kept_still_sets_source_and_frame(studio, breakdown, still):
    beat = breakdown.beats.get()
    page = studio.get(reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])).content.decode()
    assert "no marks" in page
    assert "release, 00:00:13;29 (1 mark)" in page  # frame 419 at 30000/1001: 13 · 30 + 29
    assert choose(studio, beat, kind="still", still=still.pk).status_code == 302
    assert (beat.kind, beat.source_id, beat.frame, beat.marked) == ("still", still.source_id, 419, still)
    assert beat_view(beat).marked == "hold"
    assert "marks on the still" in studio.get(breakdown.get_absolute_url()).content.decode()


def test_another_frame_lets_the_marks_go_and_none_leaves_the_frame(studio, breakdown, source, still):
    beat = breakdown.beats.get()
    choose(studio, beat, kind="still", still=still.pk)
    choose(studio, beat, kind="still", still=still.pk, source=source.pk, frame="420")
    assert (beat.frame, beat.still_id) == (420, None)
    choose(studio, beat, kind="still", still=still.pk, source=source.pk, frame="420")
    choose(studio, beat, kind="still", still="", source=source.pk, frame="419")
    assert (beat.frame, beat.still_id) == (419, None)


def test_a_still_of_other_footage_is_not_offered(studio, breakdown, source, still):
    beat = breakdown.beats.get()
    choose(studio, beat, kind="still", still=still.pk)
    source.pk = None
    source.key = "6a6e3f0e-93a4-4a61-8d0a-5d5a1f2b9c11"
    source.original = source.original_name = "other.mp4"
    source.save()
    foreign = Still.objects.create(source=source, frame=1)
    assert choose(studio, beat, kind="still", still=foreign.pk).status_code == 422
    assert beat.still == still


def test_marks_lie_over_the_hold_of_an_excerpt_only_on_its_last_frame(studio, breakdown, excerpt, still):
    beat = breakdown.beats.get()
    held = {"kind": "excerpt", "excerpt": excerpt.pk, "hold": "2", "hold_still": still.pk}
    refused = choose(studio, beat, **held, out_point="400")
    assert refused.status_code == 422
    assert "not of frame 399" in refused.content.decode()
    assert choose(studio, beat, **held).status_code == 302
    assert beat.marked == still
    assert beat_view(beat).marked == "hold"
    choose(studio, beat, **{**held, "hold": "0"})
    assert beat.marked is None
    choose(studio, beat, **held, out_point="400")
    assert (beat.out_frame, beat.still_id) == (400, None)


def test_marks_come_back_with_undo_and_go_with_a_copy(editor, breakdown, still):
    (beat,) = write(breakdown, "words", by=editor)
    shown = {"kind": "still", "source_id": still.source_id, "frame": still.frame}
    services.beat_picture_save(breakdown, beat.key, by=editor, **shown, still_id=still.pk)
    assert services.beat_duplicate(breakdown, beat.key, by=editor).marked == still
    services.beat_picture_save(breakdown, beat.key, by=editor, still_id=None)
    services.revision_undo(breakdown, by=editor)
    beat.refresh_from_db()
    assert beat.marked == still
    assert still_delete(still) is False


def test_a_still_that_was_deleted_leaves_the_picture_standing(editor, breakdown, still):
    (beat,) = write(breakdown, "words", by=editor)
    shown = {"kind": "still", "source_id": still.source_id, "frame": still.frame}
    services.beat_picture_save(breakdown, beat.key, by=editor, **shown, still_id=still.pk)
    services.beat_delete(breakdown, beat.key, by=editor)
    assert still_delete(still) is True
    services.revision_undo(breakdown, by=editor)
    back = breakdown.beats.get()
    assert (back.kind, back.frame, back.still_id) == ("still", 419, None)


def test_a_state_from_before_there_were_marks_can_be_put_back(editor, breakdown, still):
    (beat,) = write(breakdown, "words", by=editor)
    services.beat_picture_save(breakdown, beat.key, by=editor, kind="plate", seconds_ms=3000)
    revision = breakdown.revisions.order_by("-number").first()
    for row in revision.snapshot["beats"]:
        del row["still_id"]
    revision.save()
    services.revision_undo(breakdown, by=editor)
    beat.refresh_from_db()
    assert (beat.kind, beat.still_id) == ("camera", None)


def test_how_marks_come_is_chosen_and_words_that_are_not_spoken_are_refused(studio, breakdown, editor, still):
    beat = breakdown.beats.get()
    services.beat_words_save(breakdown, beat.key, "First the hips.", base_version=1, by=editor)
    marked = {"kind": "still", "still": still.pk, "marks_way": "words"}
    refused = choose(studio, beat, **marked, marks_at="shoulders")
    assert refused.status_code == 422
    assert "“shoulders”" in refused.content.decode()
    assert choose(studio, beat, **marked).status_code == 422
    assert choose(studio, beat, **marked, marks_at="Hips").status_code == 302
    assert (beat.marks_way, beat.marks_at) == ("words", "Hips")
