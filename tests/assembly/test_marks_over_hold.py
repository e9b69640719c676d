"""Marks that come over the hold of an excerpt: one after another, or as their words are spoken, never while it moves."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from django.urls import reverse
from PIL import Image

from breakdowns.assembly.ledger_plan import plan_from_piece
from breakdowns.assembly.marks_coming import in_turn, reveal_at
from breakdowns.assembly.marks_layer import marks_picture, marks_svg
from breakdowns.assembly.picture_filters import look_of
from breakdowns.assembly.piece import ExcerptPicture
from breakdowns.assembly.selectors import piece_of as stored_piece
from breakdowns.scripts import services
from breakdowns.stills.models import Still
from tests.assembly.rendering import SIZE, footage, numbers, piece_of
from tests.assembly.test_marks import MARKS, layer, render_last
from tests.factory import make_excerpt, make_source, make_user
from tests.stills.test_parity import similarity

pytestmark = [pytest.mark.once, pytest.mark.media]

RATE = Fraction(25)


@pytest.mark.parametrize("mirrored", [False, True])
def test_marks_are_drawn_on_while_the_last_frame_stands(tmp_path, mirrored):
    """Each frame of the hold against Pillow's composite of the bare frame and the drawing as far as it has come."""
    bare = ExcerptPicture(footage(RATE), 20, 30, speed=Fraction(1, 2), hold=Fraction(2), mirrored=mirrored)
    coming = replace(bare, marks=replace(layer(), starts=in_turn(3, Fraction(2))))
    plain = render_last(tmp_path, bare, rate=RATE)
    frames = render_last(tmp_path, coming, rate=RATE)
    assert len(frames) == len(plain) == 20 + 50
    assert [n for n in numbers(plain)[:20] if n == numbers(plain)[-1]]
    changed = [np.abs(a.astype(int) - b).max() > 80 for a, b in zip(plain, frames, strict=True)]
    assert not any(changed[:21])  # all that moves, and the first frame that stands: nothing is drawn yet
    assert all(changed[24:])
    marks, framing = coming.marks, look_of(coming, piece_of(coming)).framing
    for standing in (8, 15, 22, 34, 49):
        parts = reveal_at(marks.starts, standing, RATE)
        expected = Image.fromarray(plain[20 + standing]).convert("RGBA")
        svg = marks_svg(marks, framing, mirrored=mirrored, parts=parts)
        expected.alpha_composite(marks_picture(svg, framing, SIZE))
        assert similarity(Image.fromarray(frames[20 + standing]), expected.convert("RGB")) >= 0.98


def test_the_ledger_counts_the_hold_as_marked_and_not_what_moves():
    held = ExcerptPicture(
        footage(), 0, 30, hold=Fraction(2), marks=replace(layer(), starts=in_turn(3, Fraction(2)))
    )
    (segment,) = plan_from_piece(piece_of(held))["segments"]
    assert segment["annotated"] == "hold"
    (segment,) = plan_from_piece(piece_of(replace(held, hold=Fraction(0))))["segments"]
    assert segment["annotated"] == "none"


@pytest.fixture
def stored(db):
    editor, source = make_user("editor"), make_source()
    breakdown = services.breakdown_create(by=editor, title="Marks over the hold")
    beat = breakdown.beats.get()
    still = Still.objects.create(
        source=source, frame=29, document={"version": 1, "landmarks": {}, "marks": MARKS}
    )
    services.beat_words_save(
        breakdown, beat.key, "First the hips, then the trunk.", base_version=1, by=editor
    )
    return editor, breakdown, beat, make_excerpt(source), still


def send(client, editor, breakdown, beat, **data):
    client.force_login(editor)
    url = reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])
    return client.post(url, {"kind": "excerpt", "hold": "5", "speed": "1", **data})


def test_the_form_keeps_how_marks_come_over_a_hold(client, stored):
    editor, breakdown, beat, excerpt, still = stored
    given = {"excerpt": excerpt.pk, "hold_still": still.pk, "hold_marks_way": "turn"}
    assert send(client, editor, breakdown, beat, **given).status_code == 302
    assert stored_piece(breakdown).beats[0].picture.marks.starts == in_turn(3, Fraction(5))
    services.revision_undo(breakdown, by=editor)
    services.revision_redo(breakdown, by=editor)
    beat.refresh_from_db()
    assert beat.marks_way == "turn"


def test_words_before_the_hold_bring_their_marks_at_once(client, stored):
    """20 frames at 25 a second move for 0.8 s: a word at 0.7 s is past by then, one at 2.1 s comes 1.3 s into the hold."""
    editor, breakdown, beat, excerpt, still = stored
    given = {"excerpt": excerpt.pk, "hold_still": still.pk, "hold_marks_way": "words"}
    assert send(client, editor, breakdown, beat, **given, hold_marks_at="hips, trunk").status_code == 302
    beat.refresh_from_db()
    beat.word_times, beat.spoken_ms = [0, 400, 700, 1300, 1700, 2100], 2600
    beat.save()
    starts = stored_piece(breakdown).beats[0].picture.marks.starts
    assert starts == (0, Fraction(13, 10), Fraction(13, 10))


def test_words_that_are_not_said_are_refused_beside_the_field(client, stored):
    editor, breakdown, beat, excerpt, still = stored
    given = {"excerpt": excerpt.pk, "hold_still": still.pk, "hold_marks_way": "words"}
    refused = send(client, editor, breakdown, beat, **given, hold_marks_at="knee")
    assert refused.status_code == 422
    assert "“knee”, at which a mark should come" in refused.content.decode()
    assert 'value="knee"' in refused.content.decode()
    assert "Say at which words" in send(client, editor, breakdown, beat, **given).content.decode()
