"""Reads of the desk: what waits, the plan of a sitting, and everything that stands around one question."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Count, Max, Min, Q, QuerySet, Sum
from django.utils import timezone

from breakdowns.footage.timebase import clock_label
from breakdowns.people.models import User
from breakdowns.publishing.models import Release
from breakdowns.questions.asking.forms import moment_label
from breakdowns.questions.choices import choice
from breakdowns.questions.machine import alike, topics
from breakdowns.questions.models import Act, Group, Question, Sitting, Snippet
from breakdowns.questions.planning import Weights, reserved, weight_table
from breakdowns.questions.promises.selectors import line, overdue, to_be_told, weights_now
from breakdowns.questions.selectors import Near, candidates, given, nearest

from .inserting.selectors import insert_of_moment
from .queue import Head, choose


def _mine(by: User) -> QuerySet[Question]:
    """What waits for this person: everything that was not handed to somebody else."""
    return Question.objects.filter(Q(handed_to__isnull=True) | Q(handed_to=by), state="waiting")


def considered(by: User) -> list[Any]:
    """What the plan chooses from: every urgent and every promised one, the oldest, and those of the largest groups."""
    most = choice("considered")
    mine = _mine(by).values_list(
        "id", "key", "member_id", "asked_at", "group_id", "urgency", "urgency_rank", "minutes",
        "times_passed_over", "promised_at", named=True,
    )  # fmt: skip
    urgent = mine.filter(urgency_rank__gt=0).order_by("-urgency_rank", "asked_at")[:most]
    promised = mine.filter(promised_at__isnull=False).order_by("promised_at")[:most]
    oldest = mine.order_by("asked_at")[:most]
    groups = list(Group.objects.filter(waiting__gt=1).order_by("-waiting").values_list("pk", flat=True)[:40])
    largest = mine.filter(group__in=groups).order_by("asked_at")[: 2 * most]
    return list({one.id: one for one in (*urgent, *promised, *oldest, *largest)}.values())


def heads(by: User) -> list[Head]:
    """One for each group or single question that waits, worth the people behind it."""
    together: dict[Any, list[Any]] = defaultdict(list)
    for one in considered(by):
        together[one.group_id or f"alone {one.id}"].append(one)
    return [_head(rows) for rows in together.values()]


def _head(rows: list[Any]) -> Head:
    rows.sort(key=lambda one: (-one.urgency_rank, one.asked_at))
    first = rows[0]
    return Head(
        key=str(first.key),
        asked_on=timezone.localtime(min(one.asked_at for one in rows)),
        people=len({one.member_id for one in rows}),
        urgency=first.urgency or None,
        rank=first.urgency_rank,
        minutes=Fraction(max(one.minutes for one in rows)),
        times_passed_over=max(one.times_passed_over for one in rows),
        questions=len(rows),
        promised_at=min((one.promised_at for one in rows if one.promised_at), default=None),
        group=first.group_id,
    )


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
    oldest = max((_days(head.asked_on) for head in left), default=0)
    count = max(0, whole.count - sum(head.questions for head in chosen))
    minutes = max(0.0, round(whole.minutes - float(sum(head.minutes for head in chosen)), 1))
    return Waits(count, oldest if count else 0, minutes if count else 0.0)


def _days(asked_on: date) -> int:
    day = asked_on.date() if isinstance(asked_on, datetime) else asked_on
    return (timezone.localdate() - day).days


def promises_of(by: User) -> dict[str, Any]:
    """What was promised: how many stand in line, whose day has passed, who has to be told that there is no answer."""
    weights = weights_now()
    late, told = overdue(by), to_be_told(by)
    return {
        "promised_weeks": float(weights.promised_weeks),
        "in_line": line().count(),
        "late": late.count(),
        "late_first": late.first(),
        "to_tell": told.count(),
        "to_tell_rows": list(told[:12]),
    }


def weights_shown() -> list[dict[str, Any]]:
    """Each weight with its value now, its unit, what it does and why."""
    now = weights_now()
    return [
        {"name": row.name.replace("_", " "), "value": float(getattr(now, row.name)), "unit": row.unit,
         "about": row.about, "source": row.source, "usual": float(row.value)}
        for row in weight_table()
    ]  # fmt: skip


def too_long_for(by: User, minutes: int) -> int:
    """How many of those that wait take longer than a sitting of so many minutes."""
    return _mine(by).filter(minutes__gt=Decimal(str(float(minutes / weights_now().effort)))).count()


def sitting_of(by: User) -> Sitting | None:
    return (
        Sitting.objects.filter(by=by, ended_at__isnull=True).select_related("by", "current__release").first()
    )


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
    too_long: list[Planned]
    seconds_left: int
    answered: int
    reached: int
    acts: list[Act]
    urgent: int
    why: str


def desk_of(sitting: Sitting) -> Desk:
    """Plan again with what is left, and keep the question that is open while it waits."""
    by, now, weights = sitting.by, timezone.now(), weights_now()
    waiting = heads(by)
    known = {head.key: head for head in waiting}
    usable = [head for head in waiting if head.key not in set(sitting.passed)]
    left = Fraction(max(0, int(sitting.left(now).total_seconds())), 60)
    kept = dict(sitting.left_over)
    current, open_head = _open(sitting, waiting)
    if current is None:
        first = choose(usable, left, weights, today=timezone.localdate(), reserved=_share(sitting, weights))
        if first.keys:
            open_head = known[first.keys[0]]
            current = Question.objects.select_related("release").get(key=open_head.key)
            kept |= {"opened": open_head.key, "why": first.why[open_head.key]}
            if open_head.key in first.oldest:
                kept["line"] = {**kept.get("line", {}), open_head.key: float(open_head.minutes)}
                sitting.left_over = kept
    others = [head for head in usable if head is not open_head]
    room = max(Fraction(0), left - (Fraction(open_head.minutes) if open_head else 0))
    chosen = choose(others, room, weights, today=timezone.localdate(), reserved=_share(sitting, weights))
    here = open_head.key if open_head else str(current.key) if current else ""
    doing = {*chosen.keys, here}
    later = [head for head in waiting if head.key not in doing]
    kept |= {
        "keys": [head.key for head in later][:200],
        "minutes": float(sum(head.minutes for head in later)),
    }
    _keep_plan(sitting, current, [*([here] if here else []), *chosen.keys], kept)
    acts = list(sitting.acts.filter(taken_back_at__isnull=True).select_related("question"))
    done = [act for act in acts if act.kind == Act.Kind.ANSWERED]
    too_long = [head for head in later if head.minutes * weights.effort > sitting.minutes]
    return Desk(
        sitting=sitting,
        question=current,
        planned=_planned(chosen.keys, known, chosen.why),
        left=waits_without(waits_of(by), [head for head in waiting if head.key in doing], later),
        too_long=_planned(
            [head.key for head in sorted(too_long, key=lambda head: head.asked_on)][:3], known, {}
        ),
        seconds_left=int(sitting.left(now).total_seconds()),
        answered=len(done),
        reached=sum(act.people for act in done),
        acts=undoable(acts),
        urgent=sum(1 for head in waiting if head.rank and head.key != here),
        why=kept.get("why", "") if kept.get("opened") == here else "",
    )


def _open(sitting: Sitting, waiting: list[Head]) -> tuple[Question | None, Head | None]:
    """The question that is open while it waits for this person, and the row that stands for it in the plan."""
    current = sitting.current
    if current is None or current.state != "waiting" or current.handed_to_id not in (None, sitting.by_id):
        return None, None
    key, group = str(current.key), current.group_id
    return current, next((one for one in waiting if one.key == key or (group and one.group == group)), None)


def _share(sitting: Sitting, weights: Weights) -> Fraction:
    """What of this sitting's share for the longest waiting is not used yet."""
    used = sum(
        Fraction(str(minutes)) * weights.effort
        for key, minutes in sitting.left_over.get("line", {}).items()
        if key not in sitting.passed
    )
    return max(Fraction(0), Fraction(reserved(sitting.minutes, weights), 10) - used)


def undoable(acts: Iterable[Act]) -> list[Act]:
    """The newest that can still be undone."""
    return [act for act in acts if act.until > timezone.now()][:3]


def _keep_plan(sitting: Sitting, current: Question | None, keys: list[str], kept: dict[str, Any]) -> None:
    if (sitting.planned, sitting.left_over, sitting.current) != (keys, kept, current):
        sitting.planned, sitting.left_over, sitting.current = keys, kept, current
        sitting.save(update_fields=["planned", "left_over", "current"])


def _planned(keys: Sequence[str], known: dict[str, Head], why: Mapping[str, str]) -> list[Planned]:
    rows = Question.objects.filter(key__in=list(keys)).values_list("key", "text")
    texts = {str(key): text for key, text in rows}
    return [
        Planned(
            key, texts.get(key, ""), float(known[key].minutes), known[key].people, why.get(key, ""),
            bool(known[key].rank),
        )
        for key in keys
    ]  # fmt: skip


def around(question: Question, by: User) -> dict[str, Any]:
    """What the page shows beside a question: earlier answers, its group, flags, sorting, colleagues."""
    read = {"fingerprint": question.fingerprint, "search_words": question.search_words}
    group = []
    if question.group_id:
        rows = Question.objects.filter(group=question.group_id, state="waiting").exclude(pk=question.pk)
        group = list(rows.order_by("asked_at")[:12])
    people = {question.member_id, *(one.member_id for one in group)}
    corrected = set(question.corrections.values_list("field", flat=True))
    return {
        "days": (timezone.now() - question.asked_at).days,
        "people": len(people),
        "group": group,
        "near": _near(question, read),
        "alike": [] if group else _alike(question),
        "flags": list(question.screened.select_related("decided_by")),
        "pictures": list(question.attachments.all()),
        "moment": moment_label(question.release, question.moment_frame) if question.release else "",
        "abouts": abouts(question),
        "moments": moments_of(question.release) if question.release else [],
        "proposed_about": question.about_is_proposed and "moment" not in corrected,
        "link": insert_of_moment(question.release, question.moment_frame) if question.release else None,
        "topics": topics(),
        "handed": question.handed_on.filter(taken_back_at__isnull=True).select_related("by").first(),
        "colleagues": list(User.objects.filter(~Q(role="reader"), is_active=True).exclude(pk=by.pk)),
        "snippets": list(Snippet.objects.filter(owner=by)[:30]),
        "before": question.follows.answer if question.follows_id else None,
        "corrected": corrected,
    }


def _near(question: Question, read: dict[str, Any]) -> list[tuple[Near, str]]:
    """Earlier answers, nearest first, each ``used`` in the draft, ``next`` for the key, or neither."""
    found = nearest(given(), read, limit=choice("answered_before"))
    used = {one.answer.pk for one in found if one.answer.text.strip() in question.answer_draft}
    following = next((one.answer.pk for one in found if one.answer.pk not in used), None)
    stands = {**dict.fromkeys(used, "used"), following: "next"}
    return [(one, stands.get(one.answer.pk, "")) for one in found]


def abouts(question: Question) -> list[tuple[str, str]]:
    """(slug, title) of breakdowns that a question may be about: the newest, and the one that it is said to be about."""
    rows = list(Release.objects.standing()[:30])
    if question.release and question.release not in rows:
        rows.append(question.release)
    return [(row.slug, row.page["title"]) for row in rows]


def moments_of(release: Release) -> list[tuple[str, str]]:
    """(time, first words) of each beat of a release's video."""
    rate = Fraction(release.page["rate"])
    return [
        (clock_label(beat["start_frame"] / rate, 0), (beat.get("heading") or beat.get("words", ""))[:60])
        for beat in release.page["beats"]
    ]


def _alike(question: Question) -> list[Question]:
    """Waiting questions near this one that a person may put together with it."""
    rows = Question.objects.filter(state="waiting").exclude(pk=question.pk)
    near = [
        pk
        for pk, score in alike(question.fingerprint, candidates(rows, question.search_words), 3)
        if score > 0.35
    ]
    return list(rows.filter(pk__in=near))
