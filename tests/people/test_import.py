"""A table of members from the upload to the last line, also when the worker is killed on the way."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from breakdowns.people.account.services import account_erase
from breakdowns.people.importing import services
from breakdowns.people.importing.reading import Fault
from breakdowns.people.importing.services import import_look, import_run, imports_tidy, report_csv
from breakdowns.people.membership.services import membership_give
from breakdowns.people.models import Letter, MemberImport, Membership, MembershipChange, User, site_today
from breakdowns.work.models import WorkItem
from breakdowns.work.tasks import do_work
from tests.factory import make_user

pytestmark = pytest.mark.django_db
HEAD = "e-mail,name,first day,last day\n"


@pytest.fixture
def owner(client) -> User:
    user = make_user("owner")
    client.force_login(user)
    return user


def upload(client, content: str | bytes, name: str = "members.csv") -> MemberImport:
    data = content.encode() if isinstance(content, str) else content
    answer = client.post(reverse("people:imports"), {"file": SimpleUploadedFile(name, data)})
    assert answer.status_code == 302, answer.content.decode()
    return MemberImport.objects.latest("pk")


def page(one: MemberImport, name: str = "import") -> str:
    return reverse(f"people:{name}", args=[one.pk])


def settle(client, one: MemberImport, **fields: str):
    form = {
        "columns-email": "0",
        "columns-name": "1",
        "columns-starts_on": "2",
        "columns-ends_on": "3",
        **fields,
    }
    return client.post(page(one), {"step": "columns", **form})


def many(count: int) -> str:
    return HEAD + "".join(
        f"p{n}@example.org,Player {n},2026-01-01,2027-01-{n % 28 + 1}\n" for n in range(count)
    )


def test_from_the_upload_to_the_last_line(client, owner, django_capture_on_commit_callbacks):
    known, there = (
        make_user("reader", email="known@example.org"),
        make_user("reader", email="there@example.org"),
    )
    day = site_today()
    membership_give(there, starts_on=day, ends_on=day)
    closed = make_user("reader", email="closed@example.org", is_active=False)
    text = HEAD + (
        f"new@example.org,New <b>One</b>,{day},{day}\nknown@example.org,Other name,{day},\n"
        f"there@example.org,There,{day},{day}\n{owner.email},Me,{day},\n{closed.email},C,{day},\nnobody,N,{day},\n"
    )
    one = upload(client, text)
    shown = client.get(page(one)).content.decode()
    assert "New &lt;b&gt;One&lt;/b&gt;" in shown
    assert client.get(page(one, "import_look"))["Location"] == page(one), (
        "nothing is offered before it is settled"
    )
    assert settle(client, one, **{"columns-invite": "on"})["Location"] == page(one, "import_look")
    looked = import_look(MemberImport.objects.get())
    assert [[row.email for row in part] for part in (looked.new, looked.known, looked.there)] == [
        ["new@example.org"], ["known@example.org"], ["there@example.org"],
    ]  # fmt: skip
    assert [fault.line for fault in looked.faults] == [5, 6, 7]
    before = User.objects.count(), Membership.objects.count()
    told = client.get(page(one, "import_look")).content.decode()
    assert "Take in 2 lines" in told
    assert (User.objects.count(), Membership.objects.count()) == before, "a dry run writes nothing"
    with django_capture_on_commit_callbacks(execute=True):
        client.post(page(one, "import_look"))
        client.post(page(one, "import_look"))
    (item,) = WorkItem.objects.filter(kind="people.import")
    running = client.get(page(one, "import_look"), headers={"HX-Request": "true"}).content.decode()
    assert "<progress" in running
    assert "<html" not in running
    with django_capture_on_commit_callbacks(execute=True):
        assert do_work(item.pk) == "done"
    one.refresh_from_db()
    assert (one.state, one.accounts_made, one.memberships_given, one.there_already, one.gone_through, one.total) == (
        "done", 1, 2, 1, 6, 6,
    )  # fmt: skip
    assert bytes(one.data) == b"", "the file is not kept"
    new = User.objects.get(email="new@example.org")
    assert (new.is_member, new.has_usable_password(), new.memberships.get().source) == (True, False, "import")
    assert known.memberships.get().ends_on is None
    assert there.memberships.count() == 1
    assert set(Letter.objects.values_list("kind", "user")) == {("invitation", new.pk)}
    done = client.get(page(one, "import_look")).content.decode()
    assert "2 memberships given" in done
    report = client.get(page(one, "import_report")).content.decode().splitlines()
    assert [line.split(",")[0] for line in report] == ["line", "5", "6", "7"]
    client.post(page(one, "import_forget"))
    assert client.get(page(one, "import_report")).status_code == 404


def test_taking_the_same_table_in_twice_doubles_nothing(client, owner):
    for made in (450, 0):
        one = upload(client, many(450))
        settle(client, one)
        client.post(page(one, "import_look"))
        assert import_run(one.pk) == "done"
        one.refresh_from_db()
        assert (one.accounts_made, one.memberships_given, one.there_already) == (made, made, 450 - made)
    assert Membership.objects.count() == MembershipChange.objects.count() == 450


def test_a_worker_that_is_killed_loses_and_doubles_nothing(client, owner, monkeypatch):
    one = upload(client, many(900))
    settle(client, one)
    client.post(page(one, "import_look"))
    looks = iter([False, False, True])
    assert import_run(one.pk, stopped=lambda: next(looks)) == "running"
    one.refresh_from_db()
    assert (one.gone_through, User.objects.filter(role="reader").count()) == (400, 400)

    def die(*args: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(services, "_memberships_make", die)
        with pytest.raises(KeyboardInterrupt):
            import_run(one.pk)
    assert User.objects.filter(role="reader").count() == 400, "a step is whole or not at all"
    assert import_run(one.pk) == "done"
    assert import_run(one.pk) == "done"
    one.refresh_from_db()
    assert (one.gone_through, one.memberships_given, Membership.objects.count()) == (900, 900, 900)
    assert Membership.objects.values("user").distinct().count() == 900


def test_somebody_who_got_an_account_in_the_same_moment_is_known_then(client, owner, monkeypatch):
    one = upload(client, many(3))
    settle(client, one)
    client.post(page(one, "import_look"))
    judge, calls = services._judged, []

    def late(step):
        judged = judge(step)
        if not calls:
            calls.append(1)
            raise services.IntegrityError
        return judged

    monkeypatch.setattr(services, "_judged", late)
    make_user("reader", email="p1@example.org")
    assert import_run(one.pk) == "done"
    assert User.objects.filter(email="p1@example.org").count() == 1
    assert Membership.objects.count() == 3


def test_days_in_an_order_that_can_not_be_told_are_asked_for(client, owner):
    one = upload(client, HEAD + "a@example.org,A,4/3/2026,5/3/2026\n")
    assert "has to be settled by you" in client.get(page(one)).content.decode()
    answer = settle(client, one, **{"columns-first_day": "2026-01-01"})
    assert answer.status_code == 422
    assert "Say which" in answer.content.decode()
    assert 'value="2026-01-01"' in answer.content.decode(), "what was typed is kept"
    for order, month in (("mdy", 4), ("dmy", 3)):
        assert settle(client, one, **{"columns-day_order": order}).status_code == 302
        (entry,) = import_look(MemberImport.objects.get()).new
        assert entry.starts_on.month == month


def test_signs_and_separator_can_be_settled_otherwise(client, owner):
    one = upload(client, "email;name\na@example.org;Žofie\n".encode("cp1250"))
    assert "can be read in" in client.get(page(one)).content.decode()
    answer = client.post(
        page(one), {"step": "writing", "encoding": "cp1250", "separator": "semicolon", "head": "on"}
    )
    assert answer.status_code == 302
    assert "Žofie" in client.get(page(one)).content.decode()
    assert (
        client.post(page(one), {"step": "writing", "encoding": "rot13", "separator": "x"}).status_code == 422
    )
    unfit = client.post(page(one), {"step": "writing", "encoding": "utf-8-sig", "separator": "comma"})
    assert "Line 2 can&#x27;t be read as UTF-8" in unfit.content.decode()
    twice = client.post(page(one), {"step": "columns", "columns-email": "0", "columns-name": "0"})
    assert "chosen twice" in twice.content.decode()


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 a sheet", b"x" * (5 * 1024 * 1024 + 1)])
def test_what_is_no_table_is_told_beside_the_field(client, owner, content):
    answer = client.post(reverse("people:imports"), {"file": SimpleUploadedFile("members.csv", content)})
    assert answer.status_code == 422
    assert "errorlist" in answer.content.decode()
    assert not MemberImport.objects.exists()


@pytest.mark.parametrize(
    "content", [b"\n\n", b"\x00\x01\x02", b"\xff\xfe", b'"', b"@", b",,,\n,,,", "\u202e@\n".encode()]
)
def test_strange_files_are_read_without_a_fault_of_ours(client, owner, content):
    answer = client.post(reverse("people:imports"), {"file": SimpleUploadedFile("x.csv", content)})
    assert answer.status_code in (302, 422)
    if answer.status_code == 302:
        one = MemberImport.objects.get()
        assert client.get(page(one)).status_code == 200
        settled = client.post(
            page(one), {"step": "columns", "columns-email": "0", "columns-day_order": "dmy"}
        )
        assert settled.status_code in (302, 422)
        assert client.get(page(one, "import_look"), follow=True).status_code == 200


def test_a_report_opened_in_a_spreadsheet_works_nothing_out():
    """OWASP, “CSV Injection”: a cell must not begin with = + - @."""
    text = report_csv(
        [Fault(2, '=HYPERLINK("http://example.org")'), Fault(3, "The e-mail address is missing.")]
    )
    assert "'=HYPERLINK" in text
    assert text.splitlines()[2] == "3,The e-mail address is missing."


def test_files_that_nobody_takes_in_go_after_a_week_and_with_who_is_erased(client, owner):
    one = upload(client, many(3))
    user = make_user("reader", email="p1@example.org")
    account_erase(user)
    one.refresh_from_db()
    assert (one.state, bytes(one.data)) == ("forgotten", b"")
    late = upload(client, many(2))
    MemberImport.objects.filter(pk=late.pk).update(made_at=timezone.now() - timedelta(days=8))
    assert imports_tidy() == 1
    assert client.get(page(late, "import_look")).status_code == 404
