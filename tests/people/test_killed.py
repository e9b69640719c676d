"""Real processes that are killed with SIGKILL while they send or take in, on a database of their own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tests.people.test_mail_server import MailServer

ROOT = Path(__file__).resolve().parents[2]
START = "import os; os.environ['DJANGO_SETTINGS_MODULE'] = 'deploy.settings'; import django; django.setup()\n"

LETTERS = """
from breakdowns.people.models import User
from breakdowns.people.post.services import put_letter
for n in range(6):
    user = User.objects.create_user(f"p{n}@example.org")
    put_letter(user, "red flag", f"Letter {n}", "See somebody today.")
"""
SEND = """
from breakdowns.people.post.services import send_due
send_due()
"""
TOLD = """
from datetime import timedelta
from django.utils import timezone
from breakdowns.people.models import Letter
from breakdowns.people.post.services import letters_forget_claims
Letter.objects.filter(state="sending").update(claimed_at=timezone.now() - timedelta(hours=1))
letters_forget_claims()
print(sorted(Letter.objects.values_list("subject", "state")))
"""
TABLE = """
from breakdowns.people.importing.services import guess_plan, import_make, import_order, import_settle
from breakdowns.people.models import User
owner = User.objects.create_user("owner@example.org", role="owner")
data = ("e-mail,name\\n" + "".join(f"p{n}@example.org,Player {n}\\n" for n in range(900)) + "nobody,N\\n").encode()
one = import_make(data, "members.csv", by=owner)
import_settle(one, guess_plan(data))
import_order(one)
"""
TAKE_IN = """
import sys
from breakdowns.people.importing import services
from breakdowns.people.models import MemberImport
make = services._memberships_make
def slow(*given):
    make(*given)
    print("step", flush=True)
    sys.stdin.readline()
services._memberships_make = slow
services.import_run(MemberImport.objects.get().pk)
"""
TOOK_IN = """
from breakdowns.people.importing.services import import_run
from breakdowns.people.models import MemberImport, Membership, MembershipChange, User
one = MemberImport.objects.get()
before = one.gone_through, User.objects.count() - 1, Membership.objects.count()
import_run(one.pk)
one.refresh_from_db()
after = one.gone_through, one.accounts_made, len(one.faults)
print(before, after, User.objects.count() - 1, Membership.objects.count(), MembershipChange.objects.count())
"""


class Elsewhere:
    """Commands in processes of their own, with a database of their own."""

    def __init__(self, folder: Path, **more: str) -> None:
        self.environment = {
            **os.environ,
            "STANCEWRIGHT_DATA": str(folder),
            "STANCEWRIGHT_DATABASE": f"sqlite:///{folder}/w.sqlite3",
            **more,
        }
        self.environment.pop("STANCEWRIGHT_TESTING", None)
        self.run("from django.core.management import call_command; call_command('migrate', verbosity=0)")

    def start(self, code: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-c", START + code], cwd=ROOT, env=self.environment,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip

    def run(self, code: str) -> str:
        with self.start(code) as process:
            told, _ = process.communicate()
        assert process.returncode == 0
        return told.strip()


def kill(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGKILL)
    process.communicate()
    assert process.returncode == -signal.SIGKILL


class KeepsWaiting(MailServer):
    """Takes the third letter and never says so, until it is let go."""

    def __init__(self) -> None:
        super().__init__()
        self.third, self.let_go = threading.Event(), threading.Event()

    def taken_now(self) -> None:
        if len(self.taken) == 3 and not self.let_go.is_set():
            self.third.set()
            self.let_go.wait(60)


@pytest.fixture
def server():
    with KeepsWaiting() as found:
        threading.Thread(target=found.serve_forever, daemon=True).start()
        yield found
        found.let_go.set()
        found.shutdown()


def test_no_letter_goes_twice_when_its_sender_is_killed_before_it_was_told(tmp_path, server):
    """The server has the third letter, the sender is killed before the answer, and the next goes on with the rest."""
    host, port = server.server_address
    there = Elsewhere(
        tmp_path,
        STANCEWRIGHT_EMAIL_BACKEND="django.core.mail.backends.smtp.EmailBackend",
        STANCEWRIGHT_EMAIL_HOST=str(host),
        STANCEWRIGHT_EMAIL_PORT=str(port),
    )
    there.run(LETTERS)
    first = there.start(SEND)
    assert server.third.wait(60)
    kill(first)
    server.let_go.set()
    there.run(SEND)
    told = there.run(TOLD)
    there.run(SEND)
    arrived = sorted(letter["Subject"] for letter in server.taken)
    assert arrived == [f"Letter {n}" for n in range(6)]
    assert told.count("'sent'") == 5
    assert told.count("'unsure'") == 1


def test_a_table_is_taken_in_once_however_often_the_worker_is_killed(tmp_path):
    there = Elsewhere(tmp_path)
    there.run(TABLE)
    for _ in range(2):
        worker = there.start(TAKE_IN)
        assert worker.stdin is not None
        assert worker.stdout is not None
        assert worker.stdout.readline() == "step\n"
        worker.stdin.write("\n")
        worker.stdin.flush()
        assert worker.stdout.readline() == "step\n"
        kill(worker)  # in the middle of a step: written, not yet through
    assert there.run(TOOK_IN) == "(401, 400, 400) (901, 900, 1) 900 900 900"
