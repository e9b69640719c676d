"""Own data: read, taken along, erased; what is another's stays untouched."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from breakdowns.people.account.services import STAYS
from breakdowns.people.membership.services import membership_give
from breakdowns.people.models import Letter, User
from breakdowns.people.own_data import erase_all, export_all, holders, holds_own_data
from breakdowns.people.post.services import put_letter
from tests.factory import make_user

pytestmark = pytest.mark.django_db


def test_what_is_held_is_read_and_taken_along_by_its_owner_alone(client):
    user, other = make_user("reader"), make_user("reader")
    for one in (user, other):
        membership_give(one, gift=True, gift_from=f"Friend of {one.name}")
        put_letter(one, "answers", f"For {one.name}", "<script>alert(1)</script>")
    client.force_login(user)
    held = json.loads(client.get(reverse("people:data_file")).content)
    assert held == json.loads(json.dumps(export_all(user)))
    assert held["people"]["memberships"][0]["gift from"] == f"Friend of {user.name}"
    page = client.get(reverse("people:data")).content.decode()
    assert f"For {user.name}" in page
    assert "<script>alert" not in page
    assert other.email not in page + json.dumps(held)


def test_erasing_asks_for_the_typed_address_and_leaves_days_without_a_name(client):
    user, other = make_user("reader", name="Line player"), make_user("reader")
    for one in (user, other):
        membership_give(one, gift=True, gift_from="Somebody known")
        put_letter(one, "answers", "A", "A")
    client.force_login(user)
    address = reverse("people:erase")
    assert STAYS in client.get(address).content.decode()
    assert client.post(address, {"typed": "somebody@example.org"}).status_code == 422
    assert User.objects.get(pk=user.pk).is_active
    assert client.post(address, {"typed": user.email.upper()}).status_code == 302
    gone = User.objects.get(pk=user.pk)
    assert (gone.name, gone.is_active, gone.is_member, str(gone)) == (
        "",
        False,
        False,
        "somebody who has left",
    )
    assert user.email not in str(User.objects.values())
    assert gone.memberships.get().gift_from == ""
    assert list(Letter.objects.values_list("user", flat=True)) == [other.pk]
    assert client.get(reverse("people:account")).status_code == 302
    assert User.objects.get(pk=other.pk).is_member


def test_the_only_owner_stays(client):
    owner = make_user("owner")
    client.force_login(owner)
    answer = client.post(reverse("people:erase"), {"typed": owner.email})
    assert "You are the only owner" in answer.content.decode()
    assert User.objects.get(pk=owner.pk).is_active


def test_what_was_registered_last_is_erased_first(monkeypatch):
    from breakdowns.people import own_data

    monkeypatch.setattr(own_data, "_HOLDERS", {})
    seen: list[str] = []
    for name in ("first", "second"):
        holds_own_data(
            name, export=lambda user, name=name: name, erase=lambda user, name=name: seen.append(name)
        )
    assert export_all(object()) == {"first": "first", "second": "second"}
    erase_all(object())
    assert seen == ["second", "first"]
    assert [holder.name for holder in holders()] == ["first", "second"]


def test_letters_are_chosen_on_the_account_page(client):
    user = make_user("reader")
    client.force_login(user)
    answer = client.post(
        reverse("people:account_letters"), {"letters-wanted": ["answers"], "letters-pace": "weekly"}
    )
    assert answer.status_code == 302
    assert put_letter(user, "releases", "A", "A") is None
    assert put_letter(user, "answers", "A", "A").due_at.weekday() == 0
    assert client.post(reverse("people:account_letters"), {"letters-wanted": ["x"]}).status_code == 422
