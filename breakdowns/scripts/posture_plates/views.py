"""The curves of a posture put into a breakdown as a plate; undo takes it out again."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from anatomy.muscles.faults import ModelNotInstalled, PostureError
from breakdowns.footage.timebase import decimal_text
from breakdowns.people.access import studio_required
from breakdowns.postures.plate import PosturePlate, posture_plate, state_rows
from breakdowns.postures.selectors import posture_named
from breakdowns.postures.state import read_state
from breakdowns.scripts.columns.services import thousandths
from breakdowns.scripts.posture_plates.forms import PosturePlateForm
from breakdowns.scripts.selectors import plate_query
from breakdowns.scripts.services import plate_insert
from breakdowns.scripts.tables import limit

LEAST_SECONDS = 6
_LONGEST_NAME = 120


def _seconds(plate: PosturePlate) -> Fraction:
    words = len(plate.reading.split())
    return max(Fraction(LEAST_SECONDS), Fraction(round(words / limit("readable_words_per_second"))))


@studio_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def put(request: HttpRequest) -> HttpResponse:
    """Where the plate of the posture in the address goes; posting puts it there."""
    asked = read_state(request.GET)
    rows = state_rows(asked.state)
    page: dict[str, Any] = {
        "back": f"{reverse('postures:look')}?{asked.state.query()}",
        "query": asked.state.query(),
    }
    try:
        plate = posture_plate(rows)
    except (PostureError, ModelNotInstalled) as fault:
        return render(request, "scripts/put_posture.html", page | {"why_not": str(fault)})
    kept = posture_named(asked.state.kept)
    start = {"seconds": decimal_text(_seconds(plate), 1), "name": _name(kept.name if kept else "", plate)}
    form = PosturePlateForm(request.POST or None, initial=start)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        beat = plate_insert(
            data["breakdown"],
            after=data["beat"].key if data.get("beat") else None,
            at_start=data["after"] == 0,
            seconds_ms=thousandths(data["seconds"]),
            by=request.user,
            plate="posture",
            plate_entry=data["name"],
            plate_rows=rows,
        )
        messages.success(
            request, f"The plate “{data['name']}” stands as beat {beat.position + 1}; undo takes it out."
        )
        return redirect(f"{beat.breakdown.get_absolute_url()}#beat-{beat.key}")
    page |= {
        "form": form,
        "plate": plate,
        "shown": plate_query({"plate": "posture", "plate_rows": rows}, "16:9"),
        "has_breakdowns": form.fields["breakdown"].queryset.exists(),  # type: ignore[attr-defined]
        "errors": asked.errors,
    }
    return render(request, "scripts/put_posture.html", page, status=422 if form.is_bound else 200)


def _name(kept: str, plate: PosturePlate) -> str:
    return ", ".join(part for part in (plate.heading.lower(), kept or plate.where.lower()) if part)[
        :_LONGEST_NAME
    ]
