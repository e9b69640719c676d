"""Who may open what: every address that the resolver knows is held against the table of answers.

The table is tests/access_table.csv (its words are explained in tests/access_table.py). A new address without a
row fails here with the sentence that says what to add.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.apps import apps
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from breakdowns.footage.models import Upload
from breakdowns.people.models import Membership, SignInLink, User
from breakdowns.publishing.models import Release
from tests import access_samples
from tests.access_table import ANSWERS, PEOPLE, ROUTES, gaps, load_table, read_table, sample_arguments
from tests.factory import PASSWORD, make_user

pytestmark = [pytest.mark.once, pytest.mark.django_db]

TABLE = load_table()
SAFE = ["get", "head", "options"]
UNSAFE = ["post", "put", "patch", "delete"]
METHODS = SAFE + UNSAFE
# What another program calls, and so can't carry our token: each proves itself by a secret in the request.
WITHOUT_FORGERY_CHECK = {"people:letters_off", "people:events"}

# One address for each route; two routes of one name (with and without a beat) are both walked.
ADDRESSES = sorted(
    {(name, reverse(name, kwargs=sample_arguments(pattern))) for name, pattern in ROUTES if name in TABLE}
)


def closed_to(who: str) -> list[tuple[str, str]]:
    """The addresses that this person may not open, by any method."""
    return [(name, at) for name, at in ADDRESSES if not {"open", "own only"} & set(TABLE[name][who])]


def member() -> User:
    user = make_user("reader")
    Membership.objects.create(user=user)
    return user


def rows() -> dict[str, int]:
    """How many rows each of our tables has, asked in one question: it is asked after every request."""
    tables = sorted(
        model._meta.db_table for model in apps.get_models() if model.__module__.startswith("breakdowns.")
    )
    counts = " UNION ALL ".join(f"SELECT '{table}', COUNT(*) FROM \"{table}\"" for table in tables)
    with connection.cursor() as cursor:
        cursor.execute(counts)
        return dict(cursor.fetchall())


# --- the table -----------------------------------------------------------------------------------


def test_each_address_has_its_row_and_each_row_its_address():
    found = gaps({name for name, _ in ROUTES}, TABLE)
    assert not found, "\n".join(found)


def test_a_new_address_without_a_row_is_told_what_to_add():
    with_one_more = {name for name, _ in ROUTES} | {"people:brand_new"}
    (sentence,) = gaps(with_one_more, {name: TABLE.get(name, {}) for name, _ in ROUTES})
    assert sentence.startswith("people:brand_new has no row in tests/access_table.csv")
    assert "people:brand_new,sign-in," in sentence
    with pytest.raises(ValueError, match=r"line 2: 'perhaps' under lapsed is no answer"):
        read_table("name,anonymous,lapsed,member,other,editor,owner,why\nx,open,perhaps,open,open,open,open,")


def test_the_table_is_no_formality():
    assert {name.split(":")[0] for name in TABLE} >= {
        "people", "footage", "excerpts", "scripts", "assembly", "work", "publishing", "glossary", "stills",
        "tracks",
    }  # fmt: skip
    assert len(closed_to("anonymous")) > 90
    assert len(closed_to("member")) > 90
    for name, answers in TABLE.items():
        assert set(answers) == set(PEOPLE)
        for first, second in answers.values():
            assert {first, second} <= ANSWERS
        # What a stranger may read, everybody may; what a member may do, the lapsed one never exceeds.
        if answers["anonymous"][0] == "open":
            assert {answers[who][0] for who in PEOPLE} <= {"open", "own only"}, name
        if answers["member"][0] in ("refused", "hidden"):
            assert answers["lapsed"][0] == answers["member"][0], name


def _must_be(answer, expected: str, real: bool, guarded: bool, where: tuple) -> None:
    """``real``: the thing is there; ``guarded``: who is asked for before how, so that no 405 tells anything."""
    door = reverse("people:sign_in") + "?next="
    status = answer.status_code
    assert status < 500, where
    if expected == "sign-in":
        assert status == 302, (*where, status)
        assert answer["Location"].startswith(door), where
    elif expected in ("refused", "hidden"):
        if status == 405 and not guarded:
            return
        assert status == {"refused": 403, "hidden": 404}[expected], (*where, status)
    else:
        assert status != 403, where
        assert not (status == 302 and answer["Location"].startswith(door)), where
        assert not (real and status == 404), where


# What a method other than these two may do is the same for all who are signed in and for all members.
ASKED = [
    (who, method) for who in PEOPLE for method in METHODS
    if method in ("get", "post") or who in ("anonymous", "member", "owner")
]  # fmt: skip


@pytest.mark.parametrize(("who", "method"), ASKED)
def test_each_person_gets_the_answer_of_the_table(client, who, method):
    found = access_samples.make_people()
    person, before = found[who], rows()
    for name, pattern in ROUTES:
        expected = TABLE[name][who][method in UNSAFE]
        make = access_samples.SAMPLES.get(name)
        arguments = make(person or found["member"]) if make else sample_arguments(pattern)
        before = rows() if make else before
        if person:
            client.force_login(person)
        answer = getattr(client, method)(reverse(name, kwargs=arguments))
        guarded = getattr(pattern.callback, "access_checked", False)
        _must_be(answer, expected, bool(make), guarded, (name, who, method))
        if expected == "own only" and pattern.pattern.converters:
            assert make, f"{name} says “own only”: add a line to SAMPLES in tests/access_samples.py."
            others = reverse(name, kwargs=make(found["other"] if who != "other" else found["member"]))
            assert getattr(client, method)(others).status_code in (403, 404, 405), (name, who, method)
        if expected in ("sign-in", "refused", "hidden"):
            assert make or rows() == before, (name, who, method)
        before = rows()


@pytest.mark.parametrize("method", METHODS)
def test_a_piece_fetched_by_script_sends_the_whole_window_to_the_door(client, method):
    for name, address in closed_to("anonymous"):
        if set(TABLE[name]["anonymous"]) == {"sign-in"}:
            answer = getattr(client, method)(address, headers={"HX-Request": "true"})
            assert not answer.content, (name, method)


def test_a_closed_account_is_a_stranger_at_once(client):
    user = make_user("owner")
    client.force_login(user)
    User.objects.filter(pk=user.pk).update(is_active=False)
    doors = [at for name, at in closed_to("anonymous") if TABLE[name]["anonymous"][0] == "sign-in"]
    assert {client.get(address).status_code for address in doors} == {302}


def test_only_what_proves_itself_otherwise_is_free_of_the_forgery_check():
    free = {name for name, pattern in ROUTES if getattr(pattern.callback, "csrf_exempt", False)}
    assert free == WITHOUT_FORGERY_CHECK
    careful = Client(enforce_csrf_checks=True)
    careful.force_login(make_user("owner"))
    before = rows()
    for name, address in ADDRESSES:
        for method in UNSAFE if name not in free else []:
            assert getattr(careful, method)(address).status_code == 403, (name, method)
    assert rows() == before


def test_the_policy_of_content_stands_on_every_page(client):
    client.force_login(make_user("owner"))
    for name, address in ADDRESSES:
        policy = client.get(address).headers.get("Content-Security-Policy", "")
        assert "default-src 'self'" in policy, name
        assert "unsafe" not in policy, name


# --- members' media ------------------------------------------------------------------------------


@pytest.fixture
def release() -> Release:
    return access_samples.make_members_release()


def file_of(release: Release, name: str) -> str:
    return reverse("publishing:file", args=[release.slug, release.number, name])


NAMES = ["video", "captions", "still-0.jpg"]


def test_members_media_is_for_members(client, release):
    people = [(None, 404), (make_user("reader"), 404), (member(), 200), (make_user("editor"), 200)]
    for user, status in people:
        if user:
            client.force_login(user)
        assert [client.get(file_of(release, name)).status_code for name in NAMES] == [status] * 3
        assert [client.head(file_of(release, name)).status_code for name in NAMES] == [status] * 3
        answer = client.get(release.get_absolute_url())
        assert answer.status_code == {404: 403, 200: 200}[status]
        assert (b"Knees." in answer.content) == (status == 200)


def test_membership_that_is_over_or_not_begun_opens_nothing(client, release):
    for first, last in ((-9, -1), (1, 9)):
        user, today = make_user("reader"), timezone.localdate()
        Membership.objects.create(
            user=user, starts_on=today + timedelta(days=first), ends_on=today + timedelta(days=last)
        )
        client.force_login(user)
        assert {client.get(file_of(release, name)).status_code for name in NAMES} == {404}


def test_a_withdrawn_release_is_gone_for_everybody(client, release):
    Release.objects.update(withdrawn_at=timezone.now(), audience="everybody")
    for role in ("reader", "editor", "owner"):
        client.force_login(make_user(role))
        assert {client.get(file_of(release, name)).status_code for name in NAMES} == {404}
        assert client.get(release.get_absolute_url()).status_code == 404


@pytest.mark.parametrize(
    "name",
    ["secret.txt", "landing.mp4", "..", "..%2fbeside.jpg", "%2e%2e%2fbeside.jpg", "....//beside.jpg",
     "%00", "video%00.jpg", "C:%5cbeside.jpg", "%ff%fe", "%ed%a0%80", "x" * 3000],
)  # fmt: skip
def test_only_files_that_the_release_knows_are_sent(client, release, name):
    client.force_login(make_user("owner"))
    assert client.get(f"/read/landing/1/{name}/").status_code == 404


@pytest.mark.parametrize(
    "address",
    ["/media/releases/landing/one/landing.mp4", "/static/../media/releases/landing/one/landing.mp4",
     "/static/..%2f..%2fdeploy/settings.py", "/static/%2e%2e/deploy/settings.py", "/.stancewright/media/"],
)  # fmt: skip
def test_no_folder_is_served_beside_the_views(client, release, address):
    client.force_login(make_user("owner"))
    assert client.get(address).status_code == 404


def test_an_upload_belongs_to_who_began_it(client):
    upload = Upload.objects.create(owner=make_user("editor"), file_name="a.mp4", total_bytes=4)
    client.force_login(make_user("owner"))
    address = reverse("footage:upload", args=[upload.key])
    answers = [
        client.get(address),
        client.post(address),
        client.patch(address, b"abcd", headers={"Upload-Offset": "0"}),
    ]
    answers.append(client.get(reverse("footage:details"), {"upload": str(upload.key)}))
    assert [answer.status_code for answer in answers] == [404] * 4
    assert Upload.objects.get().received_bytes == 0


# --- signing in ----------------------------------------------------------------------------------

# OWASP Unvalidated Redirects and Forwards Cheat Sheet: addresses that browsers read as another host.
ELSEWHERE = [
    "https://example.org/", "//example.org/", "///example.org", "/\\example.org", "\\\\example.org",
    "javascript:alert(1)", "https:example.org", "http:///example.org", "\t//example.org", "//\x00example.org",
]  # fmt: skip


@pytest.mark.parametrize("elsewhere", ELSEWHERE)
def test_signing_in_never_leads_elsewhere(client, elsewhere):
    user = make_user("editor")
    form = {"email": user.email, "password": PASSWORD, "next": elsewhere}
    assert client.post(reverse("people:sign_in"), form)["Location"] == "/"
    client.logout()
    link = reverse("people:link", args=[SignInLink.make(user)])
    assert client.post(link, {"next": elsewhere})["Location"] == "/"


def test_a_session_gets_a_new_key_at_sign_in(client):
    """OWASP Session Management Cheat Sheet, "Renew the Session ID After Any Privilege Level Change"."""
    user = make_user("editor")
    session = client.session
    session["planted"] = 1
    session.save()
    planted = session.session_key
    client.cookies["sessionid"] = planted
    client.post(reverse("people:sign_in"), {"email": user.email, "password": PASSWORD})
    assert client.session.session_key != planted
    thief = Client()
    thief.cookies["sessionid"] = planted
    assert thief.get(reverse("scripts:index")).status_code == 302


def test_a_sign_in_link_opens_once_and_looking_at_it_spends_nothing(client):
    address = reverse("people:link", args=[SignInLink.make(make_user("editor"))])
    assert client.get(address).status_code == client.get(address).status_code == 200
    assert client.head(address).status_code in (200, 405)
    assert client.post(address).status_code == 302
    second = Client()
    assert second.post(address).status_code == 410
    assert second.get(reverse("scripts:index")).status_code == 302
