"""Invented members with questions and answers, so that the desk of the demonstration is not empty."""

from __future__ import annotations

import json
from datetime import timedelta
from importlib.resources import files
from typing import Any

from django.db import transaction
from django.utils import timezone

from breakdowns.people.models import Membership, User
from breakdowns.publishing.models import Release
from breakdowns.questions.answers.services import version_keep
from breakdowns.questions.asking.services import put_into_group, question_send
from breakdowns.questions.machine import answer_columns, read_text
from breakdowns.questions.models import Answer, Group, Question, Snippet


def asked() -> dict[str, Any]:
    """The data file: members, what was answered, what waits, words of one's own."""
    return json.loads(
        files("deploy.demonstration").joinpath("data/questions.json").read_text(encoding="utf-8")
    )


@transaction.atomic
def questions_make(owner: User, release: Release | None) -> int:
    """Members, answered and waiting questions, unless they are there. Returns how many questions there are.

    Nobody gets a letter: the addresses end in ``.invalid`` (RFC 2606, 2).
    """
    given = asked()
    people = [_member(number, name) for number, name in enumerate(given["members"], 1)]
    mine = Question.objects.filter(member__in=people)
    if mine.exists():
        return mine.count()
    for row in given["answered"]:
        _answered(row, people, owner)
    groups: dict[str, list[Question]] = {}
    for row in given["waiting"]:
        question = _waiting(row, people[row["by"]], release)
        groups.setdefault(row.get("group", ""), []).append(question)
    for name, rows in groups.items():
        if name:
            _together(rows)
    for one in given["snippets"]:
        Snippet.objects.get_or_create(owner=owner, name=one["name"], defaults={"text": one["text"]})
    return mine.count()


def _member(number: int, name: str) -> User:
    email = f"member{number}@demonstration.invalid"
    user = User.objects.filter(email=email).first()
    if user is None:
        user = User.objects.create_user(email, name=name, role=User.Role.READER)
        Membership.objects.create(user=user)
    return user


def _answered(row: dict[str, Any], people: list[User], owner: User) -> None:
    then = timezone.now() - timedelta(days=row["days"])
    public = row["audience"] != Answer.Audience.PRIVATE
    fields = {
        name: row[name] for name in ("audience", "topic", "regions", "joints", "muscles", "people", "readers")
    }
    answer = Answer.objects.create(
        by=owner, text=row["note"], asked=row["asked"] if public else "", note=row["note"] if public else "",
        made_at=then, goes_at=then, told_at=then, **fields, **answer_columns(row["asked"], row["note"], row["regions"]),
    )  # fmt: skip
    version_keep(answer, by=owner)
    read = read_text(row["asked"])
    for place in range(row["people"]):
        Question.objects.create(
            member=people[(row["by"] + place) % len(people)], text=row["asked"], state=Question.State.ANSWERED,
            consent_to_publish=public, answer=answer, asked_at=then - timedelta(days=row["wait"] - place * 0.5),
            answered_at=then, seen_at=then + timedelta(hours=5), topic=row["topic"], regions=row["regions"],
            joints=row["joints"], muscles=row["muscles"], fingerprint=read["fingerprint"], search_words=read["search_words"],
        )  # fmt: skip


def _waiting(row: dict[str, Any], member: User, release: Release | None) -> Question:
    about = release if "beat" in row else None
    beats = about.page["beats"] if about else []
    question = Question.objects.create(
        member=member, text=row["text"], consent_to_publish=row.get("consent", False), release=about,
        moment_frame=beats[min(row["beat"], len(beats) - 1)]["start_frame"] if beats else None,
    )  # fmt: skip
    question = question_send(question, tell=False)
    ago = timedelta(days=row["days"], hours=2)
    question.refresh_from_db()
    question.asked_at = timezone.now() - ago
    if question.promised_at and question.answer_by:
        question.promised_at, question.answer_by = question.promised_at - ago, question.answer_by - ago
    question.save(update_fields=["asked_at", "promised_at", "answer_by"])
    return question


def _together(rows: list[Question]) -> None:
    """Into one group, where the sorting has not put them there."""
    fresh = list(Question.objects.filter(pk__in=[row.pk for row in rows]))
    group = next((row.group for row in fresh if row.group_id), None) or Group.objects.create()
    put_into_group(fresh, group)
