"""What a person sees and settles about themselves."""

from __future__ import annotations

import json

from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from ..access import signed_in_required
from ..forms import PasswordForm
from ..keys.models import FeedAddress
from ..keys.services import feed_make, has_feed
from ..letters import KINDS
from ..membership.forms import EraseForm, LetterForm
from ..membership.selectors import runs_of, standing_of
from ..membership.services import memberships_cancel
from ..models import MemberSettings
from ..own_data import export_all, holders
from ..post.services import choices_of, letters_choose
from .services import LastOwner, account_erase


def _letter_form(request: HttpRequest, data: object = None) -> LetterForm:
    choices = choices_of(request.user)
    wanted = [kind for kind in KINDS if kind not in choices.switched_off]
    return LetterForm(data, kinds=KINDS, initial={"wanted": wanted, "pace": choices.pace}, prefix="letters")


def _page(
    request: HttpRequest,
    password: PasswordForm,
    letters: LetterForm,
    status: int = 200,
    *,
    feed_address: str = "",
) -> HttpResponse:
    context = {
        "form": password,
        "letter_form": letters,
        "standing": standing_of(request.user),
        "runs": runs_of(request.user),
        "gifts": request.user.memberships.filter(gift=True, revoked_at__isnull=True).order_by("-starts_on"),
        "grace_days": MemberSettings.now().grace_days,
        "has_feed": has_feed() and request.user.is_member,
        "feed_since": FeedAddress.objects.filter(user=request.user, revoked_at__isnull=True).first(),
        "feed_address": feed_address,
    }
    return render(request, "people/account.html", context, status=status)


@signed_in_required
@never_cache
@require_http_methods(["GET", "POST"])
def account(request: HttpRequest) -> HttpResponse:
    form = PasswordForm(request.POST or None, user=request.user)
    if request.method == "POST" and form.is_valid():
        form.user.set_password(form.cleaned_data["password"])
        form.user.save(update_fields=["password"])
        update_session_auth_hash(request, request.user)
        messages.success(request, "Password changed.")
        return redirect("people:account")
    return _page(request, form, _letter_form(request), 422 if request.method == "POST" else 200)


@signed_in_required
@require_POST
def letters(request: HttpRequest) -> HttpResponse:
    form = _letter_form(request, request.POST)
    if not form.is_valid():
        return _page(request, PasswordForm(user=request.user), form, 422)
    off = [kind for kind in KINDS if kind not in form.cleaned_data["wanted"]]
    letters_choose(request.user, switched_off=off, pace=form.cleaned_data["pace"])
    messages.success(request, "Kept.")
    return redirect("people:account")


@signed_in_required
@never_cache
@require_POST
def feed(request: HttpRequest) -> HttpResponse:
    """Make a private address for a feed reader, or revoke it. The page with the address is the answer itself."""
    if "revoke" in request.POST:
        FeedAddress.revoke_all(request.user)
        messages.success(request, "The address is revoked; it opens nothing any more.")
        return redirect("people:account")
    if not (has_feed() and request.user.is_member):
        raise Http404("There is no feed for this account.")
    return _page(
        request, PasswordForm(user=request.user), _letter_form(request), feed_address=feed_make(request.user)
    )


@signed_in_required
@never_cache
@require_http_methods(["GET", "POST"])
def cancel(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        if memberships_cancel(request.user):
            messages.success(
                request, "Your wish is noted: nothing is renewed. What is paid stays open to its last day."
            )
        return redirect("people:account")
    return render(request, "people/cancel.html", {"standing": standing_of(request.user)})


@signed_in_required
@never_cache
@require_GET
def data(request: HttpRequest) -> HttpResponse:
    """Everything that is held of this person, to read; the same as a file from ``data_file``."""
    return render(request, "people/data.html", {"held": export_all(request.user)})


@signed_in_required
@never_cache
@require_GET
def data_file(request: HttpRequest) -> HttpResponse:
    text = json.dumps(export_all(request.user), indent=2, ensure_ascii=False, default=str)
    answer = HttpResponse(text, content_type="application/json; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="my-data.json"'
    return answer


@signed_in_required
@never_cache
@require_http_methods(["GET", "POST"])
def erase(request: HttpRequest) -> HttpResponse:
    form = EraseForm(request.POST or None, user=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            account_erase(request.user)
        except LastOwner as reason:
            form.add_error(None, str(reason))
        else:
            logout(request)
            messages.success(request, "Your data are erased. Good-bye, and thank you.")
            return redirect("publishing:index")
    context = {"form": form, "stays": [holder.stays for holder in holders() if holder.stays]}
    return render(request, "people/erase.html", context, status=422 if request.method == "POST" else 200)
