"""The demonstration's members, questions and answers: there once, whoever runs it how often."""

from __future__ import annotations

import pytest
from django.core import mail
from django.urls import reverse

from breakdowns.questions.models import Answer, Group, Question
from breakdowns.questions.selectors import library
from deploy.demonstration.asked.services import asked, questions_make
from tests.factory import make_user

pytestmark = pytest.mark.django_db


def test_twice_makes_them_once_and_nobody_gets_a_letter(client, django_capture_on_commit_callbacks):
    owner = make_user("owner")
    with django_capture_on_commit_callbacks(execute=True):
        count = questions_make(owner, None)
        assert questions_make(owner, None) == count == Question.objects.count()
    assert not mail.outbox
    assert Answer.objects.count() == len(asked()["answered"])
    assert library().count() == 5
    client.force_login(owner)
    page = client.get(reverse("questions:desk")).content.decode()
    assert "14 questions wait, the longest for 12 days" in page
    assert Question.objects.get(text__contains="calf is swollen").urgency_rank > 0
    assert 4 in Group.objects.values_list("waiting", flat=True)
