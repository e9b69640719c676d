from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import RequestDataTooBig
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from breakdowns.footage.models import Source
from breakdowns.people.access import studio_required
from breakdowns.people.middleware import runs_webassembly

from . import edits
from .choices import choice
from .context import editor_page, measures_page, outside_notes
from .document import document_json, read_document
from .export import marks_csv, marks_json
from .forms import FrameForm, LandmarkForm, MarkForm, NameForm
from .marks import MarksError
from .models import Still
from .selectors import overlay, picture_facts, still_document, still_measures, stills_listed
from .sent import SentError, read_sent
from .services import (
    StillError,
    canonical,
    still_beside,
    still_copy,
    still_delete,
    still_make,
    still_part,
    still_redo,
    still_rename,
    still_save,
    still_settle,
    still_undo,
)


def _still(key: str) -> Still:
    return get_object_or_404(Still.objects.select_related("source__event", "beside__source"), key=key)


# --- pages ---------------------------------------------------------------------------------------


@studio_required
@never_cache
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    pages = Paginator(stills_listed(), choice("stills_on_a_page"))
    return render(request, "stills/index.html", {"page": pages.get_page(request.GET.get("page"))})


@studio_required
@never_cache
@require_GET
def still(request: HttpRequest, key: str) -> HttpResponse:
    return _page(request, _still(key))


@runs_webassembly
def _page(request: HttpRequest, found: Still, status: int = 200, **more: Any) -> HttpResponse:
    """The still's page; ``more`` replaces parts of it, such as a faulty form."""
    page = editor_page(found, chosen=request.GET.get("mark", ""), user=request.user) | more
    return render(request, "stills/still.html", page, status=status)


# --- making, naming, tying, deleting -------------------------------------------------------------


@studio_required
@require_POST
def make(request: HttpRequest, key: str) -> HttpResponse:
    """Keep a frame of a source, and go to it."""
    source = get_object_or_404(Source, key=key)
    if not source.is_ready:
        messages.error(request, f"{source} can't be read yet, so it has no frames to keep.")
        return redirect(source)
    form = FrameForm(request.POST, source=source)
    if not form.is_valid():
        messages.error(request, " ".join(error for errors in form.errors.values() for error in errors))
        return redirect(source)
    frame = form.cleaned_data["frame"]
    try:
        made = still_make(source=source, frame=frame, by=request.user, name=form.cleaned_data["name"])
    except StillError as fault:
        messages.error(request, str(fault))
        return redirect(source)
    return redirect(made)


@studio_required
@require_POST
def rename(request: HttpRequest, key: str) -> HttpResponse:
    found, form = _still(key), NameForm(request.POST)
    if form.is_valid():
        still_rename(found, form.cleaned_data["name"])
    else:
        messages.error(request, "A name has at most 120 letters: write a shorter one.")
    return redirect(found)


@studio_required
@require_POST
def copy(request: HttpRequest, key: str) -> HttpResponse:
    """All marks on another frame, the next one unless told otherwise."""
    found = _still(key)
    form = FrameForm({"frame": request.POST.get("frame") or str(found.frame + 1)}, source=found.source)
    if not form.is_valid():
        messages.error(request, " ".join(form.errors["frame"]))
        return redirect(found)
    try:
        return redirect(still_copy(found, frame=form.cleaned_data["frame"], by=request.user))
    except StillError as fault:
        messages.error(request, str(fault))
        return redirect(found)


@studio_required
@require_POST
def beside(request: HttpRequest, key: str) -> HttpResponse:
    """The same instant in the view named by ``source``; without one, no longer beside."""
    found = _still(key)
    if not request.POST.get("source"):
        still_part(found)
        return redirect(found)
    try:
        number = int(request.POST["source"][:18])
    except ValueError:
        raise Http404("There is no such view.") from None
    other = get_object_or_404(Source, pk=number)
    try:
        still_beside(found, other=other, by=request.user)
    except StillError as fault:
        messages.error(request, str(fault))
    return redirect(found)


@studio_required
@require_POST
def delete(request: HttpRequest, key: str) -> HttpResponse:
    found = _still(key)
    source, said = found.source, str(found)
    if not still_delete(found):
        messages.error(
            request, f"A beat shows {said}; choose another picture there first, then delete the still."
        )
        return redirect(found)
    messages.success(request, f"{said} was deleted; the footage is untouched.")
    return redirect(f"{source.get_absolute_url()}?frame={found.frame}#stills")


# --- drawing and saving, by script ---------------------------------------------------------------


def _sent(request: HttpRequest) -> dict[str, Any]:
    """The JSON object of a request. Raises SentError."""
    most = choice("document_bytes")
    try:
        return read_sent(request.body, most)
    except RequestDataTooBig:
        raise SentError(f"The marks take more than {most} bytes: delete some of them.", 413) from None


def _refused(sentence: str, status: int) -> JsonResponse:
    return JsonResponse({"error": sentence}, status=status)


@studio_required
@require_POST
def draw_marks(request: HttpRequest, key: str) -> HttpResponse:
    """The marks that were sent as SVG text, with what they measure. Nothing is stored."""
    found = _still(key)
    try:
        sent = _sent(request)
        facts = picture_facts(found.source)
        document = read_document(sent.get("document"), facts.size)
    except SentError as fault:
        return _refused(str(fault), fault.status)
    except MarksError as fault:
        return _refused(str(fault), 422)
    measures = measures_page(document, facts)
    return JsonResponse(
        {
            "svg": overlay(found.source, document, _drawing_width(sent.get("width"), facts.size[0])),
            "measures_html": render_to_string("stills/_measures.html", {"measures": measures}),
            "said": measures.said(str(sent.get("mark", ""))[:60]),
            "problems": outside_notes(document_json(document), facts),
        }
    )


def _drawing_width(asked: Any, otherwise: int) -> int:
    if isinstance(asked, bool) or not isinstance(asked, int | float):
        return min(otherwise, choice("widest_drawing"))
    return max(120, min(round(asked), choice("widest_drawing")))


@studio_required
@require_POST
def save(request: HttpRequest, key: str) -> HttpResponse:
    """Keep the marks that were sent; drawn upon an older version they are joined or set aside, never lost."""
    found = _still(key)
    try:
        sent = _sent(request)
        base = sent.get("base_version")
        if isinstance(base, bool) or not isinstance(base, int) or not 0 < base < 2**31:
            return _refused(
                "The version that the marks were drawn upon is missing: load the page again.", 400
            )
        what = str(sent.get("what") or "draw")[:120]
        saved = still_save(found, sent.get("document"), base_version=base, what=what, by=request.user)
    except SentError as fault:
        return _refused(str(fault), fault.status)
    except MarksError as fault:
        return _refused(str(fault), 422)
    answer = {"outcome": saved.outcome, "version": saved.still.version, "document": saved.still.document}
    if saved.set_aside:
        answer["settle"] = reverse("stills:settle", args=[found.key, saved.set_aside.number])
        answer["said"] = (
            "Somebody changed the same marks meanwhile. Both are kept: yours are set aside until you choose."
        )
    return JsonResponse(answer, status=409 if saved.outcome == "conflict" else 200)


def _step(request: HttpRequest, key: str, step: Any) -> HttpResponse:
    found = _still(key)
    before = found.version
    row = step(found)
    if request.headers.get("Accept", "").startswith("application/json"):
        moved = row.version != before
        return JsonResponse({"version": row.version, "document": row.document, "moved": moved})
    return redirect(row)


@studio_required
@require_POST
def undo(request: HttpRequest, key: str) -> HttpResponse:
    return _step(request, key, still_undo)


@studio_required
@require_POST
def redo(request: HttpRequest, key: str) -> HttpResponse:
    return _step(request, key, still_redo)


@studio_required
@require_POST
def settle(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """Choose between the marks that stand and those set aside."""
    found = _still(key)
    aside = get_object_or_404(found.revisions, number=number, set_aside=True)
    try:
        still_settle(aside, request.POST.get("choice", ""), by=request.user)
    except (StillError, MarksError) as fault:
        messages.error(request, str(fault))
    return redirect(found)


# --- changing without script ---------------------------------------------------------------------


@studio_required
@require_POST
def change(request: HttpRequest, key: str) -> HttpResponse:
    """One change of the marks from a plain form; ``do`` says which."""
    found = _still(key)
    do, mark_id = request.POST.get("do", ""), request.POST.get("mark", "")[:60]
    document = document_json(still_document(found))
    form: MarkForm | LandmarkForm | None = None
    try:
        if do == "mark":
            form = MarkForm(request.POST)
            if not form.is_valid():
                return _page(request, found, 422, mark_form=form, chosen=mark_id)
            document, what = (
                edits.put_mark(document, form.mark(), mark_id),
                "change a mark by its coordinates",
            )
        elif do == "landmark":
            form = LandmarkForm(request.POST)
            if not form.is_valid():
                return _page(request, found, 422, landmark_form=form)
            row = form.cleaned_data
            document = edits.put_landmark(document, row["name"], row["x"], row["y"])
            what = "place a landmark by its coordinates"
        else:
            document, what = _simple(document, do, mark_id)
        canonical(found.source, document)
        saved = still_save(found, document, base_version=_base(request, found), what=what, by=request.user)
    except edits.EditError as fault:
        messages.error(request, str(fault))
        return redirect(found)
    except MarksError as fault:
        if form is None:
            messages.error(request, str(fault))
            return redirect(found)
        form.add_error(None, str(fault))
        which = "mark_form" if do == "mark" else "landmark_form"
        return _page(request, found, 422, **{which: form, "chosen": mark_id})
    if saved.outcome == "conflict":
        messages.error(request, "Somebody changed the same marks meanwhile. Both are kept: choose below.")
    return redirect(f"{found.get_absolute_url()}#marks")


def _base(request: HttpRequest, found: Still) -> int:
    typed = request.POST.get("base_version", "")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 10 else found.version


def _simple(document: dict[str, Any], do: str, name: str) -> tuple[dict[str, Any], str]:
    """A change that needs no more than a name. Raises EditError."""
    changes: dict[str, Any] = {
        "delete": lambda: (edits.drop_mark(document, name), "delete a mark"),
        "up": lambda: (edits.move_mark(document, name, 1), "draw a mark later"),
        "down": lambda: (edits.move_mark(document, name, -1), "draw a mark earlier"),
        "refuse": lambda: (edits.drop_landmark(document, name), "take a landmark out"),
        "confirm": lambda: (edits.confirm(document, name), "confirm landmarks"),
        "swap": lambda: (edits.swap_sides(document), "swap left and right"),
    }
    if do not in changes:
        raise edits.EditError("This page knows no such change: load it again.")
    return changes[do]()


# --- the marks on their own ----------------------------------------------------------------------


@studio_required
@never_cache
@require_safe
def export(request: HttpRequest, key: str, kind: str) -> HttpResponse:
    """Marks and measures as CSV or JSON, or the drawing as SVG (?w= pixels wide)."""
    found = _still(key)
    document, facts = still_document(found), picture_facts(found.source)
    name = f"{found.source.title[:40]}-{found.frame}"
    if kind == "svg":
        asked = request.GET.get("w", "")
        width = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 6 else facts.size[0]
        answer = HttpResponse(
            overlay(found.source, document, _drawing_width(width, facts.size[0])),
            content_type="image/svg+xml",
        )
    elif kind == "csv":
        text = marks_csv(document, facts, still_measures(found))
        answer = HttpResponse(text, content_type="text/csv; charset=utf-8")
    elif kind == "json":
        text = marks_json(document, facts, still_measures(found))
        answer = HttpResponse(text, content_type="application/json")
    else:
        raise Http404("There is no such form of the marks.")
    if "keep" in request.GET:
        answer.headers["Content-Disposition"] = _attachment(name, kind)
    return answer


def _attachment(name: str, kind: str) -> str:
    plain = "".join(letter if letter.isalnum() or letter in "-_ " else "-" for letter in name)
    return content_disposition_header(True, f"{plain}.{kind}") or "attachment"
