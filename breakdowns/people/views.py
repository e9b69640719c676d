from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render, resolve_url
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from .access import owner_required
from .forms import LinkForm, PersonForm, SignInForm
from .models import Invitation, SignInLink, User
from .services import (
    BACKEND,
    AnswerThen,
    invitation_accept,
    link_may_be_asked,
    link_send,
    link_spend,
    person_invite,
)


def _next_page(request: HttpRequest, user: User) -> str:
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure()):
        return wanted
    return resolve_url("people:home") if user.in_studio else resolve_url("publishing:index")


@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """The studio's first page for the studio, the reading pages for everybody else."""
    if request.user.is_authenticated and request.user.in_studio:
        return redirect("scripts:index")
    return redirect("publishing:index")


@never_cache
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    form = SignInForm(request.POST or None, address=request.META.get("REMOTE_ADDR", ""))
    if request.method == "POST" and form.is_valid() and form.user:
        login(request, form.user, backend=BACKEND)
        return redirect(_next_page(request, form.user))
    return render(
        request,
        "people/sign_in.html",
        {"form": form, "link_form": LinkForm(prefix="link"), "next": request.GET.get("next", "")},
    )


@require_POST
def send_link(request: HttpRequest) -> HttpResponse:
    """The same answer, as quickly, whoever the address belongs to: the letter goes after it."""
    form = LinkForm(request.POST, prefix="link")
    if form.is_valid() and not link_may_be_asked(request.META.get("REMOTE_ADDR", "")):
        form.add_error(None, "Too many links were asked for from here. Try again in a quarter of an hour.")
    if form.is_valid():
        email = form.cleaned_data["email"]
        answer = render(request, "people/link_sent.html", {"email": email})
        return AnswerThen(answer, lambda: link_send(request, email))
    return render(
        request, "people/sign_in.html", {"form": SignInForm(), "link_form": form, "next": ""}, status=422
    )


@never_cache
@require_http_methods(["GET", "POST"])
def link(request: HttpRequest, token: str) -> HttpResponse:
    """A button first: mail programs that look at links must not use them up."""
    if request.method == "POST" and link_spend(request, token):
        return redirect(_next_page(request, request.user))  # type: ignore[arg-type]
    usable = SignInLink.usable(token)
    return render(request, "people/link.html", {"link": usable}, status=200 if usable else 410)


@never_cache
@require_http_methods(["GET", "POST"])
def invited(request: HttpRequest, token: str) -> HttpResponse:
    """An invitation: a button first, for the same reason."""
    if request.method == "POST" and invitation_accept(request, token):
        messages.success(request, "Welcome. Set a password here, or have a link sent whenever you sign in.")
        return redirect("people:account")
    usable = Invitation.usable(token)
    gift = (
        usable and usable.user.memberships.filter(gift=True, revoked_at__isnull=True).order_by("-pk").first()
    )
    context = {"invitation": usable, "gift": gift}
    return render(request, "people/invited.html", context, status=200 if usable else 410)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("publishing:index")


@owner_required
@require_http_methods(["GET", "POST"])
def people(request: HttpRequest) -> HttpResponse:
    """Who is in, and an invitation for one more."""
    form, invitation = PersonForm(request.POST or None), ""
    if request.method == "POST" and form.is_valid():
        _, token = person_invite(**form.cleaned_data)
        invitation, form = request.build_absolute_uri(reverse("people:link", args=[token])), PersonForm()
    context = {
        "form": form,
        "people": User.objects.order_by("role", "name", "email"),
        "invitation": invitation,
    }
    return render(request, "people/people.html", context)


@owner_required
@require_POST
def person_switch(request: HttpRequest, pk: int) -> HttpResponse:
    """Close an account or open it again; never one's own."""
    person = get_object_or_404(User.objects.exclude(pk=request.user.pk), pk=pk)
    person.is_active = not person.is_active
    person.save(update_fields=["is_active"])
    messages.success(request, f"{person} can {'sign in again' if person.is_active else 'no longer sign in'}.")
    return redirect("people:people")


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "403.html", status=403)


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    return render(request, "500.html", status=500)
