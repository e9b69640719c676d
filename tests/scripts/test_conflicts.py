"""Two tabs, two people: no word that was sent is ever lost."""

from __future__ import annotations

import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from breakdowns.people.models import User
from breakdowns.scripts import services
from breakdowns.scripts.models import Beat, SetAside

from .conftest import write

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


def save(breakdown, beat, text, by, version=None, base=None):
    return services.beat_words_save(
        breakdown, beat.key, text, base_version=version or beat.version, base_words=base or beat.words, by=by
    )


@pytest.fixture
def beat(breakdown, editor):
    (beat,) = write(breakdown, "The foot stops and the pelvis goes on turning towards the goal.", by=editor)
    return beat


def test_late_words_on_the_same_place_are_set_aside(editor, other, breakdown, beat):
    save(breakdown, beat, "The foot STOPS DEAD and the pelvis goes on turning towards the goal.", editor)
    late = save(breakdown, beat, "The foot halts and the pelvis goes on turning towards the goal.", other)
    assert late.outcome == "conflict"
    assert Beat.objects.get(key=beat.key).words.startswith("The foot STOPS DEAD")
    assert late.set_aside.words.startswith("The foot halts")


def test_changes_in_different_places_are_both_kept(editor, other, breakdown, beat):
    save(breakdown, beat, "The planted foot stops and the pelvis goes on turning towards the goal.", editor)
    late = save(breakdown, beat, "The foot stops and the pelvis goes on turning towards the far goal.", other)
    assert late.outcome == "merged"
    assert late.beat.words == "The planted foot stops and the pelvis goes on turning towards the far goal."
    assert not SetAside.objects.exists()


def test_a_change_of_the_picture_is_no_conflict_with_words(editor, other, breakdown, beat):
    services.beat_picture_save(breakdown, beat.key, by=other, kind="plate", seconds_ms=3000)
    assert save(breakdown, beat, "Other words.", editor).outcome == "saved"


def test_without_the_words_typed_on_a_newer_version_is_a_conflict(editor, other, breakdown, beat):
    save(breakdown, beat, "Mine.", editor)
    late = services.beat_words_save(breakdown, beat.key, "Theirs.", base_version=beat.version, by=other)
    assert late.outcome == "conflict"


def test_typing_on_in_a_conflict_stays_one_entry(editor, other, breakdown, beat):
    save(breakdown, beat, "Mine.", editor)
    for text in ("Th", "Thei", "Theirs."):
        late = save(breakdown, beat, text, other)
    assert SetAside.objects.get().words == "Theirs."
    assert late.set_aside == SetAside.objects.get()


def test_words_for_a_deleted_beat_are_kept_and_can_be_put_back(editor, other, breakdown, beat):
    services.beat_delete(breakdown, beat.key, by=other)
    late = save(breakdown, beat, "Late but not lost.", editor)
    assert (late.outcome, late.beat) == ("conflict", None)
    services.set_aside_settle(late.set_aside, "mine", seen_version=0, by=editor)
    assert breakdown.beats.get().words == "Late but not lost."


@pytest.mark.parametrize(
    ("choice", "words"), [("mine", "Theirs."), ("theirs", "Mine."), ("both", "Mine.\n\nTheirs.")]
)
def test_choosing(editor, other, breakdown, beat, choice, words):
    save(breakdown, beat, "Mine.", editor)
    entry = save(breakdown, beat, "Theirs.", other).set_aside
    now = Beat.objects.get(key=beat.key)
    services.set_aside_settle(entry, choice, seen_version=now.version, by=other)
    assert Beat.objects.get(key=beat.key).words == words
    entry.refresh_from_db()
    assert entry.settled_at is not None
    assert entry.words == "Theirs."


def test_choosing_on_an_outdated_view_does_nothing(editor, other, breakdown, beat):
    save(breakdown, beat, "Mine.", editor)
    entry = save(breakdown, beat, "Theirs.", other).set_aside
    seen = Beat.objects.get(key=beat.key).version
    save(breakdown, Beat.objects.get(key=beat.key), "Mine, and newer.", editor)
    assert services.set_aside_settle(entry, "mine", seen_version=seen, by=other).outcome == "conflict"
    assert Beat.objects.get(key=beat.key).words == "Mine, and newer."


def post(client, breakdown, beat, text, **headers):
    return client.post(
        reverse("scripts:beat_save", args=[breakdown.slug, beat.key]),
        {"words": text, "base_version": beat.version, "base_words": beat.words},
        **headers,
    )


def test_a_late_tab_gets_409_with_both_texts_and_the_choice(studio, breakdown, beat):
    assert post(studio, breakdown, beat, "First tab.", **HTMX).status_code == 200
    late = post(studio, breakdown, beat, "Second tab.", **HTMX)
    body = late.content.decode()
    assert late.status_code == 409
    assert "First tab." in body
    assert "Second tab." in body
    assert "Both, one after the other" in body
    assert f'id="words-{beat.key}"' not in body  # the textarea is never swapped


def test_the_choice_stands_on_the_page_until_it_is_made(studio, breakdown, beat):
    post(studio, breakdown, beat, "First tab.")
    late = post(studio, breakdown, beat, "Second tab.")
    assert late.status_code == 409
    assert "Second tab." in studio.get(breakdown.get_absolute_url()).content.decode()
    url = reverse("scripts:settle", args=[breakdown.slug, SetAside.objects.get().pk])
    now = Beat.objects.get(key=beat.key)
    studio.post(url, {"choice": "both", "seen_version": now.version})
    assert Beat.objects.get(key=beat.key).words == "First tab.\n\nSecond tab."
    assert "aside-" not in studio.get(breakdown.get_absolute_url()).content.decode()


def test_a_conflict_stops_the_command_that_carried_the_words(studio, breakdown, beat):
    post(studio, breakdown, beat, "First tab.")
    url = reverse("scripts:beat_split", args=[breakdown.slug, beat.key])
    data = {"words": "Second tab.", "base_version": beat.version, "base_words": beat.words, "at": 6}
    assert studio.post(url, data, **HTMX).status_code == 409
    assert breakdown.beats.count() == 1


class NoWordIsLost(TestCase):
    """Saves of two people on any states they have seen, in any order."""

    TEXTS = st.lists(st.sampled_from(["foot", "hip", "turn", "arm", "ball"]), max_size=5).map(" ".join)

    @settings(max_examples=25, deadline=None)
    @given(saves=st.lists(st.tuples(st.booleans(), TEXTS, st.integers(0, 5)), max_size=7))
    def test_every_text_sent_can_be_found_again(self, saves):
        people = [
            User.objects.create_user(f"{User.objects.count()}-{n}@example.org", role="editor") for n in (0, 1)
        ]
        breakdown = services.breakdown_create(by=people[0], title="Any")
        beat = breakdown.beats.get()
        seen = [(beat.version, beat.words)]
        for who, text, which in saves:
            version, base = seen[which % len(seen)]
            saved = services.beat_words_save(
                breakdown, beat.key, text, base_version=version, base_words=base, by=people[who]
            )
            now = Beat.objects.get(key=beat.key)
            seen.append((now.version, now.words))
            if saved.outcome == "conflict":
                assert saved.set_aside.words == text
            elif saved.outcome == "merged" or now.words != text:
                fresh = [
                    word for word in set(text.split()) if text.split().count(word) > base.split().count(word)
                ]
                assert all(word in now.words.split() for word in fresh)
