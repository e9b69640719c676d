from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from breakdowns.people.access import studio_required

from .models import WorkItem
from .services import work_again, work_stop


@studio_required
@never_cache
@require_GET
def progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The line that tells how far a piece of work is; asks again by itself while it is live."""
    item = get_object_or_404(WorkItem, pk=pk)
    response = render(
        request, "work/progress.html#line" if request.htmx else "work/progress.html", {"item": item}
    )
    if request.htmx and not item.is_live:
        response["HX-Trigger"] = "work-ended"
    return response


def _back(request: HttpRequest, item: WorkItem) -> HttpResponse:
    if request.htmx:
        return render(request, "work/progress.html#line", {"item": item})
    wanted = request.POST.get("next", "")
    if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure()):
        return redirect(wanted)
    return redirect("work:progress", pk=item.pk)


@studio_required
@require_POST
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(WorkItem, pk=pk)
    work_stop(item)
    item.refresh_from_db()
    return _back(request, item)


@studio_required
@require_POST
def again(request: HttpRequest, pk: int) -> HttpResponse:
    return _back(request, work_again(get_object_or_404(WorkItem, pk=pk), by=request.user))
