"""Who gets in, and who does not."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from breakdowns.people.models import Membership, SignInLink, User

pytestmark = pytest.mark.django_db


def make_user(email: str = "owner@example.org", role: str = "owner", **fields: object) -> User:
    return User.objects.create_user(email, "a long password", role=role, **fields)


def _without_tokens(page: str) -> str:
    return re.sub(r'"X-CSRFToken": "\w+"|name="csrfmiddlewaretoken" value="\w+"', "", page)


def test_a_stranger_sees_nothing_of_the_studio(client: Client) -> None:
    for name in ("scripts:index", "footage:index", "excerpts:policies", "people:people"):
        answer = client.get(reverse(name))
        assert answer.status_code == 302, name
        assert answer["Location"].startswith(reverse("people:sign_in")), name


def test_a_reader_is_turned_away_and_an_editor_does_not_manage_people(client: Client) -> None:
    client.force_login(make_user("reader@example.org", "reader"))
    assert client.get(reverse("scripts:index")).status_code == 403
    client.force_login(make_user("editor@example.org", "editor"))
    assert client.get(reverse("scripts:index")).status_code == 200
    assert client.get(reverse("people:people")).status_code == 403


def test_password_sign_in_whatever_the_capitals_and_only_to_our_own_pages(client: Client) -> None:
    make_user()
    answer = client.post(
        reverse("people:sign_in"),
        {"email": "Owner@Example.org", "password": "a long password", "next": "//elsewhere.example"},
    )
    assert (answer.status_code, answer["Location"]) == (302, reverse("people:home"))


def test_guessing_is_slowed_down_even_for_the_right_password(client: Client) -> None:
    make_user()
    for _ in range(8):
        client.post(reverse("people:sign_in"), {"email": "owner@example.org", "password": "wrong"})
    answer = client.post(
        reverse("people:sign_in"), {"email": "owner@example.org", "password": "a long password"}
    )
    assert "Too many wrong passwords" in answer.content.decode()


def test_a_link_signs_in_once_and_looking_at_it_does_not_use_it_up(client: Client) -> None:
    address = reverse("people:link", args=[SignInLink.make(make_user())])
    assert client.get(address).status_code == 200
    assert client.get(address).status_code == 200
    assert client.post(address).status_code == 302
    assert client.get(reverse("scripts:index")).status_code == 200
    assert Client().post(address).status_code == 410


def test_an_old_link_and_a_closed_account_do_not_sign_in(client: Client) -> None:
    user = make_user()
    token = SignInLink.make(user)
    SignInLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert client.post(reverse("people:link", args=[token])).status_code == 410
    closed = make_user("closed@example.org", is_active=False)
    assert client.post(reverse("people:link", args=[SignInLink.make(closed)])).status_code == 410


def test_a_mailed_link_goes_to_accounts_only_and_never_tells_which_exist(client: Client) -> None:
    make_user()
    known = client.post(reverse("people:send_link"), {"link-email": "owner@example.org"})
    unknown = client.post(reverse("people:send_link"), {"link-email": "nobody@example.org"})
    assert _without_tokens(known.content.decode()).replace("owner@", "nobody@") == _without_tokens(
        unknown.content.decode()
    )
    assert [message.to for message in mail.outbox] == [["owner@example.org"]]


def test_the_token_is_not_stored() -> None:
    token = SignInLink.make(make_user())
    assert token not in str(SignInLink.objects.values())


def test_membership_days_count_first_and_last() -> None:
    reader, today = make_user("r@example.org", "reader"), timezone.localdate()
    assert not reader.is_member
    row = Membership.objects.create(user=reader, starts_on=today, ends_on=today)
    assert reader.is_member
    Membership.objects.filter(pk=row.pk).update(
        starts_on=today - timedelta(days=9), ends_on=today - timedelta(days=1)
    )
    assert not reader.is_member


def test_every_answer_carries_a_policy_without_inline_script(client: Client) -> None:
    policy = client.get(reverse("people:sign_in"))["Content-Security-Policy"]
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy


def test_an_invitation_opens_the_studio_to_an_editor(client: Client) -> None:
    client.force_login(make_user())
    answer = client.post(
        reverse("people:people"), {"name": "Second", "email": "second@example.org", "role": "editor"}
    )
    invitation = answer.context["invitation"]
    other = Client()
    other.post("/" + invitation.split("/", 3)[3])
    assert other.get(reverse("scripts:index")).status_code == 200
