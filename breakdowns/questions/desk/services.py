"""What is done at the desk. Everything leaves an Act with what stood before, and can be undone for ten minutes."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from breakdowns.people.models import User
from breakdowns.people.typed import clean_words
from breakdowns.questions.answers.anonymising import hidden
from breakdowns.questions.answers.services import version_keep
from breakdowns.questions.machine import answer_columns, rank_of, screen_text
from breakdowns.questions.models import (
    Act,
    Answer,
    HandedOn,
    Question,
    Screened,
    SetAside,
    Sitting,
    Snippet,
)
from breakdowns.questions.promises.selectors import to_be_told
from breakdowns.questions.promises.services import promise_give
from breakdowns.questions.screening import advice

from .acts.services import (
    CannotDo,
    act_record,
    count_group,
    state_of,
    undo_until,
    waiting_row,
)

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


# --- one question -------------------------------------------------------------------------------


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
    row, text = waiting_row(question), clean_words(text).strip()
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
    now, until = timezone.now(), undo_until()
    answer = Answer.objects.create(
        by=by, text=text, audience=publish_as, asked=clean_words(asked).strip(), note=clean_words(note).strip(),
        topic=row.topic, regions=row.regions, muscles=row.muscles, joints=row.joints, release=row.release,
        cautions=list(dict.fromkeys([*cautions, *_cautions(row, publish_as, asked)])),
        people=len({one.member_id for one in rows}), made_at=now, goes_at=until,
        **answer_columns(asked.strip() or row.text, note or text, row.regions),
    )  # fmt: skip
    version_keep(answer, by=by)
    before = [state_of(one) for one in rows]
    Question.objects.filter(pk__in=[one.pk for one in rows]).update(
        state="answered", answer=answer, answered_at=now, answer_draft=""
    )
    count_group(row.group_id)
    people = answer.people
    told = "Answered one person" if people == 1 else f"Answered {people} people"
    return act_record(
        "answered", row, by, told, before, answer=answer, people=people, until=until, more={"draft": text}
    )


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
    row, reason = waiting_row(question), clean_words(reason).strip()
    if not reason:
        raise CannotDo("Say why: the member is told.")
    until = undo_until()
    aside = SetAside.objects.create(question=row, reason=reason[:400], by=by, goes_at=until)
    Question.objects.filter(pk=row.pk).update(state="aside")
    count_group(row.group_id)
    return act_record("aside", row, by, "Set aside", [state_of(row)], until=until, more={"aside": aside.pk})


@transaction.atomic
def let_go(by: User, reason: str) -> Act:
    """Tell those whose weeks are over without a promise that there will be no answer; the oldest 200 at a time."""
    reason = clean_words(reason).strip()
    if not reason:
        raise CannotDo("Say why: the members are told.")
    rows = list(to_be_told(by).select_for_update(of=("self",))[:200])
    if not rows:
        raise CannotDo("Nobody has waited that long without a promise.")
    until = undo_until()
    asides = [
        SetAside.objects.create(question=row, reason=reason[:400], by=by, goes_at=until) for row in rows
    ]
    before = [state_of(row) for row in rows]
    Question.objects.filter(pk__in=[row.pk for row in rows]).update(state="aside")
    for group in {row.group_id for row in rows}:
        count_group(group)
    whom = "one" if len(rows) == 1 else str(len(rows))
    told = f"Told {whom} that there will be no answer"
    return act_record(
        "aside", rows[0], by, told, before, until=until, more={"asides": [one.pk for one in asides]}
    )


@transaction.atomic
def question_hand_on(question: Question, *, by: User, to: User, word: str = "") -> Act:
    """To a colleague of the studio; it leaves one's own plan and stands in theirs."""
    row = waiting_row(question)
    if not to.in_studio:
        raise CannotDo("Only somebody of the studio can take it over.")
    handed = HandedOn.objects.create(question=row, by=by, to=to, word=clean_words(word)[:400])
    Question.objects.filter(pk=row.pk).update(handed_to=to)
    return act_record("handed", row, by, f"Handed on to {to}", [state_of(row)], more={"handed": handed.pk})


@transaction.atomic
def flag_decide(flag: Screened, *, by: User, decision: str, reason: str) -> Act:
    """Keep or clear one flag, with a reason; the record stays. The question's urgency follows."""
    row, reason = Question.objects.select_for_update().get(pk=flag.question_id), clean_words(reason).strip()
    if decision not in ("kept", "cleared"):
        raise CannotDo("A flag is kept or cleared.")
    if not reason:
        raise CannotDo("Say in a few words why.")
    before = state_of(row)
    was = {"pk": flag.pk, "decision": flag.decision, "reason": flag.reason, "by": flag.decided_by_id}
    was["at"] = flag.decided_at.isoformat() if flag.decided_at else None
    Screened.objects.filter(pk=flag.pk).update(
        decision=decision, reason=reason[:400], decided_by=by, decided_at=timezone.now()
    )
    standing = row.screened.exclude(decision="cleared").values_list("urgency", flat=True)
    worst = max(standing, key=rank_of, default="")
    Question.objects.filter(pk=row.pk).update(urgency=worst, urgency_rank=rank_of(worst))
    if not worst:
        promise_give(row)
    return act_record("flag", row, by, f"Flag {decision}: {flag.name}", [before], more={"flag": was})


@transaction.atomic
def question_pass(question: Question, *, by: User) -> Act:
    """Not now: the next one, please. It waits on and weighs more the next time."""
    row = waiting_row(question)
    sitting = Sitting.objects.filter(by=by, ended_at__isnull=True).first()
    if sitting and str(row.key) not in sitting.passed:
        sitting.passed = [*sitting.passed, str(row.key)]
        sitting.save(update_fields=["passed"])
    return act_record("passed", row, by, "Passed over for now", [state_of(row)])


# --- words of one's own --------------------------------------------------------------------------


def snippet_keep(owner: User, name: str, text: str) -> Snippet:
    """Under its name; one that was there is replaced."""
    values = {"text": clean_words(text)}
    return Snippet.objects.update_or_create(owner=owner, name=name.strip(), defaults=values)[0]


def proposed_note(question: Question, answer: str, known: Iterable[str]) -> tuple[str, str]:
    """The question and the answer with everything hidden that may tell who asks; a person looks it through."""
    usual = frozenset(known)
    return hidden(question.text, usual), hidden(answer, usual)
