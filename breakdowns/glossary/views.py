from __future__ import annotations

from fractions import Fraction
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from anatomy.lookup.index import resolve
from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.models import OwnEntry, OwnTerm
from anatomy.vocabulary.own import OwnFault
from anatomy.vocabulary.selectors import current_vocabulary, own_entries, own_terms
from anatomy.vocabulary.services import add_own_entry, add_own_term, change_own_entry, change_own_term
from breakdowns.people.access import studio_required
from breakdowns.scripts.columns.services import thousandths
from breakdowns.scripts.forms import seconds_text
from breakdowns.scripts.plate_content import ENTRY_KINDS, anatomy_table
from breakdowns.scripts.plate_entries import entry_text, plate_names
from breakdowns.scripts.selectors import plate_query
from breakdowns.scripts.services import plate_insert
from breakdowns.scripts.tables import limit

from . import services
from .addresses import entry_named, slug_of
from .forms import EntryForm, PlateForm, SearchForm, TermForm
from .listing import KIND_LABELS, browse, counts, find, regions
from .pages import page_of, title_of
from .selectors import own_names_of, usage_of

LEAST_PLATE_SECONDS = 5
_REMOVED = "glossary_removed"


def _entry_or_404(kind: str, slug: str) -> tuple[Vocabulary, str]:
    """(vocabulary, standard name) behind an address."""
    vocabulary = current_vocabulary()
    name = entry_named(vocabulary, kind, slug)
    if name is None:
        raise Http404("The vocabulary has no such entry.")
    return vocabulary, name


@studio_required
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Search, or browse by kind, region and joint; a page piece for htmx."""
    form, vocabulary = SearchForm(request.GET), current_vocabulary()
    form.is_valid()
    asked = {name: form.cleaned_data.get(name, "") for name in form.fields}
    question = asked.pop("q")
    narrowed = any(asked.values())
    groups = []
    if question.strip():
        groups = find(vocabulary, question, **asked)
    elif narrowed:
        groups = browse(vocabulary, **asked)
    context = {
        "vocabulary": vocabulary,
        "question": question,
        "asked": asked,
        "kind_label": KIND_LABELS.get(asked["kind"], ""),
        "groups": groups,
        "looked": bool(question.strip()) or narrowed,
        "counts": counts(vocabulary),
        "regions": regions(vocabulary),
        "own_count": OwnTerm.objects.count() + OwnEntry.objects.count(),
    }
    piece = request.htmx and not request.htmx.boosted
    return render(request, "glossary/index.html#results" if piece else "glossary/index.html", context)


@studio_required
@never_cache
@require_GET
def entry(request: HttpRequest, kind: str, slug: str) -> HttpResponse:
    vocabulary, name = _entry_or_404(kind, slug)
    used, more = usage_of(vocabulary, kind, name)
    can_plate = kind in ENTRY_KINDS and vocabulary.entry(kind, name) is not None
    context = {
        "vocabulary": vocabulary,
        "page": page_of(vocabulary, kind, name),
        "slug": slug,
        "kind_label": KIND_LABELS[kind],
        "own_names": own_names_of(kind, name),
        "used": used,
        "used_more": more,
        "can_plate": can_plate,
        "plate": plate_query({"plate": "anatomy", "plate_entry_kind": kind, "plate_entry": name}, "16:9"),
        "said_as": _clear_name(vocabulary, kind, name),
    }
    return render(request, "glossary/entry.html", context)


@studio_required
@require_http_methods(["GET", "POST"])
def plate(request: HttpRequest, kind: str, slug: str) -> HttpResponse:
    """Put a plate of the entry into a breakdown."""
    vocabulary, name = _entry_or_404(kind, slug)
    if kind not in ENTRY_KINDS or vocabulary.entry(kind, name) is None:
        raise Http404("There is no plate of this kind of entry.")
    words = len(anatomy_table(vocabulary, kind, name).reading.split())
    seconds = max(Fraction(LEAST_PLATE_SECONDS), Fraction(round(words / limit("readable_words_per_second"))))
    start = {"seconds": seconds_text(thousandths(seconds)), "breakdown": request.GET.get("breakdown", "")}
    form = PlateForm(request.POST or None, vocabulary=vocabulary, kind=kind, name=name, initial=start)
    if request.method == "POST" and form.is_valid():
        beat = _plate_made(request, form, kind, name)
        return redirect(f"{beat.breakdown.get_absolute_url()}#beat-{beat.key}")
    shown = {"plate": "anatomy", "plate_entry_kind": kind, "plate_entry": name}
    if form.is_bound:
        shown["plate_rows"] = form.cleaned_data.get("rows", [])  # type: ignore[assignment]
    context = {
        "form": form,
        "kind": kind,
        "slug": slug,
        "title": title_of(kind, name),
        "plate": plate_query(shown, "16:9"),
        "has_breakdowns": form.fields["breakdown"].queryset.exists(),
    }
    return render(request, "glossary/plate.html", context, status=422 if form.is_bound else 200)


def _plate_made(request: HttpRequest, form: PlateForm, kind: str, name: str) -> Any:
    data = form.cleaned_data
    beat = plate_insert(
        data["breakdown"],
        after=data["beat"].key if data.get("beat") else None,
        at_start=data["after"] == 0,
        seconds_ms=thousandths(data["seconds"]),
        by=request.user,
        plate="anatomy",
        plate_entry_kind=kind,
        plate_entry=name,
        plate_rows=data["rows"],
    )
    messages.success(request, f"The plate “{title_of(kind, name)}” stands as beat {beat.position + 1}.")
    return beat


def _clear_name(vocabulary: Vocabulary, kind: str, name: str) -> str:
    """An entry as one would type it; with its kind where the name alone would mean several."""
    said = entry_text(kind, name)
    return said if len(resolve(vocabulary, said)) < 2 else f"{kind} / {name}"


# --- own terms and entries -----------------------------------------------------------------------


def _own_page(
    request: HttpRequest, *, term: TermForm | None = None, entry: EntryForm | None = None
) -> HttpResponse:
    vocabulary = current_vocabulary()
    said_of = request.GET.get("of", "")[:240]
    context = {
        "vocabulary": vocabulary,
        "terms": own_terms(),
        "entries": own_entries(),
        "term_form": term or TermForm(vocabulary=vocabulary, initial={"of": said_of}, prefix="term"),
        "entry_form": entry or EntryForm(vocabulary=vocabulary, prefix="entry"),
        "entry_open": entry is not None,
        "names": plate_names(vocabulary),
        "removed": request.session.get(_REMOVED),
    }
    return render(request, "glossary/own.html", context, status=422 if term or entry else 200)


@studio_required
@never_cache
@require_GET
def own(request: HttpRequest) -> HttpResponse:
    return _own_page(request)


@studio_required
@require_POST
def own_term_add(request: HttpRequest) -> HttpResponse:
    form = TermForm(request.POST, vocabulary=current_vocabulary(), prefix="term")
    if form.is_valid():
        try:
            term = add_own_term(form.given(), str(request.user))
        except OwnFault as fault:
            form.take(fault)
        else:
            messages.success(request, f"“{term.text}” now means {title_of(term.kind, term.of).lower()}.")
            return redirect("glossary:own")
    return _own_page(request, term=form)


@studio_required
@require_http_methods(["GET", "POST"])
def own_term(request: HttpRequest, pk: int) -> HttpResponse:
    term, vocabulary = get_object_or_404(OwnTerm, pk=pk), current_vocabulary()
    clear = _clear_name(vocabulary, term.kind, term.of)
    start = {name: getattr(term, name) for name in ("text", "style", "gloss", "note")} | {"of": clear}
    form = TermForm(request.POST or None, vocabulary=vocabulary, initial=start)
    if request.method == "POST" and form.is_valid():
        try:
            change_own_term(term.pk, form.given())
        except OwnFault as fault:
            form.take(fault)
        except OwnTerm.DoesNotExist:
            raise Http404("That term is gone.") from None
        else:
            return redirect("glossary:own")
    context = {"form": form, "title": term.text, "names": plate_names(vocabulary)}
    return render(request, "glossary/own_edit.html", context, status=422 if form.is_bound else 200)


@studio_required
@require_POST
def own_term_remove(request: HttpRequest, pk: int) -> HttpResponse:
    term = get_object_or_404(OwnTerm, pk=pk)
    request.session[_REMOVED] = services.take_term_out(term)
    return redirect("glossary:own")


@studio_required
@require_POST
def own_entry_add(request: HttpRequest) -> HttpResponse:
    form = EntryForm(request.POST, vocabulary=current_vocabulary(), prefix="entry")
    if form.is_valid():
        try:
            made = add_own_entry(form.given(), str(request.user))
        except OwnFault as fault:
            form.take(fault)
        else:
            messages.success(request, f"“{made.name}” is in the vocabulary of this studio.")
            return redirect(_address(made.kind, made.key))
    return _own_page(request, entry=form)


@studio_required
@require_http_methods(["GET", "POST"])
def own_entry(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(OwnEntry, pk=pk)
    names = ("kind", "name", "gloss", "joint", "plane", "side", "note")
    start = {name: getattr(row, name) for name in names}
    form = EntryForm(request.POST or None, vocabulary=current_vocabulary(), initial=start)
    if request.method == "POST" and form.is_valid():
        try:
            changed = change_own_entry(row.pk, form.given())
        except OwnFault as fault:
            form.take(fault)
        except OwnEntry.DoesNotExist:
            raise Http404("That entry is gone.") from None
        else:
            return redirect(_address(changed.kind, changed.key))
    context = {"form": form, "title": row.name}
    return render(request, "glossary/own_edit.html", context, status=422 if form.is_bound else 200)


@studio_required
@require_POST
def own_entry_remove(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(OwnEntry, pk=pk)
    request.session[_REMOVED] = services.take_entry_out(row)
    return redirect("glossary:own")


@studio_required
@require_POST
def own_put_back(request: HttpRequest) -> HttpResponse:
    """Undo the last deletion of this person."""
    kept = request.session.pop(_REMOVED, None)
    if kept is None:
        messages.error(request, "There is nothing to put back: it stands already, or was put back elsewhere.")
        return redirect("glossary:own")
    try:
        services.put_back(kept)
    except OwnFault as fault:
        request.session[_REMOVED] = kept  # it may go back once its place is free
        messages.error(request, f"It can't be put back: {fault}")
    return redirect("glossary:own")


def _address(kind: str, name: str) -> str:
    vocabulary = current_vocabulary()
    if not vocabulary.has(kind, name):
        return reverse("glossary:own")
    return reverse("glossary:entry", args=[kind, slug_of(vocabulary, kind, name)])
