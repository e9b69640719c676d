"""What was promised to those who wait, and by when everybody else is told."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

from django.db.models import Q, QuerySet
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.questions.models import Question, Settings
from breakdowns.questions.planning import Weights, weight_table


def weights_now(settings: Settings | None = None) -> Weights:
    """The weights as the owner set them; what the table no longer knows or allows is left at its usual value."""
    given = (settings or Settings.now()).weights
    rows = {row.name: row for row in weight_table()}
    kept = {
        name: value
        for name, value in given.items()
        if name in rows and rows[name].least <= Fraction(str(value)) <= rows[name].most
    }
    return Weights.load(kept)


def promised_days(weights: Weights | None = None) -> timedelta:
    """How long at most somebody waits to be answered or told."""
    return timedelta(weeks=float((weights or weights_now()).promised_weeks))


def line() -> QuerySet[Question]:
    """Those who wait with a promise, in its order; red flags don't stand in line."""
    return Question.objects.filter(state="waiting", promised_at__isnull=False, urgency_rank=0).order_by(
        "promised_at", "pk"
    )


def line_minutes() -> list[Fraction]:
    """Estimated minutes of each that stands in the line; a group takes those of one answer."""
    found: dict[object, Fraction] = {}
    for pk, group, minutes in line().values_list("pk", "group_id", "minutes"):
        key = ("group", group) if group else pk
        found[key] = max(found.get(key, Fraction(0)), Fraction(minutes))
    return list(found.values())


def told_by(question: Question) -> date:
    """The day by which the member has an answer or knows that there is none."""
    if question.answer_by:
        return question.answer_by
    asked = question.asked_at or timezone.now()
    return timezone.localtime(asked).date() + promised_days()


def to_be_told(by: User) -> QuerySet[Question]:
    """Those without a promise who have waited as long as was said; red flags and what others took over are not among them."""
    until = timezone.now() - promised_days()
    rows = Question.objects.filter(
        state="waiting", promised_at__isnull=True, urgency_rank=0, asked_at__lte=until
    )
    return rows.filter(Q(handed_to__isnull=True) | Q(handed_to=by)).order_by("asked_at")


def overdue(by: User) -> QuerySet[Question]:
    """Those with a promise whose day has passed."""
    return line().filter(Q(handed_to__isnull=True) | Q(handed_to=by), answer_by__lt=timezone.localdate())
