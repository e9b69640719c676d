"""Reads that all pages of questions share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from .choices import choice
from .machine import alike, compares_senses, read_text
from .models import Answer, Question
from .search.selectors import MOST, matching
from .search.terms import mark, ranked

LIBRARY_MOST = 100
NOT_SHOWN = ("fingerprint", "search_words", "muscles", "joints", "text")


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
    """(pk, fingerprint) of the rows worth comparing, a few hundred: those that share enough words, newest first.

    Where senses are compared too, the newest others stand behind them: the same may be asked without a word in common.
    """
    return [(pk, print_) for pk, print_, _ in _compared(rows, search_words.split())]


def _compared(rows: QuerySet[Any], terms: Sequence[str]) -> list[tuple[int, dict[str, Any], str]]:
    """(pk, fingerprint, words of the index) of what is compared with a text of these terms."""
    if not terms:
        return []
    columns = ("pk", "fingerprint", "search_words")
    found = list(matching(rows.order_by(), terms).values_list(*columns))
    if compares_senses() and len(found) < MOST:
        others = rows.order_by("-pk").exclude(pk__in=[pk for pk, *_ in found])
        found += others.values_list(*columns)[: MOST - len(found)]
    return found


def nearest(rows: QuerySet[Answer], read: dict[str, Any], *, limit: int, least: float = 0.2) -> list[Near]:
    """The nearest answers to what ``read_text`` made of a text, best first.

    By likeness of what is asked where sorting is there; by the words they share otherwise.
    """
    terms = read["search_words"].split()
    if not terms:
        return []
    found = _compared(rows, terms)
    scored = alike(read["fingerprint"], [(pk, print_) for pk, print_, _ in found], limit)
    if not scored:
        scored = ranked(terms, {pk: words for pk, _, words in found})[:limit]
    chosen = {pk: score for pk, score in scored if score >= least}
    answers = Answer.objects.defer("fingerprint", "search_words").in_bulk(list(chosen))
    return [Near(answers[pk], score) for pk, score in chosen.items() if pk in answers]


def likely_answers(text: str) -> list[Near]:
    """What stands in the library already and may answer a text that is being typed."""
    if len(text.split()) < 3:
        return []
    return nearest(library(), read_text(text[: choice("most_signs")]), limit=choice("likely"))


def found_in_library(
    text: str, *, topic: str = "", region: str = "", start: int = 0, count: int = LIBRARY_MOST
) -> list[Near]:
    """Answers of the library that fit some words, best first; ``topic`` and ``region`` narrow, ``start`` leaves some out."""
    rows = library().order_by()
    if topic:
        rows = rows.filter(topic=topic)
    must = [mark("region", region)] if region else []
    read = read_text(text[: choice("most_signs")])
    terms = read["search_words"].split()
    if not terms:
        return []
    found = list(matching(rows, terms, must=must).values_list("pk", "fingerprint", "search_words"))
    likeness = dict(alike(read["fingerprint"], [(pk, print_) for pk, print_, _ in found], len(found)))
    scored = [
        (pk, score + likeness.get(pk, 0.0))
        for pk, score in ranked(terms, {pk: words for pk, _, words in found})
    ]
    scored.sort(key=lambda pair: (-round(pair[1], 6), -pair[0]))
    best = scored[0][1] if scored else 0.0
    chosen = dict([(pk, score) for pk, score in scored if score >= best / 4][start : start + count])
    answers = Answer.objects.select_related("release").defer(*NOT_SHOWN).in_bulk(list(chosen))
    return [Near(answers[pk], score) for pk, score in chosen.items() if pk in answers]


def newest_in_library(*, topic: str = "", region: str = "") -> QuerySet[Answer]:
    """The library, newest first, narrowed."""
    rows = library().select_related("release").defer(*NOT_SHOWN).order_by("-goes_at", "-pk")
    if topic:
        rows = rows.filter(topic=topic)
    if region:
        pks = matching(library().order_by(), [mark("region", region)]).values_list("pk", flat=True)
        rows = rows.filter(pk__in=list(pks))
    return rows


def library_regions() -> list[str]:
    """Regions of the body that the newest answers are about."""
    return sorted({one for regions in library().values_list("regions", flat=True)[:500] for one in regions})


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
