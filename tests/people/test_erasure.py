"""Who had their data erased is not brought back by an old list or a late event, and comes back by asking."""

from __future__ import annotations

import hashlib
import hmac
from datetime import timedelta

import pytest
from django.utils import timezone

from breakdowns.people.account.services import account_erase
from breakdowns.people.erasure.services import DAYS_KEPT, erased_among, erasures_tidy
from breakdowns.people.importing.services import import_look, import_run
from breakdowns.people.membership.services import member_add
from breakdowns.people.models import ErasedAddress, User, site_today
from breakdowns.people.services import person_invite
from tests.factory import make_user
from tests.people.test_import import many, page, settle, upload
from tests.people.test_webhook import Sender, an_event

pytestmark = pytest.mark.django_db


def erase(email: str) -> None:
    account_erase(User.objects.filter(email=email).first() or make_user("reader", email=email))


@pytest.fixture
def owner(client) -> User:
    owner = make_user("owner")
    client.force_login(owner)
    return owner


def test_what_is_kept_is_the_keyed_hash_of_rfc_2104_and_not_the_address(settings):
    erase("p1@example.org")
    kept = ErasedAddress.objects.get()
    key = hashlib.sha256(f"breakdowns.people.erasure{settings.SECRET_KEY}".encode()).digest()
    assert kept.digest == hmac.new(key, b"p1@example.org", hashlib.sha256).hexdigest()
    assert "p1@" not in str([*ErasedAddress.objects.values(), *User.objects.values()])
    assert set(erased_among(["p1@example.org", "p2@example.org"])) == {"p1@example.org"}


def test_the_sites_own_secret_may_be_renewed(settings):
    erase("p1@example.org")
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another secret, for this test only"
    assert set(erased_among(["p1@example.org"])) == {"p1@example.org"}


def test_a_table_that_is_being_taken_in_leaves_out_who_is_erased_meanwhile(client, owner):
    one = upload(client, many(900))
    settle(client, one)
    client.post(page(one, "import_look"))
    looks = iter([False, True])
    assert import_run(one.pk, stopped=lambda: next(looks)) == "running"
    erase("p150@example.org")  # taken in already
    erase("p850@example.org")  # still to come
    assert import_run(one.pk) == "done"
    one.refresh_from_db()
    assert not User.objects.filter(email__in=["p150@example.org", "p850@example.org"]).exists()
    assert (one.gone_through, one.memberships_given) == (900, 899)
    (fault,) = one.faults
    assert "had their data erased" in fault["words"]
    assert "p850" not in str(one.faults), "the report must not keep the address"


def test_a_list_from_before_does_not_bring_anybody_back_and_says_so(client, owner):
    erase("p2@example.org")
    one = upload(client, many(3))
    settle(client, one)
    one.refresh_from_db()
    looked = import_look(one)
    assert (len(looked.new), len(looked.faults)) == (2, 1)
    client.post(page(one, "import_look"))
    assert import_run(one.pk) == "done"
    assert not User.objects.filter(email="p2@example.org").exists()


def test_a_report_of_a_running_table_forgets_the_words_about_the_person(client, owner):
    closed = make_user("reader", email="p1@example.org", is_active=False, last_login=timezone.now())
    one = upload(client, many(900))
    settle(client, one)
    client.post(page(one, "import_look"))
    looks = iter([False, True])
    import_run(one.pk, stopped=lambda: next(looks))
    one.refresh_from_db()
    assert "p1@example.org" in str(one.faults)
    account_erase(closed)
    one.refresh_from_db()
    assert one.state == "running"
    assert "p1@example.org" not in str(one.faults)


def test_an_event_from_before_comes_to_nothing_whatever_its_membership_is_called():
    sender = Sender()
    erase("keeper@example.org")
    before = (timezone.now() - timedelta(hours=2)).isoformat()
    assert sender.outcome(an_event(at=before, membership="never-seen")) == "erased"
    later = (timezone.now() + timedelta(minutes=1)).isoformat()
    began = str(site_today() - timedelta(days=40))
    assert sender.outcome(an_event(at=later, membership="an-old-one", starts_on=began)) == "erased"
    assert not User.objects.filter(email="keeper@example.org").exists()


def test_who_buys_anew_comes_back_and_nothing_is_kept_of_having_been_away():
    sender = Sender()
    erase("keeper@example.org")
    later = (timezone.now() + timedelta(minutes=1)).isoformat()
    assert sender.outcome(an_event(at=later, membership="a-new-one")) == "applied"
    assert User.objects.get(email="keeper@example.org").is_member
    assert not ErasedAddress.objects.exists()


def test_an_invitation_by_hand_brings_back_too(owner):
    for email in ("one@example.org", "two@example.org"):
        erase(email)
    person_invite(name="One", email="one@example.org", role="editor")
    days = {"starts_on": site_today(), "ends_on": None, "gift": False, "gift_from": "", "gift_message": ""}
    member_add({"email": "two@example.org", "name": "Two", "invite": False, **days}, by=owner)
    assert not ErasedAddress.objects.exists()


def test_after_its_time_nothing_is_kept():
    erase("p1@example.org")
    assert erasures_tidy() == 0
    ErasedAddress.objects.update(erased_at=timezone.now() - timedelta(days=DAYS_KEPT, minutes=1))
    assert erased_among(["p1@example.org"]) == {}
    assert erasures_tidy() == 1
    assert not ErasedAddress.objects.exists()
