"""Members where there are many: the owner's list, looking through and taking in a table, events of a payment service.

Run: ``python tests/benchmarks/bench_members.py [PEOPLE]`` (100,000 unless told), on the database of STANCEWRIGHT_DATABASE.
Everything happens in a test database that is thrown away. Prints milliseconds and ratios to baselines of the same run:
the bare SQL that the page can't do without, and bare inserts of the same rows.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
os.environ.setdefault("STANCEWRIGHT_TESTING", "1")

import django

django.setup()

from django.db import connection, transaction  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.runner import DiscoverRunner  # noqa: E402
from django.test.utils import setup_test_environment  # noqa: E402
from django.utils import timezone  # noqa: E402

from breakdowns.people.importing.services import (  # noqa: E402
    guess_plan,
    import_look,
    import_make,
    import_order,
    import_run,
    import_settle,
)
from breakdowns.people.models import Membership, User, site_today  # noqa: E402
from breakdowns.people.webhook.events import Event  # noqa: E402
from breakdowns.people.webhook.services import event_take, service_add  # noqa: E402

REPEATS = 7


def milliseconds(does: Callable[[], object], repeats: int = REPEATS) -> tuple[float, float]:
    """Median and the slowest of a few runs."""
    took = []
    for _ in range(repeats):
        began = time.perf_counter()
        does()
        took.append((time.perf_counter() - began) * 1000)
    return statistics.median(took), max(took)


def fill(people: int) -> None:
    today = site_today()
    users = [User(email=f"p{n}@example.org", name=f"Player {n}", password="!") for n in range(people)]
    User.objects.bulk_create(users, batch_size=5000)
    rows = []
    for n, user in enumerate(users):
        ends = today + timedelta(days=n % 60 - 30)
        first = today - timedelta(days=40 + n % 400)
        rows.append(
            Membership(user=user, starts_on=first, ends_on=ends, grace_until=ends + timedelta(days=3))
        )
    Membership.objects.bulk_create(rows, batch_size=5000)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def bare_list() -> None:
    """Count and fetch one page of those whose membership covers today, as plain SQL."""
    today = site_today().isoformat()
    covered = (
        "FROM people_user u WHERE u.erased_at IS NULL AND u.id IN (SELECT m.user_id FROM people_membership m "
        "WHERE m.revoked_at IS NULL AND m.starts_on <= %s AND (m.ends_on IS NULL OR m.ends_on >= %s))"
    )
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT count(*) {covered}", [today, today])
        cursor.fetchall()
        cursor.execute(
            f"SELECT u.id, u.name {covered} ORDER BY u.name, u.email, u.id LIMIT 50", [today, today]
        )
        cursor.fetchall()


def lists(owner: User) -> None:
    client = Client()
    client.force_login(owner)
    bare, _ = milliseconds(bare_list)
    print(f"bare SQL of the list: {bare:.0f} ms")
    for query in ("", "?state=member", "?state=lapsed", "?state=grace", "?q=player+777"):
        median, worst = milliseconds(lambda query=query: client.get(f"/members/{query}"))
        print(
            f"/members/{query}: {median:.0f} ms (worst {worst:.0f}), {median / bare:.1f} times the bare SQL"
        )


def table(owner: User) -> None:
    text = "e-mail,name,first day,last day\n" + "".join(
        f"n{n}@example.org,Player {n},2026-01-01,2030-01-{n % 28 + 1}\n" for n in range(9963)
    )
    data = (text + "nobody\n" * 37).encode()
    one = import_make(data, "members.csv", by=owner)
    import_settle(one, guess_plan(data))
    looked, _ = milliseconds(lambda: import_look(one), 3)
    import_order(one)
    taken, _ = milliseconds(lambda: import_run(one.pk), 1)

    def bare() -> None:
        with transaction.atomic():
            users = [User(email=f"b{n}@example.org", name=f"Player {n}", password="!") for n in range(9963)]
            User.objects.bulk_create(users, batch_size=200)
            Membership.objects.bulk_create(
                [Membership(user=user, starts_on=site_today()) for user in users], batch_size=200
            )

    inserts, _ = milliseconds(bare, 1)
    print(f"10,000 lines looked through: {looked:.0f} ms")
    print(f"10,000 lines taken in: {taken:.0f} ms, {taken / inserts:.1f} times the bare inserts")


def reported() -> None:
    key, _ = service_add("The till")
    today, now = site_today(), timezone.now()
    events = [
        Event(
            f"e{n}",
            now,
            f"m{n}",
            "running",
            today,
            today + timedelta(days=30),
            f"w{n}@example.org",
            invite=False,
        )
        for n in range(300)
    ]
    took, _ = milliseconds(lambda: [event_take(key, event) for event in events], 1)
    again, _ = milliseconds(lambda: [event_take(key, event) for event in events], 1)
    print(f"an event of somebody new: {took / 300:.1f} ms; the same again: {again / 300:.1f} ms")


def main() -> None:
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    runner = DiscoverRunner(verbosity=0, interactive=False)
    setup_test_environment()
    databases = runner.setup_databases()
    try:
        print(f"{connection.vendor}, {people} people")
        fill(people)
        owner = User.objects.create_user("owner@example.org", None, role="owner")
        lists(owner)
        table(owner)
        reported()
    finally:
        runner.teardown_databases(databases)


if __name__ == "__main__":
    main()
