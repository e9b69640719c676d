from __future__ import annotations

import json
from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from breakdowns.people.access import studio_required
from breakdowns.people.typed import clean_words

from . import services
from .forms import AnswerForm, NewForm, SettingsForm, SettleForm, TranscriptForm, WordsForm
from .models import Beat, Breakdown, SetAside
from .page.selectors import script_of, who_is_here
from .pictures.forms import PictureForm
from .selectors import beats_of, breakdown_rows
from .services import Saved, ScriptError
from .transcripts import TranscriptError, cut_at_pauses, read_transcript


def _find(slug: str) -> Breakdown:
    return get_object_or_404(Breakdown.objects.select_related("voice"), slug=slug)


# --- whole pages ---------------------------------------------------------------------------------


@studio_required
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    return render(request, "scripts/index.html", {"rows": breakdown_rows(), "form": NewForm()})


@studio_required
@require_http_methods(["GET", "POST"])
def create(request: HttpRequest) -> HttpResponse:
    form = NewForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        breakdown = services.breakdown_create(by=request.user, **form.cleaned_data)
        return redirect(breakdown)
    status = 422 if form.is_bound else 200
    return render(request, "scripts/create.html", {"form": form}, status=status)


@studio_required
@never_cache
@require_GET
def script(request: HttpRequest, slug: str) -> HttpResponse:
    breakdown = _find(slug)
    context = {
        "page": script_of(breakdown, user=request.user),
        "others": who_is_here(breakdown, request.user),
    }
    return render(request, "scripts/script.html", context)


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def settings(request: HttpRequest, slug: str) -> HttpResponse:
    breakdown = _find(slug)
    form = SettingsForm(request.POST or None, instance=breakdown)
    if request.method == "POST" and form.is_valid():
        services.breakdown_settings_save(_find(slug), by=request.user, **form.values())
        return redirect(breakdown)
    context = {"form": form, "breakdown": _find(slug)}
    return render(request, "scripts/settings.html", context, status=422 if form.is_bound else 200)


@studio_required
@require_GET
def prompter(request: HttpRequest, slug: str) -> HttpResponse:
    return render(request, "scripts/prompter.html", {"page": script_of(_find(slug), notes=False)})


@studio_required
@require_GET
def print_sheet(request: HttpRequest, slug: str) -> HttpResponse:
    return render(request, "scripts/print.html", {"page": script_of(_find(slug), notes=False)})


@studio_required
@require_http_methods(["GET", "POST"])
def import_transcript(request: HttpRequest, slug: str) -> HttpResponse:
    """First the beats that the transcript would become, then, with ``take`` in the form, the beats."""
    breakdown, rows, faults, remarks = _find(slug), [], [], ()
    form = TranscriptForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            transcript = read_transcript(form.cleaned_data.get("bytes") or form.cleaned_data["text"])
            rows, remarks = cut_at_pauses(transcript, form.cleaned_data["pause"]), transcript.remarks
        except TranscriptError as fault:
            faults = [str(fault)]
        if rows and "take" in request.POST:
            services.beats_take_over(
                breakdown, [(row.words, row.spoken_ms, row.word_times) for row in rows], by=request.user
            )
            return redirect(breakdown)
    context = {"breakdown": breakdown, "form": form, "rows": rows, "faults": faults, "remarks": remarks}
    status = 422 if faults or (form.is_bound and not form.is_valid()) else 200
    return render(request, "scripts/import.html", context, status=status)


# --- pieces of the script page -------------------------------------------------------------------


@studio_required
@never_cache
@require_GET
def margin(request: HttpRequest, slug: str) -> HttpResponse:
    """All notes as they stand now; without script the page that they are part of."""
    breakdown = _find(slug)
    if not request.htmx:
        return redirect(breakdown)
    return render(request, "scripts/_margins.html", {"page": script_of(breakdown, user=request.user)})


@studio_required
@never_cache
@require_GET
def here(request: HttpRequest, slug: str) -> HttpResponse:
    """When the script changed last and who else has it open."""
    breakdown = _find(slug)
    context = {"breakdown": breakdown, "others": who_is_here(breakdown, request.user)}
    return render(request, "scripts/_here.html", {**context, "seen": request.GET.get("seen", "")})


def _whole(
    request: HttpRequest, breakdown: Breakdown, beat: Beat | None, part: str = "words"
) -> HttpResponse:
    """After a command: the desk afresh with the cursor in the beat; without script the page at it."""
    if not request.htmx:
        anchor = f"#beat-{beat.key}" if beat else ""
        return redirect(f"{breakdown.get_absolute_url()}{anchor}")
    context = {
        "page": script_of(_find(breakdown.slug), user=request.user),
        "others": who_is_here(breakdown, request.user),
    }
    response = render(request, "scripts/_desk.html", context)
    response["HX-Retarget"], response["HX-Reswap"] = "#desk", "outerHTML"
    if beat is not None:
        told = {"beat-focus": {"key": str(beat.key), "part": part}}
        response["HX-Trigger-After-Settle"] = json.dumps(told)
    return response


def _refused(request: HttpRequest, breakdown: Breakdown, sentence: str) -> HttpResponse:
    if not request.htmx:
        messages.error(request, sentence)
        return redirect(breakdown)
    response = render(request, "scripts/_refused.html", {"sentence": sentence}, status=422)
    response["HX-Retarget"], response["HX-Reswap"] = "#refused", "innerHTML"
    return response


def _words_answer(request: HttpRequest, breakdown: Breakdown, key: UUID, saved: Saved) -> HttpResponse:
    """What a save of words changes on the page, all of it beside the textarea; 409 in a conflict."""
    page = script_of(_find(breakdown.slug), notes=False, user=request.user)
    context = {"page": page, "row": page.row(key), "saved": saved, "key": key}
    status = 409 if saved.outcome == "conflict" else 200
    if not request.htmx:
        if status == 409:
            return render(request, "scripts/conflict.html", context, status=409)
        if saved.outcome == "merged":
            messages.success(
                request, "Somebody else changed other words of this beat; both changes are kept."
            )
        return redirect(f"{breakdown.get_absolute_url()}#beat-{key}")
    context["others"] = who_is_here(breakdown, request.user)
    response = render(request, "scripts/_saved.html", context, status=status)
    response["HX-Trigger"] = "script-changed"
    return response


def _save_words(request: HttpRequest, breakdown: Breakdown, key: UUID, form: WordsForm) -> Saved:
    base = form.cleaned_data["base_words"] if "base_words" in request.POST else None
    return services.beat_words_save(
        breakdown,
        key,
        form.cleaned_data["words"],
        base_version=form.cleaned_data["base_version"],
        base_words=base,
        by=request.user,
    )


@studio_required
@require_POST
def beat_save(request: HttpRequest, slug: str, key: UUID) -> HttpResponse:
    breakdown, form = _find(slug), WordsForm(request.POST)
    if not form.is_valid():
        return _refused(request, breakdown, _first_fault(form))
    return _words_answer(request, breakdown, key, _save_words(request, breakdown, key, form))


def _first_fault(form: Any) -> str:
    name, faults = next(iter(form.errors.items()))
    return f"{name.replace('_', ' ')}: {faults[0]}"


Act = Callable[[HttpRequest, Breakdown, UUID | None, dict[str, Any]], Beat | None]


def _command(act: Act) -> Callable[..., HttpResponseBase]:
    """A command on a beat. The words that came with it are saved first; a conflict stops it."""

    @studio_required
    @require_POST
    @wraps(act)
    def view(request: HttpRequest, slug: str, key: UUID | None = None) -> HttpResponse:
        breakdown, data = _find(slug), {}
        if "words" in request.POST and key is not None:
            form = WordsForm(request.POST)
            if not form.is_valid():
                return _refused(request, breakdown, _first_fault(form))
            saved, data = _save_words(request, breakdown, key, form), form.cleaned_data
            if saved.outcome == "conflict":
                return _words_answer(request, breakdown, key, saved)
        try:
            beat = act(request, breakdown, key, data)
        except ScriptError as fault:
            return _refused(request, breakdown, str(fault))
        return _whole(request, breakdown, beat)

    return view


@_command
def beat_insert(request: HttpRequest, breakdown: Breakdown, key: UUID | None, data: dict) -> Beat | None:
    return services.beat_insert(breakdown, after=key, by=request.user)


@_command
def beat_move(request: HttpRequest, breakdown: Breakdown, key: UUID, data: dict) -> Beat | None:
    """``by`` −1 or 1 for a step, else ``to``, the place counted from 1."""
    step, to = request.POST.get("by", ""), request.POST.get("to", "")
    if step in ("-1", "1"):
        beat = get_object_or_404(Beat, breakdown=breakdown, key=key)
        return services.beat_move(breakdown, key, beat.position + int(step), by=request.user)
    if not to.isdecimal():
        raise ScriptError("Say where the beat goes: its new number.")
    return services.beat_move(breakdown, key, int(to[:6]) - 1, by=request.user)


@_command
def beat_delete(request: HttpRequest, breakdown: Breakdown, key: UUID, data: dict) -> Beat | None:
    return services.beat_delete(breakdown, key, by=request.user)


@_command
def beat_split(request: HttpRequest, breakdown: Breakdown, key: UUID, data: dict) -> Beat | None:
    return services.beat_split(breakdown, key, data.get("at"), by=request.user)


@_command
def beat_join(request: HttpRequest, breakdown: Breakdown, key: UUID, data: dict) -> Beat | None:
    return services.beat_join(breakdown, key, by=request.user)


@_command
def beat_duplicate(request: HttpRequest, breakdown: Breakdown, key: UUID, data: dict) -> Beat | None:
    return services.beat_duplicate(breakdown, key, by=request.user)


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def beat_picture(request: HttpRequest, slug: str, key: UUID) -> HttpResponse:
    breakdown = _find(slug)
    beat = get_object_or_404(beats_of(breakdown), key=key)
    form = PictureForm(request.POST if request.method == "POST" else None, beat=beat)
    only_show = "show" in request.POST
    if request.method == "POST" and form.is_valid() and not only_show:
        beat = services.beat_picture_save(breakdown, key, by=request.user, **form.values())
        return _whole(request, breakdown, beat, "picture")
    template = "scripts/_picture_form.html" if request.htmx else "scripts/picture.html"
    context = {"breakdown": breakdown, "beat": beat, "form": form}
    faulty = form.is_bound and not (only_show and form.is_valid())
    return render(request, template, context, status=422 if faulty else 200)


@studio_required
@require_POST
def undo(request: HttpRequest, slug: str) -> HttpResponse:
    return _back_or_forth(request, _find(slug), services.revision_undo)


@studio_required
@require_POST
def redo(request: HttpRequest, slug: str) -> HttpResponse:
    return _back_or_forth(request, _find(slug), services.revision_redo)


def _back_or_forth(request: HttpRequest, breakdown: Breakdown, turn: Callable[..., Any]) -> HttpResponse:
    try:
        turn(breakdown, by=request.user)
    except ScriptError as fault:
        return _refused(request, breakdown, str(fault))
    at = breakdown.beats.filter(key=key).first() if (key := _key(request.POST.get("beat", ""))) else None
    return _whole(request, breakdown, at)


def _key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


@studio_required
@require_POST
def settle(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Choose between words set aside and the beat's own."""
    breakdown = _find(slug)
    entry, form = get_object_or_404(SetAside, breakdown=breakdown, pk=pk), SettleForm(request.POST)
    if not form.is_valid():
        return _refused(request, breakdown, _first_fault(form))
    saved = services.set_aside_settle(entry, **form.cleaned_data, by=request.user)
    if saved.outcome == "conflict":
        return _words_answer(request, breakdown, entry.beat_key, saved)
    return _whole(request, breakdown, saved.beat)


# --- notes ---------------------------------------------------------------------------------------


@studio_required
@require_POST
def note_action(request: HttpRequest, slug: str) -> HttpResponse:
    """Carry out what a note proposes, as the note stands now: the page sends only which."""
    breakdown = _find(slug)
    try:
        number = request.POST.get("action", "0")
        beat = services.note_act(breakdown, request.POST.get("note", ""), number, by=request.user)
    except ScriptError as fault:
        return _refused(request, breakdown, str(fault))
    return _whole(request, breakdown, beat)


@studio_required
@require_POST
def note_answer(request: HttpRequest, slug: str) -> HttpResponse:
    breakdown, form = _find(slug), AnswerForm(request.POST)
    if "again" in request.POST:
        services.note_ask_again(breakdown, clean_words(request.POST.get("note_id", "")))
        return _whole(request, breakdown, None)
    if not form.is_valid():
        return _refused(request, breakdown, "Say in a word or two why it is meant as it stands.")
    services.note_answer(breakdown, **form.cleaned_data, by=request.user)
    return _whole(request, breakdown, None)
