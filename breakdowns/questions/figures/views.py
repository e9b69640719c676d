from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from breakdowns.people.access import owner_required
from breakdowns.questions.choices import choice

from .selectors import SHARES, topics_and_next, waits, weeks


@owner_required
@never_cache
@require_GET
def figures(request: HttpRequest) -> HttpResponse:
    """Questions and minutes a week, waiting, topics, and what to make next."""
    topics, to_make = topics_and_next()
    context = {
        "weeks": weeks(),
        "waits": waits(),
        "shares": SHARES,
        "topics": topics,
        "to_make": to_make,
        "count": choice("figures_weeks"),
    }
    return render(request, "questions/figures.html", context)
