"""What is promised on asking, what the member reads of it, and that the desk keeps to it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from breakdowns.questions.asking.services import question_send
from breakdowns.questions.desk.selectors import desk_of, sitting_of
from breakdowns.questions.desk.services import sitting_start
from breakdowns.questions.models import Group, Question, Settings, Sitting
from breakdowns.questions.promises.selectors import line_minutes
from breakdowns.questions.promises.services import promise_give
from tests.factory import make_user
from tests.questions.making import make_member, make_question

pytestmark = pytest.mark.django_db


def test_who_asks_while_the_line_is_short_is_told_the_day(client):
    member = make_member()
    row = question_send(Question.objects.create(member=member, text="Which shoes are best on a hall floor?"))
    row.refresh_from_db()
    assert row.answer_by == timezone.localdate() + timedelta(weeks=6)
    client.force_login(member)
    page = client.get(row.get_absolute_url()).content.decode()
    assert f"answered by {row.answer_by:%-d %B}" in page


def test_who_asks_when_the_line_is_full_is_told_so_at_once(client):
    asked = [make_question(minutes=3) for _ in range(20)]
    given = [promise_give(row) for row in asked]
    # 8 of 20 minutes a week: floor(45 / 8) + 1 is 6 weeks, floor(48 / 8) + 1 is 7, and 6 are promised.
    assert given == [True] * 16 + [False] * 4
    client.force_login(asked[-1].member)
    page = client.get(asked[-1].get_absolute_url()).content.decode()
    assert "no answer can be promised" in page
    assert sum(line_minutes()) == 48


def test_a_group_has_one_place_that_of_the_first():
    group = Group.objects.create(waiting=2)
    first, second = make_question(group=group), make_question(group=group)
    assert promise_give(first)
    assert promise_give(second)
    first.refresh_from_db()
    second.refresh_from_db()
    assert first.promised_at == second.promised_at
    assert len(line_minutes()) == 1


def test_the_share_of_the_oldest_is_given_once_in_a_sitting_and_not_after_every_answer(client):
    """8 of 20 minutes: two of four minutes each; after these the many come, however often the page is opened."""
    editor = make_user("editor")
    client.force_login(editor)
    old = [make_question(minutes=4, asked_at=timezone.now() - timedelta(days=20 - n)) for n in range(4)]
    for _ in range(5):
        group = Group.objects.create(waiting=30)
        for _ in range(30):
            make_question(group=group, minutes=4)
    sitting_start(editor, 20)
    opened = []
    for _ in range(5):
        desk = desk_of(sitting_of(editor))
        assert desk.question
        opened.append(desk.question)
        client.post(
            reverse("questions:desk_answer", args=[desk.question.key]),
            {"key": str(desk.question.key), "answer": "So."},
        )
        # as if the answer had taken nearly the estimated minutes
        Sitting.objects.update(started_at=sitting_of(editor).started_at - timedelta(minutes=3, seconds=50))
    assert [one in old for one in opened] == [True, True, False, False, False]


def test_the_weights_are_shown_at_the_desk_and_changed_by_the_owner_within_their_range(client):
    client.force_login(make_user("owner"))
    make_question()
    page = client.get(reverse("questions:desk")).content.decode()
    assert "reserved share" in page
    form = {"monthly_limit": 2, "minutes_preset": 30, "keep_elsewhere": "nothing", "keep_days": 30}
    answer = client.post(reverse("questions:settings"), {**form, "weight_reserved_share": "0.9"})
    assert answer.status_code == 422
    client.post(
        reverse("questions:settings"), {**form, "weight_reserved_share": "0.25", "weight_person": "7"}
    )
    assert Settings.now().weights == {"reserved_share": 0.25}
    assert "usually 0.4" in client.get(reverse("questions:desk")).content.decode()


def test_one_longer_than_the_sitting_is_named_to_whoever_sits(client):
    client.force_login(make_user("editor"))
    make_question(text="A treatise, please", minutes=40)
    client.post(reverse("questions:desk"), {"minutes": 10})
    page = client.get(reverse("questions:sitting")).content.decode()
    assert "Longer than this sitting" in page
    assert "A treatise" in page
