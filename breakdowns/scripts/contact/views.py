"""A contact put into a breakdown, kept with a beat or as a plate; undo takes it out again."""

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

from breakdowns.contacts.plate import ContactPlate, NoContact, contact_plate, plate_of
from breakdowns.contacts.state import State, read_rows, read_state, state_rows
from breakdowns.people.access import studio_required
from breakdowns.scripts.columns.services import thousandths
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.selectors import plate_query
from breakdowns.scripts.services import ScriptError, beat_note_save, plate_insert
from breakdowns.scripts.tables import limit

from .forms import ContactForm
from .kept import contact_name
from .selectors import cautions_of

_LEAST_SECONDS = 6
_LONGEST_NAME = 120
_MEANT = "contact_meant_for"
"""Where a session keeps the beat from which somebody went to the map."""


def _seconds(plate: ContactPlate) -> Fraction:
    words = len(plate.reading.split())
    return max(Fraction(_LEAST_SECONDS), Fraction(round(words / limit("readable_words_per_second"))))


# --- from the map into a piece ---------------------------------------------------------------------


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
    form = ContactForm(request.POST or None, initial=_meant(request))
    if request.method == "POST" and form.is_valid():
        try:
            beat = _put(form.cleaned_data, asked.state, plate, request)
        except ScriptError as fault:
            form.add_error("beat_number", str(fault))
        else:
            request.session.pop(_MEANT, None)
            return redirect(f"{beat.breakdown.get_absolute_url()}#beat-{beat.key}")
    rows = state_rows(asked.state)
    page |= {
        "form": form,
        "plate": plate,
        "shown": plate_query({"plate": "contact", "plate_rows": rows}, "16:9"),
        "has_breakdowns": form.fields["breakdown"].queryset.exists(),  # type: ignore[attr-defined]
    }
    return render(request, "scripts/put_contact.html", page, status=422 if form.is_bound else 200)


def _meant(request: HttpRequest) -> dict[str, Any]:
    """What the form begins with: the beat from which the map was opened, if it still stands."""
    beat = Beat.objects.filter(key=request.session.get(_MEANT)).first() if _MEANT in request.session else None
    return {"breakdown": beat.breakdown_id, "beat_number": beat.position + 1, "way": "keep"} if beat else {}


def _put(data: dict[str, Any], state: State, plate: ContactPlate, request: HttpRequest) -> Beat:
    beat: Beat | None = data.get("beat")
    if data["way"] == "plate" or beat is None:
        return _plate(request, data["breakdown"], beat, state, plate, at_start=data["beat_number"] == 0)
    before, rows = contact_name(tuple(beat.contact_rows)), state_rows(state)
    told = f" in place of “{before}”" if before and beat.contact_rows != rows else ""
    name = f"a contact of beat {beat.position + 1}"
    kept = beat_note_save(beat.breakdown, beat.key, name, by=request.user, contact_rows=rows)
    messages.success(
        request, f"Kept with beat {kept.position + 1}{told}; the margin says which cautions it brings."
    )
    return kept


def _plate(
    request: HttpRequest,
    breakdown: Breakdown,
    behind: Beat | None,
    state: State,
    plate: ContactPlate,
    *,
    at_start: bool = False,
) -> Beat:
    made = plate_insert(
        breakdown,
        after=behind.key if behind else None,
        at_start=at_start,
        seconds_ms=thousandths(_seconds(plate)),
        by=request.user,
        plate="contact",
        plate_entry=plate.heading[:_LONGEST_NAME],
        plate_rows=state_rows(state),
    )
    messages.success(request, f"The plate stands as beat {made.position + 1}; undo takes it out.")
    return made


# --- the contact of one beat -----------------------------------------------------------------------


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def kept(request: HttpRequest, slug: str, key: UUID) -> HttpResponse:
    """What is kept with a beat and which cautions it brings; posting forgets it or makes a plate of it."""
    breakdown = get_object_or_404(Breakdown, slug=slug)
    beat = get_object_or_404(breakdown.beats, key=key)
    rows, why_not, plate = tuple(beat.contact_rows), "", None
    try:
        plate = contact_plate(rows) if rows else None
    except NoContact as fault:
        why_not = str(fault)
    if request.method == "POST":
        try:
            at = _changed(request, beat, plate)
        except ScriptError as fault:
            messages.error(request, str(fault))
            return redirect(breakdown)
        return redirect(f"{breakdown.get_absolute_url()}#beat-{at.key}")
    request.session[_MEANT] = str(beat.key)
    page = {
        "breakdown": breakdown,
        "beat": beat,
        "number": beat.position + 1,
        "name": contact_name(rows),
        "plate": plate,
        "why_not": why_not,
        "map": f"{reverse('contacts:map')}?{read_rows(rows).query()}",
        "shown": plate_query({"plate": "contact", "plate_rows": rows}, breakdown.shape) if plate else "",
        "cautions": cautions_of(breakdown, rows),
    }
    return render(request, "scripts/contact.html", page)


def _changed(request: HttpRequest, beat: Beat, plate: ContactPlate | None) -> Beat:
    if "plate" in request.POST and plate:
        return _plate(request, beat.breakdown, beat, read_rows(beat.contact_rows), plate)
    if "forget" in request.POST and beat.contact_rows:
        name = f"the contact of beat {beat.position + 1}"
        beat = beat_note_save(beat.breakdown, beat.key, name, by=request.user, contact_rows=[])
        messages.success(request, "The contact is forgotten; undo puts it back.")
    return beat
