"""Undoing at the desk: only what an act changed comes back, nothing is told and undone both, nothing is lost."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from breakdowns.publishing.models import Release
from breakdowns.questions.answers.services import tell_due
from breakdowns.questions.asking.services import question_withdraw
from breakdowns.questions.desk.acts.services import CannotDo, act_undo
from breakdowns.questions.models import Act, Answer, Correction, Group, Screened, SetAside, Sitting
from breakdowns.scripts.models import Breakdown
from tests.questions.making import make_question

from .test_desk import do, editor, fresh, sit  # noqa: F401

pytestmark = pytest.mark.django_db


def undo(client, kind: str, **said):
    act = Act.objects.filter(kind=kind, taken_back_at=None).first()
    return client.post(reverse("questions:undo", args=[act.pk]), said)


def test_undoing_the_topic_leaves_an_answer_given_since(client, editor):  # noqa: F811
    row = make_question(topic="technique")
    sit(client)
    do(client, "put_right", row, topic="anatomy")
    do(client, "desk_answer", row, answer="Yes.")
    undo(client, "sorted")
    row = fresh(row)
    assert (row.topic, row.state, row.answer.text) == ("technique", "answered", "Yes.")
    assert not Correction.objects.exists()
    undo(client, "answered")
    assert fresh(row).state == "waiting"
    assert Answer.objects.get().taken_back_at


def test_of_two_changes_of_the_same_the_later_is_undone_first(client, editor):  # noqa: F811
    row = make_question(topic="technique")
    sit(client)
    do(client, "put_right", row, topic="anatomy")
    do(client, "put_right", row, topic="equipment")
    first, second = Act.objects.order_by("pk")
    answer = client.post(reverse("questions:undo", args=[first.pk]))
    assert answer.status_code == 422
    assert "undo that first" in answer.content.decode()
    client.post(reverse("questions:undo", args=[second.pk]))
    client.post(reverse("questions:undo", args=[first.pk]))
    assert fresh(row).topic == "technique"


def test_what_was_told_is_not_undone_though_the_page_still_offers_it(client, editor):  # noqa: F811
    row = make_question()
    sit(client)
    do(client, "desk_answer", row, answer="Yes.")
    act = Act.objects.get()
    assert act.until == Answer.objects.get().goes_at
    Answer.objects.update(goes_at=timezone.now() - timedelta(seconds=1))
    assert tell_due() == 1
    with pytest.raises(CannotDo, match="gone out"):
        act_undo(act, by=editor)
    assert fresh(row).state == "answered"


def test_what_was_undone_is_never_told(client, editor):  # noqa: F811
    row = make_question()
    sit(client)
    do(client, "set_aside", row, reason="Not here.")
    undo(client, "aside")
    SetAside.objects.update(goes_at=timezone.now() - timedelta(seconds=1))
    assert tell_due() == 0
    assert fresh(row).state == "waiting"


def test_a_question_taken_back_by_the_member_is_not_brought_back(client, editor):  # noqa: F811
    row = make_question()
    sit(client)
    do(client, "set_aside", row, reason="Not here.")
    assert question_withdraw(fresh(row))
    assert undo(client, "aside").status_code == 422
    assert fresh(row).state == "withdrawn"


def test_undoing_a_decision_forgets_who_decided(client, editor):  # noqa: F811
    row = make_question(urgency="urgent same day", urgency_rank=2)
    flag = Screened.objects.create(
        question=row, flag="x", name="X", urgency="urgent same day", because="b", action="a"
    )
    sit(client)
    do(client, "flag", row, clear=str(flag.pk), **{f"flag_reason_{flag.pk}": "no sign"})
    assert fresh(row).promised_at  # no flag any more: it stands in line
    undo(client, "flag")
    flag = fresh(flag)
    assert (flag.decision, flag.decided_by, flag.decided_at) == ("", None, None)
    row = fresh(row)
    assert (row.urgency, row.urgency_rank, row.promised_at, row.answer_by) == (
        "urgent same day",
        2,
        None,
        None,
    )


def test_it_can_be_undone_after_the_sitting_has_ended(client, editor):  # noqa: F811
    row = make_question()
    sit(client)
    do(client, "desk_answer", row, answer="Yes.")
    page = client.post(reverse("questions:end"), follow=True).content.decode()
    act = Act.objects.get()
    assert reverse("questions:undo", args=[act.pk]) in page
    assert reverse("questions:undo", args=[act.pk]) in client.get(reverse("questions:desk")).content.decode()
    answer = undo(client, "answered", back="ended")
    assert answer.url == Sitting.objects.get().get_absolute_url()
    assert fresh(row).state == "waiting"
    assert fresh(row).answer_draft == "Yes."


def test_groups_come_back_as_they_were_and_the_correction_is_kept(client, editor):  # noqa: F811
    group = Group.objects.create(waiting=2)
    first, second = make_question(group=group), make_question(group=group)
    sit(client)
    do(client, "ungroup", first, other=str(second.key))
    kept = Correction.objects.get()
    assert (kept.field, kept.said, kept.put) == ("group", [str(first.key)], [])
    undo(client, "grouped")
    assert fresh(second).group == group
    assert not fresh(second).group_kept_apart
    assert fresh(group).waiting == 2
    assert not Correction.objects.exists()


def test_minutes_parts_and_moment_are_put_right_by_one_button_each(client, editor):  # noqa: F811
    row = make_question(minutes=3, regions=["knee", "hip"], sorted={})
    sit(client)
    do(client, "put_right", row, more="1")
    assert float(fresh(row).minutes) == 3.5
    do(client, "put_right", row, less="1")
    do(client, "put_right", row, less="1")
    assert float(fresh(row).minutes) == 2.5
    do(client, "put_right", row, drop="regions:hip")
    assert fresh(row).regions == ["knee"]
    assert do(client, "put_right", row, drop="text:x").status_code == 422
    assert do(client, "put_right", row, all="1", put_about="not-there", put_at="0:26").status_code == 422
    assert [one.field for one in Correction.objects.order_by("pk")] == ["minutes"] * 3 + ["regions"]


def test_the_breakdown_and_the_moment_are_put_right_and_kept(client, editor):  # noqa: F811
    page = {"title": "Jump throw", "rate": "25", "frame_count": 1000, "beats": [], "cautions": []}
    piece = Breakdown.objects.create(title="Jump throw", slug="jump-throw")
    release = Release.objects.create(
        breakdown=piece, slug="jump-throw", audience="everybody", page=page, folder="x"
    )
    row = make_question()
    sit(client)
    do(client, "put_right", row, all="1", put_about="jump-throw", put_at="0:26")
    row = fresh(row)
    assert (row.release, row.moment_frame) == (release, 650)
    kept = Correction.objects.get(field="moment")
    assert (kept.said, kept.put) == (None, {"release": "jump-throw", "frame": 650})
    for wrong in ("1:00", "soon", "-1"):
        assert do(client, "put_right", row, all="1", put_about="jump-throw", put_at=wrong).status_code == 422
    do(client, "put_right", row, drop_moment="1")
    assert (fresh(row).release, row.moment_frame) == (None, None)
    undo(client, "sorted")
    row = fresh(row)
    assert (row.release, row.moment_frame) == (release, 650)


def test_those_whose_weeks_are_over_are_told_in_one_go_and_it_can_be_undone(client, editor):  # noqa: F811
    long_ago = timezone.now() - timedelta(weeks=7)
    late = [make_question(asked_at=long_ago) for _ in range(3)]
    promised = make_question(
        asked_at=long_ago, promised_at=long_ago, answer_by=timezone.localdate() - timedelta(weeks=1)
    )
    red = make_question(asked_at=long_ago, urgency="urgent same day", urgency_rank=2)
    page = client.get(reverse("questions:desk")).content.decode()
    assert "3 have waited 6 weeks without a promise" in page
    assert "1 promised answer past its day" in page
    assert client.post(reverse("questions:let_go"), {"reason": " "}).status_code == 422
    client.post(reverse("questions:let_go"), {"reason": "Too many were asked."})
    assert {fresh(one).state for one in late} == {"aside"}
    assert {fresh(one).state for one in (promised, red)} == {"waiting"}
    undo(client, "aside")
    assert {fresh(one).state for one in late} == {"waiting"}
    SetAside.objects.update(goes_at=timezone.now() - timedelta(seconds=1))
    assert tell_due() == 0
