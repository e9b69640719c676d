"""The door for payment services, and the owner's page about their keys and what they said."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from ..access import owner_required
from ..post.services import site_address
from .events import BadEvent, read_event
from .forms import ServiceForm
from .models import PaymentService, ServiceEvent, ServiceKey
from .services import (
    AnotherContent,
    NotBelieved,
    event_take,
    key_of,
    key_revoke,
    key_rotate,
    key_trouble,
    service_add,
)

MOST_BYTES = 64 * 1024  # own choice: an event is far smaller


def _is_address(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True


def _no(words: str, status: int, **headers: str) -> JsonResponse:
    return JsonResponse({"error": words}, status=status, headers=headers)


@csrf_exempt
@never_cache
@require_POST
def events(request: HttpRequest) -> HttpResponse:
    """Take one signed event; DEVELOPERS.md has the format. Errors are JSON with one sentence."""
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not length.isdecimal() or int(length) > MOST_BYTES:
        return _no("The body is larger than 64 KiB; send one event at a time.", 413)
    body = request.body
    try:
        key = key_of(
            request.headers.get("Membership-Key", ""),
            request.headers.get("Membership-Timestamp", ""),
            request.headers.get("Membership-Signature", ""),
            body,
        )
    except NotBelieved as reason:
        return _no(str(reason), 401, **{"WWW-Authenticate": "Membership-Signature"})
    try:
        event = read_event(body.decode("utf-8"), now=timezone.now(), is_address=_is_address)
        outcome = event_take(key, event)
    except UnicodeDecodeError:
        return _trouble(key, "The body is not UTF-8; send JSON as UTF-8 (RFC 8259, 8.1).", 400)
    except BadEvent as fault:
        return _trouble(key, str(fault), 422)
    except AnotherContent as fault:
        return _trouble(key, str(fault), 409)
    except OperationalError:
        return _no("The database is busy; send the same event again.", 503, **{"Retry-After": "30"})
    return JsonResponse({"event": event.event, "outcome": outcome})


def _trouble(key: ServiceKey, words: str, status: int) -> JsonResponse:
    key_trouble(key, words)
    return _no(words, status)


def _page(request: HttpRequest, form: ServiceForm, status: int = 200, **fresh: object) -> HttpResponse:
    context = {
        "form": form,
        "services": PaymentService.objects.prefetch_related("keys").order_by("name"),
        "events": ServiceEvent.objects.select_related("service")[:50],
        "address": site_address(reverse("people:events")),
        **fresh,
    }
    return render(request, "people/services.html", context, status=status)


@owner_required
@never_cache
@require_http_methods(["GET", "POST"])
def index(request: HttpRequest) -> HttpResponse:
    form = ServiceForm(request.POST or None)
    if request.method != "POST":
        return _page(request, form)
    if not form.is_valid():
        return _page(request, form, 422)
    key, secret = service_add(form.cleaned_data["name"])
    return _page(request, ServiceForm(), fresh_key=key, secret=secret)


@owner_required
@never_cache
@require_POST
def rotate(request: HttpRequest, pk: int) -> HttpResponse:
    """The page with the new secret is the answer itself: it is stored nowhere that a second look could find it."""
    key, secret = key_rotate(get_object_or_404(PaymentService, pk=pk))
    return _page(request, ServiceForm(), fresh_key=key, secret=secret)


@owner_required
@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    key = get_object_or_404(ServiceKey, pk=pk)
    if key_revoke(key):
        messages.success(request, f"The key {key.name} opens nothing any more.")
    return redirect("people:services")
