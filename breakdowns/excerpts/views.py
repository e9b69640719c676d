from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from breakdowns.footage.models import Source
from breakdowns.footage.selectors import source_page
from breakdowns.people.access import studio_required

from .forms import ExcerptChangeForm, ExcerptForm, PolicyForm
from .models import Excerpt, ExcerptPolicy
from .policies import UnknownPolicy, preset, presets
from .rules import wording
from .selectors import own_policies, own_policy
from .services import (
    Overtaken,
    excerpt_change,
    excerpt_create,
    excerpt_delete,
    policy_change,
    policy_delete,
    policy_from_preset,
)


def _source_again(request: HttpRequest, source: Source, status: int = 200, **more: Any) -> HttpResponse:
    """The source's page, or only its list of excerpts for a request by script."""
    name = "excerpts/list.html" if request.htmx else "footage/source.html"
    return render(request, name, source_page(source, **more), status=status)


@studio_required
@require_POST
def create(request: HttpRequest, key: str) -> HttpResponse:
    source = get_object_or_404(Source, key=key, state=Source.State.READY)
    form = ExcerptForm(request.POST, source=source)
    if not form.is_valid():
        typed = {"in": request.POST.get("in_frame", ""), "out": request.POST.get("out_frame", "")}
        typed |= {name: request.POST.get(name, "") for name in ("name", "purpose")}
        return _source_again(request, source, 422, form=form, typed=typed)
    made = excerpt_create(source=source, by=request.user, **form.cleaned_data)
    if request.htmx:
        return _source_again(request, source, made=made)
    messages.success(request, f"{made} was added.")
    return redirect(f"{source.get_absolute_url()}?frame={made.in_frame}#excerpts")


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    excerpt = get_object_or_404(Excerpt.objects.select_related("source"), pk=pk)
    fields = ("name", "in_frame", "out_frame", "purpose", "version")
    initial = {name: getattr(excerpt, name) for name in fields}
    form = ExcerptChangeForm(request.POST or None, initial=initial, source=excerpt.source, excerpt=excerpt)
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                excerpt_change(excerpt, **form.cleaned_data)
                return redirect(f"{excerpt.source.get_absolute_url()}?frame={excerpt.in_frame}#excerpts")
            except Overtaken:
                status = 409
                form.add_error(
                    None, "Somebody changed this excerpt meanwhile; open it again, then put in your change."
                )
    return render(request, "excerpts/edit.html", {"form": form, "excerpt": excerpt}, status=status)


@studio_required
@require_POST
def delete(request: HttpRequest, pk: int) -> HttpResponse:
    excerpt = get_object_or_404(Excerpt.objects.select_related("source"), pk=pk)
    source, gone = excerpt.source, excerpt_delete(excerpt)
    sentence = f"{excerpt} is used in a script; take it out of the beat there first."
    if request.htmx:
        return _source_again(request, source, 200 if gone else 409, refused="" if gone else sentence)
    if not gone:
        messages.error(request, sentence)
    return redirect(f"{source.get_absolute_url()}#excerpts")


@studio_required
@require_GET
def policies(request: HttpRequest) -> HttpResponse:
    page = {"own": own_policies(), "presets": presets().values(), "wording": wording()}
    return render(request, "excerpts/policies.html", page)


@studio_required
@require_POST
def policy_make(request: HttpRequest) -> HttpResponse:
    try:
        made = policy_from_preset(preset(request.POST.get("preset", "")))
    except UnknownPolicy:
        raise Http404("No preset has that name.") from None
    return redirect("excerpts:policy", made.pk)


@studio_required
@never_cache
@require_http_methods(["GET", "POST"])
def policy(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(ExcerptPolicy, pk=pk)
    form = PolicyForm(request.POST or None, instance=row, policy=own_policy(row).policy)
    if request.method == "POST" and form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("name", "note", "limits")}
        messages.success(request, f"{policy_change(row, **values)} was saved.")
        return redirect("excerpts:policies")
    page = {"form": form, "row": row, "wording": wording(), "based_on": presets().get(row.based_on)}
    return render(request, "excerpts/policy.html", page, status=422 if form.errors else 200)


@studio_required
@require_POST
def policy_remove(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(ExcerptPolicy, pk=pk)
    if used_in := policy_delete(row):
        messages.error(request, f"{row} is used by {', '.join(used_in)}; choose another policy there first.")
    else:
        messages.success(request, f"{row} was deleted.")
    return redirect("excerpts:policies")
