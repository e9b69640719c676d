"""Letters: into the outbox, gathered, sent once, tried again, switched off by one click."""

from __future__ import annotations

import smtplib
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.people.letters import BACK_OFF_MINUTES, next_gathering, next_try, one_line
from breakdowns.people.models import FeedAddress, Letter, SignInLink
from breakdowns.people.post import services
from breakdowns.people.post.services import (
    UnknownKind,
    claim_next,
    letter_again,
    letters_choose,
    letters_forget_claims,
    put_letter,
    send_claimed,
    send_due,
)
from tests.factory import make_user

ZONE = ZoneInfo("Europe/Berlin")


@given(
    st.datetimes(datetime(2026, 1, 1), datetime(2027, 12, 31), timezones=st.just(UTC)),
    st.integers(0, 23),
    st.integers(0, 6),
)
def test_gathered_letters_go_at_the_next_hour_of_the_sites_clock(after, hour, weekday):
    daily = next_gathering(after, "daily", hour, weekday, ZONE)
    assert after < daily <= after + timedelta(hours=50)
    assert daily.astimezone(ZONE).hour == hour or daily.astimezone(UTC).astimezone(ZONE).hour == hour + 1
    weekly = next_gathering(after, "weekly", hour, weekday, ZONE)
    assert after < weekly <= after + timedelta(days=7, hours=2)
    assert weekly.weekday() == weekday
    assert next_gathering(after, "each", hour, weekday, ZONE) == after


@given(st.text())
def test_a_subject_is_always_one_line(subject):
    """RFC 5322, 2.2: a header field's body has no CR or LF but in folding."""
    line = one_line(subject)
    assert len(line) <= 150
    assert len(line.splitlines()) <= 1
    assert not any(sign < " " for sign in line)


def test_tries_grow_apart_and_end():
    now = datetime(2026, 11, 26, tzinfo=UTC)
    waits = [next_try(now, n) - now for n in range(1, len(BACK_OFF_MINUTES) + 1)]
    assert waits == sorted(waits)
    assert waits[2] >= timedelta(minutes=30)  # RFC 5321, 4.5.4.1
    assert next_try(now, len(BACK_OFF_MINUTES) + 1) is None


def make_due() -> None:
    Letter.objects.filter(state="waiting").update(due_at=timezone.now() - timedelta(seconds=1))


@pytest.mark.django_db
def test_news_are_gathered_and_urgent_letters_are_not(settings):
    settings.SITE_ADDRESS = "https://studio.example"
    user = make_user("reader")
    put_letter(user, "answers", "First\r\nBcc: x@example.org", "One.")
    put_letter(user, "corrections", "Second", "Two.")
    put_letter(user, "red flag", "Go now", "See somebody today.")
    assert send_due() == {"sent": 1}
    assert mail.outbox[0].subject == "Go now"
    assert "List-Unsubscribe" not in mail.outbox[0].message()
    make_due()
    assert send_due() == {"sent": 1}
    gathered = mail.outbox[1]
    assert gathered.to == [user.email]
    assert gathered.subject == "Stancewright: 2 things for you"
    assert "First Bcc: x@example.org" in gathered.body
    assert gathered.message()["Bcc"] is None
    assert send_due() == {}


@pytest.mark.django_db
def test_one_click_as_rfc_8058_words_it(settings):
    """RFC 8058, 3.1: one List-Unsubscribe with one HTTPS URI, List-Unsubscribe-Post with the single pair
    List-Unsubscribe=One-Click. 3.2: the receiver POSTs that pair as form data to the URI, without cookies. 3.1: the
    URI carries what is needed to know whom and what to switch off.
    """
    settings.SITE_ADDRESS = "https://studio.example"
    user = make_user("reader")
    letters_choose(user, switched_off=[], pace="each")
    put_letter(user, "answers", "An answer", "Text.")
    send_due()
    message = mail.outbox[0].message()
    assert message.get_all("List-Unsubscribe-Post") == ["List-Unsubscribe=One-Click"]
    (field,) = message.get_all("List-Unsubscribe")
    assert field.startswith("<https://studio.example/")
    path = field.strip("<>").removeprefix("https://studio.example")
    program = Client(enforce_csrf_checks=True)
    assert program.get(path).status_code == 200
    assert put_letter(user, "answers", "Still on", "A look switches nothing off.") is not None
    answer = program.post(
        path, "List-Unsubscribe=One-Click", content_type="application/x-www-form-urlencoded"
    )
    assert answer.status_code == 200
    assert put_letter(user, "answers", "Off", "Text.") is None
    assert put_letter(user, "releases", "Another kind", "Text.") is not None
    send_due()
    ended = dict(Letter.objects.values_list("subject", "state"))
    assert ended["Still on"] == "withheld", "what was put before is withheld"
    assert ended["Another kind"] == "sent"
    assert program.post(path[:-3] + "xx/").status_code == 404
    # Over plain HTTP the POST is not offered: the URI must be HTTPS.
    settings.SITE_ADDRESS = "http://studio.example"
    put_letter(user, "releases", "Plain", "Text.")
    send_due()
    assert mail.outbox[-1].message()["List-Unsubscribe-Post"] is None


@pytest.mark.django_db
def test_a_letter_is_claimed_by_one_sender_only():
    letter = put_letter(make_user("reader"), "red flag", "Go now", "Text.")
    first, second = claim_next(), claim_next()
    assert ([row.pk for row in first], second) == ([letter.pk], [])
    assert send_claimed(first) == "sent"
    assert send_claimed(first) == "sent" or len(mail.outbox) == 1


class Server:
    """A mail server that fails as told, at opening or at handing over."""

    def __init__(self, opening: Exception | None = None, handing: Exception | None = None) -> None:
        self.opening, self.handing = opening, handing

    def open(self) -> None:
        if self.opening:
            raise self.opening

    def send_messages(self, messages: list) -> int:
        if self.handing:
            raise self.handing
        mail.outbox.extend(messages)
        return len(messages)

    def close(self) -> None:
        pass


@pytest.mark.django_db
@pytest.mark.parametrize(("server", "state"), [
    (Server(opening=ConnectionRefusedError()), "waiting"),
    (Server(handing=smtplib.SMTPRecipientsRefused({"x": (450, b"busy")})), "waiting"),  # RFC 5321, 4.2.1: 4yz
    (Server(handing=smtplib.SMTPRecipientsRefused({"x": (550, b"no such")})), "failed"),  # 5yz
    (Server(handing=smtplib.SMTPDataError(554, b"no")), "failed"),
    (Server(handing=TimeoutError()), "unsure"),
])  # fmt: skip
def test_trouble_is_tried_again_or_shown_and_never_doubles(monkeypatch, server, state):
    letter = put_letter(make_user("reader"), "red flag", "Go now", "Text.")
    monkeypatch.setattr(services, "get_connection", lambda: server)
    assert send_due() == {state: 1}
    letter.refresh_from_db()
    assert (letter.state, bool(letter.trouble)) == (state, True)
    monkeypatch.setattr(services, "get_connection", lambda: Server())
    assert send_due() == {}, "not before its time, and not at all when it may have arrived"
    if state == "waiting":
        make_due()
    else:
        assert letter_again(letter)
    assert send_due() == {"sent": 1}
    assert len(mail.outbox) == 1


@pytest.mark.django_db
def test_a_sender_that_died_leaves_a_letter_that_is_not_sent_again():
    put_letter(make_user("reader"), "red flag", "Go now", "Text.")
    claim_next()
    assert send_due() == {}
    Letter.objects.update(claimed_at=timezone.now() - timedelta(hours=1))
    assert letters_forget_claims() == 1
    assert send_due() == {}
    assert Letter.objects.get().state == "unsure"


@pytest.mark.django_db
def test_a_letter_put_once_is_put_once_and_kinds_are_known():
    user = make_user("reader")
    assert put_letter(user, "answers", "A", "A", once="q1") == put_letter(
        user, "answers", "A", "A", once="q1"
    )
    with pytest.raises(UnknownKind, match="no kind of letter"):
        put_letter(user, "advertising", "A", "A")
    user.is_active = False
    assert put_letter(user, "answers", "A", "A") is None


@pytest.mark.django_db
def test_sign_in_links_go_by_the_same_door_are_few_and_leave_no_key_behind(client):
    user = make_user("reader")
    for _ in range(7):
        client.post(reverse("people:send_link"), {"link-email": user.email})
    assert len(mail.outbox) == SignInLink.objects.count() == 5
    assert set(Letter.objects.values_list("kind", "text", "state")) == {("sign_in", "", "sent")}
    assert client.post(reverse("people:send_link"), {"link-email": "x@example.org"}).status_code == 200
    answer = client.post(reverse("people:send_link"), {"link-email": "x@example.org"})
    assert answer.status_code == 422
    assert "Too many links" in answer.content.decode()


@pytest.mark.django_db
def test_the_work_sends_what_is_due(monkeypatch):
    from breakdowns.work.services import work_sweep
    from breakdowns.work.tasks import do_work

    put_letter(make_user("reader"), "red flag", "Go now", "Text.")
    work_sweep()
    from breakdowns.work.models import WorkItem

    assert do_work(WorkItem.objects.get(kind="people.letters").pk) == "done"
    assert len(mail.outbox) == 1


@pytest.mark.django_db
def test_a_feed_address_is_stored_as_a_digest_and_can_be_revoked():
    user = make_user("reader")
    first = FeedAddress.make(user)
    second = FeedAddress.make(user)
    assert second not in str(FeedAddress.objects.values())
    assert (FeedAddress.user_for(first), FeedAddress.user_for(second)) == (None, user)
    FeedAddress.revoke_all(user)
    assert FeedAddress.user_for(second) is None
    assert FeedAddress.user_for("\udcff") is None


@pytest.mark.django_db
def test_a_member_makes_and_revokes_the_address_of_the_feed(client, monkeypatch, settings):
    from breakdowns.people.keys import services as keys
    from breakdowns.people.membership.services import membership_give

    settings.SITE_ADDRESS = "https://studio.example"
    monkeypatch.setattr(keys, "_feeds", [])
    user, address = make_user("reader"), reverse("people:account_feed")
    client.force_login(user)
    assert client.post(address).status_code == 404
    keys.feed_is_at(lambda token: f"/feed/{token}/")
    assert client.post(address).status_code == 404, "no member, no feed"
    membership_give(user)
    page = client.post(address)
    whole = page.context["feed_address"]
    assert whole.startswith("https://studio.example/feed/")
    assert whole in page.content.decode()
    token = whole.removeprefix("https://studio.example/feed/").rstrip("/")
    assert FeedAddress.user_for(token) == user
    assert token not in client.get(reverse("people:account")).content.decode()
    assert client.post(address, {"revoke": "1"}).status_code == 302
    assert FeedAddress.user_for(token) is None
