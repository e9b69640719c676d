"""The page of a second view and a curve: chosen, tied, shown at one instant, kept, undone, and told of when it is gone."""

from __future__ import annotations

from fractions import Fraction

import pytest
from django.urls import reverse

from breakdowns.excerpts.models import Excerpt
from breakdowns.excerpts.selectors import beats_outside
from breakdowns.footage.models import Event, Source
from breakdowns.footage.selectors import tied_view, uses_of
from breakdowns.footage.services import sources_tie
from breakdowns.footage.views_offset import frame_beside
from breakdowns.scripts import services
from breakdowns.scripts.page.selectors import script_of
from breakdowns.scripts.selectors import beats_of, script_view
from breakdowns.scripts.two_views.selectors import curve_of
from breakdowns.stills.models import Still
from breakdowns.stills.services import still_delete
from breakdowns.tracks.models import Track

from .conftest import write

pytestmark = [pytest.mark.once, pytest.mark.django_db]

LINE = {"id": "m1", "kind": "line", "points": [{"at": [10, 20]}, {"at": [300, 200]}], "text": "hips"}


def another(source: Source, **fields) -> Source:
    values = {
        "title": "Semi-final from the roof", "view": "overhead", "state": "ready", "rate_num": 25, "rate_den": 1,
        "frame_count": 2000, "width": 1280, "height": 720, "original": "roof.mp4", "original_name": "roof.mp4",
        "event": source.event, "rights_holder": "an invented hall",
    }  # fmt: skip
    return Source.objects.create(**(values | fields))


@pytest.fixture
def roof(source):
    return another(source)


@pytest.fixture
def beat(editor, breakdown, excerpt):
    (made,) = write(breakdown, "The foot stops.", by=editor)
    shown = {"kind": "excerpt", "excerpt_id": excerpt.pk, "speed_num": 1, "speed_den": 2}
    return services.beat_picture_save(breakdown, made.key, by=editor, **shown)


@pytest.fixture
def tied(source, roof):
    return sources_tie(source, 330, roof, 250)


def address(beat) -> str:
    return reverse("scripts:two_views", args=[beat.breakdown.slug, beat.key])


def keep(studio, beat, **data):
    answer = studio.post(address(beat), {"do": "keep", **data})
    beat.refresh_from_db()
    return answer


def notes(breakdown) -> list[str]:
    page = script_of(breakdown)
    return [f"{row.note.says}. {row.note.mend}" for one in page.rows for row in one.notes]


def nearest(frame: int, source: Source, other: Source) -> int:
    """By trying every frame: which of ``other`` starts nearest to the instant, counted from the two common ones."""
    moment = Fraction(frame - source.sync_frame) / source.rate
    distance = [abs(Fraction(n - other.sync_frame) / other.rate - moment) for n in range(other.frame_count)]
    return max(n for n, one in enumerate(distance) if one == min(distance))


def test_a_beat_without_footage_is_told_what_comes_first(studio, breakdown):
    page = studio.get(address(breakdown.beats.get())).content.decode()
    assert "shows neither yet" in page
    assert reverse("scripts:beat_picture", args=[breakdown.slug, breakdown.beats.get().key]) in page


@pytest.mark.parametrize("at", [300, 311, 330, 419])
def test_both_views_stand_at_the_same_instant(studio, beat, source, tied, at):
    source.refresh_from_db()
    answer = studio.get(address(beat), {"beside": f"view:{tied.pk}", "at": at})
    frames = [answer.context["instants"].first.frame, answer.context["instants"].second.frame]
    assert frames == [at, nearest(at, source, tied)]
    page = answer.content.decode()
    for one, frame in zip((source, tied), frames, strict=True):
        assert reverse("footage:still", args=[one.key, frame]) in page
    beat.refresh_from_db()
    assert beat.beside_source_id is None  # only shown


def test_a_tied_view_is_kept_counted_shown_and_undone(studio, editor, breakdown, beat, source, tied):
    assert (
        keep(
            studio, beat, beside=f"view:{tied.pk}", beside_mirrored="on", halves="fill", half_focus=40
        ).status_code
        == 302
    )
    assert (beat.beside_source, beat.beside_mirrored, beat.halves, beat.half_focus) == (
        tied,
        True,
        "fill",
        40,
    )
    page = script_of(breakdown)
    assert set(page.ledger.sources) == {str(source.key), str(tied.key)}
    source.refresh_from_db()
    taken = nearest(419, source, tied) + 1 - nearest(300, source, tied)
    assert page.ledger.sources[str(tied.key)].union_seconds == Fraction(taken, 25)
    text = studio.get(breakdown.get_absolute_url()).content.decode()
    assert text.count('class="still-pair"') == 1
    assert "beside it overhead" in text
    services.revision_undo(breakdown, by=editor)
    beat.refresh_from_db()
    assert beat.beside_source is None
    services.revision_redo(breakdown, by=editor)
    beat.refresh_from_db()
    assert (beat.beside_source, beat.beside_mirrored) == (tied, True)


def test_a_view_that_is_not_tied_is_looked_at_but_not_kept(studio, beat, roof):
    shown = studio.get(address(beat), {"beside": f"tie:{roof.pk}", "at": 330, "there": 77}).content.decode()
    assert reverse("footage:still", args=[roof.key, 77]) in shown
    assert "Tie them here" in shown
    refused = keep(studio, beat, beside=f"tie:{roof.pk}")
    assert refused.status_code == 422
    assert "Tie the two views first" in refused.content.decode()
    assert beat.beside_source is None


def test_tying_by_an_event_seen_in_both_and_moving_by_a_frame(studio, beat, source, roof):
    answer = studio.post(address(beat), {"do": "tie", "source": roof.pk, "at": 330, "there": 77}, follow=True)
    source.refresh_from_db()
    roof.refresh_from_db()
    assert (source.sync_frame, roof.sync_frame) == (330, 77)
    assert answer.context["instants"].second.frame == 77
    studio.post(address(beat), {"do": "later", "source": roof.pk, "at": 330})
    roof.refresh_from_db()
    assert frame_beside(330, tied_view(source), tied_view(roof)) == 78
    for _ in range(2):
        studio.post(address(beat), {"do": "earlier", "source": roof.pk, "at": 330})
    roof.refresh_from_db()
    assert roof.sync_frame == 76
    Source.objects.filter(pk=roof.pk).update(sync_frame=0)
    told = studio.post(address(beat), {"do": "earlier", "source": roof.pk, "at": 330}, follow=True)
    assert "does not exist" in told.content.decode()


@pytest.mark.parametrize("there", [0, 77, 1999])
def test_two_ties_give_exactly_the_frames_that_were_tied(source, roof, there):
    second = sources_tie(source, 431, roof, there)
    source.refresh_from_db()
    assert frame_beside(431, tied_view(source), tied_view(second)) == there
    assert frame_beside(there, tied_view(second), tied_view(source)) == 431


def test_a_third_view_keeps_the_tie_of_the_first_two(source, tied):
    third = another(source, original="side.mp4", title="From the side", rate_num=50)
    source.refresh_from_db()
    before = (source.sync_frame, tied.sync_frame)
    third = sources_tie(source, 1000, third, 1900)
    source.refresh_from_db()
    tied.refresh_from_db()
    assert (source.sync_frame, tied.sync_frame) == before
    # Within half a frame of the third view: its frames are the coarsest that the tie can be told in.
    moment = Fraction(1000 - source.sync_frame) / source.rate
    assert abs(Fraction(1900 - third.sync_frame) / third.rate - moment) <= 1 / (2 * third.rate)


def test_a_first_view_joins_a_tie_that_stands_already(source, roof):
    side = another(source, original="side.mp4", title="From the side", rate_num=50)
    sources_tie(roof, 100, side, 300)
    roof.refresh_from_db()
    sources_tie(source, 330, roof, 250)
    for one in (source, roof, side):
        one.refresh_from_db()
    assert (roof.sync_frame, side.sync_frame) == (100, 300)
    assert abs(frame_beside(250, tied_view(roof), tied_view(source)) - 330) <= 1
    with pytest.raises(ValueError, match="an instant that all of them show"):
        sources_tie(source, 1, roof, 1900)


def test_sources_of_two_events_are_never_tied(studio, beat, source):
    other = another(source, event=Event.objects.create(name="Another cup (invented)"))
    answer = studio.post(address(beat), {"do": "tie", "source": other.pk, "at": 1, "there": 1}, follow=True)
    assert "of two events" in answer.content.decode()
    other.refresh_from_db()
    assert other.sync_frame is None
    page = studio.get(address(beat)).content.decode()
    assert f"tie:{other.pk}" not in page


def test_a_source_without_an_event_joins_that_of_the_other(source):
    lonely = another(source, event=None)
    assert sources_tie(source, 10, lonely, 20).event == source.event
    with pytest.raises(ValueError, match="no frame 2000"):
        sources_tie(source, 10, lonely, 2000)
    with pytest.raises(ValueError, match="none to itself"):
        sources_tie(source, 10, source, 20)


def test_a_view_without_these_instants_is_refused_and_told_in_the_margin(
    studio, editor, breakdown, beat, source, roof
):
    sources_tie(source, 330, roof, 10)  # frame 300 is a second earlier: frame −15 there
    refused = keep(studio, beat, beside=f"view:{roof.pk}")
    assert refused.status_code == 422
    assert "no picture of all these instants" in refused.content.decode()
    services.beat_picture_save(breakdown, beat.key, by=editor, beside_source_id=roof.pk)
    assert any("The second view can't be shown" in one for one in notes(breakdown))
    Source.objects.filter(pk=roof.pk).update(sync_frame=None)
    assert any("no longer tied" in one for one in notes(breakdown))
    page = studio.get(breakdown.get_absolute_url()).content.decode()
    assert address(beat) in page  # the note's button leads to the page


def test_another_excerpt_beside_begins_with_the_first(studio, beat, source, roof):
    other = Excerpt.objects.create(source=roof, name="another try", in_frame=100, out_frame=160)
    assert keep(studio, beat, beside=f"excerpt:{other.pk}", beside_in="90").status_code == 422
    assert keep(studio, beat, beside=f"excerpt:{other.pk}", beside_in="110").status_code == 302
    assert (beat.beside_excerpt, beat.beside_in, beat.beside_out) == (other, 110, None)
    seen = studio.get(address(beat), {"at": 330}).context["instants"]
    assert seen.second.frame == 110 + 25  # 30 frames at 30000/1001 are 1.001 s; 25.025 frames at 25
    assert (
        studio.get(address(beat), {"at": 419}).context["instants"].second.says == "it stays on its last frame"
    )


def track_on(source: Source, frames, **fields) -> Track:
    """A hip and a shoulder line that turn evenly (invented)."""
    rows = {
        str(n): {
            "left_hip": [600 - 2 * n % 50, 400, "placed"], "right_hip": [700, 400 + n % 40, "placed"],
            "left_shoulder": [600, 200, "placed"], "right_shoulder": [700, 200 + 2 * (n % 40), "placed"],
        }
        for n in frames
    }  # fmt: skip
    span = {"in_frame": min(frames), "out_frame": max(frames) + 1}
    return Track.objects.create(source=source, name="turning", landmarks=rows, **(span | fields))


def test_the_curve_of_either_view_runs_on_that_views_own_clock(studio, beat, source, tied):
    first, second = track_on(source, range(300, 420)), track_on(tied, range(225, 325))
    for track, rate, start, beside in ((first, source.rate, 300, False), (second, Fraction(25), 225, True)):
        answer = keep(
            studio,
            beat,
            beside=f"view:{tied.pk}",
            curve_track=track.pk,
            curve_names=["trunk"],
            curve_place="left",
        )
        assert answer.status_code == 302
        found = curve_of(beat)
        assert (found.rate, found.first, found.follows_beside) == (rate, start, beside)
        assert [curve.label for curve in found.plot.curves] == ["trunk"]
        shown = studio.get(address(beat), {"at": 330})
        assert "± 1 SD" not in shown.context["instants"].curve["wide"]  # words are outlines
        assert "Angular velocity" in shown.content.decode()
    assert (beat.curve_names, beat.curve_place) == (["trunk"], "left")
    assert script_view(beat.breakdown, list(beats_of(beat.breakdown))).beats[0].marked == "all"


def test_a_curve_that_has_nothing_to_show_is_told_early(studio, editor, breakdown, beat, source, roof):
    elsewhere = track_on(source, range(1000, 1040))
    services.beat_picture_save(breakdown, beat.key, by=editor, curve_track_id=elsewhere.pk)
    assert any("measured nothing in what is shown here" in one for one in notes(breakdown))
    foreign = track_on(roof, range(40))
    services.beat_picture_save(breakdown, beat.key, by=editor, curve_track_id=foreign.pk)
    assert any("footage that is not shown here" in one for one in notes(breakdown))
    services.beat_picture_save(breakdown, beat.key, by=editor, curve_track_id=None)
    assert not any("curve" in one for one in notes(breakdown))


def test_marks_of_the_second_view_are_offered_on_its_very_frame(
    studio, breakdown, editor, beat, source, tied
):
    services.beat_picture_save(breakdown, beat.key, by=editor, hold_ms=2000)
    source.refresh_from_db()
    last = nearest(419, source, tied)
    document = {"version": 1, "landmarks": {}, "marks": [LINE]}
    right = Still.objects.create(source=tied, frame=last, name="release above", document=document)
    wrong = Still.objects.create(source=tied, frame=last - 1, name="before", document=document)
    page = studio.get(address(beat), {"beside": f"view:{tied.pk}"}).content.decode()
    assert "release above" in page
    assert ">before (" not in page
    refused = keep(studio, beat, beside=f"view:{tied.pk}", beside_marks=wrong.pk)
    assert refused.status_code == 422
    assert keep(studio, beat, beside=f"view:{tied.pk}", beside_marks=right.pk).status_code == 302
    assert beat.beside_still == right
    assert script_view(breakdown, list(beats_of(breakdown))).beats[0].marked == "hold"


def test_a_late_keep_never_overwrites(studio, editor, breakdown, beat, tied):
    stale = studio.get(address(beat)).context["form"].initial["base_picture"]
    services.beat_picture_save(breakdown, beat.key, by=editor, hold_ms=1000)
    late = keep(studio, beat, beside=f"view:{tied.pk}", base_picture=stale)
    assert late.status_code == 422
    assert "Somebody changed this picture" in late.content.decode()
    assert beat.beside_source is None


@pytest.mark.parametrize("hold", [0, 2000])
def test_marks_that_are_no_longer_seen_are_told(editor, breakdown, beat, source, hold):
    still = Still.objects.create(
        source=source, frame=419, name="release", document={"version": 1, "landmarks": {}, "marks": [LINE]}
    )
    services.beat_picture_save(breakdown, beat.key, by=editor, hold_ms=2000, still_id=still.pk)
    assert not any("not seen" in one for one in notes(breakdown))
    services.beat_picture_save(breakdown, beat.key, by=editor, hold_ms=hold, out_frame=400 if hold else None)
    assert any("The marks of “release” are not seen" in one for one in notes(breakdown))


def test_a_mark_that_waits_for_words_no_longer_said_is_told(editor, breakdown, beat, source):
    still = Still.objects.create(
        source=source, frame=419, document={"version": 1, "landmarks": {}, "marks": [LINE]}
    )
    marks = {"hold_ms": 2000, "still_id": still.pk, "marks_way": "words", "marks_at": "foot"}
    services.beat_picture_save(breakdown, beat.key, by=editor, **marks)
    assert not any("waits for words" in one for one in notes(breakdown))
    services.beat_words_save(
        breakdown, beat.key, "The hips turn.", base_version=0, base_words="The foot stops.", by=editor
    )
    assert any("waits for words that are not spoken" in one and "“foot”" in one for one in notes(breakdown))


def test_what_undo_could_not_bring_back_is_told_until_the_picture_is_kept_again(
    studio, editor, breakdown, beat, source
):
    still = Still.objects.create(
        source=source, frame=419, document={"version": 1, "landmarks": {}, "marks": [LINE]}
    )
    track = track_on(source, range(300, 420))
    services.beat_picture_save(
        breakdown, beat.key, by=editor, hold_ms=2000, still_id=still.pk, curve_track_id=track.pk
    )
    services.beat_delete(breakdown, beat.key, by=editor)
    assert still_delete(still)
    track.delete()
    services.revision_undo(breakdown, by=editor)
    told = notes(breakdown)
    assert any("marks that lay over this picture have been deleted" in one for one in told)
    assert any("track whose curve ran along here has been deleted" in one for one in told)
    back = breakdown.beats.get()
    services.beat_picture_save(breakdown, back.key, by=editor, hold_ms=2000)
    assert not any("deleted" in one for one in notes(breakdown))
    services.revision_undo(breakdown, by=editor)
    assert any("deleted" in one for one in notes(breakdown))


def test_a_still_of_the_same_instant_stands_beside_a_still(studio, editor, breakdown, source, tied):
    source.refresh_from_db()
    (beat,) = write(breakdown, "There.", by=editor)
    services.beat_picture_save(breakdown, beat.key, by=editor, kind="still", source_id=source.pk, frame=350)
    assert keep(studio, beat, beside=f"view:{tied.pk}").status_code == 302
    view = script_view(breakdown, list(beats_of(breakdown))).beats[0]
    goal = nearest(350, source, tied)
    assert view.beside_span == (goal, goal + 1)
    kept = Still.objects.create(source=tied, frame=7, name="at rest")
    assert keep(studio, beat, beside=f"still:{kept.pk}").status_code == 302
    assert script_view(breakdown, list(beats_of(breakdown))).beats[0].beside_span == (7, 8)


def test_the_footage_tells_where_it_stands_beside_something(editor, beat, source, tied):
    source.refresh_from_db()
    services.beat_picture_save(beat.breakdown, beat.key, by=editor, beside_source_id=tied.pk)
    (use,) = uses_of(tied)
    assert (use.start, use.end, use.kind) == (
        nearest(300, source, tied),
        nearest(419, source, tied) + 1,
        "moving",
    )
    other = Excerpt.objects.create(source=tied, name="another try", in_frame=100, out_frame=160)
    shown = {"beside_source_id": None, "beside_excerpt_id": other.pk, "beside_out": 150}
    services.beat_picture_save(beat.breakdown, beat.key, by=editor, **shown)
    (use,) = uses_of(tied)
    assert (use.start, use.end) == (100, 150)
    assert beats_outside(other, 100, 140) == beat
    assert beats_outside(other, 100, 155) is None
