"""The pages of the scripts stage: who may, what they hold, and that they stay light."""

from __future__ import annotations

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from breakdowns.people.models import User
from breakdowns.scripts import services, urls
from breakdowns.scripts.models import Beat, Breakdown

from .conftest import write

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}
VTT = "WEBVTT\n\n00:00:01.000 --> 00:00:03.500\nStart from the floor.\n\n00:00:06.000 --> 00:00:08.250\nThe foot stops here.\n"


def address(name: str, breakdown: Breakdown) -> str:
    beat = breakdown.beats.first()
    for args in ([], [breakdown.slug], [breakdown.slug, beat.key], [breakdown.slug, 1]):
        try:
            return reverse(f"scripts:{name}", args=args)
        except Exception:
            continue
    raise AssertionError(name)


NAMES = sorted({pattern.name for pattern in urls.urlpatterns})


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("method", ["get", "post"])
def test_nobody_gets_in_without_a_place_in_the_studio(client, breakdown, name, method):
    url = address(name, breakdown)
    assert getattr(client, method)(url).status_code == 302
    client.force_login(User.objects.create_user("reader@example.org", role="reader"))
    assert getattr(client, method)(url).status_code == 403
    assert breakdown.beats.count() == 1


def test_every_view_carries_its_check():
    assert all(getattr(pattern.callback, "access_checked", False) for pattern in urls.urlpatterns)


PAGES = ["index", "create", "script", "settings", "prompter", "print", "import", "beat_picture"]


@pytest.fixture
def full(breakdown, editor, excerpt, source):
    one, two, three, _ = write(
        breakdown, "One <b>.", "Two.", "Three, and much longer than it was.", "", by=editor
    )
    services.beat_picture_save(
        breakdown, one.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk, hold_ms=2000
    )
    services.beat_picture_save(breakdown, two.key, by=editor, kind="still", source_id=source.pk, frame=17)
    services.beat_picture_save(
        breakdown,
        three.key,
        by=editor,
        kind="plate",
        plate="title",
        plate_title="Serratus anterior",
        seconds_ms=500,
    )
    return breakdown


@pytest.mark.parametrize("name", PAGES)
def test_pages_need_no_inline_style_and_no_inline_script(studio, full, name):
    body = studio.get(address(name, full)).content.decode()
    assert not re.search(r"\sstyle\s*=", body)
    assert "<style" not in body
    assert not re.search(r"\son[a-z]+\s*=", body)
    assert not re.search(r"<script(?![^>]*\ssrc=)", body)
    assert "hx-on" not in body
    assert "<b>" not in body


def test_the_page_says_what_is_on_screen_and_how_it_fits(studio, full):
    body = studio.get(full.get_absolute_url()).content.decode()
    # 120 frames at 30000/1001 are 4.004 s, then the hold (computed by hand).
    assert "4.0\u00a0s" in body or "4.0 s" in body
    assert "then still, 2.0 s" in body
    assert "short of picture" in body
    assert "Serratus anterior" in body
    assert 'class="moving"' in body
    assert 'class="held"' in body


def test_the_strip_fills_the_piece_without_gaps(studio, full):
    body = studio.get(full.get_absolute_url()).content.decode()
    parts = re.findall(r'<rect class="(?:moving|held|own-part)" x="([\d.]+)%"[^>]*width="([\d.]+)%"', body)
    at = 0.0
    for x, width in parts:
        assert float(x) == pytest.approx(at, abs=0.01)
        at += float(width)
    assert at == pytest.approx(100, abs=0.02)


@pytest.mark.parametrize("name", ["script", "prompter", "print"])
def test_sixty_beats_cost_no_more_queries_than_three(
    studio, breakdown, editor, excerpt, source, name, django_assert_max_num_queries
):
    def fill(count):
        kinds = [
            {"kind": "excerpt", "excerpt": excerpt},
            {"kind": "still", "source": source, "frame": 5},
            {"kind": "camera"},
        ]
        start = breakdown.beats.count()
        Beat.objects.bulk_create(
            Beat(breakdown=breakdown, position=start + n, words=f"Beat {n}.", **kinds[n % 3])
            for n in range(count)
        )

    fill(60)
    with django_assert_max_num_queries(16):
        assert studio.get(address(name, breakdown)).status_code == 200


def test_saving_words_in_sixty_beats_costs_a_bounded_number_of_queries(
    studio, breakdown, editor, django_assert_max_num_queries
):
    Beat.objects.bulk_create(Beat(breakdown=breakdown, position=1 + n, words="Words.") for n in range(60))
    beat = breakdown.beats.first()
    with django_assert_max_num_queries(30):
        answer = studio.post(
            reverse("scripts:beat_save", args=[breakdown.slug, beat.key]),
            {"words": "New words.", "base_version": beat.version, "base_words": beat.words},
            **HTMX,
        )
    assert answer.status_code == 200


def test_a_save_answers_with_everything_but_the_textarea(studio, breakdown):
    beat = breakdown.beats.get()
    answer = studio.post(
        reverse("scripts:beat_save", args=[breakdown.slug, beat.key]),
        {"words": "Start from the floor.", "base_version": 1, "base_words": ""},
        **HTMX,
    )
    body = answer.content.decode()
    assert "<textarea" not in body
    for piece in ("fit-", "base-", "figures", "strip", "here", "history"):
        assert f'id="{piece}' in body
    assert answer["HX-Trigger"] == "script-changed"


def test_every_command_works_without_script(studio, breakdown, editor):
    one, _ = write(breakdown, "One. And more.", "Two.", by=editor)
    for name, extra in [("beat_split", {"at": 5}), ("beat_join", {}), ("beat_duplicate", {}), ("beat_move", {"by": 1}),
                        ("beat_insert", {}), ("beat_delete", {})]:  # fmt: skip
        beat = Beat.objects.get(key=one.key)
        data = {"words": beat.words, "base_version": beat.version, "base_words": beat.words, **extra}
        answer = studio.post(reverse(f"scripts:{name}", args=[breakdown.slug, one.key]), data)
        assert answer.status_code == 302, name
        assert answer["Location"].startswith(breakdown.get_absolute_url())
    assert not Beat.objects.filter(key=one.key).exists()
    for name in ("undo", "redo"):
        assert studio.post(reverse(f"scripts:{name}", args=[breakdown.slug])).status_code == 302


def test_a_command_saves_the_words_that_came_with_it(studio, breakdown):
    beat = breakdown.beats.get()
    studio.post(
        reverse("scripts:beat_split", args=[breakdown.slug, beat.key]),
        {"words": "🤾 One. Two.", "base_version": 1, "base_words": "", "at": 7},
    )
    assert list(breakdown.beats.order_by("position").values_list("words", flat=True)) == ["🤾 One. ", "Two."]


@pytest.mark.parametrize(
    "data", [{}, {"words": "x"}, {"words": "x", "base_version": "-3"}, {"base_version": "x" * 99}]
)
def test_faulty_saves_get_a_sentence(studio, breakdown, data):
    url = reverse("scripts:beat_save", args=[breakdown.slug, breakdown.beats.get().key])
    assert studio.post(url, data, **HTMX).status_code == 422
    assert studio.post(url, data).status_code == 302


@pytest.mark.parametrize("to", ["", "x", "-4", "9" * 40])
def test_faulty_moves_are_no_accident(studio, breakdown, to):
    url = reverse("scripts:beat_move", args=[breakdown.slug, breakdown.beats.get().key])
    assert studio.post(url, {"to": to}, **HTMX).status_code in (200, 422)


def picture(studio, breakdown, beat, **data):
    url = reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])
    return studio.post(url, data)


def test_choosing_an_excerpt_with_speed_hold_and_a_part_of_it(studio, breakdown, excerpt):
    beat = breakdown.beats.get()
    answer = picture(
        studio, breakdown, beat, kind="excerpt", excerpt=excerpt.pk, speed="1/4", hold="2.5", in_point="310",
        out_point="00:00:14;01", mirrored="on",
    )  # fmt: skip
    assert answer.status_code == 422  # 00:00:14;01 is frame 421, the excerpt ends before 420
    answer = picture(
        studio, breakdown, beat, kind="excerpt", excerpt=excerpt.pk, speed="1/4", hold="2.5", in_point="310"
    )
    beat.refresh_from_db()
    assert answer.status_code == 302
    assert (beat.speed_num, beat.speed_den, beat.hold_ms, beat.in_frame, beat.out_frame) == (
        1,
        4,
        2500,
        310,
        None,
    )


def test_choosing_a_still_by_timecode(studio, breakdown, source):
    beat = breakdown.beats.get()
    # 00:01:00;02 is frame 1800 at 30000/1001 (SMPTE ST 12-1: labels ;00 and ;01 are dropped).
    picture(studio, breakdown, beat, kind="still", source=source.pk, frame="00:01:00;02", seconds="9")
    beat.refresh_from_db()
    assert (beat.kind, beat.frame, beat.seconds_ms) == ("still", 1800, 9000)


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ({"kind": "excerpt"}, "Choose an excerpt"),
        ({"kind": "still", "seconds": "3"}, "Choose the source"),
        ({"kind": "camera"}, "how many seconds"),
        ({"kind": "camera", "seconds": "a while"}, "not a rational number"),
        ({"kind": "camera", "seconds": "0"}, "Must lie between"),
        ({"kind": "plate", "seconds": "99999"}, "Must lie between"),
        ({"kind": "dance"}, "dance"),
    ],
)
def test_faulty_pictures_get_a_sentence_beside_the_field(studio, breakdown, data, told):
    answer = picture(studio, breakdown, breakdown.beats.get(), **data)
    assert answer.status_code == 422
    assert told in answer.content.decode()


def test_a_late_picture_is_told_before_it_replaces_another(studio, breakdown, editor):
    beat = breakdown.beats.get()
    url = reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])
    base = re.search(r'name="base_picture" value="([^"]*)"', studio.get(url).content.decode())[1]
    services.beat_picture_save(breakdown, beat.key, by=editor, kind="plate", seconds_ms=3000)
    answer = studio.post(url, {"kind": "camera", "seconds": "4", "base_picture": base})
    assert answer.status_code == 422
    again = re.search(r'name="base_picture" value="([^"]*)"', answer.content.decode())[1]
    assert studio.post(url, {"kind": "camera", "seconds": "4", "base_picture": again}).status_code == 302


def test_who_else_is_here(client, breakdown, editor, other):
    client.force_login(editor)
    assert "you are the only one here" in client.get(breakdown.get_absolute_url()).content.decode()
    client.force_login(other)
    assert "also here: Editor" in client.get(reverse("scripts:here", args=[breakdown.slug])).content.decode()


def test_a_transcript_is_looked_at_first_and_taken_over_then(studio, breakdown):
    url = reverse("scripts:import", args=[breakdown.slug])
    looked = studio.post(url, {"file": SimpleUploadedFile("words.vtt", VTT.encode()), "pause": "1"})
    body = looked.content.decode()
    assert "Take over 2 beats" in body
    assert breakdown.beats.get().words == ""
    kept = re.search(r'name="kept" value="([^"]*)"', body)[1]
    assert studio.post(url, {"kept": kept, "pause": "1", "take": "1"}).status_code == 302
    assert list(breakdown.beats.values_list("words", "spoken_ms")) == [
        ("Start from the floor.", 2500),
        ("The foot stops here.", 2250),
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "Choose a file or paste"),
        ("just words", "Line 1"),
        ("WEBVTT\n\n00:00:05.000 --> 00:00:02.000\nback", "Line 3"),
    ],
)
def test_faulty_transcripts_are_told_with_their_line(studio, breakdown, text, told):
    answer = studio.post(reverse("scripts:import", args=[breakdown.slug]), {"text": text, "pause": "1"})
    assert answer.status_code == 422
    assert told in answer.content.decode()


def test_settings_are_kept_and_faulty_ones_told(studio, breakdown):
    url = reverse("scripts:settings", args=[breakdown.slug])
    good = {"title": "A new title", "policy": breakdown.policy, "shape": "9:16", "rate": "30000/1001", "focus_x": 40,
            "focus_y": 50, "wished_seconds": 150}  # fmt: skip
    assert studio.post(url, {**good, "focus_x": 400}).status_code == 422
    assert studio.post(url, good).status_code == 302
    breakdown.refresh_from_db()
    assert (breakdown.title, breakdown.rate_num, breakdown.rate_den, breakdown.shape) == (
        "A new title",
        30000,
        1001,
        "9:16",
    )


def test_an_empty_studio_says_what_belongs_here(studio):
    assert "Give the first one a title" in studio.get(reverse("scripts:index")).content.decode()


# --- the margin ---------------------------------------------------------------------------------

LONG = "The foot stops, and everything above it has to go on: the pelvis first, the trunk a beat later."


@pytest.fixture
def overlong(breakdown, editor):
    """One beat to camera, five seconds, with more words than that."""
    write(breakdown, LONG, by=editor)
    return breakdown


def act_on(studio, breakdown, body: str, number: int = 0):
    note, action = re.findall(
        r'name="note" value="([^"]+)"><input type="hidden" name="action" value="(\d+)"', body
    )[number]
    url = reverse("scripts:note_action", args=[breakdown.slug])
    return studio.post(url, {"note": note, "action": action}, **HTMX), note


def test_a_note_stands_beside_its_beat_and_its_action_mends_it(studio, overlong):
    body = studio.get(overlong.get_absolute_url()).content.decode()
    before = overlong.beats.get()
    answer, note = act_on(studio, overlong, body)
    after = overlong.beats.get()
    assert answer.status_code == 200
    assert after.seconds_ms > before.seconds_ms
    assert after.words == before.words
    assert note not in answer.content.decode()
    assert studio.post(reverse("scripts:undo", args=[overlong.slug])).status_code == 302
    assert overlong.beats.get().seconds_ms == before.seconds_ms


def test_an_action_of_a_note_that_no_longer_stands_is_told(studio, overlong, editor):
    body = studio.get(overlong.get_absolute_url()).content.decode()
    services.beat_picture_save(overlong, overlong.beats.get().key, by=editor, seconds_ms=60_000)
    answer, _ = act_on(studio, overlong, body)
    assert answer.status_code == 422
    assert "no longer stands" in answer.content.decode()


@pytest.mark.parametrize(
    "data", [{}, {"note": "x"}, {"note": "x", "action": "-1"}, {"note": "\x00", "action": "9" * 50}]
)
def test_faulty_actions_are_no_accident(studio, overlong, data):
    assert studio.post(reverse("scripts:note_action", args=[overlong.slug]), data, **HTMX).status_code == 422


def test_a_note_that_is_meant_is_silent_until_its_text_changes_or_it_is_asked_again(studio, overlong, editor):
    body = studio.get(overlong.get_absolute_url()).content.decode()
    note, says = re.search(
        r'name="note_id" value="([^"]+)"><input type="hidden" name="says" value="([^"]+)"', body
    ).groups()
    url = reverse("scripts:note_answer", args=[overlong.slug])
    assert studio.post(url, {"note_id": note, "says": says, "reason": ""}, **HTMX).status_code == 422
    quiet = studio.post(
        url, {"note_id": note, "says": says, "reason": "The picture is still to come."}, **HTMX
    )
    assert f'id="note-{note}"' not in quiet.content.decode()
    assert "The picture is still to come." in quiet.content.decode()
    again = studio.post(url, {"note_id": note, "again": "1"}, **HTMX)
    assert f'id="note-{note}"' in again.content.decode()


def test_the_margin_comes_back_as_pieces_without_any_textarea(studio, overlong):
    answer = studio.get(reverse("scripts:margin", args=[overlong.slug]), **HTMX)
    body = answer.content.decode()
    assert f'id="margin-{overlong.beats.get().key}"' in body
    assert "hx-swap-oob" in body
    assert "<textarea" not in body
    assert studio.get(reverse("scripts:margin", args=[overlong.slug])).status_code == 302


def test_only_what_changed_is_judged_again(studio, breakdown, editor, monkeypatch):
    from breakdowns.scripts.checks.timing import TimingCheck

    beats = write(breakdown, *[f"{LONG} Number {n}." for n in range(12)], by=editor)
    judged = []
    real = TimingCheck.judge
    monkeypatch.setattr(
        TimingCheck, "judge", lambda self, material: judged.append(material) or real(self, material)
    )
    studio.get(breakdown.get_absolute_url())
    assert len(judged) == 12
    judged.clear()
    services.beat_words_save(
        breakdown,
        beats[5].key,
        f"{LONG} Changed.",
        base_version=beats[5].version,
        base_words=beats[5].words,
        by=editor,
    )
    studio.get(reverse("scripts:margin", args=[breakdown.slug]), **HTMX)
    assert len(judged) == 1
