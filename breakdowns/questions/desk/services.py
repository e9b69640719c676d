"""What is done at the desk. Everything leaves an Act with what stood before, and can be undone for ten minutes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.questions.answers.anonymising import hidden
from breakdowns.questions.answers.services import version_keep
from breakdowns.questions.asking.services import put_into_group
from breakdowns.questions.choices import choice
from breakdowns.questions.machine import answer_columns, rank_of, screen_text
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
    Snippet,
)
from breakdowns.questions.screening import advice
from breakdowns.scripts.services import clean_words

SORTED_FIELDS = ("topic", "minutes", "regions", "joints", "muscles")
_KEPT = ("state", "answer_id", "answered_at", "handed_to_id", "group_id", "group_kept_apart", "urgency",
         "urgency_rank", "topic", "regions", "joints", "muscles")  # fmt: skip


class CannotDo(ValueError):
    """Why something can't be done at the desk now, in one sentence."""


def undo_until() -> Any:
    return timezone.now() + timedelta(minutes=choice("undo_minutes"))


# --- the sitting ---------------------------------------------------------------------------------


@transaction.atomic
def sitting_start(by: User, minutes: int) -> Sitting:
    """A fresh clock; a sitting that was left open is ended where it stands."""
    User.objects.select_for_update().get(pk=by.pk)
    for open_one in Sitting.objects.filter(by=by, ended_at__isnull=True):
        sitting_end(open_one)
    return Sitting.objects.create(by=by, minutes=minutes)


def sitting_pause(sitting: Sitting) -> None:
    """Stop the clock, or let it go on."""
    if sitting.paused_at:
        sitting.paused_for += timezone.now() - sitting.paused_at
        sitting.paused_at = None
    else:
        sitting.paused_at = timezone.now()
    sitting.save(update_fields=["paused_at", "paused_for"])


@transaction.atomic
def sitting_end(sitting: Sitting) -> None:
    """The end. What was planned and not reached has been passed over once more, so that it weighs more."""
    if sitting.paused_at:
        sitting.paused_for += timezone.now() - sitting.paused_at
        sitting.paused_at = None
    sitting.ended_at = timezone.now()
    sitting.save(update_fields=["paused_at", "paused_for", "ended_at"])
    keys = [*sitting.planned, *sitting.left_over.get("keys", [])]
    Question.objects.filter(key__in=keys, state="waiting").update(
        times_passed_over=F("times_passed_over") + 1
    )


def draft_keep(key: UUID, text: str) -> None:
    """The answer as far as it is written."""
    Question.objects.filter(key=key, state="waiting").update(answer_draft=clean_words(text))


# --- acts and undoing them -----------------------------------------------------------------------


def _state(question: Question) -> dict[str, Any]:
    found: dict[str, Any] = {name: getattr(question, name) for name in _KEPT}
    found["answered_at"] = question.answered_at.isoformat() if question.answered_at else None
    return {"key": str(question.key), "minutes": str(question.minutes), **found}


def _act(
    kind: str, question: Question, by: User, told: str, before: Iterable[dict[str, Any]], **fields: Any
) -> Act:
    sitting = Sitting.objects.filter(by=by, ended_at__isnull=True).first()
    return Act.objects.create(
        kind=kind, question=question, by=by, sitting=sitting, told=told[:200], until=undo_until(),
        before={"questions": list(before), **fields.pop("more", {})}, **fields,
    )  # fmt: skip


def _waiting(question: Question) -> Question:
    row = Question.objects.select_for_update().filter(pk=question.pk, state="waiting").first()
    if row is None:
        raise CannotDo("This question is settled already; the desk has moved on.")
    return row


def _count_group(group_id: int | None) -> None:
    if group_id:
        count = Question.objects.filter(group_id=group_id, state="waiting").count()
        Group.objects.filter(pk=group_id).update(waiting=count)


@transaction.atomic
def question_answer(
    question: Question,
    *,
    by: User,
    text: str,
    everyone: bool,
    publish_as: str = "private",
    asked: str = "",
    note: str = "",
    cautions: Iterable[str] = (),
) -> Act:
    """Answer one question or all of its group. Letters leave when the ten minutes are over.

    ``publish_as`` other than private needs consent and the anonymised words. Raises CannotDo.
    """
    row, text = _waiting(question), clean_words(text).strip()
    if not text:
        raise CannotDo("Write the answer first.")
    rows = [row]
    if everyone and row.group_id:
        rows = list(Question.objects.select_for_update().filter(group_id=row.group_id, state="waiting"))
    if publish_as != Answer.Audience.PRIVATE:
        if not row.consent_to_publish:
            raise CannotDo("This member did not agree to a published answer; answer privately.")
        if not asked.strip() or not note.strip():
            raise CannotDo("Look through what would be published first: the question and the answer.")
    now = timezone.now()
    answer = Answer.objects.create(
        by=by, text=text, audience=publish_as, asked=clean_words(asked).strip(), note=clean_words(note).strip(),
        topic=row.topic, regions=row.regions, muscles=row.muscles, joints=row.joints, release=row.release,
        cautions=list(dict.fromkeys([*cautions, *_cautions(row, publish_as, asked)])),
        people=len({one.member_id for one in rows}), made_at=now, goes_at=undo_until(),
        **answer_columns(asked.strip() or row.text, note or text, row.regions),
    )  # fmt: skip
    version_keep(answer, by=by)
    before = [_state(one) for one in rows]
    Question.objects.filter(pk__in=[one.pk for one in rows]).update(
        state="answered", answer=answer, answered_at=now, answer_draft=""
    )
    _count_group(row.group_id)
    people = answer.people
    told = "Answered one person" if people == 1 else f"Answered {people} people"
    return _act("answered", row, by, told, before, answer=answer, people=people, more={"draft": text})


def _cautions(row: Question, publish_as: str, asked: str) -> list[str]:
    """What must stand by a published answer: the breakdown's cautions, and where to go when its question has signs."""
    if publish_as == Answer.Audience.PRIVATE:
        return []
    found = [str(line) for line in row.release.page.get("cautions", [])] if row.release else []
    screening = screen_text(asked)
    if screening.flags:
        said = advice(screening.urgency)
        found = [f"{said.title} {' '.join(said.lines)}", *found]
    return found


@transaction.atomic
def question_set_aside(question: Question, *, by: User, reason: str) -> Act:
    """Not to be answered here, with the reason that the member is told after the ten minutes."""
    row, reason = _waiting(question), clean_words(reason).strip()
    if not reason:
        raise CannotDo("Say why: the member is told.")
    aside = SetAside.objects.create(question=row, reason=reason[:400], by=by, goes_at=undo_until())
    Question.objects.filter(pk=row.pk).update(state="aside")
    _count_group(row.group_id)
    return _act("aside", row, by, "Set aside", [_state(row)], more={"aside": aside.pk})


@transaction.atomic
def question_hand_on(question: Question, *, by: User, to: User, word: str = "") -> Act:
    """To a colleague of the studio; it leaves one's own plan and stands in theirs."""
    row = _waiting(question)
    if not to.in_studio:
        raise CannotDo("Only somebody of the studio can take it over.")
    handed = HandedOn.objects.create(question=row, by=by, to=to, word=clean_words(word)[:400])
    Question.objects.filter(pk=row.pk).update(handed_to=to)
    return _act("handed", row, by, f"Handed on to {to}", [_state(row)], more={"handed": handed.pk})


@transaction.atomic
def flag_decide(flag: Screened, *, by: User, decision: str, reason: str) -> Act:
    """Keep or clear one flag, with a reason; the record stays. The question's urgency follows."""
    row, reason = Question.objects.select_for_update().get(pk=flag.question_id), clean_words(reason).strip()
    if decision not in ("kept", "cleared"):
        raise CannotDo("A flag is kept or cleared.")
    if not reason:
        raise CannotDo("Say in a few words why.")
    before = _state(row)
    was = {"pk": flag.pk, "decision": flag.decision, "reason": flag.reason}
    Screened.objects.filter(pk=flag.pk).update(
        decision=decision, reason=reason[:400], decided_by=by, decided_at=timezone.now()
    )
    standing = row.screened.exclude(decision="cleared").values_list("urgency", flat=True)
    worst = max(standing, key=rank_of, default="")
    Question.objects.filter(pk=row.pk).update(urgency=worst, urgency_rank=rank_of(worst))
    return _act("flag", row, by, f"Flag {decision}: {flag.name}", [before], more={"flag": was})


@transaction.atomic
def sorting_correct(question: Question, *, by: User, field: str, put: Any) -> Act | None:
    """A person knows better than the sorting: kept, and learnt from. None when nothing changes."""
    row = _waiting(question)
    if field not in SORTED_FIELDS:
        raise CannotDo("That can't be put right here.")
    said = getattr(row, field)
    said = float(said) if field == "minutes" else said
    if said == put:
        return None
    before = _state(row)
    correction = Correction.objects.create(question=row, field=field, said=said, put=put, by=by)
    Question.objects.filter(pk=row.pk).update(**{field: put})
    shown = ", ".join(put) if isinstance(put, list) else put
    return _act("sorted", row, by, f"{field}: {shown}", [before], more={"correction": correction.pk})


@transaction.atomic
def group_leave(question: Question, *, by: User) -> Act:
    """Out of its group: it asks something else. It is not grouped by the machine again."""
    row = _waiting(question)
    if not row.group_id:
        raise CannotDo("This question stands alone already.")
    before = _state(row)
    Question.objects.filter(pk=row.pk).update(group=None, group_kept_apart=True)
    _count_group(row.group_id)
    return _act("grouped", row, by, "Taken out of its group", [before])


@transaction.atomic
def group_join(question: Question, other: Question, *, by: User) -> Act:
    """Two questions that ask the same, into one group."""
    row, other = _waiting(question), _waiting(other)
    if row.pk == other.pk or (row.group_id and row.group_id == other.group_id):
        raise CannotDo("These two are together already.")
    before = [_state(row), _state(other)]
    old = other.group_id
    group = row.group or other.group or Group.objects.create()
    put_into_group([row, other], group)
    _count_group(old if old != group.pk else None)
    return _act("grouped", row, by, "Put together", before)


@transaction.atomic
def question_pass(question: Question, *, by: User) -> Act:
    """Not now: the next one, please. It waits on and weighs more the next time."""
    row = _waiting(question)
    sitting = Sitting.objects.filter(by=by, ended_at__isnull=True).first()
    if sitting and str(row.key) not in sitting.passed:
        sitting.passed = [*sitting.passed, str(row.key)]
        sitting.save(update_fields=["passed"])
    return _act("passed", row, by, "Passed over for now", [_state(row)])


@transaction.atomic
def act_undo(act: Act, *, by: User) -> Act:
    """Everything as it stood before, within ten minutes. Raises CannotDo."""
    locked = Act.objects.select_for_update().get(pk=act.pk)
    if locked.taken_back_at:
        raise CannotDo("This was undone already.")
    if locked.until <= timezone.now():
        raise CannotDo("Ten minutes are over: it has gone out. An answer can still be corrected.")
    groups = set()
    for was in locked.before["questions"]:
        row = Question.objects.select_for_update().get(key=was["key"])
        groups |= {row.group_id, was["group_id"]}
        if was["group_id"] and not Group.objects.filter(pk=was["group_id"]).exists():
            was["group_id"] = None
        for name in (*_KEPT, "minutes"):
            setattr(row, name, was[name])
        if locked.kind == "answered" and row.pk == locked.question_id:
            row.answer_draft = locked.before.get("draft", "")
        row.save()
    for group in groups:
        _count_group(group)
    now = timezone.now()
    _undo_records(locked, now)
    locked.taken_back_at = now
    locked.save(update_fields=["taken_back_at"])
    _stand_at(locked, by)
    return locked


def _undo_records(act: Act, now: Any) -> None:
    more = act.before
    if act.answer_id:
        Answer.objects.filter(pk=act.answer_id).update(taken_back_at=now)
    if "aside" in more:
        SetAside.objects.filter(pk=more["aside"]).update(taken_back_at=now)
    if "handed" in more:
        HandedOn.objects.filter(pk=more["handed"]).update(taken_back_at=now)
    if "correction" in more:
        Correction.objects.filter(pk=more["correction"]).delete()
    if "flag" in more:
        was = more["flag"]
        Screened.objects.filter(pk=was["pk"]).update(decision=was["decision"], reason=was["reason"])


def _stand_at(act: Act, by: User) -> None:
    """Back to the question that the act was about."""
    for sitting in Sitting.objects.filter(by=by, ended_at__isnull=True):
        sitting.passed = [key for key in sitting.passed if key != str(act.question.key)]
        sitting.current = act.question
        sitting.save(update_fields=["passed", "current"])


# --- words of one's own --------------------------------------------------------------------------


def snippet_keep(owner: User, name: str, text: str) -> Snippet:
    """Under its name; one that was there is replaced."""
    values = {"text": clean_words(text)}
    return Snippet.objects.update_or_create(owner=owner, name=name.strip(), defaults=values)[0]


def proposed_note(question: Question, answer: str, known: Iterable[str]) -> tuple[str, str]:
    """The question and the answer with everything hidden that may tell who asks; a person looks it through."""
    usual = frozenset(known)
    return hidden(question.text, usual), hidden(answer, usual)
