"""What a person may take along of their questions, and what goes when they go."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from breakdowns.people.models import User

from .about.services import passages_read_again
from .machine import answer_columns, read_text
from .models import Answer, Group, Question, Snippet


def own_data_export(user: User) -> dict[str, Any]:
    """Everything this person asked with what came back, and their own words of the desk."""
    rows = Question.objects.filter(member=user).select_related("answer", "release").order_by("made_at")
    return {
        "questions": [_question(row) for row in rows],
        "words_of_my_own": [
            {"name": one.name, "text": one.text} for one in Snippet.objects.filter(owner=user)
        ],
    }


def _question(row: Question) -> dict[str, Any]:
    return {
        "text": row.text,
        "state": row.get_state_display(),
        "asked_at": row.asked_at.isoformat() if row.asked_at else None,
        "body_part": row.body_part,
        "since_when": row.since_when,
        "tried": row.tried,
        "about": row.release.page["title"] if row.release else None,
        "about_is_proposed": row.about_is_proposed,
        "consent_to_publish": row.consent_to_publish,
        "topic": row.topic,
        "signs_found": [
            {"name": flag.name, "because": flag.because, "decision": flag.decision, "reason": flag.reason}
            for flag in row.screened.all()
        ],
        "answer": row.answer.text if row.answer_is_out and row.answer else None,
        "pictures": [one.file for one in row.attachments.all()],
    }


def own_data_erase(user: User) -> None:
    """Questions, drafts and pictures go, and so do private answers that nobody else has.

    A published answer stays: nothing in it tells who asked.
    """
    with transaction.atomic():
        rows = Question.objects.select_for_update().filter(member=user)
        keys = [str(key) for key in rows.values_list("key", flat=True)]
        groups = set(rows.exclude(group=None).values_list("group_id", flat=True))
        answers = set(rows.exclude(answer=None).values_list("answer_id", flat=True))
        rows.delete()
        Snippet.objects.filter(owner=user).delete()
        Answer.objects.filter(
            pk__in=answers, questions__isnull=True, audience=Answer.Audience.PRIVATE
        ).delete()
        for pk in groups:
            waiting = Question.objects.filter(group_id=pk, state="waiting").count()
            Group.objects.filter(pk=pk).update(waiting=waiting)
        transaction.on_commit(lambda: _pictures_remove(keys))


def read_again() -> tuple[int, int]:
    """Words and fingerprints of every answer and waiting question anew: after the sorting or the vocabulary changed.

    So are those of what breakdowns say.

    What a person put right stays. Returns how many answers and questions were different. Each is its own
    transaction, so that it can be broken off and begun again at any time.
    """
    passages_read_again()
    answers = questions = 0
    for answer in Answer.objects.order_by("pk").iterator(chunk_size=500):
        first = answer.questions.order_by("pk").first()
        asked = answer.asked or (first.text if first else "")
        answers += _put_anew(answer, answer_columns(asked, answer.note or answer.text, answer.regions))
    for row in Question.objects.filter(state=Question.State.WAITING).order_by("pk").iterator(chunk_size=500):
        read = read_text(f"{row.text}\n{row.body_part}")
        for name in ("moment", "moment_because"):  # said once, of the breakdowns that there were then
            if name in row.sorted:
                read.setdefault("sorted", {})[name] = row.sorted[name]
        put_right = set(row.corrections.values_list("field", flat=True))
        questions += _put_anew(row, {name: value for name, value in read.items() if name not in put_right})
    return answers, questions


def _put_anew(row: Answer | Question, columns: dict[str, Any]) -> bool:
    changed = {name: value for name, value in columns.items() if getattr(row, name) != value}
    return bool(changed) and bool(type(row).objects.filter(pk=row.pk).update(**changed))


def _pictures_remove(keys: list[str]) -> None:
    for key in keys:
        shutil.rmtree(Path(settings.MEDIA_ROOT) / "questions" / key, ignore_errors=True)
