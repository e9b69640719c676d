"""Writes about people: one named function each."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib.auth import login
from django.core.cache import cache
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from .attempts import must_wait, still_counting
from .erasure.services import erasure_forget, erasures_tidy
from .importing.services import imports_tidy
from .membership.services import memberships_tell_ending
from .models import Invitation, SignInLink, User, site_today
from .post.services import put_letter, send_now

__all__ = [
    "BACKEND",
    "AnswerThen",
    "link_may_be_asked",
    "link_send",
    "link_spend",
    "people_daily",
    "person_invite",
    "put_letter",
]

BACKEND = "django.contrib.auth.backends.ModelBackend"
MOST_LINKS_AN_HOUR = 5  # for one account; own choice


class AnswerThen(HttpResponse):
    """An answer after which something is done: how long that takes can't be told from the answer."""

    def __init__(self, answer: HttpResponse, afterwards: Callable[[], object], **kwargs: Any) -> None:
        super().__init__(answer.content, status=answer.status_code, **kwargs)
        self._afterwards = afterwards

    def close(self) -> None:
        try:
            self._afterwards()
        finally:
            super().close()


def link_may_be_asked(address: str) -> bool:
    """Whether one network address may ask for another link now; asking is counted, whoever it was for."""
    key, now = f"link-asked:{address}", time.time()
    asked = still_counting(cache.get(key, []), now)
    if must_wait(asked, now):
        return False
    cache.set(key, [*asked, now], 3600)
    return True


def link_send(request: HttpRequest, email: str) -> None:
    """E-mail a one-time link when the account exists; say nothing about whether it does.

    An account gets a few links an hour at most, so that nobody's mailbox is flooded by a stranger.
    """
    user = User.objects.filter(email=email.lower(), is_active=True).first()
    if user is None:
        return
    lately = SignInLink.objects.filter(user=user, made_at__gt=timezone.now() - timedelta(hours=1))
    if lately.count() >= MOST_LINKS_AN_HOUR:
        return
    address = request.build_absolute_uri(reverse("people:link", args=[SignInLink.make(user, hours=1)]))
    text = f"This link signs you in once, within the hour:\n\n{address}\n\nIf you did not ask for it, do nothing."
    send_now(put_letter(user, "sign_in", "Your sign-in link", text, has_key=True))


@transaction.atomic
def link_spend(request: HttpRequest, token: str) -> bool:
    """Sign in by a link; False when it is used up, unknown or too old."""
    link = SignInLink.usable(token)
    if link is None or not link.spend():
        return False
    login(request, link.user, backend=BACKEND)
    return True


@transaction.atomic
def invitation_accept(request: HttpRequest, token: str) -> bool:
    """Sign in by an invitation, once; False when it can't be used."""
    invitation = Invitation.usable(token)
    if invitation is None or not invitation.spend():
        return False
    login(request, invitation.user, backend=BACKEND)
    return True


def people_daily() -> bool:
    """What is due once a day, whoever asks first on that day; doing it twice changes nothing."""
    key = f"people-daily:{site_today()}"
    if cache.get(key):
        return False
    imports_tidy()
    erasures_tidy()
    memberships_tell_ending()
    cache.set(key, True, 2 * 86400)
    return True


@transaction.atomic
def person_invite(*, name: str, email: str, role: str) -> tuple[User, str]:
    """A new account and the token of its first sign-in link (seven days)."""
    user = User.objects.create_user(email, None, name=name, role=role)
    erasure_forget(email)
    return user, SignInLink.make(user, hours=7 * 24)
