"""The pages of footage, and the plain rules under them: moments as typed, and views tied together."""

from __future__ import annotations

from fractions import Fraction

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.footage.models import Source
from breakdowns.footage.moments import read_moment, read_span
from breakdowns.footage.selectors import media_path, uses_of
from breakdowns.footage.timebase import TimeError
from breakdowns.footage.views_offset import TiedView, frame_beside, offset_seconds
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.work.models import WorkItem
from tests.factory import make_event, make_excerpt, make_source, make_user

NTSC = Fraction(30000, 1001)
RATES = st.sampled_from([Fraction(25), NTSC, Fraction(50), Fraction(60000, 1001), Fraction(240)])


class TestMoments:
    @pytest.mark.parametrize(
        ("text", "rate", "frame"),
        [
            ("41", Fraction(25), 41),
            (" 00:00:02:10 ", Fraction(25), 60),
            # SMPTE ST 12-1: drop frame leaves out labels 0 and 1 of each minute but every tenth.
            ("00:01:00;02", NTSC, 1800),
            ("1.5 s", Fraction(25), 37),
            ("1,5s", Fraction(25), 37),
            ("1 s", NTSC, 29),
        ],
    )
    def test_what_people_type(self, text, rate, frame):
        assert read_moment(text, rate) == frame

    @pytest.mark.parametrize(
        "text", ["", "x", "-1", "1.5", "1e3", "٣", "00:00:00:25", "00:01:00;00", "9" * 12, "1 s s"]
    )
    def test_what_is_no_moment(self, text):
        with pytest.raises(TimeError, match=r"\.$"):
            read_moment(text, Fraction(25))

    @pytest.mark.parametrize(
        ("start", "end", "words"), [(5, 5, "after the in"), (6, 5, "after the in"), (0, 11, "past the end")]
    )
    def test_spans_that_cannot_be(self, start, end, words):
        with pytest.raises(TimeError, match=words):
            read_span(start, end, 10)


class TestTiedViews:
    def test_a_worked_example(self):
        # By hand: frame 100 at 30000/1001 is 10010/3000 s, frame 80 at 25 is 3.2 s; the difference -41/300 s.
        near, far = TiedView(100, NTSC), TiedView(80, Fraction(25))
        assert offset_seconds(near, far) == Fraction(-41, 300)
        assert frame_beside(100, near, far) == 80
        assert frame_beside(130, near, far) == 105  # 1.001 s later: 25.025 frames
        assert frame_beside(0, near, far) == -3  # no picture yet

    def test_ties_go_upwards(self):
        assert frame_beside(1, TiedView(0, Fraction(50)), TiedView(0, Fraction(25))) == 1

    @given(RATES, RATES, st.integers(0, 10**6), st.integers(0, 10**6), st.integers(0, 10**6))
    def test_never_more_than_half_a_frame_away(self, rate, other_rate, tie, other_tie, frame):
        view, other = TiedView(tie, rate), TiedView(other_tie, other_rate)
        beside = frame_beside(frame, view, other)
        away = (beside - other_tie) / other_rate - (frame - tie) / rate
        assert abs(away) <= 1 / (2 * other_rate)
        assert offset_seconds(view, other) == -offset_seconds(other, view)

    @given(RATES, st.integers(0, 10**6), st.integers(0, 10**6), st.integers(0, 10**6))
    def test_there_and_back_at_one_rate_is_the_same_frame(self, rate, tie, other_tie, frame):
        view, other = TiedView(tie, rate), TiedView(other_tie, rate)
        assert frame_beside(frame_beside(frame, view, other), other, view) == frame


@pytest.fixture
def editor(client, db):
    user = make_user()
    client.force_login(user)
    return user


def text_of(response) -> str:
    return response.content.decode()


def test_an_empty_studio_says_what_belongs_here(client, editor):
    page = text_of(client.get(reverse("footage:index")))
    assert reverse("footage:add") in page
    assert "Add the first piece" in page


@pytest.mark.parametrize("name", ["index", "add"])
def test_strangers_and_readers_stay_outside(client, db, name):
    assert client.get(reverse(f"footage:{name}")).status_code == 302
    client.force_login(make_user("reader"))
    assert client.get(reverse(f"footage:{name}")).status_code == 403


def test_footage_being_read_shows_its_progress(client, editor):
    source = Source.objects.create(title="Throw", original="x", original_name="x.mp4")
    item = WorkItem.objects.create(
        kind="footage.prepare",
        subject=str(source.key),
        state="running",
        done_units=1,
        total_units=4,
        doing="reading every frame",
    )
    page = text_of(client.get(source.get_absolute_url()))
    assert "data-reload-after-work" in page
    assert "reading every frame · 25 %" in page
    assert reverse("work:stop", args=[item.pk]) in page


def test_refused_footage_says_why(client, editor):
    source = Source.objects.create(
        title="Throw", original="x", state="refused", refusal="The file is cut off."
    )
    assert "The file is cut off." in text_of(client.get(source.get_absolute_url()))


@pytest.mark.media
class TestReady:
    def test_the_page_holds_the_exact_clock_and_what_is_used(self, client, editor):
        source = make_source(rate=NTSC, frame_count=60)
        excerpt = make_excerpt(source, name="Plant <foot>", in_frame=10, out_frame=40)
        piece = Breakdown.objects.create(slug="late-hips", title="Late hips")
        Beat.objects.create(
            breakdown=piece, position=0, kind="excerpt", excerpt=excerpt, in_frame=12, out_frame=20
        )
        Beat.objects.create(breakdown=piece, position=1, kind="still", source=source, frame=50)
        assert [(use.start, use.end, use.kind) for use in uses_of(source)] == [
            (12, 20, "moving"),
            (50, 51, "still"),
        ]
        page = text_of(client.get(source.get_absolute_url()))
        assert '"rate_num": 30000, "rate_den": 1001, "frame_count": 60, "drop": true' in page
        assert "Plant &lt;foot&gt;" in page
        assert "Plant <foot>" not in page
        assert 'class="use-mark moving" x="12" y="23" width="8"' in page
        assert "Late hips · 2" in page
        assert "no number of seconds is a safe harbour" in page

    def test_without_script_the_frames_are_shown_by_the_server(self, client, editor):
        source = make_source()
        page = text_of(
            client.get(source.get_absolute_url(), {"in": "00:00:01:00", "out": "30", "frame": "7"})
        )
        for frame in (7, 25, 29):
            assert reverse("footage:still", args=[source.key, frame]) in page
        assert 'value="00:00:01:00"' in page

    @pytest.mark.parametrize("frame", ["", "x", "-1", "999999", "0:0", "9" * 40])
    def test_any_frame_in_the_address_is_borne(self, client, editor, frame):
        source = make_source()
        assert (
            client.get(source.get_absolute_url(), {"frame": frame, "in": frame, "out": frame}).status_code
            == 200
        )

    def test_a_title_can_not_close_the_data(self, client, editor):
        source = make_source(title="</script><script>alert(1)</script>")
        make_excerpt(source, name="</script><b>")
        page = text_of(client.get(source.get_absolute_url()))
        assert "<script>alert" not in page
        assert "</script><b>" not in page

    def test_the_common_instant_is_set_and_cleared(self, client, editor):
        source = make_source(event=make_event())
        url = reverse("footage:sync", args=[source.key])
        for typed, frame in [("12", 12), ("00:00:01:05", 30), ("50", 30), ("x", 30), ("49", 49), ("", None)]:
            client.post(url, {"frame": typed})
            source.refresh_from_db()
            assert source.sync_frame == frame, typed

    def test_views_stand_together_when_both_are_tied(self, client, editor):
        event = make_event()
        first = make_source(event=event, sync_frame=10)
        second = make_source(event=event, rate=NTSC, frame_count=60)
        url = reverse("footage:together", args=[event.pk])
        assert "data-view" not in text_of(client.get(url))
        assert url not in text_of(client.get(first.get_absolute_url()))
        Source.objects.filter(pk=second.pk).update(sync_frame=20)
        page = text_of(client.get(url, {"frame": "20"}))
        assert page.count("data-view") == 2
        assert reverse("footage:still", args=[second.key, 32]) in page  # 0.4 s later: 11.99 frames
        assert url in text_of(client.get(first.get_absolute_url()))

    def test_details_can_be_changed(self, client, editor):
        source = make_source()
        url = reverse("footage:edit", args=[source.key])
        client.post(url, {"title": "Jump throw", "terms": "own", "new_event": "Training (invented)"})
        source.refresh_from_db()
        assert (source.title, source.terms, source.event.name) == ("Jump throw", "own", "Training (invented)")
        assert client.post(url, {"title": "", "terms": "stolen"}).status_code == 422

    def test_only_unused_footage_is_deleted(self, client, editor, django_capture_on_commit_callbacks):
        source = make_source()
        excerpt = make_excerpt(source)
        url, folder = reverse("footage:delete", args=[source.key]), media_path(f"sources/{source.key}")
        page = client.post(url, follow=True)
        assert "This footage is in use" in text_of(page)
        assert folder.exists()
        excerpt.delete()
        with django_capture_on_commit_callbacks(execute=True):
            client.post(url)
        assert not Source.objects.exists()
        assert not folder.exists()

    @pytest.mark.parametrize("name", ["source", "edit"])
    def test_only_the_studio_looks(self, client, db, name):
        url = reverse(f"footage:{name}", args=[make_source().key])
        assert client.get(url).status_code == 302
        client.force_login(make_user("reader"))
        assert client.get(url).status_code == 403
