"""The owner's pages about members."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from ..access import owner_required
from ..models import MemberSettings, Membership, MembershipChange, User
from .days import STATES
from .forms import AddMemberForm, DaysForm, SettingsForm
from .selectors import members, runs_of, standing_of
from .services import (
    invitation_send,
    invitation_take_back,
    member_add,
    membership_change,
    membership_end,
    settings_save,
)


@owner_required
@never_cache
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Everybody who has, had or will have a membership, by name; filtered by state and words."""
    state = request.GET.get("state", "")
    state = state if state in STATES else ""
    search = request.GET.get("q", "")[:200]
    page = Paginator(members(state, search), 50).get_page(request.GET.get("page"))
    rows = [(person, standing_of(person)) for person in page]
    context = {"page": page, "rows": rows, "state": state, "states": STATES, "search": search}
    return render(request, "people/members.html", context)


@owner_required
@never_cache
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    form = AddMemberForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        person, _ = member_add(form.cleaned_data, by=request.user)
        sent = " An invitation is on its way." if form.cleaned_data["invite"] else ""
        messages.success(request, f"{person} has a membership.{sent}")
        return redirect("people:member", pk=person.pk)
    status = 422 if request.method == "POST" else 200
    return render(request, "people/member_add.html", {"form": form}, status=status)


@owner_required
@never_cache
@require_GET
def member(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User.objects.select_related("invitation"), pk=pk)
    context = {
        "person": person,
        "standing": standing_of(person),
        "runs": runs_of(person),
        "memberships": person.memberships.order_by("-starts_on", "-pk"),
        "changes": MembershipChange.objects.filter(membership__user=person).select_related("by")[:50],
    }
    return render(request, "people/member.html", context)


@owner_required
@never_cache
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Other days for one membership."""
    row = get_object_or_404(Membership.objects.select_related("user"), pk=pk)
    form = DaysForm(request.POST or None, initial={"starts_on": row.starts_on, "ends_on": row.ends_on})
    if request.method == "POST" and form.is_valid():
        membership_change(row, by=request.user, **form.cleaned_data)
        messages.success(request, "The days are changed.")
        return redirect("people:member", pk=row.user_id)
    status = 422 if request.method == "POST" else 200
    return render(request, "people/member_days.html", {"form": form, "row": row}, status=status)


@owner_required
@require_POST
def end(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Membership, pk=pk)
    membership_end(row, by=request.user)
    messages.success(request, "The membership has ended. Its days and its history are kept.")
    return redirect("people:member", pk=row.user_id)


@owner_required
@require_POST
def invite(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User.objects.filter(erased_at__isnull=True), pk=pk)
    invitation_send(person, by=request.user)
    messages.success(request, "An invitation is on its way. Links sent before don't work any more.")
    return redirect("people:member", pk=person.pk)


@owner_required
@require_POST
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    if invitation_take_back(person, by=request.user):
        messages.success(request, "The invitation is taken back; its link opens nothing.")
    else:
        messages.error(
            request, "There is no invitation that could be taken back: it was accepted, or none was sent."
        )
    return redirect("people:member", pk=person.pk)


@owner_required
@never_cache
@require_http_methods(["GET", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    form = SettingsForm(request.POST or None, instance=MemberSettings.now())
    if request.method == "POST" and form.is_valid():
        settings_save(form.cleaned_data)
        messages.success(request, "Kept.")
        return redirect("people:member_settings")
    status = 422 if request.method == "POST" else 200
    return render(request, "people/member_settings.html", {"form": form}, status=status)
