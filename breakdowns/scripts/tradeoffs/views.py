"""The trade-offs of a beat: added, changed, taken out, put on a plate; undo as for everything in the script."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from breakdowns.people.access import studio_required
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.services import beat_note_save, plate_insert, thousandths
from breakdowns.scripts.tables import limit
from breakdowns.scripts.tradeoffs.forms import TradeOffForm
from breakdowns.scripts.tradeoffs.notes import FIELDS, MOST, TRADEOFF_TITLE, plate_text, said


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def tradeoffs(request: HttpRequest, slug: str, key: str) -> HttpResponse:
    """The list with a form; ``?change=2`` opens the second one in it."""
    breakdown = get_object_or_404(Breakdown, slug=slug)
    beat = get_object_or_404(breakdown.beats, key=key)
    rows = list(beat.tradeoffs)
    place = _place(request.POST.get("place") or request.GET.get("change"), rows)
    form = TradeOffForm(initial=rows[place] if place is not None else None)
    if request.method == "POST":
        if "plate" in request.POST and rows:
            return _put_on_plate(request, breakdown, beat)
        if "take_out" in request.POST and place is not None:
            del rows[place]
            return _saved(request, breakdown, beat, rows, "Taken out")
        form = TradeOffForm(request.POST)
        if form.is_valid():
            one = {name: form.cleaned_data[name] for name in FIELDS}
            if place is not None:
                rows[place] = one
                return _saved(request, breakdown, beat, rows, "Changed")
            if len(rows) < MOST:
                return _saved(request, breakdown, beat, [*rows, one], "Kept")
            form.add_error(None, f"A beat carries at most {MOST} trade-offs: put this one with another beat.")
    page: dict[str, Any] = {
        "breakdown": breakdown,
        "beat": beat,
        "number": beat.position + 1,
        "rows": [(number, said(one), one) for number, one in enumerate(rows)],
        "form": form,
        "place": place,
        "title": TRADEOFF_TITLE,
    }
    return render(request, "scripts/tradeoffs.html", page, status=422 if form.is_bound else 200)


def _place(text: str | None, rows: list[Any]) -> int | None:
    found = int(text) if text and text.isascii() and text.isdigit() and len(text) < 4 else None
    return found if found is not None and found < len(rows) else None


def _saved(
    request: HttpRequest, breakdown: Breakdown, beat: Beat, rows: list[Any], what: str
) -> HttpResponse:
    beat_note_save(breakdown, beat.key, "trade-offs", by=request.user, tradeoffs=rows)
    messages.success(request, f"{what}; undo in the script takes it back.")
    return redirect(reverse("scripts:tradeoffs", args=[breakdown.slug, beat.key]))


def _put_on_plate(request: HttpRequest, breakdown: Breakdown, beat: Beat) -> HttpResponse:
    text = plate_text(beat.tradeoffs)
    needed = Fraction(len(f"{TRADEOFF_TITLE} {text}".split())) / limit("readable_words_per_second")
    made = plate_insert(
        breakdown, after=beat.key, seconds_ms=thousandths(max(Fraction(6), needed)), by=request.user,
        plate="text", plate_title=TRADEOFF_TITLE, plate_text=text,
    )  # fmt: skip
    messages.success(request, f"The plate stands as beat {made.position + 1}; undo takes it out.")
    return redirect(f"{breakdown.get_absolute_url()}#beat-{made.key}")
