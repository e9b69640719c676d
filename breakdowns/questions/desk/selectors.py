"""Reads of the desk: what waits, the plan of a sitting, and everything that stands around one question."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import Any

from django.db.models import Count, Max, Min, Q, QuerySet, Sum
from django.utils import timezone

from anatomy.lookup.index import index_of
from anatomy.vocabulary.naming import fold
from anatomy.vocabulary.selectors import current_vocabulary
from breakdowns.footage.timebase import clock_label
from breakdowns.people.models import User
from breakdowns.publishing.models import Release
from breakdowns.questions.asking.forms import moment_label
from breakdowns.questions.choices import choice
from breakdowns.questions.machine import alike, topics
from breakdowns.questions.models import Act, Group, Question, Settings, Sitting, Snippet
from breakdowns.questions.selectors import candidates, given, nearest

from .queue import Chosen, Head, choose


def _mine(by: User) -> QuerySet[Question]:
    """What waits for this person: everything that was not handed to somebody else."""
    return Question.objects.filter(Q(handed_to__isnull=True) | Q(handed_to=by), state="waiting")


def considered(by: User) -> list[Any]:
    """What the plan chooses from: every urgent one, the oldest, and those of the largest groups."""
    most = choice("considered")
    mine = _mine(by).values_list(
        "id", "key", "member_id", "asked_at", "group_id", "urgency", "urgency_rank", "minutes",
        "times_passed_over", named=True,
    )  # fmt: skip
    urgent = mine.filter(urgency_rank__gt=0).order_by("-urgency_rank", "asked_at")[:most]
    oldest = mine.order_by("asked_at")[:most]
    groups = list(Group.objects.filter(waiting__gt=1).order_by("-waiting").values_list("pk", flat=True)[:40])
    largest = mine.filter(group__in=groups).order_by("asked_at")[: 2 * most]
    return list({one.id: one for one in (*urgent, *oldest, *largest)}.values())


def heads(by: User) -> list[Head]:
    """One for each group or single question that waits, worth the people behind it."""
    together: dict[Any, list[Any]] = defaultdict(list)
    for one in considered(by):
        together[one.group_id or f"alone {one.id}"].append(one)
    found = []
    for rows in together.values():
        rows.sort(key=lambda one: (-one.urgency_rank, one.asked_at))
        first = rows[0]
        found.append(
            Head(
                key=str(first.key),
                asked_on=timezone.localtime(min(filter(None, (one.asked_at for one in rows)))).date(),
                people=len({one.member_id for one in rows}),
                urgency=first.urgency or None,
                rank=first.urgency_rank,
                minutes=float(first.minutes),
                times_passed_over=max(one.times_passed_over for one in rows),
                questions=len(rows),
            )
        )
    return found


@dataclass(frozen=True, slots=True)
class Waits:
    """What is told of all that waits: questions, days of the oldest, the minutes that would clear it."""

    count: int
    oldest_days: int
    minutes: float


def waits_of(by: User) -> Waits:
    """Of everything that waits, however much it is; a group takes the minutes of one answer."""
    mine = _mine(by).order_by()
    rows = mine.aggregate(
        count=Count("pk"), oldest=Min("asked_at"), alone=Sum("minutes", filter=Q(group__isnull=True))
    )
    groups = mine.filter(group__isnull=False).values("group").annotate(most=Max("minutes"))
    together = groups.aggregate(total=Sum("most"))["total"] if rows["count"] else 0
    days = (timezone.localdate() - timezone.localtime(rows["oldest"]).date()).days if rows["oldest"] else 0
    return Waits(rows["count"], days, round(float((rows["alone"] or 0) + (together or 0)), 1))


def waits_without(whole: Waits, chosen: list[Head], left: list[Head]) -> Waits:
    """What is left of the whole when these are done; ``left`` holds the oldest of what stays."""
    today = timezone.localdate()
    oldest = max(((today - head.asked_on).days for head in left), default=0)
    count = max(0, whole.count - sum(head.questions for head in chosen))
    minutes = max(0.0, round(whole.minutes - sum(head.minutes for head in chosen), 1))
    return Waits(count, oldest if count else 0, minutes if count else 0.0)


def sitting_of(by: User) -> Sitting | None:
    return Sitting.objects.filter(by=by, ended_at__isnull=True).select_related("current").first()


@dataclass(frozen=True, slots=True)
class Planned:
    """The rows of a plan: key, first words, minutes, people, why."""

    key: str
    text: str
    minutes: float
    people: int
    why: str
    flagged: bool


@dataclass(frozen=True, slots=True)
class Desk:
    """All that the page of one sitting shows."""

    sitting: Sitting
    question: Question | None
    planned: list[Planned]
    left: Waits
    seconds_left: int
    answered: int
    reached: int
    acts: list[Act]
    urgent: int
    why: str


def desk_of(sitting: Sitting) -> Desk:
    """Plan again with what is left, and keep the question that is open while it waits."""
    by, now = sitting.by, timezone.now()
    waiting = heads(by)
    known = {head.key: head for head in waiting}
    usable = [head for head in waiting if head.key not in set(sitting.passed) or head.rank]
    usable = [head for head in usable if head.key not in set(sitting.passed)]
    minutes = max(0.0, sitting.left(now).total_seconds() / 60)
    chosen = choose(usable, minutes, Settings.now().weights)
    current = sitting.current if sitting.current and sitting.current.state == "waiting" else None
    if current and current.handed_to_id not in (None, by.pk):
        current = None
    if current is None and chosen.keys:
        current = Question.objects.get(key=chosen.keys[0])
    _keep_plan(sitting, current, chosen, [head for head in waiting if head.key in set(chosen.left)])
    here = str(current.key) if current else ""
    acts = list(sitting.acts.filter(taken_back_at__isnull=True).select_related("question"))
    done = [act for act in acts if act.kind == Act.Kind.ANSWERED]
    left = [head for head in waiting if head.key not in {*chosen.keys, here}]
    return Desk(
        sitting=sitting,
        question=current,
        planned=_planned([key for key in chosen.keys if key != here], known, chosen),
        left=waits_without(
            waits_of(by), [head for head in waiting if head.key in {*chosen.keys, here}], left
        ),
        seconds_left=int(sitting.left(now).total_seconds()),
        answered=len(done),
        reached=sum(act.people for act in done),
        acts=[act for act in acts if act.until > now][:3],
        urgent=sum(1 for head in waiting if head.rank and head.key != here),
        why=chosen.why.get(here, ""),
    )


def _keep_plan(sitting: Sitting, current: Question | None, chosen: Chosen, left: list[Head]) -> None:
    keys = list(chosen.keys)
    told = {"keys": [head.key for head in left][:200], "minutes": chosen.left_minutes}
    if (sitting.planned, sitting.left_over, sitting.current) != (keys, told, current):
        sitting.planned, sitting.left_over, sitting.current = keys, told, current
        sitting.save(update_fields=["planned", "left_over", "current"])


def _planned(keys: list[str], known: dict[str, Head], chosen: Chosen) -> list[Planned]:
    texts = {str(key): text for key, text in Question.objects.filter(key__in=keys).values_list("key", "text")}
    return [
        Planned(
            key,
            texts.get(key, ""),
            known[key].minutes,
            known[key].people,
            chosen.why.get(key, ""),
            bool(known[key].rank),
        )
        for key in keys
    ]


def around(question: Question, by: User) -> dict[str, Any]:
    """What the page shows beside a question: earlier answers, its group, flags, sorting, colleagues."""
    read = {"fingerprint": question.fingerprint, "search_words": question.search_words}
    group = []
    if question.group_id:
        rows = Question.objects.filter(group=question.group_id, state="waiting").exclude(pk=question.pk)
        group = list(rows.order_by("asked_at")[:12])
    people = {question.member_id, *(one.member_id for one in group)}
    return {
        "days": (timezone.now() - question.asked_at).days,
        "people": len(people),
        "group": group,
        "near": nearest(given(), read, limit=choice("answered_before")) if question.fingerprint else [],
        "alike": [] if group else _alike(question),
        "flags": list(question.screened.select_related("decided_by")),
        "pictures": list(question.attachments.all()),
        "moment": moment_label(question.release, question.moment_frame) if question.release else "",
        "topics": topics(),
        "handed": question.handed_on.filter(taken_back_at__isnull=True).select_related("by").first(),
        "colleagues": list(User.objects.filter(~Q(role="reader"), is_active=True).exclude(pk=by.pk)),
        "snippets": list(Snippet.objects.filter(owner=by)[:30]),
        "before": question.follows.answer if question.follows_id else None,
        "corrected": set(question.corrections.values_list("field", flat=True)),
    }


def _alike(question: Question) -> list[Question]:
    """Waiting questions near this one that a person may put together with it."""
    rows = Question.objects.filter(state="waiting").exclude(pk=question.pk)
    near = [
        pk
        for pk, score in alike(question.fingerprint, candidates(rows, question.search_words), 3)
        if score > 0.35
    ]
    return list(rows.filter(pk__in=near))


# --- quick insert --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Insert:
    """Something to put into an answer: what kind, its name, and the Markdown."""

    kind: str
    name: str
    text: str


def inserts(wanted: str, by: User) -> list[Insert]:
    """Own snippets, vocabulary entries, cautions and moments of releases that fit some words, few of each."""
    wanted = wanted.strip()[:100]
    if not wanted:
        return []
    folded = fold(wanted)
    own = Snippet.objects.filter(owner=by, name__icontains=wanted)[:4]
    found = [Insert("own words", one.name, one.text) for one in own]
    vocabulary = current_vocabulary()
    for hit in index_of(vocabulary).search(wanted)[:5]:
        found.append(Insert(hit.kind, hit.name, f"*{hit.name}*"))
    for release in Release.objects.standing()[:40]:
        found += _of_release(release, folded)
    return found[:14]


def _of_release(release: Release, folded: str) -> list[Insert]:
    page, found = release.page, []
    for line in page.get("cautions", []):
        if folded in fold(line):
            found.append(Insert("caution", line, f"> {line}"))
    rate = Fraction(page["rate"])
    for beat in page["beats"]:
        if folded in fold(f"{beat.get('heading', '')} {beat.get('words', '')}"):
            at = clock_label(beat["start_frame"] / rate, 0)
            name = f"{page['title']}, {at}"
            found.append(Insert("moment", name, f"[{name}](/read/{release.slug}/#at-{beat['start_frame']})"))
    return found[:3]


def usual_words() -> frozenset[str]:
    """Words of the vocabulary, lower case: a capital in them names nobody."""
    vocabulary = current_vocabulary()
    kinds = ("muscle", "joint", "structure", "motion", "nerve")
    return frozenset(
        word for kind in kinds for name in vocabulary.names(kind) for word in name.casefold().split()
    )


def undo_left(act: Act) -> timedelta:
    return max(timedelta(0), act.until - timezone.now())
