"""What payment services report: proved, taken once, in any order, many at a time; nothing lost, nothing doubled."""

from __future__ import annotations

import hashlib
import itertools
import json
import random
import shutil
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.core import mail
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.people.account.services import account_erase
from breakdowns.people.membership.selectors import standing_of
from breakdowns.people.models import (
    Letter,
    Membership,
    OutsideMembership,
    PaymentService,
    ServiceEvent,
    ServiceKey,
    User,
    site_today,
)
from breakdowns.people.post.services import send_due
from breakdowns.people.webhook.events import BadEvent, read_event
from breakdowns.people.webhook.services import key_revoke, key_rotate, service_add
from breakdowns.people.webhook.signature import WINDOW_SECONDS, is_fresh, is_signed, signature
from tests.factory import make_user

NOW = datetime(2026, 11, 26, 12, tzinfo=UTC)
numbers = itertools.count(1)


def an_event(**changes: Any) -> dict[str, Any]:
    today = site_today()
    fields = {
        "event": f"e{next(numbers)}", "at": (timezone.now() - timedelta(minutes=1)).isoformat(), "membership": "m-1",
        "state": "running", "starts_on": str(today), "ends_on": str(today + timedelta(days=30)),
        "email": "keeper@example.org", "name": "A goalkeeper",
    }  # fmt: skip
    return {**fields, **changes}


class Sender:
    """A payment service that was taught to call."""

    def __init__(self, name: str = "The till") -> None:
        self.key, self.secret = service_add(name)

    def send(self, event: dict[str, Any] | bytes, *, age: int = 0, **headers: str) -> Any:
        body = event if isinstance(event, bytes) else json.dumps(event).encode()
        moment = str(int(time.time()) - age)
        fields = {
            "Membership-Key": self.key.name,
            "Membership-Timestamp": moment,
            "Membership-Signature": signature(self.secret, self.key.name, moment, body),
        }
        program = Client(enforce_csrf_checks=True)
        return program.post(
            reverse("people:events"), body, content_type="application/json", headers=fields | headers
        )

    def outcome(self, event: dict[str, Any], **how: Any) -> str:
        answer = self.send(event, **how)
        assert answer.status_code == 200, answer.content
        assert answer.json()["event"] == event["event"]
        return answer.json()["outcome"]


@pytest.fixture
def sender(db) -> Sender:
    return Sender()


# --- the signature -------------------------------------------------------------------------------


def hmac_by_the_book(key: bytes, text: bytes) -> str:
    """RFC 2104, 2: H(K XOR opad, H(K XOR ipad, text)), B = 64 octets for SHA-256 (FIPS 180-4)."""
    key = key.ljust(64, b"\0")
    inner = hashlib.sha256(bytes(k ^ 0x36 for k in key) + text).digest()
    return hashlib.sha256(bytes(k ^ 0x5C for k in key) + inner).hexdigest()


@given(st.text("abcXYZ019-_", min_size=1, max_size=60), st.binary(max_size=200))
def test_the_signature_is_the_keyed_hash_of_rfc_2104(secret, body):
    assert signature(secret, "k1", "1700000000", body) == hmac_by_the_book(
        secret.encode(), b"k1\n1700000000\n" + body
    )


@pytest.mark.skipif(shutil.which("openssl") is None, reason="OpenSSL is not on this machine")
def test_the_signature_is_what_openssl_makes_of_the_same_bytes(tmp_path):
    (tmp_path / "signed").write_bytes(b"k1\n1700000000\n" + '{"name": "Ä"}'.encode())
    command = ["openssl", "dgst", "-sha256", "-hmac", "a-secret", str(tmp_path / "signed")]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert told.split()[-1] == signature("a-secret", "k1", "1700000000", '{"name": "Ä"}'.encode())


@given(st.integers(0, 300), st.sampled_from([1, -1]))
def test_only_a_moment_within_the_window_is_fresh(off, sign):
    now = 1_700_000_000
    assert is_fresh(str(now + sign * off), now)
    assert not is_fresh(str(now + sign * (off + WINDOW_SECONDS + 1)), now)


@pytest.mark.parametrize("moment", ["", "-5", "1e9", "١٧٠٠٠٠٠٠٠٠", "9" * 5000, " 1700000000", "\ud800"])
def test_what_is_no_moment_is_not_fresh(moment):
    assert not is_fresh(moment, 1_700_000_000)
    assert not is_signed("\ud800", "s", "k", "1", b"")


@pytest.mark.parametrize(
    "change",
    [{"Membership-Signature": "0" * 64}, {"Membership-Signature": ""}, {"Membership-Key": "nobody"},
     {"Membership-Timestamp": "1"}, {"Membership-Timestamp": ""}],
)  # fmt: skip
def test_what_is_not_signed_right_is_refused_and_leaves_nothing(sender, change):
    answer = sender.send(an_event(), **change)
    assert answer.status_code == 401
    assert set(answer.json()) == {"error"}
    assert "WWW-Authenticate" in answer.headers  # RFC 9110, 15.5.2
    assert not User.objects.exists()
    assert not ServiceEvent.objects.exists()
    assert ServiceKey.objects.get().trouble == ""


def test_one_changed_byte_is_noticed(sender):
    body = json.dumps(an_event()).encode()
    moment = str(int(time.time()))
    signed = signature(sender.secret, sender.key.name, moment, body)
    answer = sender.send(body.replace(b"m-1", b"m-2"), **{"Membership-Signature": signed})
    assert answer.status_code == 401


def test_an_old_message_is_refused_and_so_is_one_from_the_future(sender):
    for age in (WINDOW_SECONDS + 5, -WINDOW_SECONDS - 5):
        answer = sender.send(an_event(), age=age)
        assert answer.status_code == 401
        assert "timestamp" in answer.json()["error"]
    assert sender.outcome(an_event(), age=WINDOW_SECONDS - 20) == "applied"


def test_a_key_is_shown_once_is_renewed_with_a_day_of_both_and_is_revoked_at_once(client, sender):
    assert sender.secret not in str([*ServiceKey.objects.values(), *PaymentService.objects.values()])
    first = sender.key, sender.secret
    second = key_rotate(PaymentService.objects.get())
    for sender.key, sender.secret in (first, second):
        assert sender.send(an_event()).status_code == 200
    ServiceKey.objects.filter(pk=first[0].pk).update(good_until=timezone.now() - timedelta(seconds=1))
    sender.key, sender.secret = first
    assert sender.send(an_event()).status_code == 401
    sender.key, sender.secret = second
    assert key_revoke(second[0])
    assert sender.send(an_event()).status_code == 401


@pytest.mark.django_db
def test_the_owner_gets_a_key_on_the_page_and_only_there(client):
    client.force_login(make_user("owner"))
    page = client.post(reverse("people:services"), {"name": "The till"})
    secret = page.context["secret"]
    assert secret in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert secret not in client.get(reverse("people:services")).content.decode()
    assert client.post(reverse("people:services"), {"name": "The till"}).status_code == 422
    service = PaymentService.objects.get()
    renewed = client.post(reverse("people:service_rotate", args=[service.pk]))
    assert renewed.context["secret"] not in ("", secret)
    assert (
        client.post(reverse("people:service_key_revoke", args=[renewed.context["fresh_key"].pk])).status_code
        == 302
    )
    states = [key.state for key in service.keys.all()]
    assert states == ["revoked", "still good"]


def test_the_sites_own_secret_may_be_renewed_too(sender, settings):
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another one, long enough for anybody to guess at"
    assert sender.send(an_event()).status_code == 200


# --- what an event says --------------------------------------------------------------------------


@pytest.mark.parametrize(("change", "words"), [
    ({"state": "paused"}, "state is"),
    ({"email": "nobody"}, "no e-mail address"),
    ({"ends_on": "2026-02-30"}, "day of the calendar"),
    ({"ends_on": "20261130"}, "YYYY-MM-DD"),
    ({"starts_on": "2026-12-02", "ends_on": "2026-12-01"}, "lies before"),
    ({"at": "2026-11-26T12:00:00"}, "offset"),
    ({"at": "2026-11-27T12:00:00Z"}, "still to come"),
    ({"at": "0001-01-01T00:00:00+14:00"}, "offset"),
    ({"membership": None}, "membership is missing"),
    ({"event": "a b"}, "letters, digits"),
    ({"name": "x" * 121}, "120 at most"),
    ({"name": "A\x00"}, "control sign"),
    ({"gift": "yes"}, "true or false"),
    ({"end_on": "2026-12-01"}, "no field"),
    ({"starts_on": 20261101}, "send a text"),
])  # fmt: skip
def test_faults_are_named_with_their_field(change, words):
    fields = {**an_event(at="2026-11-26T11:00:00Z", starts_on="2026-11-01", ends_on="2026-11-30"), **change}
    with pytest.raises(BadEvent, match=words):
        read_event(json.dumps(fields), now=NOW, is_address=lambda text: "@" in text)


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(),
        lambda inner: st.lists(inner) | st.dictionaries(st.sampled_from([*an_event()]) | st.text(), inner),
    )
)
def test_whatever_comes_is_an_event_or_a_fault(content):
    with pytest.raises(BadEvent):
        read_event(json.dumps(content), now=NOW, is_address=lambda text: False)


@pytest.mark.parametrize(("body", "status"), [
    (b"", 422), (b"[]", 422), (b"{", 422), (b'{"event": NaN}', 422), (b"\xff\xfe", 400), (b"[" * 9000, 422),
    (b" " * 70_000, 413),
])  # fmt: skip
def test_a_faulty_body_is_told_to_the_sender_and_to_the_owner(client, sender, body, status):
    answer = sender.send(body)
    assert answer.status_code == status
    if status != 413:
        assert ServiceKey.objects.get().trouble == answer.json()["error"]
        client.force_login(make_user("owner"))
        assert "Last trouble" in client.get(reverse("people:services")).content.decode()


# --- what comes of it ----------------------------------------------------------------------------


def test_somebody_unknown_gets_an_account_and_an_invitation(sender):
    assert sender.outcome(an_event()) == "applied"
    user = User.objects.get()
    assert (user.email, user.name, user.is_member) == ("keeper@example.org", "A goalkeeper", True)
    assert user.memberships.get().source == "webhook"
    send_due()
    assert [letter.subject for letter in mail.outbox] == ["An invitation"]


def test_somebody_known_keeps_the_account_and_is_told(sender):
    user = make_user("reader", email="keeper@example.org", last_login=timezone.now())
    sender.outcome(an_event(email="Keeper@Example.org"))
    assert user.is_member
    assert User.objects.count() == 1
    assert [letter.kind for letter in Letter.objects.all()] == ["membership"]


def test_the_same_event_again_changes_nothing_and_another_content_is_refused(sender):
    event = an_event()
    assert [sender.outcome(event) for _ in range(3)] == ["applied", "already", "already"]
    spaced = json.dumps(event, indent=4, sort_keys=True).encode()
    assert sender.send(spaced).json()["outcome"] == "already"
    assert (Membership.objects.count(), Letter.objects.count(), ServiceEvent.objects.count()) == (1, 1, 1)
    assert sender.send({**event, "ends_on": None}).status_code == 409
    other = Sender("Another till")
    assert other.outcome(event) == "applied", "names of events are each service's own"
    assert Membership.objects.count() == 2


def test_a_message_played_again_by_a_listener_changes_nothing(sender):
    first, second = an_event(), an_event(state="taken back", at=timezone.now().isoformat())
    body, moment = json.dumps(first).encode(), str(int(time.time()))
    heard = {
        "Membership-Timestamp": moment,
        "Membership-Signature": signature(sender.secret, sender.key.name, moment, body),
    }
    assert sender.send(body, **heard).json()["outcome"] == "applied"
    assert sender.outcome(second) == "applied"
    assert sender.send(body, **heard).json()["outcome"] == "already"
    assert standing_of(User.objects.get()).state == "lapsed"


def a_life() -> list[dict[str, Any]]:
    """What a service reports of one membership over its time, in the order in which it happened."""
    start, now = site_today() - timedelta(days=40), timezone.now()
    return [
        an_event(at=(now - timedelta(days=40 - 10 * step)).isoformat(), state=state, starts_on=str(start),
                 ends_on=str(start + timedelta(days=days)))
        for step, (state, days) in enumerate([("running", 30), ("running", 60), ("cancelled", 60), ("running", 90)])
    ]  # fmt: skip


@pytest.mark.parametrize("order", list(itertools.permutations(range(4))))
def test_events_may_come_in_any_order(sender, order):
    make_user("reader", email="keeper@example.org")
    life = a_life()
    outcomes = [sender.outcome(life[step]) for step in order]
    row = Membership.objects.get()
    assert row.ends_on == date.fromisoformat(life[-1]["ends_on"])
    assert row.cancelled_at is None
    assert row.grace_until == row.ends_on + timedelta(days=3)
    assert standing_of(row.user).state == "member"
    so_far = [max(order[: n + 1]) for n in range(4)]
    assert outcomes == ["applied" if order[n] == so_far[n] else "overtaken" for n in range(4)]
    assert ServiceEvent.objects.count() == 4


def test_two_states_of_one_moment_are_told_apart_the_same_way_in_either_order(sender):
    at, ends = timezone.now().isoformat(), []
    for name, order in (("m-1", 1), ("m-2", -1)):
        pair = [
            an_event(at=at, membership=name, event=f"{name}-{n}", ends_on=None if n else str(site_today()))
            for n in (0, 1)
        ]
        for event in pair[::order]:
            sender.outcome(event)
        ends.append(OutsideMembership.objects.get(key=name).membership.ends_on)
    assert ends == [None, None]


def test_an_end_that_comes_before_its_beginning_is_not_forgotten(sender):
    life = a_life()
    gone = {**an_event(state="taken back"), "at": timezone.now().isoformat()}
    assert sender.outcome(gone) == "unknown"
    assert not User.objects.exists()
    assert [sender.outcome(event) for event in life] == ["overtaken"] * 4
    assert not User.objects.exists()
    later = an_event(at=timezone.now().isoformat(), event="zz-renewed")
    assert sender.outcome(later) == "applied"
    assert User.objects.get().is_member


def test_cancelling_keeps_what_is_paid_and_has_no_grace(sender):
    sender.outcome(an_event(ends_on=str(site_today() + timedelta(days=9))))
    sender.outcome(
        an_event(
            at=timezone.now().isoformat(), state="cancelled", ends_on=str(site_today() + timedelta(days=9))
        )
    )
    row = Membership.objects.get()
    assert (standing_of(row.user).state, row.grace_until) == ("cancelled", None)
    sender.outcome(
        an_event(at=(timezone.now() + timedelta(seconds=1)).isoformat(), state="cancelled", ends_on=None)
    )
    row.refresh_from_db()
    assert row.ends_on == site_today(), "without an end nothing is paid beyond the day of cancelling"
    assert [line.what.split(":")[0] for line in row.changes.all()] == ["payment service"] * 2 + [
        "given from the payment service"
    ]


def test_a_gift_is_one_and_has_no_grace(sender):
    sender.outcome(an_event(gift_from="The second team", gift_message="For the knee\nof the year"))
    row = Membership.objects.get()
    assert (row.gift, row.gift_from, row.grace_until) == (True, "The second team", None)


def test_who_was_erased_stays_erased_whatever_is_reported(sender):
    sender.outcome(an_event())
    user = User.objects.get()
    account_erase(user)
    assert sender.outcome(an_event(at=timezone.now().isoformat(), event="zz")) == "erased"
    assert User.objects.get().email.endswith("@erased.invalid")
    assert "keeper" not in str(
        [*ServiceEvent.objects.values(), *OutsideMembership.objects.values(), *Letter.objects.values()]
    )
    assert not User.objects.get().is_member


def test_a_closed_account_stays_closed_and_the_studio_keeps_its_role(sender):
    closed = make_user("reader", email="keeper@example.org", is_active=False, last_login=timezone.now())
    assert sender.outcome(an_event()) == "applied"
    closed.refresh_from_db()
    assert (closed.is_active, closed.is_member) == (False, False)
    owner = make_user("owner")
    assert sender.outcome(an_event(membership="m-9", email=owner.email)) == "applied"
    owner.refresh_from_db()
    assert owner.role == "owner"


# --- many at once --------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_a_thousand_at_once_lose_nothing_and_double_nothing():
    """200 memberships of 150 people, four states each, and 200 of the events sent twice, all mixed up. A busy
    database answers 503; a service then sends again, as every one does.
    """
    sender, today, now = Sender(), site_today(), timezone.now()
    events = [
        an_event(membership=f"m-{m}", email=f"person{m % 150}@example.com", at=(now - timedelta(hours=9 - step)).isoformat(),
                 ends_on=str(today + timedelta(days=10 * step + m)), event=f"e-{m}-{step}")
        for m in range(200) for step in range(4)
    ]  # fmt: skip
    mixed = random.Random(7)
    sent = [*events, *mixed.sample(events, 200)]
    mixed.shuffle(sent)

    def call(event: dict[str, Any]) -> str:
        try:
            for _ in range(20):
                answer = sender.send(event)
                if answer.status_code != 503:
                    break
            assert answer.status_code == 200, answer.content
            return answer.json()["outcome"]
        finally:
            connection.close()

    with ThreadPoolExecutor(24) as pool:
        outcomes = list(pool.map(call, sent))
    assert len(outcomes) == 1000
    assert outcomes.count("already") == 200
    assert ServiceEvent.objects.count() == 800
    assert outcomes.count("applied") == ServiceEvent.objects.filter(outcome="applied").count()
    assert User.objects.count() == 150
    assert Membership.objects.count() == OutsideMembership.objects.count() == 200
    for row in OutsideMembership.objects.select_related("membership", "user"):
        number = int(row.key.removeprefix("m-"))
        assert row.membership.ends_on == today + timedelta(days=30 + number)
        assert row.user.email == f"person{number % 150}@example.com"
    assert Letter.objects.filter(kind="invitation").count() == 200
