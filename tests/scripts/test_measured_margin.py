"""The margin of a beat hears its own picture: the marks of its still, the track through its excerpt."""

from __future__ import annotations

import html
import math
import re

import pytest
from django.urls import reverse

from breakdowns.excerpts.models import Excerpt
from breakdowns.scripts import services
from breakdowns.stills.models import Still
from breakdowns.tracks import services as tracks
from tests.tracks.test_pages import throw

from .conftest import write

pytestmark = pytest.mark.django_db


def bent_knee(degrees: float) -> dict:
    """Marks of a right leg whose knee is bent so far in the picture (thigh straight down, own drawing)."""
    turned = math.radians(degrees)
    places = {
        "right_hip": [600, 200],
        "right_knee": [600, 350],
        "right_ankle": [600 - 140 * math.sin(turned), 350 + 140 * math.cos(turned)],
    }
    rows = {name: {"at": at, "state": "placed"} for name, at in places.items()}
    return {"version": 1, "landmarks": rows, "marks": []}


@pytest.fixture
def on_still(editor, breakdown, source):
    """A beat that stands on a still whose right knee reads 71°."""
    still = Still.objects.create(source=source, frame=419, name="release", document=bent_knee(71))
    (beat,) = write(breakdown, "words", by=editor)
    shown = {"kind": "still", "source_id": source.pk, "frame": still.frame, "still_id": still.pk}
    return services.beat_picture_save(breakdown, beat.key, by=editor, **shown)


@pytest.fixture
def on_excerpt(editor, breakdown, source):
    """A beat over an excerpt in which the hips turn 160 ms before the shoulders."""
    excerpt = Excerpt.objects.create(source=source, name="throw", in_frame=0, out_frame=50)
    track = tracks.track_make(source=source, in_frame=0, out_frame=50, by=editor, name="Throw")
    tracks.track_points_set(track, throw(range(50), rate=30000 / 1001), what="t", by=editor)
    (beat,) = write(breakdown, "words", by=editor)
    return services.beat_picture_save(
        breakdown, beat.key, by=editor, kind="excerpt", source_id=source.pk, excerpt_id=excerpt.pk
    )


def margin_of(studio, beat, words: str) -> str:
    beat.words = words
    beat.save()
    return studio.get(beat.breakdown.get_absolute_url()).content.decode()


def test_a_number_beyond_the_uncertainty_is_told_with_the_measure(studio, on_still):
    page = margin_of(studio, on_still, "The right knee is bent to about ninety degrees at the release.")
    assert "71" in page
    assert "the still" in page
    assert "Use these words" in page


@pytest.mark.parametrize(
    "words",
    [
        "The right knee is bent to about seventy degrees at the release.",
        "The left knee is bent to about ninety degrees.",
        "The right knee is not bent to ninety degrees here.",
        "Last year the right knee was at ninety degrees.",
    ],
)
def test_what_agrees_or_speaks_of_something_else_is_left_alone(studio, on_still, words):
    assert "Use these words" not in margin_of(studio, on_still, words)


def test_the_words_that_it_offers_end_the_note(studio, on_still):
    page = margin_of(studio, on_still, "The right knee is bent to about ninety degrees.")
    note = re.search(r'name="note" value="(measured[^"]+)"', page).group(1)
    url = reverse("scripts:note_action", args=[on_still.breakdown.slug])
    studio.post(url, {"note": note, "action": "0"})
    on_still.refresh_from_db()
    assert "seventy" in on_still.words
    assert not re.search(
        r'name="note" value="measured', studio.get(on_still.breakdown.get_absolute_url()).content.decode()
    )


def test_an_order_against_the_track_is_told_and_the_true_one_is_not(studio, on_excerpt):
    page = margin_of(studio, on_excerpt, "Look how the shoulders lead and the hips follow.")
    assert "track “Throw”" in page
    assert "160 ±" in page
    assert "track “Throw”" not in margin_of(studio, on_excerpt, "Look how the hips lead the shoulders.")


def test_the_note_can_be_kept_as_meant_with_a_reason(studio, on_excerpt):
    page = margin_of(studio, on_excerpt, "The shoulders lead and the hips follow.")
    note, says = re.search(
        r'name="note_id" value="(measured[^"]+)"><input type="hidden" name="says" value="([^"]+)"', page
    ).groups()
    url = reverse("scripts:note_answer", args=[on_excerpt.breakdown.slug])
    studio.post(url, {"note_id": note, "says": html.unescape(says), "reason": "Meant of the other view."})
    kept = studio.get(on_excerpt.breakdown.get_absolute_url()).content.decode()
    assert f'id="note-{note}"' not in kept
    assert "Meant of the other view." in kept


def test_a_track_elsewhere_in_the_footage_says_nothing(studio, editor, on_excerpt):
    Excerpt.objects.filter(pk=on_excerpt.excerpt_id).update(in_frame=300, out_frame=350)
    on_excerpt.refresh_from_db()
    assert "track “Throw”" not in margin_of(studio, on_excerpt, "The shoulders lead and the hips follow.")
