"""What stands around the desk: words of one's own, corrections of answers that are out, and the settings."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from breakdowns.people.access import owner_required, studio_required
from breakdowns.questions.answers.services import answer_correct
from breakdowns.questions.choices import choice
from breakdowns.questions.desk.forms import CorrectForm, SettingsForm
from breakdowns.questions.desk.services import snippet_keep
from breakdowns.questions.models import Answer, Settings, Snippet

MOST = 20_000


@studio_required
@require_http_methods(["GET", "POST"])
def snippets(request: HttpRequest) -> HttpResponse:
    """Words of one's own."""
    name, text = request.POST.get("name", "").strip()[:60], request.POST.get("text", "")
    fault = ""
    if request.method == "POST" and "remove" in request.POST:
        chosen = request.POST["remove"]
        Snippet.objects.filter(owner=request.user, pk=int(chosen) if chosen.isdecimal() else 0).delete()
        return redirect("questions:snippets")
    if request.method == "POST":
        if name and text.strip() and len(text) <= MOST:
            snippet_keep(request.user, name, text)
            return redirect("questions:snippets")
        fault = "Give it a short name and its words."
    rows = Snippet.objects.filter(owner=request.user)
    context = {"snippets": rows, "fault": fault, "name": name, "text": text}
    return render(request, "questions/snippets.html", context, status=422 if fault else 200)


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, key: UUID) -> HttpResponse:
    """A new version of an answer that is out."""
    found = get_object_or_404(Answer, key=key, taken_back_at__isnull=True)
    form = CorrectForm(request.POST or None, initial={"text": found.text, "note": found.note})
    if request.method == "POST" and form.is_valid():
        if found.audience != Answer.Audience.PRIVATE and not form.cleaned_data["note"].strip():
            form.add_error("note", "The library needs words too.")
        else:
            answer_correct(found, by=request.user, **form.cleaned_data)
            messages.success(request, "Corrected. The earlier wording is kept.")
            return redirect("questions:correct", found.key)
    context = {"answer": found, "form": form, "versions": list(found.versions.select_related("by"))}
    return render(request, "questions/correct.html", context, status=422 if form.is_bound else 200)


@owner_required
@require_http_methods(["GET", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    form = SettingsForm(request.POST or None, instance=Settings.now())
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Kept.")
        return redirect("questions:settings")
    context = {"form": form, "undo_minutes": choice("undo_minutes")}
    return render(request, "questions/settings.html", context, status=422 if form.is_bound else 200)
