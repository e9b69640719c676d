"""Reads that all pages of questions share."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from .choices import choice
from .machine import alike, read_text
from .models import Answer, Question

_CANDIDATES = 300


@dataclass(frozen=True, slots=True)
class Near:
    """An answer given before and how near its question is, 0 to 1."""

    answer: Answer
    score: float


def given() -> QuerySet[Answer]:
    """Answers that were not taken back."""
    return Answer.objects.filter(taken_back_at__isnull=True)


def library() -> QuerySet[Answer]:
    """Answers that stand for members to read, newest first."""
    return (
        given()
        .filter(withdrawn_at__isnull=True, goes_at__lte=timezone.now())
        .exclude(audience=Answer.Audience.PRIVATE)
        .order_by("-goes_at")
    )


def answer_fingerprints() -> Iterator[tuple[str, dict[str, Any]]]:
    """(key, fingerprint as JSON) of every answer given, for whoever compares with them."""
    rows = given().exclude(fingerprint={}).values_list("key", "fingerprint")
    for key, fingerprint in rows.iterator(chunk_size=2000):
        yield str(key), fingerprint


def candidates(rows: QuerySet[Any], search_words: str) -> list[tuple[int, dict[str, Any]]]:
    """(pk, fingerprint) of the rows worth comparing: those that share the rarest words, at most a few hundred."""
    words = sorted(set(search_words.split()), key=lambda word: (-len(word), word))[:8]
    if not words:
        return []
    shares = Q()
    for word in words:
        shares |= Q(search_words__contains=word)
    return list(rows.filter(shares).order_by("-pk").values_list("pk", "fingerprint")[:_CANDIDATES])


def nearest(rows: QuerySet[Answer], read: dict[str, Any], *, limit: int, least: float = 0.2) -> list[Near]:
    """The nearest answers to what ``read_text`` made of a text, best first."""
    found = alike(read["fingerprint"], candidates(rows, read["search_words"]), limit)
    chosen = {pk: score for pk, score in found if score >= least}
    answers = {answer.pk: answer for answer in Answer.objects.filter(pk__in=chosen)}
    return [Near(answers[pk], score) for pk, score in chosen.items() if pk in answers]


def likely_answers(text: str) -> list[Near]:
    """What stands in the library already and may answer a text that is being typed."""
    if len(text.split()) < 3:
        return []
    return nearest(library(), read_text(text[: choice("most_signs")]), limit=choice("likely"))


def own_questions(member: Any) -> QuerySet[Question]:
    """Everything this person sent, newest first; drafts are not among them."""
    return (
        Question.objects.filter(member=member)
        .exclude(state=Question.State.DRAFT)
        .select_related("answer", "release")
        .order_by("-asked_at")
    )


def draft_of(member: Any) -> Question | None:
    return Question.objects.filter(member=member, state="draft", follows__isnull=True).first()


def asked_this_month(member: Any) -> int:
    """Questions sent since the first of the month; follow-ups and flagged ones don't count."""
    first = timezone.localtime().replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    return (
        own_questions(member)
        .filter(asked_at__gte=first, follows__isnull=True, screened__isnull=True)
        .exclude(state=Question.State.WITHDRAWN)
        .distinct()
        .count()
    )
