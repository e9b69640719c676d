"""How long the question site takes with a million questions, and whether it stays flat as they grow.

Run with STANCEWRIGHT_DATABASE naming a PostgreSQL server on which databases may be made:

    python tests/benchmarks/bench_questions.py [--questions 1000000 --members 100000 --answers 200000 --times 40]

Two databases are made, filled by SQL and dropped: the size asked for, and 10,000 questions. For each page: median and 95th
percentile in milliseconds through Django's test client; the same for the page's own SQL statements, replayed bare on the
same connection in the same run; their ratio; and the ratio to the small size. The texts are those of the labelled questions in
tests/questions/data (words as common as people use them), each with words of its own.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
os.environ["STANCEWRIGHT_TESTING"] = "1"

import django  # noqa: E402

django.setup()

import psycopg  # noqa: E402
from django.core.cache import cache  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402

from breakdowns.people.models import User  # noqa: E402
from breakdowns.questions.machine import read_text  # noqa: E402

SMALL = 10_000
TYPED = [
    "my shoulder hurts after throwing two days in a row how long should I rest",
    "why does my knee click when I squat deep",
    "which shoes are best for a hall floor after an ankle sprain",
    "how many jump throws a week are too many",
    "shoulder",
]


def texts() -> list[str]:
    found: list[str] = []
    for path in sorted((ROOT / "tests/questions/data").glob("questions_open_*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            found += [row["text"] for row in csv.DictReader(file) if row.get("text")]
    return found


def database_make(name: str) -> None:
    """A fresh database of that name, and this process on it."""
    server()(f"DROP DATABASE IF EXISTS {name}")
    server()(f"CREATE DATABASE {name}")
    connection.close()
    connection.settings_dict["NAME"] = name
    cache.clear()
    call_command("migrate", verbosity=0)


def server() -> Callable[[str], None]:
    given = {"host": connection.settings_dict["HOST"], "user": connection.settings_dict["USER"],
             "password": connection.settings_dict["PASSWORD"] or None, "port": connection.settings_dict["PORT"] or None}  # fmt: skip

    def run(sql: str) -> None:
        with psycopg.connect(dbname="postgres", autocommit=True, **given) as there:
            there.execute(sql)

    return run


FILL = """
CREATE TEMP TABLE size AS SELECT %(questions)s::int q, %(members)s::int m, %(answers)s::int a, %(waiting)s::int w,
    (SELECT count(*) FROM pool)::int p;
INSERT INTO people_user ({user_columns}) SELECT {user_values} FROM size, generate_series(1, m) n;
INSERT INTO people_membership ({membership_columns}) SELECT {membership_values} FROM people_user WHERE role = 'reader';
INSERT INTO questions_answer (key, text, audience, asked, note, topic, regions, muscles, joints, cautions, fingerprint, search_words,
        version, people, readers, made_at, changed_at, goes_at, told_at)
    SELECT gen_random_uuid(), 'It depends. ' || pool.text, CASE WHEN (n / p) %% 3 = 0 THEN 'members' ELSE 'private' END, pool.text,
        'It depends.', 'technique', pool.regions, '[]', '[]', '[]', pool.fingerprint,
        pool.words || ' w' || n || ' w' || n %% 9973, 1, 1, 0, t, t, t, t
    FROM size, generate_series(1, a) n, LATERAL (SELECT now() - n * interval '97 seconds' - interval '1 hour' t) u,
        LATERAL (SELECT * FROM pool WHERE pool.id = (n * 7919::bigint) %% p) pool;
INSERT INTO questions_group (waiting, made_at) SELECT 4, now() FROM size, generate_series(1, w / 40);
INSERT INTO questions_question ({question_columns})
    SELECT {question_values}
    FROM size, generate_series(1, q) n, LATERAL (SELECT now() - (q - n) * interval '60 seconds' - interval '1 hour' t) u,
        LATERAL (SELECT * FROM pool WHERE pool.id = (n * 104729::bigint) %% p) pool;
"""

QUESTION = {
    "key": "gen_random_uuid()", "member_id": "(SELECT min(id) FROM people_user) + (n * 31::bigint) %% m",
    "state": "CASE WHEN n > q - w THEN 'waiting' ELSE 'answered' END", "text": "pool.text", "body_part": "''", "since_when": "''",
    "tried": "''", "consent_to_publish": "false", "topic": "'technique'", "regions": "pool.regions", "joints": "'[]'",
    "muscles": "'[]'", "minutes": "1 + n %% 7", "sorted": "'{}'",
    "fingerprint": "CASE WHEN n > q - w THEN pool.fingerprint ELSE '{}' END", "search_words": "pool.words || ' w' || n",
    "group_id": "CASE WHEN n > q - w AND n %% 10 = 0 THEN (SELECT min(id) FROM questions_group) + (n / 10) %% (w / 40) END",
    "group_kept_apart": "false", "urgency": "CASE WHEN n > q - w AND n %% 500 = 7 THEN 'urgent same day' ELSE '' END",
    "urgency_rank": "CASE WHEN n > q - w AND n %% 500 = 7 THEN 2 ELSE 0 END", "answer_draft": "''",
    "answer_id": "CASE WHEN n <= q - w THEN (SELECT min(id) FROM questions_answer) + n %% a END",
    "times_passed_over": "0", "made_at": "t", "changed_at": "t", "asked_at": "t",
    "answered_at": "CASE WHEN n <= q - w THEN t + interval '1 day' END",
}  # fmt: skip


def fill(members: int, questions: int, answers: int, waiting: int) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE TEMP TABLE pool (id int PRIMARY KEY, text text, words text, fingerprint jsonb, regions jsonb)"
        )
        for number, text in enumerate(texts()):
            read = read_text(text)
            row = [
                number,
                text,
                read["search_words"],
                json.dumps(read["fingerprint"]),
                json.dumps(read.get("regions", [])),
            ]
            cursor.execute("INSERT INTO pool VALUES (%s, %s, %s, %s, %s)", row)
        columns = {"user_id": "id", **_needed("people_membership")}
        users = {**_needed("people_user"), "email": "'m' || n || '@mail.example'", "name": "'Member ' || n", "role": "'reader'",
                 "is_active": "true"}  # fmt: skip
        sql = (
            FILL.replace("{user_columns}", ", ".join(users)).replace("{user_values}", ", ".join(users.values()))
            .replace("{membership_columns}", ", ".join(columns)).replace("{membership_values}", ", ".join(columns.values()))
            .replace("{question_columns}", ", ".join(QUESTION)).replace("{question_values}", ", ".join(QUESTION.values()))
        )  # fmt: skip
        sizes = {"questions": questions, "members": members, "answers": answers, "waiting": waiting}
        for statement in sql.split(";\n"):
            if statement.strip():
                cursor.execute(statement, sizes)
        cursor.execute("VACUUM ANALYZE")


def _needed(table: str) -> dict[str, str]:
    """Every column of a table that has to have a value, with a plain one."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT column_name, data_type FROM information_schema.columns WHERE table_name = %s "
            "AND is_nullable = 'NO' AND column_name NOT IN ('id', 'user_id')",
            [table],
        )
        kinds = dict(cursor.fetchall())
    usual = {"date": "current_date - 30", "boolean": "false", "text": "''", "character varying": "''", "uuid": "gen_random_uuid()",
             "timestamp with time zone": "now()", "jsonb": "'{}'"}  # fmt: skip
    return {name: usual.get(kind, "0") for name, kind in kinds.items()}


def milliseconds(work: Callable[[int], Any], times: int) -> tuple[float, float]:
    """Median and 95th percentile."""
    taken = []
    for number in range(times):
        start = time.perf_counter()
        work(number)
        taken.append(1000 * (time.perf_counter() - start))
    taken.sort()
    return statistics.median(taken), taken[min(len(taken) - 1, int(0.95 * len(taken)))]


def pages() -> dict[str, tuple[Callable[[int], Any], Callable[[], None]]]:
    editor = User.objects.create(email="editor@studio.example", name="Editor", role="editor", is_active=True)
    desk, member = Client(), Client()
    desk.force_login(editor)
    member.force_login(User.objects.filter(role="reader").order_by("pk")[7])
    desk.post(reverse("questions:desk"), {"minutes": 20})
    return {
        "desk page": lambda n: desk.get(reverse("questions:sitting")),
        "similar while typing": lambda n: member.post(reverse("questions:likely"), {"text": TYPED[n % 4]}),
        "library search": lambda n: member.get(reverse("questions:library"), {"q": TYPED[n % 5]}, headers={"hx-request": "true"}),
        "member's own list": lambda n: member.get(reverse("questions:index")),
    }  # fmt: skip


def bare(work: Callable[[int], Any], kinds: int = 5) -> Callable[[int], None]:
    """The page's own statements, the reading ones, once more without the page."""
    kept: list[list[str]] = []
    for number in range(kinds):
        with CaptureQueriesContext(connection) as asked:
            answer = work(number)
        assert answer.status_code == 200, answer.status_code
        kept.append([one["sql"] for one in asked if one["sql"].startswith("SELECT")])

    def replay(number: int) -> None:
        with connection.connection.cursor() as cursor:
            for sql in kept[number % kinds]:
                cursor.execute(sql)
                cursor.fetchall()

    return replay


def measured(times: int) -> dict[str, dict[str, float]]:
    found = {}
    for name, work in pages().items():
        replay = bare(work)
        milliseconds(work, 5)
        (page, page95), (sql, sql95) = milliseconds(work, times), milliseconds(replay, times)
        found[name] = {"page": page, "page95": page95, "sql": sql, "sql95": sql95}
    return found


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    for name, usual in (
        ("questions", 1_000_000),
        ("members", 100_000),
        ("answers", 200_000),
        ("waiting", 10_000),
        ("times", 40),
    ):
        options.add_argument(f"--{name}", type=int, default=usual)
    options.add_argument("--keep", action="store_true", help="leave the databases")
    chosen = options.parse_args()
    if connection.vendor != "postgresql":
        raise SystemExit("Set STANCEWRIGHT_DATABASE to a PostgreSQL server on which databases may be made.")
    found = {}
    for name, share in (("bench_small", SMALL / chosen.questions), ("bench_large", 1.0)):
        database_make(name)
        start = time.perf_counter()
        fill(
            max(100, int(chosen.members * share)), int(chosen.questions * share), max(100, int(chosen.answers * share)),
            min(chosen.waiting, 3 * int(chosen.questions * share) // 10),
        )  # fmt: skip
        print(f"{name}: filled in {time.perf_counter() - start:.0f} s", flush=True)
        found[name] = measured(chosen.times)
    print(
        f"{'':24}{'page':>8}{'p95':>8}{'SQL':>8}{'p95':>8}{'page/SQL':>10}{'small':>8}{'SQL':>8}{'growth':>8}{'of SQL':>8}"
    )
    for name, large in found["bench_large"].items():
        small = found["bench_small"][name]
        print(
            f"{name:24}{large['page']:8.1f}{large['page95']:8.1f}{large['sql']:8.1f}{large['sql95']:8.1f}"
            f"{large['page'] / large['sql']:10.2f}{small['page']:8.1f}{small['sql']:8.1f}"
            f"{large['page'] / small['page']:8.2f}{large['sql'] / small['sql']:8.2f}"
        )
    connection.close()
    if not chosen.keep:
        for name in found:
            server()(f"DROP DATABASE IF EXISTS {name}")


if __name__ == "__main__":
    main()
