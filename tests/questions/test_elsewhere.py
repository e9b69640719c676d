"""Messages from elsewhere: hostile mailboxes, what a reply says, and that nothing is kept that was not chosen."""

from __future__ import annotations

import json
import mailbox
from email.message import EmailMessage

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.questions.elsewhere.mailbox import MailboxRefused, messages_of
from breakdowns.questions.machine import answer_columns
from breakdowns.questions.models import Elsewhere, Settings, Snippet
from tests.factory import make_user
from tests.questions.making import make_note

PAGE = reverse("questions:elsewhere")
URGENT = "hi!! knocked out for a minute in a clash of heads, been vomiting since, can i train??"
PLAIN = "Love it. Quokkabaum here, which shoes hold best on a dusty hall floor?"


def letter(text: str, **fields: str) -> EmailMessage:
    message = EmailMessage()
    message["From"] = fields.get("sender", "Stranger <stranger@mail.example>")
    message["Date"] = "Tue, 24 Nov 2026 18:30:00 +0100"
    message["Message-ID"] = fields.get("key", "<one@mail.example>")
    message.set_content(text)
    return message


def written_by_the_library(folder, messages) -> bytes:
    """An mbox as Python's own mailbox module writes it: the reference for what we read."""
    path = folder / "box.mbox"
    box = mailbox.mbox(path)
    for one in messages:
        box.add(one)
    box.close()
    return path.read_bytes()


@pytest.fixture
def editor(client, db):
    person = make_user("editor")
    client.force_login(person)
    return person


def test_an_mbox_of_the_reference_library_is_read(tmp_path):
    texts = [
        "Plain words.\n\nFrom here on it hurts.",
        "Größe und كتف 🦵",
        "Second\n\n> quoted\n-- \nsignature",
    ]
    html = EmailMessage()
    html["From"] = "x@mail.example"
    html.set_content("<p>Only <b>HTML</b></p><script>alert(1)</script>", subtype="html")
    data = written_by_the_library(tmp_path, [*map(letter, texts), html])
    found, more = messages_of(data)
    assert [one.text for one in found] == [texts[0], texts[1], "Second", "Only HTML"]
    assert found[0].sender == "stranger@mail.example"
    assert found[0].sent_on.isoformat() == "2026-11-24T18:30:00+01:00"
    assert more == 0


def test_no_more_than_somebody_looks_through(tmp_path):
    found, more = messages_of(b"\n\n".join(b"From a@b Tue\nSubject: x\n\nwords %d" % n for n in range(230)))
    assert (len(found), more) == (200, 30)


def nested(depth: int) -> bytes:
    head = "".join(f'Content-Type: multipart/mixed; boundary="b{n}"\n\n--b{n}\n' for n in range(depth))
    return b"From a@b Tue\n" + head.encode() + b"Content-Type: text/plain\n\nwords"


HOSTILE = {
    "parts within parts": nested(5000),
    "a few parts": nested(40),
    "an unknown charset": b"Subject: x\nContent-Type: text/plain; charset=no-such\n\nw\xf6rds",
    "a codec that is no charset": b"Subject: x\nContent-Type: text/plain; charset=zlib\n\nwords",
    "a broken header": b"Subject: x\nFrom: =?utf-8?b?////?= <\xff\xfe>\nDate: 99 Foo 0000\n\nwords",
    "broken base64": b"Subject: x\nContent-Transfer-Encoding: base64\n\n!!!!====",
    "no end of a part": b'Subject: x\nContent-Type: multipart/mixed; boundary="\n\nwords',
    "many megabytes in one line": b"Subject: x\n\n" + b"w" * 5_000_000,
    "zeros": b"Subject: x\n\n" + b"\x00" * 100_000,
    "messages in messages": b"Subject: x\n" + b"Content-Type: message/rfc822\n\n" * 3000 + b"words",
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_message_is_bounded_and_never_an_error(what):
    found, _ = messages_of(HOSTILE[what])
    assert len(found) == 1
    assert len(found[0].text) <= 20_000


@pytest.mark.parametrize(
    "data", [b"", b"PK\x03\x04" + b"\x00" * 50, b"\x1f\x8b\x08", b"just words", b"\xff" * 30]
)
def test_what_is_no_mailbox_is_refused_with_a_sentence(data):
    with pytest.raises(MailboxRefused, match="mailbox file"):
        messages_of(data)


@given(st.binary(max_size=400))
@settings(deadline=None)
def test_any_bytes_after_a_header_are_survived(data):
    found, _ = messages_of(b"Subject: x\nContent-Type: multipart/mixed; boundary=b\n\n" + data)
    assert len(found) == 1


def everything_stored() -> str:
    rows = [list(model.objects.values()) for model in apps.get_models()]
    return json.dumps(rows, default=str)


def test_nothing_of_a_stranger_is_kept_unless_chosen(client, editor, tmp_path):
    before = {model: model.objects.count() for model in apps.get_models()}
    data = written_by_the_library(tmp_path, [letter("Quokkabaum wrote this", sender="quokka@mail.example")])
    page = client.post(PAGE, {"text": PLAIN, "mailbox": SimpleUploadedFile("box.mbox", data)})
    assert "Quokkabaum wrote this" in page.content.decode()
    assert page["Cache-Control"].count("no-store") == 1
    assert {model: model.objects.count() for model in apps.get_models()} == before
    assert "uokka" not in everything_stored()


def test_what_the_owner_chose_is_kept_and_forgotten_in_time(client, editor):
    Settings.objects.create(pk=1, keep_elsewhere="figures")
    client.post(PAGE, {"text": PLAIN})
    assert Elsewhere.objects.get().text == ""
    assert "uokka" not in everything_stored()
    Settings.objects.update(keep_elsewhere="text", keep_days=3)
    client.post(PAGE, {"text": PLAIN})
    row = Elsewhere.objects.exclude(text="").get()
    assert PLAIN in client.get(PAGE).content.decode()
    assert 2 <= (row.forget_at - timezone.now()).days <= 3
    Elsewhere.objects.filter(pk=row.pk).update(forget_at=timezone.now())
    client.get(PAGE)
    assert "uokka" not in everything_stored()
    client.post(PAGE, {"text": PLAIN})
    client.post(reverse("questions:elsewhere_drop", args=[Elsewhere.objects.exclude(text="").get().key]))
    assert "uokka" not in everything_stored()


def test_the_same_message_is_kept_once(client, editor, tmp_path):
    Settings.objects.create(pk=1, keep_elsewhere="text")
    data = written_by_the_library(tmp_path, [letter("One message")])
    for _ in range(2):
        client.post(PAGE, {"mailbox": SimpleUploadedFile("box.mbox", data)})
    assert Elsewhere.objects.count() == 1


def test_a_stranger_in_danger_is_told_where_to_go_first(client, editor):
    page = client.post(PAGE, {"text": URGENT}).content.decode()
    reply = page[page.index('id="reply-1"') :].split("</textarea>")[0]
    assert "emergency now: tell them where to go first" in page
    assert "emergency" in reply.split("Thank you for writing")[0].lower()
    assert "no consultation" in reply
    assert "Your question" not in reply  # nothing of a stranger is kept


def test_the_reply_has_own_words_where_to_ask_and_only_public_answers(client, editor):
    Settings.objects.create(pk=1, reply_words="Grand that you write! I answer here:")
    asked = "Which shoes hold best on a dusty hall floor?"
    public = make_note(asked, audience="everybody", **answer_columns(asked, "Gum rubber.", []))
    make_note("Members only: shoes on a dusty floor?", **answer_columns(asked, "Gum rubber.", []))
    page = client.post(PAGE, {"text": PLAIN}).content.decode()
    assert "Grand that you write!" in page
    assert reverse("questions:ask") in page
    assert public.get_absolute_url() in page
    assert "Members only" not in page
    words = Snippet.objects.create(owner=editor, name="short", text="Kind regards, not here:")
    page = client.post(PAGE, {"text": PLAIN, "snippet": words.pk}).content.decode()
    assert "Kind regards, not here:" in page


def test_faults_stand_by_the_field_and_keep_what_was_typed(client, editor):
    assert client.post(PAGE, {"text": " "}).status_code == 422
    page = client.post(PAGE, {"text": PLAIN, "mailbox": SimpleUploadedFile("x.zip", b"PK\x03\x04")})
    assert page.status_code == 422
    assert "no mailbox file" in page.content.decode()
    assert "Quokkabaum" in page.content.decode()
    assert client.post(PAGE, {"text": "a" * 1_000_000}).status_code == 422
