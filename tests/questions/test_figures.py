"""The owner's figures, against a hand-reckoned fortnight."""

from __future__ import annotations

import statistics
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.questions.figures.selectors import percentile, topics_and_next, waits, weeks
from breakdowns.questions.models import Sitting
from tests.factory import make_user
from tests.questions.making import make_answer, make_member, make_question


@given(st.lists(st.floats(0, 1e6), min_size=1), st.integers(1, 100))
def test_a_percentile_is_the_least_value_that_so_many_do_not_exceed(values, share):
    found = percentile(values, share)
    assert found in values
    assert sum(one <= found for one in values) * 100 >= share * len(values)
    assert sum(one < found for one in values) * 100 < share * len(values)


def test_the_middle_is_the_low_median_of_the_standard_library():
    values = [5.0, 1.0, 9.0, 7.0]
    assert percentile(values, 50) == statistics.median_low(values)


@pytest.mark.django_db
def test_weeks_waits_topics_and_what_to_make():
    now = timezone.now()
    for days in (2, 4, 8):
        make_question(
            state="answered", asked_at=now - timedelta(days=days), answered_at=now, answer=make_answer(),
            topic="technique", joints=["elbow"],
        )  # fmt: skip
    one = make_member()
    for _ in range(3):
        make_question(one, topic="injury advice", muscles=["soleus"])
    make_question(topic="off-topic", joints=["hip"])
    make_question(topic="off-topic", joints=["hip"])
    Sitting.objects.create(
        by=make_user("editor"), minutes=20, started_at=now - timedelta(minutes=12), ended_at=now
    )
    found = weeks()
    assert sum(week.asked for week in found) == 8
    assert found[0].answered == 3
    assert sum(week.minutes for week in found) == pytest.approx(12, abs=0.1)
    assert waits()["answered"] == [(50, 4.0), (75, 8.0), (90, 8.0), (100, 8.0)]
    topics, to_make = topics_and_next()
    assert sorted(topics) == [("injury advice", 3), ("off-topic", 2), ("technique", 3)]
    assert [(row.subject, row.people) for row in to_make] == [("elbow", 3)]


@pytest.mark.django_db
def test_one_breakdown_is_proposed_once_however_its_subject_is_named():
    """The knee, its joint and a muscle that the same people name are one breakdown; the elbow is another."""
    for _ in range(4):
        make_question(topic="technique", joints=["knee joint"], regions=["knee"], muscles=["popliteus"])
    for _ in range(2):
        make_question(topic="technique", joints=["elbow"])
    _, to_make = topics_and_next()
    assert [row.people for row in to_make] == [4, 2]
    assert to_make[0].subject in ("knee", "popliteus")
    assert to_make[1].subject == "elbow"


@pytest.mark.django_db
def test_the_page_is_the_owners_and_stands_empty_too(client):
    client.force_login(make_user("owner"))
    page = client.get(reverse("questions:figures")).content.decode()
    assert "nobody waits" in page
    client.force_login(make_user("editor"))
    assert client.get(reverse("questions:figures")).status_code == 403
