from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from ..access import owner_required
from ..letters import KINDS
from .models import Letter
from .services import letter_again, letters_switch_off, off_wanted


@csrf_exempt
@never_cache
@require_http_methods(["GET", "POST"])
def letters_off(request: HttpRequest, token: str) -> HttpResponse:
    """Switch letters off without signing in: a button for people, one POST for mail programs (RFC 8058, 3.2).

    The signed token is the proof; a mail program has neither our cookie nor our forgery token. A look at the
    page changes nothing, because programs look at links too.
    """
    wanted = off_wanted(token)
    if wanted is None:
        return render(request, "people/letters_off.html", {"wanted": None}, status=404)
    user, kinds = wanted
    done = request.method == "POST"
    if done:
        letters_switch_off(user, kinds)
    context = {"wanted": [KINDS[kind] for kind in kinds], "done": done}
    return render(request, "people/letters_off.html", context)


@owner_required
@never_cache
@require_GET
def outbox(request: HttpRequest) -> HttpResponse:
    """What was told to whom, what waits, and what went wrong."""
    letters = Letter.objects.select_related("user").defer("text")
    state = request.GET.get("state", "")
    if state in Letter.State.values:
        letters = letters.filter(state=state)
    page = Paginator(letters, 50).get_page(request.GET.get("page"))
    context = {"page": page, "state": state, "states": Letter.State.choices}
    return render(request, "people/outbox.html", context)


@owner_required
@require_POST
def again(request: HttpRequest, pk: int) -> HttpResponse:
    letter = get_object_or_404(Letter, pk=pk)
    if letter_again(letter):
        messages.success(request, "The letter is on its way again.")
    else:
        messages.error(request, "This letter can't be sent again: it is on its way, or its link is used up.")
    return redirect("people:outbox")
