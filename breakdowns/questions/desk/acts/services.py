"""What was done at the desk, with what stood before, and undoing it for ten minutes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.questions.choices import choice
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

# What each kind of act changes of a question; undoing it touches nothing else.
CHANGES = {
    "answered": ("state", "answer_id", "answered_at"),
    "aside": ("state",),
    "handed": ("handed_to_id",),
    "flag": ("urgency", "urgency_rank", "promised_at", "answer_by"),
    "grouped": ("group_id", "group_kept_apart", "promised_at", "answer_by"),
    "passed": (),
}
SORTED_COLUMNS = {
    "topic": ("topic",),
    "minutes": ("minutes",),
    "regions": ("regions",),
    "joints": ("joints",),
    "muscles": ("muscles",),
    "moment": ("release_id", "moment_frame"),
}
_KEPT = tuple(
    dict.fromkeys(name for names in (*CHANGES.values(), *SORTED_COLUMNS.values()) for name in names)
)


class CannotDo(ValueError):
    """Why something can't be done at the desk now, in one sentence."""


def undo_until() -> datetime:
    """When the ten minutes from now are over."""
    return timezone.now() + timedelta(minutes=choice("undo_minutes"))


def state_of(question: Question) -> dict[str, Any]:
    """What of a question an act may change, as plain data."""
    found: dict[str, Any] = {"key": str(question.key)}
    for name in _KEPT:
        value = getattr(question, name)
        if name == "minutes":
            value = str(value)
        found[name] = value.isoformat() if hasattr(value, "isoformat") else value
    return found


def act_record(
    kind: str,
    question: Question,
    by: User,
    told: str,
    before: Iterable[dict[str, Any]],
    *,
    until: datetime | None = None,
    more: dict[str, Any] | None = None,
    **fields: Any,
) -> Act:
    """Keep what was done. ``until``: where letters wait for the same moment; ``more``: what undoing needs besides."""
    sitting = Sitting.objects.filter(by=by, ended_at__isnull=True).first()
    return Act.objects.create(
        kind=kind, question=question, by=by, sitting=sitting, told=told[:200], until=until or undo_until(),
        before={"questions": list(before), **(more or {})}, **fields,
    )  # fmt: skip


def waiting_row(question: Question) -> Question:
    """The question's row, locked. Raises CannotDo when it doesn't wait any more."""
    row = Question.objects.select_for_update().filter(pk=question.pk, state="waiting").first()
    if row is None:
        raise CannotDo("This question is settled already; the desk has moved on.")
    return row


def count_group(group_id: int | None) -> None:
    """The group's number of those that wait."""
    if group_id:
        count = Question.objects.filter(group_id=group_id, state="waiting").count()
        Group.objects.filter(pk=group_id).update(waiting=count)


@transaction.atomic
def act_undo(act: Act, *, by: User) -> Act:
    """What the act changed stands as before, within ten minutes and before any letter; all else stays. Raises CannotDo."""
    locked = Act.objects.select_for_update().get(pk=act.pk)
    if locked.taken_back_at:
        raise CannotDo("This was undone already.")
    if locked.until <= timezone.now() or not _letters_held(locked):
        raise CannotDo("Ten minutes are over: it has gone out. An answer can still be corrected.")
    names = _changed(locked)
    keys = [was["key"] for was in locked.before["questions"]]
    if _overlaid(locked, names, set(keys)):
        raise CannotDo("Something later changed the same; undo that first.")
    rows = {str(row.key): row for row in Question.objects.select_for_update().filter(key__in=keys)}
    pairs = [(rows[was["key"]], was) for was in locked.before["questions"] if was["key"] in rows]
    pairs = [(row, was) for row, was in pairs if _still_so(locked, row)]
    if not pairs:
        raise CannotDo("The member took this question back meanwhile.")
    groups: set[int | None] = set()
    for row, was in pairs:
        groups |= {row.group_id, *_restored(row, was, names)}
        if locked.kind == "answered" and row.pk == locked.question_id:
            row.answer_draft = locked.before.get("draft", "")
        row.save()
    for group in groups:
        count_group(group)
    _records_undo(locked)
    locked.taken_back_at = timezone.now()
    locked.save(update_fields=["taken_back_at"])
    _stand_at(locked, by)
    return locked


def _changed(act: Act) -> tuple[str, ...]:
    if act.kind == "sorted":
        return SORTED_COLUMNS.get(act.before.get("field", ""), ())
    return CHANGES[act.kind]


def _letters_held(act: Act) -> bool:
    """Whether nobody was told yet; what waits to be told is locked, so that it is told or undone and never both."""
    if act.answer_id:
        answer = Answer.objects.select_for_update().filter(pk=act.answer_id).first()
        return answer is not None and answer.told_at is None
    asides = SetAside.objects.select_for_update().filter(pk__in=_asides(act))
    return all(one.told_at is None for one in asides)


def _asides(act: Act) -> list[int]:
    return [*act.before.get("asides", []), *([act.before["aside"]] if "aside" in act.before else [])]


def _overlaid(act: Act, names: tuple[str, ...], keys: set[str]) -> bool:
    later = Act.objects.filter(pk__gt=act.pk, taken_back_at__isnull=True, question__isnull=False)
    for one in later.filter(made_at__gte=act.made_at).order_by("pk")[:500]:
        theirs = {was["key"] for was in one.before.get("questions", [])}
        if theirs & keys and set(_changed(one)) & set(names):
            return True
    return False


def _still_so(act: Act, row: Question) -> bool:
    """Whether the question stands where the act put it; somebody may have taken it back since."""
    if act.kind == "answered":
        return row.state == "answered" and row.answer_id == act.answer_id
    return row.state == "aside" if act.kind == "aside" else True


def _restored(row: Question, was: dict[str, Any], names: tuple[str, ...]) -> set[int | None]:
    for name in names:
        if name not in was:
            continue
        value = was[name]
        if name == "group_id" and value and not Group.objects.filter(pk=value).exists():
            value = None
        field = Question._meta.get_field(name.removesuffix("_id"))
        setattr(row, name, value if name.endswith("_id") else field.to_python(value))
    return {row.group_id}


def _records_undo(act: Act) -> None:
    more, now = act.before, timezone.now()
    if act.answer_id:
        Answer.objects.filter(pk=act.answer_id).update(taken_back_at=now)
    SetAside.objects.filter(pk__in=_asides(act)).update(taken_back_at=now)
    if "handed" in more:
        HandedOn.objects.filter(pk=more["handed"]).update(taken_back_at=now)
    if "correction" in more:
        Correction.objects.filter(pk=more["correction"]).delete()
    if "flag" in more:
        was = more["flag"]
        Screened.objects.filter(pk=was["pk"]).update(
            decision=was["decision"], reason=was["reason"], decided_by=was.get("by"), decided_at=was.get("at")
        )


def _stand_at(act: Act, by: User) -> None:
    """Back to the question that the act was about."""
    for sitting in Sitting.objects.filter(by=by, ended_at__isnull=True):
        sitting.passed = [key for key in sitting.passed if key != str(act.question.key)]
        sitting.current = act.question
        sitting.save(update_fields=["passed", "current"])
