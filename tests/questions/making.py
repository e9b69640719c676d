"""Members, questions and answers for tests, made through the models. Everything is invented."""

from __future__ import annotations

import itertools
from datetime import timedelta
from typing import Any

from django.utils import timezone

from breakdowns.people.models import Membership, User
from breakdowns.questions.models import Answer, Question
from tests.factory import make_user

_numbers = itertools.count(1)


def make_member(**fields: Any) -> User:
    """A reader whose membership covers today."""
    user = make_user("reader", **fields)
    Membership.objects.create(user=user, starts_on=timezone.localdate() - timedelta(days=30))
    return user


def make_question(member: User | None = None, text: str = "", **fields: Any) -> Question:
    """A question that waits since an hour, unless told otherwise."""
    values = {"state": "waiting", "asked_at": timezone.now() - timedelta(hours=1), **fields}
    return Question.objects.create(
        member=member or make_member(),
        text=text or f"How many throws in a week are too many for my shoulder? ({next(_numbers)})",
        **values,
    )


def make_answer(text: str = "It depends on how fast you throw.", **fields: Any) -> Answer:
    """A private answer that has reached those who asked an hour ago, unless told otherwise."""
    then = timezone.now() - timedelta(hours=1)
    return Answer.objects.create(text=text, **{"made_at": then, "goes_at": then, **fields})


def make_note(asked: str, note: str = "It depends on how fast you throw.", **fields: Any) -> Answer:
    """An answer that stands in the library of members."""
    return make_answer(note, asked=asked, note=note, **{"audience": "members", **fields})
