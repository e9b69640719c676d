"""Writes about people: one named function each."""

from __future__ import annotations

from django.contrib.auth import login
from django.core.mail import send_mail
from django.db import transaction
from django.http import HttpRequest
from django.urls import reverse

from .models import SignInLink, User

BACKEND = "django.contrib.auth.backends.ModelBackend"


def link_send(request: HttpRequest, email: str) -> None:
    """E-mail a one-time link when the account exists; say nothing about whether it does."""
    user = User.objects.filter(email=email.lower(), is_active=True).first()
    if user is None:
        return
    address = request.build_absolute_uri(reverse("people:link", args=[SignInLink.make(user, hours=1)]))
    send_mail(
        "Your sign-in link",
        f"This link signs you in once, within the hour:\n\n{address}\n",
        None,
        [user.email],
    )


@transaction.atomic
def link_spend(request: HttpRequest, token: str) -> bool:
    """Sign in by a link; False when it is used up, unknown or too old."""
    link = SignInLink.usable(token)
    if link is None or not link.spend():
        return False
    login(request, link.user, backend=BACKEND)
    return True


@transaction.atomic
def person_invite(*, name: str, email: str, role: str) -> tuple[User, str]:
    """A new account and the token of its first sign-in link (seven days)."""
    user = User.objects.create_user(email, None, name=name, role=role)
    return user, SignInLink.make(user, hours=7 * 24)
