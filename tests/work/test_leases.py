"""The lease: one holder at a time, taken over when it lapses, never written to by a late comer."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from django.db.models.functions import Now

from breakdowns.work.models import WorkItem
from breakdowns.work.services import work_order, work_stop, work_sweep
from breakdowns.work.tasks import _KINDS, Desk, WorkFailed, WorkStopped, do_work, does

pytestmark = pytest.mark.django_db


@pytest.fixture
def kind():
    """A kind of work whose function the test hands over."""
    runs = []

    @does("test.kind", queue="default")
    def run(subject: str, desk: Desk) -> None:
        runs.append(subject)
        run.body(subject, desk)

    run.body = lambda subject, desk: None
    run.runs = runs
    yield run
    del _KINDS["test.kind"]


def lapse(item: WorkItem) -> None:
    WorkItem.objects.filter(pk=item.pk).update(held_until=Now() - timedelta(seconds=1))


def test_work_runs_once_however_often_it_is_woken(kind) -> None:
    item = work_order("test.kind", "7")
    assert [do_work(item.pk), do_work(item.pk)] == ["done", "taken"]
    assert kind.runs == ["7"]


def test_ordering_twice_gives_the_row_that_is_there(kind) -> None:
    assert work_order("test.kind", "7").pk == work_order("test.kind", "7").pk
    do_work(work_order("test.kind", "7").pk)
    assert WorkItem.objects.count() == 1
    work_order("test.kind", "7")
    assert WorkItem.objects.count() == 2


def test_a_lapsed_lease_is_taken_over_and_the_late_holder_can_write_nothing(kind) -> None:
    item = work_order("test.kind", "7")
    first = item.take()
    assert item.take() is None
    lapse(item)
    second = item.take()
    assert second not in (None, first)
    assert not item.report(first, 5, 10)
    assert not item.end(first, "done")
    with pytest.raises(WorkStopped):
        Desk(item, first).finish(lambda: pytest.fail("the late holder wrote"))
    item.refresh_from_db()
    assert (item.state, item.attempt, item.holder) == ("running", 2, second)


def test_progress_and_the_reason_of_a_failure_are_kept(kind) -> None:
    def body(subject: str, desk: Desk) -> None:
        desk.progress(3, 4, "reading")
        raise WorkFailed("The file is empty. Choose another.")

    kind.body = body
    item = work_order("test.kind", "7")
    assert do_work(item.pk) == "failed"
    item.refresh_from_db()
    assert (item.percent, item.doing, item.reason) == (75, "reading", "The file is empty. Choose another.")


def test_an_unforeseen_error_ends_as_a_sentence(kind) -> None:
    kind.body = lambda subject, desk: 1 / 0
    item = work_order("test.kind", "7")
    assert do_work(item.pk) == "failed"
    item.refresh_from_db()
    assert "did not foresee" in item.reason
    assert "ZeroDivision" not in item.reason


def test_a_stop_reaches_running_work_and_ends_waiting_work_at_once(kind) -> None:
    def body(subject: str, desk: Desk) -> None:
        work_stop(desk.item)
        if desk.stopped():
            raise WorkStopped

    kind.body = body
    item = work_order("test.kind", "7")
    assert do_work(item.pk) == "stopped"
    waiting = work_order("test.kind", "8")
    work_stop(waiting)
    assert do_work(waiting.pk) == "taken"
    assert kind.runs == ["7"]


def test_the_sweep_leaves_live_leases_wakes_lapsed_ones_and_gives_up_in_the_end(kind, settings) -> None:
    item = work_order("test.kind", "7")
    item.take()
    assert work_sweep() == (0, 0)
    lapse(item)
    assert work_sweep() == (1, 0)
    WorkItem.objects.filter(pk=item.pk).update(attempt=settings.WORK_ATTEMPTS)
    assert work_sweep() == (0, 1)
    item.refresh_from_db()
    assert (item.state, "3 times" in item.reason) == ("failed", True)


WORKER = """
import os, sys, time
os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
os.environ.pop("STANCEWRIGHT_TESTING", None)
os.environ["STANCEWRIGHT_LEASE_SECONDS"] = "60"
import django; django.setup()
from breakdowns.work.tasks import do_work, does
@does("test.slow")
def slow(subject, desk):
    for n in range(12):
        desk._looked = 0
        desk.progress(n + 1, 12)
        if desk.stopped(): return
        if n == 6: print("seven", flush=True)
        time.sleep(float(sys.argv[2]))
print(do_work(int(sys.argv[1])), flush=True)
"""


def test_a_killed_workers_work_is_done_by_the_next(tmp_path: Path) -> None:
    """A real process, killed with SIGKILL in the middle, on a database of its own."""
    environment = {
        **os.environ,
        "STANCEWRIGHT_DATA": str(tmp_path),
        "STANCEWRIGHT_DATABASE": f"sqlite:///{tmp_path}/w.sqlite3",
    }
    environment.pop("STANCEWRIGHT_TESTING", None)
    environment["STANCEWRIGHT_LEASE_SECONDS"] = "60"
    root = Path(__file__).resolve().parents[2]

    def run(*arguments: str) -> str:
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=root,
            env=environment,
            check=True,
            capture_output=True,
            text=True,
        ).stdout

    run("manage.py", "migrate", "-v0")
    made = run(
        "manage.py",
        "shell",
        "-v0",
        "-c",
        "from breakdowns.work.models import WorkItem as W; print(W.objects.create(kind='test.slow', subject='1').pk)",
    )
    pk = made.strip().splitlines()[-1]
    first = subprocess.Popen(
        [sys.executable, "-c", WORKER, pk, "0.3"],
        cwd=root,
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert first.stdout is not None
    assert first.stdout.readline() == "seven\n"
    first.send_signal(signal.SIGKILL)
    first.wait()
    first.stdout.close()
    assert run("-c", WORKER, pk, "0") == "taken\n"  # the lease still stands
    lapsing = "from breakdowns.work.models import WorkItem as W; from datetime import timedelta as T; w = W.objects.get(); "
    run(
        "manage.py",
        "shell",
        "-v0",
        "-c",
        lapsing + "w.held_until -= T(seconds=3600); w.save(update_fields=['held_until'])",
    )
    assert run("-c", WORKER, pk, "0") == "seven\ndone\n"
    state = run(
        "manage.py",
        "shell",
        "-v0",
        "-c",
        "from breakdowns.work.models import WorkItem as W; w = W.objects.get(); print(w.state, w.attempt, w.done_units)",
    )
    assert state.strip().splitlines()[-1] == "done 2 12"
