from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from breakdowns.excerpts.plan import PlanError
from breakdowns.excerpts.policies import UnknownPolicy
from breakdowns.footage.views import send_file
from breakdowns.people.access import studio_required
from breakdowns.scripts.models import Breakdown

from .forms import AssemblyForm, PlateForm
from .models import Assembly
from .piece import PlatePicture
from .plates import draw_plate, plate_faults
from .selectors import (
    NotReady,
    content_type_of,
    files_beside,
    frame_size,
    ledger_page,
    piece_of,
    plate_picture,
)
from .services import assembly_order

PREVIEW_HEIGHT = 540


@studio_required
@require_http_methods(["GET", "POST"])
def assemble(request: HttpRequest, slug: str) -> HttpResponse:
    """The breakdown's assemblies, newest first, and the order form for another."""
    breakdown = get_object_or_404(Breakdown, slug=slug)
    form, lacking = AssemblyForm(request.POST or None), ""
    try:
        piece = piece_of(breakdown)
    except NotReady as fault:
        piece, lacking = None, str(fault)
    if request.method == "POST" and form.is_valid() and not lacking:
        assembly_order(breakdown, by=request.user, **form.cleaned_data)
        return redirect("assembly:assemble", slug=slug)
    assemblies = breakdown.assemblies.select_related("work", "ordered_by")[:20]
    context = {
        "breakdown": breakdown,
        "form": form,
        "lacking": lacking,
        "piece": piece,
        "assemblies": assemblies,
    }
    return render(request, "assembly/assemble.html", context, status=422 if request.method == "POST" else 200)


@studio_required
@require_GET
def plate(request: HttpRequest) -> HttpResponse:
    """A plate as the renderer draws it, from the columns of a beat in the query; 404 for what is none."""
    picture, shape = _asked_plate(request)
    answer = HttpResponse(content_type="image/png")
    draw_plate(picture, frame_size(shape, PREVIEW_HEIGHT)).save(answer, "PNG")
    answer["Cache-Control"] = "private, max-age=60"
    return answer


@studio_required
@never_cache
@require_GET
def plate_says(request: HttpRequest) -> HttpResponse:
    """A page piece: what that plate can't show as written, in words."""
    picture, shape = _asked_plate(request)
    faults = plate_faults(picture, frame_size(shape, 720))
    return render(request, "assembly/_plate_faults.html", {"faults": faults})


def _asked_plate(request: HttpRequest) -> tuple[PlatePicture, str]:
    form = PlateForm(request.GET)
    if not form.is_valid():
        raise Http404(next(iter(form.errors.values()))[0])
    try:
        return plate_picture(form.beat()), form.cleaned_data["shape"]
    except NotReady as fault:
        raise Http404(str(fault)) from None


@studio_required
@require_GET
def ledger(request: HttpRequest, slug: str) -> HttpResponse:
    """What the script as it stands uses of each source, beside the limits of its policy."""
    breakdown = get_object_or_404(Breakdown, slug=slug)
    try:
        context = ledger_page(breakdown)
    except (NotReady, PlanError, UnknownPolicy) as fault:
        context = {"lacking": str(fault)}
    return render(request, "assembly/ledger.html", {"breakdown": breakdown, **context})


@studio_required
@require_GET
def assembly(request: HttpRequest, key: str) -> HttpResponse:
    """One finished assembly: the video, what it uses of others' footage, and the files beside it."""
    row = get_object_or_404(Assembly.objects.select_related("breakdown", "work"), key=key)
    video = Path(settings.MEDIA_ROOT) / row.folder / f"{row.breakdown.slug}.mp4"
    files = {what: path for what, path in files_beside(video).items() if row.folder and path.exists()}
    return render(
        request, "assembly/assembly.html", {"assembly": row, "breakdown": row.breakdown, "files": files}
    )


@studio_required
@require_safe
def assembly_file(request: HttpRequest, key: str, what: str) -> HttpResponseBase:
    row = get_object_or_404(Assembly.objects.select_related("breakdown").exclude(folder=""), key=key)
    path = files_beside(Path(settings.MEDIA_ROOT) / row.folder / f"{row.breakdown.slug}.mp4").get(what)
    if path is None or not path.is_file():
        raise Http404
    response = send_file(request, path, content_type_of(path))
    if "download" in request.GET:
        response["Content-Disposition"] = f'attachment; filename="{path.name}"'
    return response
