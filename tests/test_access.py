"""Who may open what: every address that the resolver knows is walked, so that a new open view fails here."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from breakdowns.assembly.models import Assembly
from breakdowns.footage.models import Source, Upload
from breakdowns.people.models import Membership, SignInLink, User
from breakdowns.publishing.models import Release
from breakdowns.scripts.models import Breakdown
from tests.factory import PASSWORD, make_user

pytestmark = pytest.mark.django_db

# The whole list of what may be opened without the studio. A new name here is a decision, not an accident.
OPEN = {
    "people:home", "people:sign_in", "people:send_link", "people:link", "people:sign_out", "people:account",
    "publishing:index", "publishing:read", "publishing:file",
}  # fmt: skip
OWNERS_ONLY = {"people:people", "people:person_switch"}
SAMPLES = {"int": 1, "uuid": uuid.UUID(int=7), "slug": "copy", "str": "video"}


def walk(patterns: list, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for one in patterns:
        if isinstance(one, URLResolver):
            yield from walk(one.url_patterns, f"{one.namespace}:" if one.namespace else space)
        else:
            yield f"{space}{one.name}", one


ROUTES = list(walk(get_resolver().url_patterns))


def sample(name: str, pattern: URLPattern) -> str:
    kinds = {
        part: type(converter).__name__.removesuffix("Converter").lower().replace("string", "str")
        for part, converter in pattern.pattern.converters.items()
    }
    return reverse(name, kwargs={part: SAMPLES[kind] for part, kind in kinds.items()})


# One address for each route; two routes of one name (with and without a beat) are both walked.
ADDRESSES = sorted({(name, sample(name, pattern)) for name, pattern in ROUTES})
GUARDED = [(name, address) for name, address in ADDRESSES if name not in OPEN]
METHODS = ["get", "head", "post", "put", "patch", "delete", "options"]


def member() -> User:
    user = make_user("reader")
    Membership.objects.create(user=user)
    return user


def rows() -> list[int]:
    return [model.objects.count() for model in (Source, Breakdown, Assembly, Release, Upload, User)]


def test_the_walk_meets_every_stage():
    assert {name.split(":")[0] for name, _ in ROUTES} == {
        "people", "footage", "excerpts", "scripts", "assembly", "work", "publishing", "glossary", "stills",
        "tracks",
    }  # fmt: skip
    assert {name for name, _ in ROUTES} >= OPEN | OWNERS_ONLY
    assert len(GUARDED) > 40


@pytest.mark.parametrize("method", METHODS)
def test_a_stranger_is_sent_to_sign_in(client, method):
    for name, address in GUARDED:
        answer = getattr(client, method)(address)
        assert answer.status_code == 302, (name, method)
        assert answer["Location"].startswith(reverse("people:sign_in") + "?next="), (name, method)
        answer = getattr(client, method)(address, headers={"HX-Request": "true"})
        assert not answer.content, (name, method)
    assert rows() == [0] * 6


@pytest.mark.parametrize("who", ["reader", "member", "former member"])
@pytest.mark.parametrize("method", METHODS)
def test_a_reader_and_a_member_are_refused(client, who, method):
    user = make_user("reader")
    if who != "reader":
        ends = timezone.localdate() - timedelta(days=1) if who == "former member" else None
        Membership.objects.create(user=user, starts_on=timezone.localdate() - timedelta(days=9), ends_on=ends)
    client.force_login(user)
    for name, address in GUARDED:
        assert getattr(client, method)(address).status_code == 403, (name, method)
    assert rows() == [0, 0, 0, 0, 0, 1]


@pytest.mark.parametrize("method", METHODS)
def test_an_editor_is_refused_only_what_is_the_owners(client, method):
    client.force_login(make_user("editor"))
    for name, address in GUARDED:
        status = getattr(client, method)(address).status_code
        assert (status == 403) == (name in OWNERS_ONLY), (name, method, status)
        assert status < 500, (name, method, status)


def test_a_closed_account_is_a_stranger_at_once(client):
    user = make_user("owner")
    client.force_login(user)
    User.objects.filter(pk=user.pk).update(is_active=False)
    assert {client.get(address).status_code for _, address in GUARDED} == {302}


def test_no_view_is_free_of_the_forgery_check():
    assert [name for name, pattern in ROUTES if getattr(pattern.callback, "csrf_exempt", False)] == []
    careful = Client(enforce_csrf_checks=True)
    careful.force_login(make_user("owner"))
    for name, address in ADDRESSES:
        for method in ("post", "put", "patch", "delete"):
            assert getattr(careful, method)(address).status_code == 403, (name, method)
    assert User.objects.count() == 1


def test_the_policy_of_content_stands_on_every_page(client):
    client.force_login(make_user("owner"))
    for name, address in ADDRESSES:
        policy = client.get(address).headers.get("Content-Security-Policy", "")
        assert "default-src 'self'" in policy, name
        assert "unsafe" not in policy, name


# --- members' media ------------------------------------------------------------------------------


@pytest.fixture
def release(settings) -> Release:
    breakdown = Breakdown.objects.create(slug="landing", title="The landing (invented)")
    folder = Path(settings.MEDIA_ROOT) / "releases/landing/one"
    folder.mkdir(parents=True)
    for name in ("landing.mp4", "landing.vtt", "still-0.jpg", "secret.txt"):
        (folder / name).write_bytes(b"invented")
    (folder.parent / "beside.jpg").write_bytes(b"not of this release")
    beat = {"kind": "plate", "words": "Knees.", "start_frame": 0, "still": "still-0.jpg"}
    account = {
        "title": breakdown.title, "rate": "25", "beats": [beat], "references": [], "chapters": [], "sources": [],
        "credits": [], "cautions": [], "standfirst": "", "use_of_footage": "", "frame_count": 25,
    }  # fmt: skip
    return Release.objects.create(
        breakdown=breakdown, slug="landing", audience="members", page=account, folder="releases/landing/one"
    )


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
