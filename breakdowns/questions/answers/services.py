"""Telling those who asked, corrections, thanks and the one follow-up question."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.people.post.services import put_letter, site_address
from breakdowns.people.typed import clean_words
from breakdowns.questions.machine import answer_columns
from breakdowns.questions.models import Answer, AnswerVersion, Question, SetAside

NOT_A_CONSULTATION = "This is general information and no consultation; nobody has examined you."


def _short(text: str, most: int = 60) -> str:
    line = " ".join(text.split())
    return line if len(line) <= most else line[: most - 1].rsplit(" ", 1)[0] + "…"


def letter_about_flag(question: Question, advice: Any) -> None:
    """Where to go now, by e-mail too, and at once."""
    lines = "\n\n".join(advice.lines)
    page = site_address(reverse("questions:urgent", args=[question.key]))
    text = f"{advice.title}\n\n{lines}\n\nThis stands on your page as well: {page}\n"
    put_letter(question.member, "red flag", advice.title[:200], text, at_once=True)


def tell_due() -> int:
    """Letters for every answer, set-aside question and correction whose time to be undone is over.

    Each is claimed before its letters are put, in one transaction: none is told twice. Returns how many.
    """
    told, now = 0, timezone.now()
    due = Answer.objects.filter(told_at__isnull=True, taken_back_at__isnull=True, goes_at__lte=now)
    for pk in list(due.values_list("pk", flat=True)[:200]):
        with transaction.atomic():
            if not due.filter(pk=pk).update(told_at=now):
                continue
            answer = Answer.objects.get(pk=pk)
            for question in answer.questions.select_related("member"):
                page = site_address(reverse("questions:question", args=[question.key]))
                text = (
                    f"You asked:\n\n{question.text}\n\nThe answer:\n\n{answer.text}\n\n{NOT_A_CONSULTATION}\n\n"
                    f"On your page, with links: {page}\n"
                )
                put_letter(question.member, "answers", f"Answered: {_short(question.text)}", text)
            told += 1
    aside = SetAside.objects.filter(told_at__isnull=True, taken_back_at__isnull=True, goes_at__lte=now)
    for pk in list(aside.values_list("pk", flat=True)[:200]):
        with transaction.atomic():
            if not aside.filter(pk=pk).update(told_at=now):
                continue
            row = SetAside.objects.select_related("question__member").get(pk=pk)
            text = f"You asked:\n\n{row.question.text}\n\nIt will not be answered here: {row.reason}\n"
            put_letter(
                row.question.member, "answers", f"About your question: {_short(row.question.text)}", text
            )
            told += 1
    return told


@transaction.atomic
def answer_correct(answer: Answer, *, text: str, note: str, what_changed: str, by: User) -> Answer:
    """A new version. With ``what_changed`` those who have the answer are told; the old wording is kept."""
    locked = Answer.objects.select_for_update().get(pk=answer.pk)
    if not locked.versions.exists():
        version_keep(locked, by=locked.by)
    locked.text, locked.note = clean_words(text), clean_words(note)
    if locked.audience == Answer.Audience.PRIVATE:
        locked.note = ""
    asked = locked.asked or (first.text if (first := locked.questions.first()) else "")
    for field, value in answer_columns(asked, locked.note or locked.text, locked.regions).items():
        setattr(locked, field, value)
    locked.version += 1
    locked.save()
    version = version_keep(locked, by=by, what_changed=what_changed)
    if what_changed and locked.told_at:
        for question in locked.questions.select_related("member"):
            page = site_address(reverse("questions:question", args=[question.key]))
            letter = (
                f"An answer that you had was corrected.\n\nWhat changed: {what_changed}\n\nYou asked:\n\n"
                f"{question.text}\n\nThe answer now:\n\n{locked.text}\n\n{NOT_A_CONSULTATION}\n\n{page}\n"
            )
            put_letter(question.member, "corrections", f"Corrected: {_short(question.text)}", letter)
        AnswerVersion.objects.filter(pk=version.pk).update(told_at=timezone.now())
    return locked


def version_keep(answer: Answer, *, by: User | None, what_changed: str = "") -> AnswerVersion:
    """The present wording as a version of its own."""
    return AnswerVersion.objects.create(
        answer=answer,
        number=answer.version,
        text=answer.text,
        note=answer.note,
        by=by,
        what_changed=what_changed,
    )


def answer_thank(question: Question) -> None:
    """Thanks, once."""
    Question.objects.filter(pk=question.pk, thanked_at__isnull=True).update(thanked_at=timezone.now())


def answer_seen(question: Question) -> None:
    """The first time that the member opens the answer."""
    Question.objects.filter(pk=question.pk, seen_at__isnull=True).update(seen_at=timezone.now())


def may_follow_up(question: Question) -> bool:
    """One further question about each answer, and none about the answer to that."""
    return (
        question.answer_is_out
        and question.follows_id is None
        and not Question.objects.filter(Q(follows=question)).exclude(state="draft").exists()
    )


def _said_about(question: Question) -> dict[str, Any]:
    """Breakdown and moment as a person named them; what is only proposed is looked for anew."""
    if question.about_is_proposed:
        return {"release": None, "moment_frame": None}
    return {"release": question.release, "moment_frame": question.moment_frame}


def follow_up_draft(question: Question, text: str) -> Question:
    """The follow-up as a draft of its own, ready to be sent."""
    draft, _ = Question.objects.update_or_create(
        follows=question,
        defaults={
            "member": question.member,
            "text": clean_words(text),
            **_said_about(question),
        },
    )
    return draft
