"""The desk: minutes, one question at a time, and a form button for everything."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from breakdowns.people.access import studio_required
from breakdowns.people.models import User
from breakdowns.publishing.reading import safe_html
from breakdowns.questions.answers.anonymising import tellings
from breakdowns.questions.answers.services import tell_due
from breakdowns.questions.models import Act, Answer, Question, Screened, Settings, Sitting

from . import services
from .acts.services import CannotDo, act_undo
from .corrections import services as corrections
from .corrections.forms import put_moment, put_one, put_values
from .forms import LetGoForm, MinutesForm
from .inserting.selectors import inserts, usual_words
from .selectors import (
    around,
    desk_of,
    promises_of,
    sitting_of,
    too_long_for,
    undoable,
    waits_of,
    weights_shown,
)

MOST = 20_000


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def start(request: HttpRequest) -> HttpResponse:
    """“I have n minutes”: what waits is told first."""
    tell_due()
    form = MinutesForm(request.POST or None, initial=_usual_minutes())
    if request.method == "POST" and form.is_valid():
        services.sitting_start(request.user, form.cleaned_data["minutes"])
        return redirect("questions:sitting")
    return _start(request, form, LetGoForm(), status=422 if form.is_bound else 200)


def _usual_minutes() -> dict[str, int]:
    return {"minutes": Settings.now().minutes_preset}


def _start(request: HttpRequest, form: MinutesForm, letting_go: LetGoForm, status: int) -> HttpResponse:
    urgent = Question.objects.filter(state="waiting", urgency_rank__gt=0).order_by(
        "-urgency_rank", "asked_at"
    )
    acts = Act.objects.filter(by=request.user, taken_back_at__isnull=True, until__gt=timezone.now())
    context = {
        "form": form,
        "letting_go": letting_go,
        "waits": waits_of(request.user),
        "urgent": list(urgent[:10]),
        "open": sitting_of(request.user),
        "acts": undoable(acts.select_related("question")[:3]),
        "weights": weights_shown(),
        **promises_of(request.user),
    }
    return render(request, "questions/desk_start.html", context, status=status)


@studio_required
@never_cache
@require_GET
def sitting(request: HttpRequest) -> HttpResponse:
    """The question that is open, the minutes left, and what comes then."""
    tell_due()
    now = sitting_of(request.user)
    if now is None:
        return redirect("questions:desk")
    return _desk(request, now)


def _desk(
    request: HttpRequest,
    now: Sitting,
    *,
    fault: str = "",
    preview: dict[str, Any] | None = None,
    status: int = 200,
) -> HttpResponse:
    desk = desk_of(now)
    question = desk.question
    context = {"desk": desk, "fault": fault, "preview": preview, "said": request.POST, "most": MOST}
    if question:
        context |= {"question": question, **around(question, request.user)}
        typed = "answer" in request.POST and request.POST.get("key") == str(question.key)
        context["draft"] = request.POST["answer"] if typed else question.answer_draft
    template = "questions/_desk.html" if request.htmx else "questions/desk.html"
    return render(request, template, context, status=status)


Command = Callable[[HttpRequest, Sitting, Question], Any]


def _command(act: Command) -> Callable[..., HttpResponseBase]:
    """A command on the open question. The answer as far as it is typed is kept first, whatever happens."""

    @studio_required
    @require_POST
    @wraps(act)
    def view(request: HttpRequest, key: UUID) -> HttpResponse:
        question = get_object_or_404(Question.objects.exclude(state="draft"), key=key)
        now = sitting_of(request.user)
        if now is None:
            now = services.sitting_start(request.user, Settings.now().minutes_preset)
            Sitting.objects.filter(pk=now.pk).update(current=question)
        typed = request.POST.get("answer")
        if typed is not None and len(typed) > MOST:
            return _refused(
                request, f"An answer holds at most {MOST:,} characters; what you typed is still here."
            )
        if typed is not None:
            services.draft_keep(_uuid(request.POST.get("key")), typed)
        try:
            answered = act(request, now, question)
        except CannotDo as fault:
            return _refused(request, str(fault))
        if isinstance(answered, HttpResponse):
            return answered
        return _after(request)

    return view


def _after(request: HttpRequest) -> HttpResponse:
    if not request.htmx:
        return redirect("questions:sitting")
    now = sitting_of(request.user)
    request.POST = request.POST.__class__(mutable=True)
    return _desk(request, now) if now else redirect("questions:desk")


def _refused(request: HttpRequest, sentence: str) -> HttpResponse:
    now = sitting_of(request.user)
    if now is None:
        messages.error(request, sentence)
        return redirect("questions:desk")
    return _desk(request, now, fault=sentence, status=422)


@_command
def keep(request: HttpRequest, now: Sitting, question: Question) -> Any:
    """Only keep the draft; script wants no page for it."""
    if request.headers.get("X-Only-Keep"):
        return HttpResponse(status=204)
    return None


@_command
def preview(request: HttpRequest, now: Sitting, question: Question) -> Any:
    """The answer as it will be read; for a published one what may tell who asked, marked."""
    text = request.POST.get("answer", "")
    shown: dict[str, Any] = {}
    shown["html"] = safe_html(text)
    if "publish" in request.POST:
        usual = usual_words()
        asked, note = services.proposed_note(question, text, usual)
        asked, note = request.POST.get("asked") or asked, request.POST.get("note") or note
        shown |= {
            "asked": asked,
            "note": note,
            "found": [*tellings(question.text, usual), *tellings(text, usual)],
            "still": [*tellings(asked, usual), *tellings(note, usual)],
        }
    return _desk(request, now, preview=shown)


@_command
def answer(request: HttpRequest, now: Sitting, question: Question) -> Any:
    """To the whole group, or with ``one`` to this one; with ``publish`` also in the library, looked through."""
    publish = request.POST.get("publish_as", "") if "publish" in request.POST else "private"
    if publish not in Answer.Audience.values:
        raise CannotDo("Say for whom it is published: members or everybody.")
    services.question_answer(
        question,
        by=request.user,
        text=request.POST.get("answer", ""),
        everyone="one" not in request.POST,
        publish_as=publish,
        asked=request.POST.get("asked", ""),
        note=request.POST.get("note", ""),
    )


@_command
def set_aside(request: HttpRequest, now: Sitting, question: Question) -> Any:
    services.question_set_aside(question, by=request.user, reason=request.POST.get("reason", ""))


@_command
def hand_on(request: HttpRequest, now: Sitting, question: Question) -> Any:
    chosen = request.POST.get("to", "")
    to = User.objects.filter(pk=chosen, is_active=True).first() if chosen.isdecimal() else None
    if to is None:
        raise CannotDo("Say to whom it goes.")
    services.question_hand_on(question, by=request.user, to=to, word=request.POST.get("word", ""))


@_command
def flag(request: HttpRequest, now: Sitting, question: Question) -> Any:
    chosen = request.POST.get("clear") or request.POST.get("flag", "")
    row = Screened.objects.filter(question=question, pk=chosen).first() if chosen.isdecimal() else None
    if row is None:
        raise CannotDo("That flag is not of this question.")
    decision = "cleared" if "clear" in request.POST else "kept"
    services.flag_decide(
        row, by=request.user, decision=decision, reason=request.POST.get(f"flag_reason_{row.pk}", "")
    )


@_command
def put_right(request: HttpRequest, now: Sitting, question: Question) -> Any:
    """One thing by one button (``topic``, ``less``, ``more``, ``drop``, ``moment``), or with ``all`` whatever was typed."""
    said = request.POST
    if "all" in said:
        for field, put in put_values(said, question).items():
            corrections.sorting_correct(question, by=request.user, field=field, put=put)
        if "put_about" in said:
            release, frame = put_moment(said)
            corrections.moment_correct(question, by=request.user, release=release, frame=frame)
        return
    if "drop_moment" in said:
        corrections.moment_correct(question, by=request.user, release=None, frame=None)
        return
    field, put = put_one(said, question)
    corrections.sorting_correct(question, by=request.user, field=field, put=put)


@_command
def ungroup(request: HttpRequest, now: Sitting, question: Question) -> Any:
    other = Question.objects.filter(key=_uuid(request.POST.get("other")), group=question.group_id).first()
    corrections.group_leave(other or question, by=request.user)


@_command
def group(request: HttpRequest, now: Sitting, question: Question) -> Any:
    other = Question.objects.filter(key=_uuid(request.POST.get("other"))).exclude(state="draft").first()
    if other is None:
        raise CannotDo("The other question is not there any more.")
    corrections.group_join(question, other, by=request.user)


@_command
def start_from(request: HttpRequest, now: Sitting, question: Question) -> Any:
    """An earlier answer behind what is typed; nothing typed is lost."""
    found = Answer.objects.filter(key=_uuid(request.POST.get("from")), taken_back_at__isnull=True).first()
    if found is None:
        raise CannotDo("That answer is not there any more.")
    typed = request.POST.get("answer", "").rstrip()
    services.draft_keep(question.key, f"{typed}\n\n{found.text}".lstrip() if typed else found.text)


@_command
def pass_over(request: HttpRequest, now: Sitting, question: Question) -> Any:
    services.question_pass(question, by=request.user)
    Sitting.objects.filter(pk=now.pk).update(current=None)


@_command
def look_at(request: HttpRequest, now: Sitting, question: Question) -> Any:
    """Open this one now, out of turn."""
    Sitting.objects.filter(pk=now.pk).update(
        current=question, passed=[key for key in now.passed if key != str(question.key)]
    )
    if not request.htmx:
        return redirect("questions:sitting")
    return None


def _uuid(text: str | None) -> UUID:
    try:
        return UUID(text or "")
    except ValueError:
        return UUID(int=0)


@studio_required
@require_POST
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """One's own act, within ten minutes."""
    act = get_object_or_404(Act, pk=pk, by=request.user)
    try:
        act_undo(act, by=request.user)
    except CannotDo as fault:
        return _refused(request, str(fault))
    if sitting_of(request.user) is None:
        messages.success(request, f"Undone: {act.told}. It waits again.")
        return redirect((request.POST.get("back") == "ended" and act.sitting) or "questions:desk")
    return _after(request)


@studio_required
@require_POST
def let_go(request: HttpRequest) -> HttpResponse:
    """Tell those whose weeks are over without a promise that there will be no answer."""
    form = LetGoForm(request.POST)
    try:
        if not form.is_valid():
            raise CannotDo("Say why in at most 400 characters: the members are told.")
        act = services.let_go(request.user, form.cleaned_data["reason"])
        messages.success(request, f"{act.told}. The letters leave at {timezone.localtime(act.until):%H:%M}.")
    except CannotDo as fault:
        messages.error(request, str(fault))
        return _start(request, MinutesForm(initial=_usual_minutes()), form, status=422)
    return redirect("questions:desk")


@studio_required
@require_POST
def pause(request: HttpRequest) -> HttpResponse:
    if now := sitting_of(request.user):
        services.sitting_pause(now)
    return _after(request)


@studio_required
@require_POST
def end(request: HttpRequest) -> HttpResponse:
    """What was done and what is left, told honestly."""
    if now := sitting_of(request.user):
        services.sitting_end(now)
        return redirect("questions:ended", now.key)
    return redirect("questions:desk")


@studio_required
@never_cache
@require_GET
def ended(request: HttpRequest, key: UUID) -> HttpResponse:
    row = get_object_or_404(Sitting, key=key, by=request.user, ended_at__isnull=False)
    acts = list(row.acts.filter(taken_back_at__isnull=True).select_related("question"))
    answered = [act for act in acts if act.kind == Act.Kind.ANSWERED]
    context = {
        "sitting": row,
        "spent": round(row.spent().total_seconds() / 60, 1),
        "acts": acts,
        "now": timezone.now(),
        "too_long": too_long_for(request.user, row.minutes),
        "answered": len(answered),
        "reached": sum(act.people for act in answered),
        "waits": waits_of(request.user),
        **promises_of(request.user),
    }
    return render(request, "questions/ended.html", context)


@studio_required
@require_GET
def insert(request: HttpRequest) -> HttpResponse:
    """What fits some words: own snippets, entries, cautions, moments."""
    found = inserts(request.GET.get("q", ""), request.user)
    return render(
        request, "questions/_inserts.html", {"inserts": found, "wanted": request.GET.get("q", "").strip()}
    )
