"""The desk through its pages: minutes, one question at a time, undo, groups, flags, publishing."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.questions.answers.services import tell_due
from breakdowns.questions.desk.queue import Head, choose
from breakdowns.questions.models import (
    Act,
    Answer,
    Correction,
    Group,
    HandedOn,
    Question,
    Screened,
    SetAside,
    Sitting,
)
from tests.factory import make_user
from tests.questions.making import make_member, make_question

pytestmark = pytest.mark.django_db


@pytest.fixture
def editor(client) -> User:
    person = make_user("editor")
    client.force_login(person)
    return person


def sit(client, minutes: int = 20) -> None:
    client.post(reverse("questions:desk"), {"minutes": minutes})


def do(client, name: str, question: Question, **said):
    form = {"key": str(question.key), **said}
    return client.post(reverse(f"questions:{name}", args=[question.key]), form)


def undo(client):
    return client.post(reverse("questions:undo", args=[Act.objects.filter(taken_back_at=None).first().pk]))


def fresh(row):
    row.refresh_from_db()
    return row


def ten_minutes_pass() -> None:
    gone = timezone.now() - timedelta(minutes=11)
    Answer.objects.update(goes_at=gone)
    SetAside.objects.update(goes_at=gone)
    Act.objects.update(until=gone)
    tell_due()


def letters() -> list[str]:
    """What was told, through the outbox where there is one."""
    try:
        from breakdowns.people.models import Letter
    except ImportError:
        return [f"{one.subject}\n{one.body}" for one in mail.outbox]
    return [f"{one.subject}\n{one.text}" for one in Letter.objects.all()] + [one.body for one in mail.outbox]


def test_minutes_open_a_sitting_with_the_urgent_one_first(client, editor):
    make_question(text="Which shoes for a hall floor?", asked_at=timezone.now() - timedelta(days=9))
    red = make_question(text="My calf is hot and swollen", urgency="urgent same day", urgency_rank=2)
    page = client.get(reverse("questions:desk")).content.decode()
    assert "2 questions wait, the longest for 9 days" in page
    assert "My calf is hot" in page
    sit(client, 10)
    page = client.get(reverse("questions:sitting")).content.decode()
    assert Sitting.objects.get().current == red
    assert "of 10 minutes" in page
    assert "Which shoes" in page  # then, in the minutes left


def test_an_answer_reaches_the_member_after_ten_minutes_and_not_before(
    client, editor, django_capture_on_commit_callbacks
):
    row = make_question()
    sit(client)
    do(client, "desk_answer", row, answer="Load **slowly**.")
    row = fresh(row)
    assert (row.state, row.answer.text, row.answer.audience) == ("answered", "Load **slowly**.", "private")
    tell_due()
    assert not letters()
    with django_capture_on_commit_callbacks(execute=True):
        ten_minutes_pass()
        tell_due()
    assert len(letters()) == 1
    assert "Load **slowly**." in letters()[0]
    client.force_login(row.member)
    assert "<strong>slowly</strong>" in client.get(row.get_absolute_url()).content.decode()


def test_undo_puts_everything_back_and_no_letter_leaves(client, editor):
    row = make_question(answer_draft="begun")
    sit(client)
    do(client, "desk_answer", row, answer="Too quick.")
    undo(client)
    row = fresh(row)
    assert (row.state, row.answer, row.answered_at, row.answer_draft) == ("waiting", None, None, "Too quick.")
    ten_minutes_pass()
    assert not letters()
    assert Sitting.objects.get().current == row


def test_after_ten_minutes_nothing_is_undone(client, editor):
    row = make_question()
    sit(client)
    do(client, "desk_answer", row, answer="Sent.")
    ten_minutes_pass()
    assert undo(client).status_code == 422
    assert fresh(row).state == "answered"


def test_the_whole_group_or_only_this_one(client, editor):
    group = Group.objects.create(waiting=3)
    first, second, third = (make_question(group=group) for _ in range(3))
    sit(client)
    page = client.get(reverse("questions:sitting")).content.decode()
    assert "3 members ask this" in page
    assert "Send to all 3" in page
    do(client, "ungroup", first, other=str(third.key))
    assert fresh(third).group is None
    assert fresh(group).waiting == 2
    do(client, "desk_answer", first, answer="For both.")
    assert [fresh(one).state for one in (first, second, third)] == ["answered", "answered", "waiting"]
    assert fresh(group).waiting == 0
    undo(client)
    assert [fresh(one).state for one in (first, second)] == ["waiting", "waiting"]
    assert fresh(group).waiting == 2
    do(client, "desk_answer", first, answer="For one.", one="1")
    assert [fresh(one).state for one in (first, second)] == ["answered", "waiting"]


def test_two_that_ask_the_same_are_put_together_and_apart_again(client, editor):
    one, other = make_question(), make_question()
    sit(client)
    do(client, "group", one, other=str(other.key))
    assert fresh(one).group == fresh(other).group
    assert fresh(one).group.waiting == 2
    undo(client)
    assert fresh(one).group is None


@pytest.fixture
def flagged() -> Screened:
    row = make_question(urgency="emergency now", urgency_rank=3)
    return Screened.objects.create(
        question=row, flag="head_blackout", name="Knocked out", urgency="emergency now",
        because="It says “blacked out”.", action="Go.",
    )  # fmt: skip


def test_a_flag_is_cleared_or_kept_only_with_a_reason_and_the_record_stays(client, editor, flagged):
    row = flagged.question
    sit(client)
    assert do(client, "flag", row, clear=str(flagged.pk)).status_code == 422
    assert fresh(flagged).decision == ""
    do(client, "flag", row, clear=str(flagged.pk), **{f"flag_reason_{flagged.pk}": "the screen blacked out"})
    assert fresh(flagged).decision == "cleared"
    assert flagged.reason == "the screen blacked out"
    assert flagged.decided_by == editor
    assert (fresh(row).urgency, row.urgency_rank) == ("", 0)
    undo(client)
    assert fresh(flagged).decision == ""
    assert fresh(row).urgency_rank == 3


def test_the_sorting_is_put_right_by_one_button_and_kept(client, editor):
    row = make_question(topic="technique")
    sit(client)
    do(client, "put_right", row, topic="training load")
    assert fresh(row).topic == "training load"
    kept = Correction.objects.get()
    assert (kept.field, kept.said, kept.put, kept.by) == ("topic", "technique", "training load", editor)
    do(client, "put_right", row, all="1", put_minutes="2,5", put_muscles="infraspinatus, teres minor")
    assert float(fresh(row).minutes) == 2.5
    assert row.muscles == ["infraspinatus", "teres minor"]
    assert do(client, "put_right", row, all="1", put_minutes="soon").status_code == 422
    undo(client)
    assert fresh(row).muscles == []


def test_set_aside_needs_a_reason_that_the_member_is_told(client, editor, django_capture_on_commit_callbacks):
    row = make_question()
    sit(client)
    answer = do(client, "set_aside", row, reason=" ", answer="half an answer")
    assert answer.status_code == 422
    assert "half an answer" in answer.content.decode()
    do(client, "set_aside", row, reason="It needs somebody who can see you.")
    assert fresh(row).state == "aside"
    with django_capture_on_commit_callbacks(execute=True):
        ten_minutes_pass()
    assert "It needs somebody who can see you." in letters()[0]
    client.force_login(row.member)
    assert "It needs somebody" in client.get(row.get_absolute_url()).content.decode()


def test_handed_on_it_leaves_the_own_desk_and_stands_on_the_colleagues(client, editor):
    row, colleague = make_question(), make_user("owner")
    sit(client)
    do(client, "hand_on", row, to=str(colleague.pk), word="your field")
    assert HandedOn.objects.get().to == colleague
    assert (
        row.text
        not in client.get(reverse("questions:sitting"))
        .content.decode()
        .split('class="undo"')[-1]
        .split("</div>", 1)[1]
    )
    client.force_login(colleague)
    sit(client)
    page = client.get(reverse("questions:sitting")).content.decode()
    assert "your field" in page
    client.force_login(editor)
    assert do(client, "hand_on", make_question(), to=str(make_member().pk)).status_code == 422


def test_publishing_needs_consent_and_shows_what_tells_who_asks(client, editor):
    secret = "I am Tove Lindqvist from Lowmoor, mail me at tove@mail.example. Is rest enough?"
    row = make_question(text=secret, consent_to_publish=True)
    sit(client)
    page = do(client, "preview", row, answer="Rest helps.", publish="1").content.decode()
    for told in ("Tove", "Lowmoor", "tove@mail.example"):
        assert told in page
    start = page.index('id="asked"')
    assert "Tove" not in page[start : page.index("</textarea>", start)]
    do(
        client,
        "desk_answer",
        row,
        answer="Rest helps.",
        publish="1",
        publish_as="members",
        asked="Is rest enough?",
        note="Rest helps.",
    )
    found = Answer.objects.get()
    assert (found.audience, found.asked) == ("members", "Is rest enough?")
    client.force_login(make_member())
    assert client.get(found.get_absolute_url()).status_code == 404
    ten_minutes_pass()
    assert "Is rest enough?" in client.get(found.get_absolute_url()).content.decode()
    client.force_login(editor)
    without = make_question()
    said = {"answer": "x", "publish": "1", "publish_as": "members", "asked": "a", "note": "b"}
    assert do(client, "desk_answer", without, **said).status_code == 422
    assert fresh(without).state == "waiting"


def test_a_preview_is_harmless_html(client, editor):
    row = make_question()
    sit(client)
    page = do(
        client, "preview", row, answer="<script>alert(1)</script> **b** [x](javascript:alert(1))"
    ).content.decode()
    assert "<strong>b</strong>" in page
    assert "<script>alert" not in page
    assert 'href="javascript' not in page


def test_a_draft_is_kept_by_every_command_and_survives(client, editor):
    row = make_question()
    sit(client)
    do(client, "desk_keep", row, answer="so far")
    assert "so far" in client.get(reverse("questions:sitting")).content.decode()
    other = make_question()
    client.post(
        reverse("questions:look_at", args=[other.key]), {"key": str(row.key), "answer": "so far and more"}
    )
    assert fresh(row).answer_draft == "so far and more"
    assert fresh(other).answer_draft == ""
    assert Sitting.objects.get().current == other


def test_the_clock_is_the_servers_and_stops(client, editor):
    sit(client, 10)
    Sitting.objects.update(started_at=timezone.now() - timedelta(minutes=4))
    client.post(reverse("questions:pause"))
    row = Sitting.objects.get()
    Sitting.objects.update(paused_at=row.paused_at - timedelta(minutes=1))
    left = Sitting.objects.get().left()
    assert timedelta(minutes=6, seconds=50) < left <= timedelta(minutes=7)
    client.post(reverse("questions:pause"))
    assert Sitting.objects.get().paused_at is None


def test_the_end_tells_what_is_left_and_who_was_passed_over_weighs_more(client, editor):
    done, left = make_question(minutes=2), make_question(minutes=60)
    sit(client, 5)
    do(client, "desk_answer", done, answer="Yes.")
    client.get(reverse("questions:sitting"))
    answer = client.post(reverse("questions:end"), follow=True)
    page = answer.content.decode()
    assert "1 answered, 1 person reached" in page
    assert "60 more minutes would clear everything" in page
    assert fresh(left).times_passed_over == 1


def test_start_from_an_earlier_answer_loses_nothing_typed(client, editor):
    from tests.questions.making import make_answer

    row, earlier = make_question(), make_answer("As I said before.")
    sit(client)
    do(client, "start_from", row, answer="Dear both,", **{"from": str(earlier.key)})
    assert fresh(row).answer_draft == "Dear both,\n\nAs I said before."


def test_a_correction_is_told_and_earlier_wordings_are_kept(
    client, editor, django_capture_on_commit_callbacks
):
    row = make_question()
    sit(client)
    do(client, "desk_answer", row, answer="Twice a week.")
    with django_capture_on_commit_callbacks(execute=True):
        ten_minutes_pass()
        found = Answer.objects.get()
        client.post(
            reverse("questions:correct", args=[found.key]),
            {"text": "Three times.", "note": "", "what_changed": "Three, not two."},
        )
    assert [one.text for one in found.versions.all()] == ["Twice a week.", "Three times."]
    assert any("Three, not two." in letter for letter in letters())
    client.force_login(row.member)
    assert "Three, not two." in client.get(row.get_absolute_url()).content.decode()


def test_own_words_are_inserted_by_name(client, editor):
    client.post(reverse("questions:snippets"), {"name": "see someone", "text": "Be seen if it spreads."})
    page = client.get(reverse("questions:insert"), {"q": "see some"}).content.decode()
    assert "Be seen if it spreads." in page
    assert "infraspinatus" in client.get(reverse("questions:insert"), {"q": "infraspinatus"}).content.decode()


def test_the_owner_sets_the_limit_and_the_minutes(client):
    client.force_login(make_user("owner"))
    form = {
        "monthly_limit": 2,
        "minutes_preset": 30,
        "keep_elsewhere": "nothing",
        "keep_days": 30,
        "asking_words": "One thing at a time.",
    }
    assert client.post(reverse("questions:settings"), form).status_code == 302
    make_question()
    assert 'value="30"' in client.get(reverse("questions:desk")).content.decode()
    client.force_login(make_member())
    assert "One thing at a time." in client.get(reverse("questions:ask")).content.decode()


def test_urgent_ones_are_chosen_whatever_the_minutes():
    today = timezone.localdate()
    heads = [Head("a", today, 9, None, 0, 1.0, 0), Head("b", today, 1, "emergency now", 3, 30.0, 0)]
    chosen = choose(heads, 2)
    assert chosen.keys[0] == "b"
    assert "a" in chosen.left
    assert chosen.left_minutes == 1.0
