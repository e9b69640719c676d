"""The trade-offs of a beat: added, changed, taken out, put on a plate; undo as for everything in the script."""

from __future__ import annotations

from fractions import Fraction
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from breakdowns.people.access import studio_required
from breakdowns.scripts.columns.services import thousandths
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.services import ScriptError, beat_note_save, plate_insert
from breakdowns.scripts.tables import limit

from .forms import TradeOffForm
from .notes import MOST, ON_A_PLATE, TRADEOFF_TITLE, TradeOff, plate_text, read_tradeoffs

_LEAST_SECONDS = 6


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def tradeoffs(request: HttpRequest, slug: str, key: UUID) -> HttpResponse:
    """The list with a form; ``?change=2`` opens the third one in it."""
    breakdown = get_object_or_404(Breakdown, slug=slug)
    beat = get_object_or_404(breakdown.beats, key=key)
    rows = list(read_tradeoffs(beat.tradeoffs))
    place = _place(request.POST.get("place") or request.GET.get("change"), rows)
    form = TradeOffForm(initial=rows[place].row if place is not None else None)
    if request.method == "POST":
        try:
            form, answer = _posted(request, beat, rows, place)
        except ScriptError as fault:
            messages.error(request, str(fault))
            answer = redirect(breakdown)
        if answer:
            return answer
    page: dict[str, Any] = {
        "breakdown": breakdown,
        "beat": beat,
        "number": beat.position + 1,
        "rows": list(enumerate(rows)),
        "form": form,
        "place": None if form.non_field_errors() else place,
        "was": rows[place].change if place is not None else "",
        "title": TRADEOFF_TITLE,
        "on_a_plate": ON_A_PLATE,
        "most": MOST,
        "full": len(rows) >= MOST and place is None and not form.is_bound,
    }
    return render(request, "scripts/tradeoffs.html", page, status=422 if form.is_bound else 200)


def _posted(
    request: HttpRequest, beat: Beat, rows: list[TradeOff], place: int | None
) -> tuple[TradeOffForm, HttpResponse | None]:
    """The form with its errors, or where to go on. Raises ScriptError where the beat went meanwhile."""
    given, form = request.POST, TradeOffForm(request.POST)
    if "plate" in given and rows:
        shown = [rows[place]] if place is not None else rows[:ON_A_PLATE]
        return form, _put_on_plate(request, beat, shown)
    moved = "place" in given and (place is None or given.get("was", "") != rows[place].change)
    if "take_out" in given:
        if place is None or moved:
            messages.error(request, "The list has changed meanwhile: look at it again.")
            return form, redirect(_address(beat))
        return form, _saved(request, beat, rows[:place] + rows[place + 1 :], "Taken out")
    if moved:
        form.add_error(
            None, "The list has changed meanwhile. Look at it above; “Keep” adds this as one more."
        )
        return form, None
    if not form.is_valid():
        return form, None
    one = TradeOff(**form.cleaned_data)
    if place is not None:
        return form, _saved(request, beat, [*rows[:place], one, *rows[place + 1 :]], "Changed")
    if one in rows:
        form.add_error(None, "This trade-off stands with the beat already.")
    elif len(rows) >= MOST:
        form.add_error(None, f"A beat carries at most {MOST} trade-offs: put this one with another beat.")
    else:
        return form, _saved(request, beat, [*rows, one], "Kept")
    return form, None


def _place(text: str | None, rows: list[TradeOff]) -> int | None:
    found = int(text) if text and text.isascii() and text.isdigit() and len(text) < 4 else None
    return found if found is not None and found < len(rows) else None


def _address(beat: Beat) -> str:
    return reverse("scripts:tradeoffs", args=[beat.breakdown.slug, beat.key])


def _saved(request: HttpRequest, beat: Beat, rows: list[TradeOff], what: str) -> HttpResponse:
    name = f"a trade-off of beat {beat.position + 1}"
    beat_note_save(beat.breakdown, beat.key, name, by=request.user, tradeoffs=[one.row for one in rows])
    messages.success(request, f"{what}; undo in the script takes it back.")
    return redirect(_address(beat))


def _put_on_plate(request: HttpRequest, beat: Beat, rows: list[TradeOff]) -> HttpResponse:
    text = plate_text(rows)
    needed = Fraction(len(f"{TRADEOFF_TITLE} {text}".split())) / limit("readable_words_per_second")
    made = plate_insert(
        beat.breakdown, after=beat.key, seconds_ms=thousandths(max(Fraction(_LEAST_SECONDS), needed)),
        by=request.user, plate="text", plate_title=TRADEOFF_TITLE, plate_text=text,
    )  # fmt: skip
    messages.success(request, f"The plate stands as beat {made.position + 1}; undo takes it out.")
    return redirect(f"{beat.breakdown.get_absolute_url()}#beat-{made.key}")
