"""What the owner is told: how much is asked and answered, how long people wait, about what, and what to make next."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count
from django.db.models.functions import TruncWeek
from django.utils import timezone

from breakdowns.publishing.models import Release
from breakdowns.questions.choices import choice
from breakdowns.questions.models import Question, Sitting

SHARES = (50, 75, 90, 100)
ALIKE = 0.75  # own choice, no source: three of four people in common


@dataclass(frozen=True, slots=True)
class Week:
    """One week from its Monday on: questions asked, people answered, minutes at the desk."""

    monday: date
    asked: int
    answered: int
    minutes: float


@dataclass(frozen=True, slots=True)
class ToMake:
    """A subject that many ask about: how many people, one of their questions, and the breakdowns that speak of it."""

    subject: str
    people: int
    example: str
    spoken_of: tuple[Release, ...]


def percentile(values: Sequence[float], share: int) -> float | None:
    """The nearest-rank percentile (common practice, no source): the least value that ``share`` per cent don't exceed."""
    if not values:
        return None
    return sorted(values)[max(0, math.ceil(len(values) * share / 100) - 1)]


def weeks() -> list[Week]:
    """The last weeks, newest first; a week without anything is there too."""
    count = choice("figures_weeks")
    this = timezone.localdate() - timedelta(days=timezone.localdate().weekday())
    mondays = [this - timedelta(weeks=back) for back in range(count)]
    asked = _by_week("asked_at", mondays[-1])
    answered = _by_week("answered_at", mondays[-1])
    minutes: dict[date, float] = defaultdict(float)
    for sitting in Sitting.objects.filter(started_at__date__gte=mondays[-1]):
        day = timezone.localtime(sitting.started_at).date()
        spent = min(sitting.spent().total_seconds() / 60, 24 * 60.0)
        minutes[day - timedelta(days=day.weekday())] += spent
    return [Week(day, asked.get(day, 0), answered.get(day, 0), round(minutes[day], 1)) for day in mondays]


def _by_week(column: str, since: date) -> dict[date, int]:
    rows = (
        Question.objects.filter(**{f"{column}__gte": _midnight(since)})
        .order_by()
        .annotate(week=TruncWeek(column))
        .values_list("week")
        .annotate(number=Count("pk"))
    )
    return {timezone.localtime(week).date(): number for week, number in rows}


def _midnight(day: date) -> Any:
    now = timezone.localtime()
    return (now - timedelta(days=(now.date() - day).days)).replace(hour=0, minute=0, second=0, microsecond=0)


def waits() -> dict[str, list[tuple[int, float]]]:
    """Days that people waited for an answer, and that those who still wait have waited, by percentile."""
    now, most = timezone.now(), choice("figures_rows")
    since = now - timedelta(weeks=choice("figures_weeks"))
    done = Question.objects.filter(answered_at__gte=since, state="answered").order_by("-answered_at")
    answered = [
        (end - start).total_seconds() / 86400
        for start, end in done.values_list("asked_at", "answered_at")[:most]
    ]
    open_ones = (
        Question.objects.filter(state="waiting").order_by("asked_at").values_list("asked_at", flat=True)
    )
    still = [(now - start).total_seconds() / 86400 for start in open_ones[:most]]
    return {
        name: [
            (share, round(found, 1)) for share in SHARES if (found := percentile(values, share)) is not None
        ]
        for name, values in (("answered", answered), ("waiting", still))
    }


def _newest() -> list[Question]:
    since = timezone.now() - timedelta(weeks=choice("figures_weeks"))
    rows = Question.objects.filter(asked_at__gte=since).exclude(state="withdrawn").order_by("-asked_at")
    return list(
        rows.only("topic", "regions", "joints", "muscles", "member", "text", "release")[
            : choice("figures_rows")
        ]
    )


def topics_and_next(most: int = 8) -> tuple[list[tuple[str, int]], list[ToMake]]:
    """(topic, questions), the commonest first; and what many people ask about, with what speaks of it already."""
    rows = _newest()
    topics = Counter(row.topic or "not sorted" for row in rows).most_common()
    people: dict[str, set[int]] = defaultdict(set)
    example: dict[str, str] = {}
    for row in rows:
        if row.topic in ("account/billing", "off-topic"):
            continue
        for subject in dict.fromkeys(map(_plainly, [*row.muscles, *row.joints, *row.regions])):
            people[subject].add(row.member_id)
            example.setdefault(subject, row.text)
    ordered = sorted(people, key=lambda subject: (-len(people[subject]), subject))
    releases = [(release, _said(release)) for release in Release.objects.standing()[:60]]
    made = [
        ToMake(subject, len(people[subject]), example[subject],
               tuple(release for release, said in releases if subject.casefold() in said))
        for subject in _told_apart(ordered, people) if len(people[subject]) > 1
    ]  # fmt: skip
    return topics, sorted(made, key=lambda one: (bool(one.spoken_of), -one.people))[:most]


def _plainly(subject: str) -> str:
    """The knee joint and the knee are one subject for a breakdown, as are the shoulder complex and the shoulder."""
    return subject.removesuffix(" joint").removesuffix(" complex")


def _told_apart(subjects: Sequence[str], people: Mapping[str, set[int]]) -> list[str]:
    """Without those about which nearly the same people asked as about one before: they would be one breakdown."""
    kept: list[str] = []
    for subject in subjects:
        mine = people[subject]
        if all(len(mine & people[other]) < ALIKE * len(mine | people[other]) for other in kept):
            kept.append(subject)
    return kept


def _said(release: Release) -> str:
    beats = release.page.get("beats", [])
    words = [f"{beat.get('heading', '')} {beat.get('words', '')}" for beat in beats]
    return f"{release.page.get('title', '')} {' '.join(words)}".casefold()
