"""The contact map; the address holds all of it, so that it works without script and can be passed on."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from breakdowns.people.access import studio_required

from .context import map_page
from .state import read_state


@studio_required
@never_cache
@require_safe
def contact_map(request: HttpRequest) -> HttpResponse:
    asked = read_state(request.GET)
    page = map_page(asked)
    status = 422 if asked.errors or page["fault"] else 200
    return render(request, "contacts/map.html", page, status=status)
