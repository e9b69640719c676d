"""Who may open what. Every studio view carries one of these decorators."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django_htmx.http import HttpResponseClientRedirect

View = Callable[..., HttpResponseBase]


def _sign_in_first(request: HttpRequest) -> HttpResponse:
    """To the sign-in page; a page piece fetched by script sends the whole window there."""
    answer = redirect_to_login(request.get_full_path())
    if getattr(request, "htmx", False):
        return HttpResponseClientRedirect(answer.url)
    return answer


def _only(test: Callable[[Any], bool]) -> Callable[[View], View]:
    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return _sign_in_first(request)
            if not test(request.user):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        guarded.access_checked = True  # type: ignore[attr-defined]
        return guarded

    return decorate


signed_in_required = _only(lambda user: user.is_active)
studio_required = _only(lambda user: user.in_studio)
owner_required = _only(lambda user: user.is_owner)


def member_required(view: View) -> View:
    """For members; who is none is told politely what they would get and how, with 403."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return _sign_in_first(request)
        if not request.user.is_member:
            return render(request, "people/for_members.html", status=403)
        return view(request, *args, **kwargs)

    guarded.access_checked = True  # type: ignore[attr-defined]
    return guarded
