"""Letters over a real connection to a mail server that behaves well, says no, or goes away; and many senders at once."""

from __future__ import annotations

import email
import email.policy
import socketserver
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from email.message import EmailMessage

import pytest
from django.core import mail
from django.db import connection

from breakdowns.people.models import Letter
from breakdowns.people.post.services import letters_choose, put_letter, send_due
from tests.factory import make_user


class MailServer(socketserver.ThreadingTCPServer):
    """As much of RFC 5321 as a letter needs (4.1.1, 4.2.2). ``answers`` replaces what it says to a command."""

    allow_reuse_address = True
    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.answers: dict[str, str] = {}
        self.taken: list[EmailMessage] = []

    def taken_now(self) -> None:
        """Called when a letter is taken and the sender not yet told."""


class _Talk(socketserver.StreamRequestHandler):
    server: MailServer

    def say(self, line: str) -> None:
        self.wfile.write(line.encode() + b"\r\n")

    def handle(self) -> None:
        self.say("220 mail.example ready")
        for raw in self.rfile:
            word = raw.decode().split(" ")[0].split(":")[0].strip().upper()
            said = self.server.answers.get(
                word, {"DATA": "354 go on", "QUIT": "221 bye"}.get(word, "250 fine")
            )
            self.say(said)
            if word == "QUIT":
                return
            if word == "DATA" and said.startswith("354") and not self.take():
                return

    def take(self) -> bool:
        """The text up to the single dot; a doubled dot at the start of a line loses one (RFC 5321, 4.5.2)."""
        lines = []
        for line in self.rfile:
            if line == b".\r\n":
                break
            lines.append(line[1:] if line.startswith(b"..") else line)
        if self.server.answers.get("TEXT") == "gone":
            return False
        found = email.message_from_bytes(b"".join(lines), policy=email.policy.default)
        assert isinstance(found, EmailMessage)
        self.server.taken.append(found)
        self.server.taken_now()
        self.say(self.server.answers.get("TEXT", "250 taken"))
        return True


@pytest.fixture
def server(settings) -> Iterator[MailServer]:
    with MailServer() as found:
        thread = threading.Thread(target=found.serve_forever, daemon=True)
        thread.start()
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = found.server_address
        settings.EMAIL_TIMEOUT = 5
        settings.SITE_ADDRESS = "https://studio.example"
        yield found
        found.shutdown()


@pytest.mark.django_db
def test_a_letter_arrives_whole_with_the_fields_that_switch_it_off(server):
    """RFC 8058, 3.1, and RFC 5322, 3.6.4 (Message-ID), as another reader finds them."""
    user = make_user("reader")
    letters_choose(user, switched_off=[], pace="each")
    put_letter(user, "answers", "Répondu: “knees” " + "long " * 40, "First line.\n.\n..dots\nŁódź €")
    assert send_due() == {"sent": 1}
    (found,) = server.taken
    assert found["To"] == user.email
    assert found["Subject"].strip().startswith("Répondu: “knees” long")
    assert found["List-Unsubscribe-Post"].strip() == "List-Unsubscribe=One-Click"
    address = found["List-Unsubscribe"].strip().strip("<>")
    assert address.startswith("https://studio.example/letters/off/")
    text = found.get_content()
    assert "First line.\n.\n..dots\nŁódź €" in text.replace("\r\n", "\n")
    assert address in text
    assert Letter.objects.get().message_id.hex in found["Message-ID"].replace("-", "")


@pytest.mark.django_db
@pytest.mark.parametrize(("word", "said", "state"), [
    ("RCPT", "550 no such mailbox", "failed"),
    ("RCPT", "450 mailbox busy", "waiting"),
    ("MAIL", "451 try later", "waiting"),
    ("TEXT", "554 refused", "failed"),
    ("TEXT", "452 disk full", "waiting"),
    ("TEXT", "gone", "unsure"),
])  # fmt: skip
def test_what_the_server_says_decides_whether_it_is_tried_again(server, word, said, state):
    """RFC 5321, 4.2.1: 4yz is for now, 5yz for good; a connection that breaks after the text tells nothing."""
    put_letter(make_user("reader"), "red flag", "Go now", "See somebody today.")
    server.answers[word] = said
    assert send_due() == {state: 1}
    server.answers.clear()
    assert send_due() == {}
    assert Letter.objects.get().state == state


@pytest.mark.django_db
def test_a_server_that_is_not_there_is_tried_again(settings, server):
    put_letter(make_user("reader"), "red flag", "Go now", "See somebody today.")
    settings.EMAIL_PORT = 1
    assert send_due() == {"waiting": 1}


@pytest.mark.django_db(transaction=True)
def test_many_senders_at_once_send_each_letter_once():
    people = [make_user("reader") for _ in range(10)]
    for number in range(60):
        put_letter(people[number % 10], "red flag", f"Letter {number}", "Text.")

    def send(_: int) -> dict[str, int]:
        try:
            return send_due()
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        counts = list(pool.map(send, range(6)))
    assert sum(count.get("sent", 0) for count in counts) == 60
    assert Counter(letter.subject for letter in mail.outbox) == Counter(f"Letter {n}" for n in range(60))
    assert set(Letter.objects.values_list("state", flat=True)) == {"sent"}
