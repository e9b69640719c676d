"""A contact put into a breakdown, kept with a beat or as a plate; undo takes it out again."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from breakdowns.contacts.plate import ContactPlate, NoContact, plate_of
from breakdowns.contacts.state import read_state, state_rows
from breakdowns.people.access import studio_required
from breakdowns.scripts.contact.forms import ContactForm
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.selectors import plate_query
from breakdowns.scripts.services import beat_note_save, plate_insert, thousandths
from breakdowns.scripts.tables import limit

_LEAST_SECONDS = 6
_LONGEST_NAME = 120


def _seconds(plate: ContactPlate) -> Fraction:
    words = len(plate.reading.split())
    return max(Fraction(_LEAST_SECONDS), Fraction(round(words / limit("readable_words_per_second"))))


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def put(request: HttpRequest) -> HttpResponse:
    """Where the contact in the address goes; posting puts it there."""
    asked = read_state(request.GET)
    query = asked.state.query()
    page: dict[str, Any] = {"back": f"{reverse('contacts:map')}?{query}", "query": query}
    try:
        plate = plate_of(asked.state)
    except NoContact as fault:
        return render(request, "scripts/put_contact.html", page | {"why_not": str(fault)})
    rows = state_rows(asked.state)
    form = ContactForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        beat = _put(form.cleaned_data, rows, plate, request)
        return redirect(f"{beat.breakdown.get_absolute_url()}#beat-{beat.key}")
    page |= {
        "form": form,
        "plate": plate,
        "shown": plate_query({"plate": "contact", "plate_rows": rows}, "16:9"),
        "has_breakdowns": form.fields["breakdown"].queryset.exists(),  # type: ignore[attr-defined]
    }
    return render(request, "scripts/put_contact.html", page, status=422 if form.is_bound else 200)


def _put(data: dict[str, Any], rows: list[str], plate: ContactPlate, request: HttpRequest) -> Beat:
    if data["way"] == "keep":
        kept = beat_note_save(
            data["breakdown"], data["beat"].key, "a contact", by=request.user, contact_rows=rows
        )
        messages.success(request, f"Kept with beat {kept.position + 1}; undo takes it out.")
        return kept
    beat = plate_insert(
        data["breakdown"],
        after=data["beat"].key if data.get("beat") else None,
        at_start=data["beat_number"] == 0,
        seconds_ms=thousandths(_seconds(plate)),
        by=request.user,
        plate="contact",
        plate_entry=plate.heading[:_LONGEST_NAME],
        plate_rows=rows,
    )
    messages.success(request, f"The plate stands as beat {beat.position + 1}; undo takes it out.")
    return beat


@studio_required
@require_POST
def forget(request: HttpRequest, slug: str, key: str) -> HttpResponse:
    """Take the kept contact out of a beat."""
    breakdown = get_object_or_404(Breakdown, slug=slug)
    beat = get_object_or_404(breakdown.beats, key=key)
    beat_note_save(breakdown, beat.key, "contact taken out", by=request.user, contact_rows=[])
    messages.success(request, "The contact is taken out; undo puts it back.")
    return redirect(f"{breakdown.get_absolute_url()}#beat-{beat.key}")
