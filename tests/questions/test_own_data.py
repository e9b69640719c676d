"""One's own data: everything out, and gone without taking away what is others'."""

from __future__ import annotations

import pytest

from breakdowns.questions.models import Answer, Group, Question
from breakdowns.questions.services import own_data_erase, own_data_export
from tests.questions.making import make_answer, make_member, make_note, make_question

pytestmark = pytest.mark.django_db


def test_everything_asked_comes_out_with_its_answer():
    member = make_member()
    make_question(
        member, text="First?", state="answered", answer=make_answer("Yes."), answered_at="2026-01-01T00:00Z"
    )
    make_question(member, text="Second?")
    make_question(text="Somebody else's?")
    out = own_data_export(member)["questions"]
    assert [(one["text"], one["answer"]) for one in out] == [("First?", "Yes."), ("Second?", None)]


def test_erasing_leaves_what_is_others_and_what_tells_nobody():
    member, other = make_member(), make_member()
    shared, alone, note = make_answer("Shared."), make_answer("Alone."), make_note("Is rest enough?")
    group = Group.objects.create(waiting=2)
    when = {"state": "answered", "answered_at": "2026-01-01T00:00Z"}
    for person, answer in ((member, shared), (other, shared), (member, alone), (member, note)):
        make_question(person, answer=answer, **when)
    make_question(member, group=group)
    make_question(other, group=group)
    own_data_erase(member)
    assert not Question.objects.filter(member=member).exists()
    assert set(Answer.objects.values_list("pk", flat=True)) == {shared.pk, note.pk}
    group.refresh_from_db()
    assert group.waiting == 1
