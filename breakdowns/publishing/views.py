from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from breakdowns.assembly.models import Assembly
from breakdowns.assembly.selectors import content_type_of, files_beside
from breakdowns.footage.views import send_file
from breakdowns.people.access import studio_required

from .forms import ReleaseForm
from .models import Release
from .reading import article_of, safe_html
from .services import CannotRelease, release_make, release_withdraw


def _may_read(request: HttpRequest, release: Release) -> bool:
    if release.audience == Release.Audience.EVERYBODY:
        return True
    return request.user.is_authenticated and request.user.is_member


@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Everything that is released, newest first."""
    return render(
        request, "publishing/index.html", {"releases": Release.objects.standing().select_related("breakdown")}
    )


@require_GET
def read(request: HttpRequest, slug: str) -> HttpResponse:
    """The reading page; who may not read it sees what it is and how to get in."""
    release = get_object_or_404(Release.objects.standing(), slug=slug)
    if not _may_read(request, release):
        return render(request, "publishing/for_members.html", {"release": release}, status=403)
    context = {"release": release, "page": release.page, "sections": article_of(release.page)}
    context["has_tradeoffs"] = any(section["tradeoffs"] for section in context["sections"])
    context["references"] = [safe_html(line) for line in release.page["references"]]
    return render(request, "publishing/read.html", context)


@require_safe
def release_file(request: HttpRequest, slug: str, number: int, name: str) -> HttpResponseBase:
    """A file of a standing release, for whom the release is for. Only names the release itself knows."""
    release = get_object_or_404(Release.objects.standing(), slug=slug, number=number)
    if not _may_read(request, release):
        raise Http404
    folder = Path(settings.MEDIA_ROOT) / release.folder
    known = files_beside(folder / f"{release.slug}.mp4")
    known.update({beat["still"]: folder / beat["still"] for beat in release.page["beats"] if "still" in beat})
    if name not in known or not known[name].is_file():
        raise Http404
    return send_file(request, known[name], content_type_of(known[name]))


@studio_required
@require_http_methods(["GET", "POST"])
def release(request: HttpRequest, key: str) -> HttpResponse:
    assembly = get_object_or_404(Assembly.objects.select_related("breakdown"), key=key)
    form = ReleaseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = release_make(assembly, audience=form.cleaned_data["audience"], by=request.user)
        except CannotRelease as fault:
            form.add_error(None, str(fault))
        else:
            messages.success(request, f"Released to {made.get_audience_display()}.")
            return redirect(made)
    context = {"assembly": assembly, "breakdown": assembly.breakdown, "form": form}
    return render(request, "publishing/release.html", context)


@studio_required
@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Release.objects.standing(), pk=pk)
    release_withdraw(row)
    messages.success(
        request, f"“{row.page['title']}” is no longer published. It can be released again from its assembly."
    )
    return redirect("publishing:index")
