"""Days of membership: joined, at their boundaries, in grace, cancelled, given, changed and ended."""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.people.membership.days import STATES, Days, grace_after, joined, standing
from breakdowns.people.membership.selectors import members, standing_of
from breakdowns.people.membership.services import (
    membership_change,
    membership_end,
    membership_give,
    memberships_cancel,
    memberships_tell_ending,
    settings_save,
)
from breakdowns.people.models import Invitation, Letter, Membership, User, site_today
from breakdowns.people.post.services import send_due
from tests.factory import make_user

TODAY = date(2026, 11, 26)
near = st.integers(-30, 30).map(lambda n: TODAY + timedelta(days=n))


@st.composite
def some_days(draw) -> Days:
    first = draw(near)
    last = draw(st.none() | st.integers(0, 20).map(lambda n: first + timedelta(days=n)))
    grace = grace_after(last, draw(st.integers(0, 7)), renews=draw(st.booleans()))
    return Days(first, last, grace, draw(st.booleans()), draw(st.booleans()))


@given(st.lists(some_days(), max_size=6), near)
def test_runs_cover_exactly_the_days_that_a_membership_covers(memberships, day):
    runs = joined(memberships)
    assert any(r.first <= day and (r.last is None or day <= r.last) for r in runs) == any(
        one.covers(day) for one in memberships
    )
    for one, after in itertools.pairwise(runs):
        assert one.last is not None
        assert after.first > one.last + timedelta(days=1)


@given(st.lists(some_days(), max_size=6), near)
def test_what_is_told_agrees_with_what_opens_whatever_the_order(memberships, day):
    told = standing(memberships, day)
    assert told.state in STATES
    assert told.opens == any(one.opens(day) for one in memberships)
    assert standing(memberships[::-1], day) == told


@pytest.mark.django_db
def test_the_list_sorts_people_into_the_states_that_their_page_tells():
    today, days = site_today(), [-9, -2, -1, 0, 1, 9]
    kinds = [
        {"starts_on": today + timedelta(a), "ends_on": None if b is None else today + timedelta(b)}
        for a in days
        for b in [*days, None]
        if b is None or b >= a
    ]
    for number, values in enumerate(kinds):
        for extra in ({}, {"cancelled_at": timezone.now()}, {"revoked_at": timezone.now()}, {"gift": True}):
            user = make_user("reader")
            membership_give(user, **values, **extra)
            if number % 3 == 0:
                membership_give(user, **kinds[(number * 5) % len(kinds)])
    for state in STATES:
        told = {user for user in User.objects.all() if standing_of(user).state == state}
        assert set(members(state)) == (told if state != "none" else set()), state
    for user in User.objects.all():
        assert user.is_member == standing_of(user).opens


@pytest.mark.django_db
@pytest.mark.parametrize(("zone", "last_moment"), [
    ("Pacific/Auckland", datetime(2026, 3, 31, 10, 59, 59, tzinfo=UTC)),  # UTC+13, summer time
    ("America/New_York", datetime(2026, 4, 1, 3, 59, 59, tzinfo=UTC)),  # UTC-4
    ("UTC", datetime(2026, 3, 31, 23, 59, 59, tzinfo=UTC)),
])  # fmt: skip
def test_the_last_day_ends_at_midnight_of_the_sites_own_clock(settings, monkeypatch, zone, last_moment):
    """Offsets: IANA time zone database, 2026."""
    settings.TIME_ZONE = zone
    user = make_user("reader")
    Membership.objects.create(user=user, starts_on=date(2026, 3, 1), ends_on=date(2026, 3, 31))
    for moment, open_then in ((last_moment, True), (last_moment + timedelta(seconds=1), False)):
        monkeypatch.setattr(timezone, "now", lambda moment=moment: moment)
        with timezone.override("Asia/Tokyo"):
            assert user.is_member == open_then


@pytest.mark.django_db
def test_grace_follows_the_owners_days_and_never_a_gift_or_a_cancellation():
    yesterday = site_today() - timedelta(days=1)
    paid, gift, stopped = (make_user("reader") for _ in range(3))
    for user in (paid, stopped):
        membership_give(user, starts_on=yesterday - timedelta(days=9), ends_on=yesterday)
    membership_give(gift, starts_on=yesterday, ends_on=yesterday, gift=True, gift_from="The second team")
    memberships_cancel(stopped)
    assert (standing_of(paid).state, standing_of(gift).state, standing_of(stopped).state) == (
        "grace",
        "lapsed",
        "lapsed",
    )
    settings_save({"grace_days": 0})
    assert not paid.is_member


@pytest.mark.django_db
def test_cancelling_keeps_what_is_paid_and_changes_leave_history(client):
    user, owner, today = make_user("reader"), make_user("owner"), site_today()
    row = membership_give(user, starts_on=today, ends_on=today + timedelta(days=20))
    client.force_login(user)
    assert client.get(reverse("people:cancel")).status_code == 200
    client.post(reverse("people:cancel"))
    row.refresh_from_db()
    assert (standing_of(user).state, row.ends_on, row.grace_until) == (
        "cancelled",
        today + timedelta(days=20),
        None,
    )
    assert user.is_member
    membership_change(row, by=owner, starts_on=today, ends_on=today + timedelta(days=3))
    membership_end(row, by=owner)
    assert not user.is_member
    assert [line.what.split()[0] for line in row.changes.all()] == ["ended", "days", "cancelled", "given"]


@pytest.mark.django_db
def test_a_gift_is_given_invited_accepted_once_and_can_be_taken_back(client):
    owner = make_user("owner")
    client.force_login(owner)
    form = {
        "email": "New@example.org", "name": "Line player", "starts_on": site_today(), "ends_on": "", "gift": "on",
        "gift_from": "The second team", "gift_message": "For the knee <b>", "invite": "on",
    }  # fmt: skip
    assert client.post(reverse("people:member_add"), form).status_code == 302
    person = User.objects.get(email="new@example.org")
    send_due()
    (sent,) = mail.outbox
    assert "The second team gives you a membership" in sent.body
    assert Letter.objects.get().text == ""
    path = "/" + sent.body.split("http://127.0.0.1:8000/")[1].split()[0]
    guest = Client()
    page = guest.get(path).content.decode()
    assert "The second team gives you" in page
    assert "<b>" not in page
    client.post(reverse("people:member_invite", args=[person.pk]))
    assert guest.get(path).status_code == 410, "the first link is dead once another was sent"
    send_due()
    second = "/" + mail.outbox[1].body.split("http://127.0.0.1:8000/")[1].split()[0]
    client.post(reverse("people:member_take_back", args=[person.pk]))
    assert guest.post(second).status_code == 410
    person.refresh_from_db()
    assert (person.is_active, person.is_member, person.invitation.state) == (False, False, "taken back")
    client.post(reverse("people:member_invite", args=[person.pk]))
    send_due()
    third = "/" + mail.outbox[2].body.split("http://127.0.0.1:8000/")[1].split()[0]
    assert guest.post(third)["Location"] == reverse("people:account")
    assert guest.get(reverse("people:account")).status_code == 200
    assert Client().post(third).status_code == 410


@pytest.mark.django_db
def test_an_old_invitation_is_not_taken():
    user = make_user("reader")
    token = Invitation.make(user, days=1, by=None)
    assert token not in str(Invitation.objects.values())
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert Client().post(reverse("people:invited", args=[token])).status_code == 410


@pytest.mark.django_db
def test_every_page_of_the_owner_opens_and_faults_stand_beside_their_field(client):
    client.force_login(make_user("owner"))
    user = make_user("reader", name="<script>alert(1)</script>")
    row = membership_give(user, starts_on=site_today())
    for name, args in (
        ("members", []), ("member_add", []), ("member_settings", []), ("outbox", []),
        ("member", [user.pk]), ("member_days", [row.pk]),
    ):  # fmt: skip
        answer = client.get(reverse(f"people:{name}", args=args))
        assert answer.status_code == 200, name
        assert b"<script>alert" not in answer.content
    faulty = {"starts_on": "2026-05-02", "ends_on": "2026-05-01"}
    answer = client.post(reverse("people:member_days", args=[row.pk]), faulty)
    assert answer.status_code == 422
    assert "The last day lies before the first" in answer.content.decode()
    assert 'value="2026-05-01"' in answer.content.decode()
    for query in ("?q=%00&state=x", "?q=script&state=member&page=99"):
        assert client.get(reverse("people:members") + query).status_code == 200


@pytest.mark.django_db
def test_who_is_no_member_is_told_in_the_owners_words_how_to_become_one(client):
    settings_save(
        {"what_members_get": "Videos with captions. <script>", "how_to_join": "See https://example.org/join"}
    )
    client.force_login(make_user("reader"))
    page = client.get(reverse("people:account")).content.decode()
    assert "Videos with captions. &lt;script&gt;" in page
    assert 'href="https://example.org/join"' in page


@pytest.mark.django_db
def test_who_is_not_renewed_is_told_a_week_ahead_and_who_is_in_grace_once():
    today = site_today()
    gift, paid, longer, grace, stopped = (make_user("reader") for _ in range(5))
    first, soon = today - timedelta(days=60), today + timedelta(days=7)
    membership_give(gift, starts_on=first, ends_on=soon, gift=True)
    membership_give(paid, starts_on=first, ends_on=soon)
    membership_give(longer, starts_on=first, ends_on=soon, gift=True)
    membership_give(longer, starts_on=soon + timedelta(days=1), ends_on=None)
    membership_give(grace, starts_on=first, ends_on=today - timedelta(days=1))
    membership_give(stopped, starts_on=first, ends_on=soon)
    memberships_cancel(stopped)
    Letter.objects.all().delete()
    for _ in range(2):
        memberships_tell_ending()
        assert {(letter.user, letter.subject) for letter in Letter.objects.all()} == {
            (gift, "Your membership ends soon"),
            (stopped, "Your membership ends soon"),
            (grace, "Your membership has run out"),
        }
        assert Letter.objects.count() == 3


@pytest.mark.django_db
def test_the_sweep_does_what_is_due_once_a_day():
    from breakdowns.work.services import work_sweep

    user = make_user("reader")
    membership_give(user, starts_on=site_today(), ends_on=site_today() + timedelta(days=3), gift=True)
    work_sweep()
    work_sweep()
    assert Letter.objects.filter(user=user).count() == 1
