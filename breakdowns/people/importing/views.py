"""Taking in a table of members: upload, settle, look through, take in, report."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from ..access import owner_required
from .day_order import ORDERS, OrderFound
from .forms import ColumnsForm, FileForm, WritingForm
from .models import MemberImport
from .reading import Plan
from .services import (
    days_said,
    faults_of,
    guess_rest,
    import_forget,
    import_go_on,
    import_look,
    import_make,
    import_order,
    import_settle,
    imports_tidy,
    report_csv,
    rows_of,
)
from .table import ENCODINGS, SEPARATORS, Row, Unreadable, decode, encodings_of

SHOWN = 200  # faults on the page; all of them are in the report


@owner_required
@never_cache
@require_http_methods(["GET", "POST"])
def index(request: HttpRequest) -> HttpResponse:
    imports_tidy()
    form = FileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            one = import_make(file.read(), file.name, by=request.user)
        except Unreadable as reason:
            form.add_error("file", str(reason))
        else:
            return redirect("people:import", pk=one.pk)
    imports = MemberImport.objects.exclude(state="forgotten").defer("data", "faults")[:20]
    status = 422 if request.method == "POST" else 200
    return render(request, "people/imports.html", {"form": form, "imports": imports}, status=status)


def _heads(table: list[Row], plan: Plan) -> list[str]:
    width = max((len(row.cells) for row in table[:60]), default=0)
    names = table[0].cells if plan.head and table else ()
    body = table[1] if plan.head and len(table) > 1 else table[0] if table else None
    likely = body.cells if body else ()
    return [
        (names[n] if n < len(names) else likely[n] if n < len(likely) else "").strip() or "(empty)"
        for n in range(min(width, 100))
    ]


def _columns_form(data: Any, plan: Plan, table: list[Row], days: OrderFound) -> ColumnsForm:
    initial: dict[str, Any] = {name: str(number) for name, number in plan.columns.items()}
    initial |= {
        "day_order": plan.day_order or days.settled, "first_day": plan.first_day, "last_day": plan.last_day,
        "invite": plan.invite,
    }  # fmt: skip
    return ColumnsForm(data, heads=_heads(table, plan), days=days, initial=initial, prefix="columns")


def _sample(table: list[Row], data: bytes) -> list[Row]:
    """The first rows, and of those with signs beyond ASCII a few more where the encoding is not certain."""
    shown = table[:6]
    if len(encodings_of(data)) > 1:
        shown += [row for row in table[6:] if not all(cell.isascii() for cell in row.cells)][:4]
    return shown


@owner_required
@never_cache
@require_http_methods(["GET", "POST"])
def settle(request: HttpRequest, pk: int) -> HttpResponse:
    """How the file is written and which column is what; nothing is taken in here."""
    one = get_object_or_404(MemberImport, pk=pk)
    if one.state != "open":
        return redirect("people:import_look", pk=one.pk)
    plan, data = Plan.from_json(one.plan), bytes(one.data)
    step = request.POST.get("step", "")
    initial = {"encoding": plan.encoding, "separator": SEPARATORS[plan.separator], "head": plan.head}
    writing = WritingForm(request.POST if step == "writing" else None, initial=initial)
    if step == "writing" and writing.is_valid():
        found = writing.cleaned_data
        try:
            text = decode(data, found["encoding"])
            import_settle(one, guess_rest(text, found["encoding"], found["separator"], found["head"]))
        except Unreadable as reason:
            writing.add_error("encoding", str(reason))
        else:
            return redirect("people:import", pk=one.pk)
    table = rows_of(one, plan)
    days = days_said(table, plan)
    columns = _columns_form(request.POST if step == "columns" else None, plan, table, days)
    if step == "columns" and columns.is_valid():
        wanted = columns.plan(plan)
        days = days_said(table, wanted)
        if not columns.ask_order(days):
            import_settle(one, wanted)
            return redirect("people:import_look", pk=one.pk)
    context = {
        "one": one, "plan": plan, "writing": writing, "columns": columns, "days": days,
        "order_words": ORDERS.get(days.settled, ""), "heads": _heads(table, plan), "sample": _sample(table, data),
        "encodings": [ENCODINGS[name] for name in encodings_of(data)], "count": len(table) - plan.head,
    }  # fmt: skip
    return render(request, "people/import.html", context, status=422 if request.method == "POST" else 200)


@owner_required
@never_cache
@require_http_methods(["GET", "POST"])
def look(request: HttpRequest, pk: int) -> HttpResponse:
    """A dry run with its report; a POST takes the good lines in. Then how far that is."""
    one = get_object_or_404(MemberImport, pk=pk)
    if one.state == "forgotten":
        raise Http404("This file is forgotten.")
    if one.state == "open" and not one.plan.get("settled"):
        return redirect("people:import", pk=one.pk)
    if request.method == "POST":
        if one.state == "running":
            import_go_on(one)
        else:
            import_order(one)
        return redirect("people:import_look", pk=one.pk)
    context: dict[str, Any] = {"one": one}
    if one.state == "open":
        looked = import_look(one)
        context |= {"looked": looked, "faults": looked.faults[:SHOWN], "more": len(looked.faults) - SHOWN}
        context |= {"plan": Plan.from_json(one.plan), "sample": (looked.new + looked.known)[:5]}
    else:
        faults = faults_of(one)
        context |= {"faults": faults[:SHOWN], "more": len(faults) - SHOWN, "fault_count": len(faults)}
    page = "people/import_look.html"
    response = render(request, f"{page}#progress" if request.htmx else page, context)
    if request.htmx and one.state != "running":
        response["HX-Trigger"] = "work-ended"
    return response


@owner_required
@never_cache
@require_GET
def report(request: HttpRequest, pk: int) -> HttpResponse:
    """The lines at fault as a file."""
    one = get_object_or_404(MemberImport.objects.exclude(state="forgotten"), pk=pk)
    answer = HttpResponse(report_csv(faults_of(one)), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="lines-at-fault-{one.pk}.csv"'
    return answer


@owner_required
@require_POST
def forget(request: HttpRequest, pk: int) -> HttpResponse:
    if import_forget(get_object_or_404(MemberImport, pk=pk)):
        messages.success(request, "The file and its report are wiped. What was taken in stays.")
    else:
        messages.error(request, "The file is being taken in; it is wiped by itself when that is done.")
    return redirect("people:imports")
