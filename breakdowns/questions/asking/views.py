"""Asking: the form, drafts that are never lost, the page that says where to go now, one's own questions."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import wraps
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseNotAllowed,
    JsonResponse,
)
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from breakdowns.footage.views import send_file
from breakdowns.people.access import member_required, signed_in_required
from breakdowns.publishing.models import Release
from breakdowns.publishing.reading import safe_html
from breakdowns.questions.answers.services import (
    answer_seen,
    answer_thank,
    follow_up_draft,
    may_follow_up,
    tell_due,
)
from breakdowns.questions.choices import choice
from breakdowns.questions.machine import rank_of
from breakdowns.questions.models import Answer, Attachment, Question, Settings
from breakdowns.questions.promises.selectors import told_by
from breakdowns.questions.screening import URGENCIES, advice
from breakdowns.questions.selectors import asked_this_month, draft_of, likely_answers, own_questions

from .forms import FollowUpForm, QuestionForm, moment_label
from .pictures import PictureRefused
from .services import (
    CannotAsk,
    attachment_remove,
    draft_keep,
    picture_attach,
    question_send,
    question_withdraw,
)

TYPED = "typed_question"


def keeps_what_was_typed(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """A form sent after the session ended: its words wait in the new one until the person is back."""

    @wraps(view)
    def careful(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method == "POST" and not request.user.is_authenticated:
            typed = {
                name: request.POST.get(name, "") for name in ("text", "body_part", "since_when", "tried")
            }
            if typed["text"].strip() and len(typed["text"]) <= choice("most_signs"):
                request.session[TYPED] = {
                    name: words[: choice("most_signs")] for name, words in typed.items()
                }
        return view(request, *args, **kwargs)

    return careful


def _about(request: HttpRequest, draft: Question | None) -> tuple[Release | None, int | None]:
    """The release and its frame that the question is about: of the address, else of the draft."""
    release = Release.objects.standing().filter(slug=request.GET.get("about", "-")).first()
    if release is None:
        return (draft.release, draft.moment_frame) if draft and "about" not in request.GET else (None, None)
    rate, at = Fraction(release.page["rate"]), request.GET.get("frame", "")
    frame = int(at[:9]) if at.isdecimal() else None
    if frame is not None and frame >= release.page.get("frame_count", 10 * 3600 * rate):
        frame = None
    return release, frame


def _ask_page(
    request: HttpRequest,
    form: QuestionForm,
    draft: Question | None,
    *,
    looked: bool = False,
    status: int = 200,
) -> HttpResponse:
    chosen = Settings.now()
    release, frame = _about(request, draft)
    text = str(form["text"].value() or "")
    context = {
        "form": form,
        "draft": draft,
        "pictures": list(draft.attachments.all()) if draft else [],
        "release": release,
        "moment": moment_label(release, frame) if release else "",
        "looked": looked,
        "near": likely_answers(text) if looked else [],
        "own_words": safe_html(chosen.asking_words) if chosen.asking_words else "",
        "left": max(0, chosen.monthly_limit - asked_this_month(request.user)),
        "limit": chosen.monthly_limit,
        "most_signs": choice("most_signs"),
    }
    return render(request, "questions/ask.html", context, status=status)


def _initial(request: HttpRequest, draft: Question | None) -> dict[str, Any]:
    release, frame = _about(request, draft)
    values = {"about": release.slug if release else "", "frame": frame}
    if draft:
        names = ("text", "body_part", "since_when", "tried", "consent_to_publish")
        values |= {name: getattr(draft, name) for name in names}
    return values


@keeps_what_was_typed
@member_required
@never_cache
@require_http_methods(["GET", "POST"])
def ask(request: HttpRequest) -> HttpResponse:
    """The form. Whatever button is pressed, the draft is kept first."""
    if typed := request.session.pop(TYPED, None):
        draft_keep(request.user, typed)
        messages.success(request, "You were signed out meanwhile. What you had typed is here again.")
    draft = draft_of(request.user)
    if request.method == "GET":
        return _ask_page(request, QuestionForm(initial=_initial(request, draft)), draft)
    form = QuestionForm(request.POST, request.FILES)
    valid = form.is_valid()
    draft = draft_keep(request.user, form.values())
    for picture in getattr(form.fields["pictures"], "made", []):
        try:
            picture_attach(draft, picture)
        except PictureRefused as fault:
            form.add_error("pictures", str(fault))
            valid = False
            break
    if not valid:
        return _ask_page(request, form, draft, status=422)
    if "send" not in request.POST:
        shown = QuestionForm(initial=_initial(request, draft))
        return _ask_page(request, shown, draft, looked="look" in request.POST)
    try:
        question = question_send(draft)
    except CannotAsk as fault:
        form.add_error(None, str(fault))
        return _ask_page(request, form, draft, status=422)
    if question.is_flagged:
        return redirect("questions:urgent", question.key)
    messages.success(request, "Sent. You are told here and by e-mail when it is answered.")
    return redirect(question)


@keeps_what_was_typed
@member_required
@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    """The draft, kept while it is typed."""
    form = QuestionForm(request.POST)
    form.is_valid()
    draft_keep(request.user, form.values())
    return JsonResponse({"kept": timezone.localtime().strftime("%H:%M")})


@member_required
@require_POST
def likely(request: HttpRequest) -> HttpResponse:
    """Answers in the library that may be the one wanted, and where to go when the words say it can't wait."""
    text = request.POST.get("text", "")
    return render(
        request, "questions/_likely.html", {"near": likely_answers(text), "looked": bool(text.strip())}
    )


@member_required
@require_POST
def attachment_drop(request: HttpRequest, key: UUID) -> HttpResponse:
    attachment = get_object_or_404(
        Attachment, key=key, question__member=request.user, question__state="draft"
    )
    attachment_remove(attachment)
    return redirect("questions:ask")


@signed_in_required
@require_safe
def attachment(request: HttpRequest, key: UUID) -> HttpResponseBase:
    """A picture, for who attached it and for the studio."""
    found = get_object_or_404(Attachment.objects.select_related("question"), key=key)
    if found.question.member_id != request.user.pk and not (
        request.user.in_studio and found.question.state != Question.State.DRAFT
    ):
        raise Http404
    path = Path(settings.MEDIA_ROOT) / found.file
    if not path.is_file():
        raise Http404
    response = send_file(request, path, "image/jpeg")
    response["Cache-Control"] = "private, no-store"
    return response


# --- one's own -----------------------------------------------------------------------------------


def _own(request: HttpRequest, key: UUID) -> Question:
    return get_object_or_404(own_questions(request.user), key=key)


@signed_in_required
@never_cache
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Everything that this person asked, newest first, fifty at a time."""
    tell_due()
    rows = own_questions(request.user)
    before = request.GET.get("before", "")
    if before.isdecimal():
        rows = rows.filter(pk__lt=int(before[:18]))
    page = list(rows[:51])
    context = {
        "questions": page[:50],
        "more": page[49].pk if len(page) > 50 else None,
        "draft": draft_of(request.user) if request.user.is_member else None,
    }
    return render(request, "questions/index.html", context)


@signed_in_required
@never_cache
@require_GET
def question(request: HttpRequest, key: UUID) -> HttpResponse:
    """One's own question, and its answer when it is out."""
    return _question_page(request, _own(request, key), FollowUpForm())


def _question_page(
    request: HttpRequest, row: Question, form: FollowUpForm, status: int = 200
) -> HttpResponse:
    out = row.answer_is_out
    if out:
        answer_seen(row)
    aside = row.set_aside.filter(taken_back_at__isnull=True, goes_at__lte=timezone.now()).first()
    corrections = row.answer.versions.filter(number__gt=1).exclude(what_changed="") if out else []
    context = {
        "question": row,
        "out": out,
        "words": safe_html(row.answer.text) if out else "",
        "aside": aside if row.state == "aside" else None,
        "told_by": told_by(row),
        "pictures": list(row.attachments.all()),
        "moment": moment_label(row.release, row.moment_frame) if row.release else "",
        "corrections": list(corrections),
        "flags": list(row.screened.exclude(decision="cleared")),
        "form": form,
        "may_follow": may_follow_up(row) and request.user.is_member,
        "before": row.follows,
        "after": Question.objects.filter(follows=row).exclude(state="draft").first(),
    }
    return render(request, "questions/question.html", context, status=status)


@signed_in_required
@never_cache
@require_GET
def urgent(request: HttpRequest, key: UUID) -> HttpResponse:
    """Where to go now, calmly: the worst flag first, then each sign with what was read."""
    row = _own(request, key)
    flags = sorted(row.screened.all(), key=lambda flag: -rank_of(flag.urgency))
    if not flags:
        return redirect(row)
    worst = flags[0].urgency
    context = {
        "question": row,
        "flags": flags,
        "urgency": worst,
        "now": worst == URGENCIES[0],
        "advice": advice(worst),
    }
    return render(request, "questions/urgent.html", context)


@signed_in_required
@require_POST
def thank(request: HttpRequest, key: UUID) -> HttpResponse:
    row = _own(request, key)
    if row.answer_is_out:
        answer_thank(row)
        messages.success(request, "Your thanks are passed on.")
    return redirect(row)


@member_required
@require_POST
def follow_up(request: HttpRequest, key: UUID) -> HttpResponse:
    """One more question about an answer; screened like every other."""
    row, form = _own(request, key), FollowUpForm(request.POST)
    if not may_follow_up(row):
        messages.error(request, "One more question goes with each answer, and it was asked already.")
        return redirect(row)
    if not form.is_valid():
        return _question_page(request, row, form, 422)
    sent = question_send(follow_up_draft(row, form.cleaned_data["text"]))
    if sent.is_flagged:
        return redirect("questions:urgent", sent.key)
    messages.success(request, "Sent.")
    return redirect(sent)


@signed_in_required
@require_POST
def take_back(request: HttpRequest, key: UUID) -> HttpResponse:
    row = _own(request, key)
    if question_withdraw(row):
        messages.success(request, "Taken back. Nobody will answer it.")
    else:
        messages.error(request, "It was answered meanwhile, so it can't be taken back.")
    return redirect(reverse("questions:index"))


@never_cache
def answer(request: HttpRequest, key: UUID) -> HttpResponse:
    """An answer of the library, for whom it stands there."""
    found, user = Answer.objects.select_related("release").filter(key=key).first(), request.user
    if found is None and not user.is_authenticated:
        return redirect(f"{reverse('people:sign_in')}?next={request.path}")
    if found is None:
        raise Http404
    member = user.is_authenticated and user.is_member
    standing = found.is_out and not found.withdrawn_at and found.audience != Answer.Audience.PRIVATE
    if not (standing and (member or found.audience == Answer.Audience.EVERYBODY)):
        if not user.is_authenticated:
            return redirect(f"{reverse('people:sign_in')}?next={request.path}")
        raise Http404
    if request.method not in ("GET", "HEAD"):
        return HttpResponseNotAllowed(["GET", "HEAD"])
    Answer.objects.filter(pk=found.pk).update(readers=found.readers + 1)
    corrections = found.versions.filter(number__gt=1).exclude(what_changed="")
    context = {"answer": found, "words": safe_html(found.note), "corrections": list(corrections)}
    return render(request, "questions/answer.html", context)
