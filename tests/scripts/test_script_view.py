"""The stored script as the checks read it: the age of an event, cautions, and time that moves in the page."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from django.urls import reverse

from breakdowns.assembly.piece import ExcerptPicture, PieceSource
from breakdowns.excerpts.models import ExcerptPolicy
from breakdowns.scripts import selectors, services
from breakdowns.scripts.excerpt_plan import plan_of
from breakdowns.scripts.selectors import beat_view, beats_of, script_view, source_view

from .conftest import write

pytestmark = pytest.mark.django_db
END = datetime(2031, 5, 4, 18, 30, tzinfo=UTC)


@pytest.fixture
def ended(source):
    source.event.ended_at = END
    source.event.save()
    return source


@pytest.mark.parametrize(
    ("later", "hours"),
    [
        (timedelta(0), 0),
        (timedelta(minutes=59, seconds=59), 0),
        (timedelta(hours=1), 1),
        (timedelta(days=2, minutes=1), 48),
        (timedelta(minutes=-1), -1),  # not over yet
    ],
)
def test_the_age_of_an_event_is_told_in_whole_hours(ended, later, hours):
    assert source_view(ended, END + later).event_age_hours == hours


def test_an_event_without_an_end_and_footage_without_an_event_have_no_age(source):
    assert source_view(source, END).event_age_hours is None
    source.event = None
    assert source_view(source, END).event_age_hours is None


def test_the_age_reaches_the_ledgers_plan_and_stays_for_the_hour(
    ended, excerpt, breakdown, editor, monkeypatch
):
    (beat,) = write(breakdown, "x", by=editor)
    services.beat_picture_save(breakdown, beat.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk)
    plans = []
    for minutes in (125, 170, 181):
        monkeypatch.setattr(
            selectors.timezone, "now", lambda minutes=minutes: END + timedelta(minutes=minutes)
        )
        plans.append(plan_of(script_view(breakdown, list(beats_of(breakdown)))))
    assert [plan.sources[0].event_age_hours for plan in plans] == [2, 2, 3]
    assert plans[0] == plans[1]


def test_cautions_are_the_lines_that_say_something(breakdown):
    breakdown.cautions = "  Get a physician's leave first. \n\n \nStop when it hurts.\n"
    assert script_view(breakdown, []).cautions == ("Get a physician's leave first.", "Stop when it hurts.")


def test_the_page_and_the_assembly_count_the_same_time(excerpt, breakdown, editor):
    (beat,) = write(breakdown, "x", by=editor)
    services.beat_picture_save(
        breakdown, beat.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk, speed_num=2, speed_den=3
    )
    view = beat_view(beats_of(breakdown).get())
    footage = PieceSource("A", "Baseline view", "", "", Fraction(30000, 1001), 9000, 1280, 720)
    picture = ExcerptPicture(footage, excerpt.in_frame, excerpt.out_frame, Fraction(2, 3))
    # 120 frames at 30000/1001 a second last 4.004 s; at two thirds of the speed 6.006 s: computed by hand.
    assert view.moving_seconds == picture.moving_seconds == Fraction(6006, 1000)


@pytest.mark.parametrize(
    ("name", "lit"), [("policies", "Policies"), ("policy", "Policies"), ("edit", "Footage")]
)
def test_the_bar_tells_footage_from_policies(studio, excerpt, name, lit):
    own = ExcerptPolicy.objects.create(name="Ours")
    args = {"policies": [], "policy": [own.pk], "edit": [excerpt.pk]}[name]
    body = studio.get(reverse(f"excerpts:{name}", args=args)).content.decode()
    bar = body[body.index("<nav") : body.index("</nav")]
    assert re.findall(r'aria-current="true">([^<]+)<', bar) == [lit]
