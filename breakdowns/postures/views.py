from __future__ import annotations

from typing import Any
from urllib.parse import parse_qsl

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from breakdowns.people.access import studio_required
from breakdowns.stills.models import Still
from breakdowns.stills.selectors import picture_is_there, still_document, still_measures

from . import services
from .context import answer, form_page, length_page
from .forms import KeepForm
from .models import Posture
from .selectors import kept_state, posture_named, postures_listed, still_named
from .state import Asked, read_state, state_of
from .taking import VIEWS, from_marks, from_space, view_told

_LONGEST_STATE = 4000


@studio_required
@never_cache
@require_safe
def index(request: HttpRequest) -> HttpResponse:
    return render(request, "postures/index.html", {"postures": postures_listed()[:200]})


def _page(request: HttpRequest, asked: Asked, keep: KeepForm | None = None) -> dict[str, Any]:
    page = form_page(asked) | answer(asked)
    state = asked.state
    still, posture = still_named(state.still), posture_named(state.kept)
    page |= {
        "still": still,
        "still_is_there": still is not None and picture_is_there(still.source),
        "posture": posture,
        "other_model": bool(posture and posture.model and posture.model != page["model"] and page["model"]),
    }
    if keep is None:
        name = posture.name if posture else ""
        base = posture.version if posture else None
        tied = posture is None or posture.still_id is not None
        keep = KeepForm(initial={"name": name, "base_version": base, "tie": still is not None and tied})
    return page | {"keep_form": keep, "revisions": posture.revisions.all()[:20] if posture else ()}


@studio_required
@never_cache
@require_safe
def look(request: HttpRequest) -> HttpResponse:
    """A posture and what the model says of it; the address holds all of it. A piece of the page for scripts."""
    asked = read_state(request.GET)
    status = 422 if asked.errors else 200
    if request.htmx and request.htmx.target == "answer":
        page = form_page(asked) | answer(asked) | {"piece": True, "still": still_named(asked.state.still)}
        found = render(request, "postures/_answer.html", page, status=status)
        found["HX-Replace-Url"] = page["address"]
        return found
    return render(request, "postures/look.html", _page(request, asked), status=status)


@studio_required
@never_cache
@require_safe
def length(request: HttpRequest) -> HttpResponse:
    """Length and tension: the classical curve, this muscle by the model, and where people are strongest."""
    asked = read_state(request.GET)
    return render(request, "postures/length.html", length_page(asked.state))


@studio_required
@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    """Keep the posture in ``state`` under a name: anew, or over the one that was opened."""
    asked = read_state(dict(parse_qsl(request.POST.get("state", "")[:_LONGEST_STATE])))
    form = KeepForm(request.POST)
    still, posture = still_named(asked.state.still), posture_named(asked.state.kept)
    if "anew" in request.POST:
        posture = None
    if not form.is_valid():
        return render(request, "postures/look.html", _page(request, asked, form), status=422)
    data = form.cleaned_data
    tied = still if data["tie"] else None
    if posture is None:
        made = services.posture_keep(asked.state, name=data["name"], still=tied, by=request.user)
    else:
        try:
            made = services.posture_save(
                posture, asked.state, name=data["name"], still=tied,
                base_version=data["base_version"] or posture.version, by=request.user,
            )  # fmt: skip
        except services.Overtaken as fault:
            again = request.POST.copy()
            again["base_version"] = str(fault.posture.version)
            form = KeepForm(again)
            form.is_valid()
            form.add_error(
                None,
                f"Somebody changed “{fault.posture}” meanwhile. Keep again to put yours in its place; theirs stays among "
                "the earlier states. Or keep yours as a new one.",
            )
            return render(request, "postures/look.html", _page(request, asked, form), status=409)
    messages.success(request, f"“{made}” is kept.")
    return redirect(f"{reverse('postures:look')}?{kept_state(made).query()}")


@studio_required
@never_cache
@require_safe
def kept(request: HttpRequest, key: str) -> HttpResponse:
    """A kept posture, opened on the page."""
    posture = get_object_or_404(postures_listed(), key=key)
    return redirect(f"{reverse('postures:look')}?{kept_state(posture).query()}")


@studio_required
@never_cache
@require_safe
def earlier(request: HttpRequest, key: str, version: int) -> HttpResponse:
    """An earlier state of a kept posture, opened on the page; keeping it makes it the present one."""
    posture = get_object_or_404(Posture, key=key)
    row = posture.revisions.filter(version=version).first() if version < 2**31 else None
    if row is None:
        raise Http404("There is no such earlier state.")
    more = {"kept": str(posture.key), "still": row.state.get("still", "")}
    state = state_of(row.state["side"], row.state["angles"], row.state["asked"] | more)
    messages.info(request, f"This is version {version} of “{posture}”. Keep it to make it the present one.")
    return redirect(f"{reverse('postures:look')}?{state.query()}")


@studio_required
@require_POST
def delete(request: HttpRequest, key: str) -> HttpResponse:
    posture = get_object_or_404(Posture, key=key)
    services.posture_delete(posture)
    messages.success(request, f"“{posture}” is deleted.")
    return redirect("postures:index")


@studio_required
@never_cache
@require_safe
def take(request: HttpRequest, key: str) -> HttpResponse:
    """What can be taken over from a still, and what can't with the reason."""
    still = get_object_or_404(Still.objects.select_related("source__event"), key=key)
    view = request.GET.get("view", view_told(still.source.view, still.source.title))
    view = view if view in VIEWS else ""
    document, measures = still_document(still), still_measures(still)
    sides = []
    for side in ("right", "left"):
        marks, space = from_marks(document, measures, side, view), from_space(document, side)
        sides.append(
            {
                "side": side,
                "marks": marks,
                "space": space,
                "marks_there": any(one.angle for one in marks),
                "space_there": any(one.angle for one in space),
            }
        )
    page = {
        "still": still,
        "is_there": picture_is_there(still.source),
        "view": view,
        "views": list(VIEWS.items()),
        "sides": sides,
        "has_landmarks": bool(document.landmarks),
        "has_space": any(row["space"] for row in sides),
        "postures": still.postures.all(),
    }
    return render(request, "postures/take.html", page)
