"""``manage.py triage`` on a database that is migrated and empty, and on one with answers."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from breakdowns.questions.machine import answer_columns
from breakdowns.questions.sorting import TOPICS
from tests.questions.making import make_note

pytestmark = pytest.mark.django_db
ASKED = [
    ("a", "My knee clicks when I squat, what can I do?"),
    ("b", "After a knock on the head I keep vomiting."),
    ("c", "popping from the knee joint when going down low"),
    ("d", "how do I cancel my membership"),
]


def table(rows: list[tuple[str, ...]], header: tuple[str, ...] = ("id", "text")) -> str:
    out = io.StringIO()
    csv.writer(out).writerows([header, *rows])
    return out.getvalue()


def triage(tmp_path: Path, text: str | bytes) -> list[dict]:
    path, out = tmp_path / "asked.csv", io.StringIO()
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    call_command("triage", str(path), stdout=out)
    return json.loads(out.getvalue())


def test_rows_come_back_in_order_with_every_promised_key(tmp_path: Path) -> None:
    answer = triage(tmp_path, table(ASKED))
    assert [row["id"] for row in answer] == ["a", "b", "c", "d"]
    for row in answer:
        assert {"id", "topic", "red_flag", "flags", "similar", "minutes"} <= set(row)
        assert row["topic"] in TOPICS
        assert row["minutes"] > 0
    assert [row["red_flag"] for row in answer] == [False, True, False, False]
    assert all({"flag", "because", "action"} <= set(flag) for flag in answer[1]["flags"])
    assert "vomiting" in " ".join(flag["because"] for flag in answer[1]["flags"])
    assert answer[3]["topic"] == "account/billing"


def test_only_earlier_rows_are_similar_best_first(tmp_path: Path) -> None:
    answer = triage(tmp_path, table(ASKED))
    assert answer[0]["similar"] == []
    assert answer[2]["similar"][0]["id"] == "a"
    scores = [one["score"] for one in answer[2]["similar"]]
    assert scores == sorted(scores, reverse=True)
    many = triage(tmp_path, table([(str(n), "My knee clicks when I squat") for n in range(9)]))
    assert len(many[-1]["similar"]) == 5


def test_answers_already_given_are_similar_too(tmp_path: Path) -> None:
    asked = "My knee clicks when I squat"
    note = make_note(
        asked, "It mostly means nothing.", **answer_columns(asked, "It mostly means nothing.", [])
    )
    (row,) = triage(tmp_path, table([("x", "my knee is clicking in squats")]))
    assert row["similar"][0]["id"].startswith("answer:")
    assert str(note.pk) in row["similar"][0]["id"] or str(getattr(note, "key", "")) in row["similar"][0]["id"]


def test_other_columns_a_mark_of_order_and_empty_lines_do_no_harm(tmp_path: Path) -> None:
    text = table([("2024", "a", "which muscle lifts the knee")], header=("when", "ID", "Text"))
    (row,) = triage(tmp_path, ("\ufeff" + text + "\n,,\n").encode())
    assert (row["id"], row["topic"]) == ("a", "anatomy")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("id\n1\n", "no column called text"),
        ("id,text,text\n1,a,b\n", "more than one column called text"),
        ("id,text\n1\n", "line 2"),
        ("id,text\n,what\n", "no id"),
        ("id,text\n1,a\n1,b\n", "line 2 and in line 3"),
        ('id,text\n1,"a\n', "CSV"),
        (b"id,text\n1,\xff\xfe\n", "UTF-8"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(tmp_path: Path, text: str | bytes, says: str) -> None:
    with pytest.raises(CommandError, match=says) as refused:
        triage(tmp_path, text)
    assert refused.value.returncode == 2
    assert "\n" not in str(refused.value)


def test_a_missing_file_and_standard_input() -> None:
    run = [sys.executable, "manage.py", "triage"]
    gone = subprocess.run([*run, "not-there.csv"], capture_output=True, text=True, check=False)
    assert (gone.returncode, gone.stdout) == (2, "")
    assert len(gone.stderr.strip().splitlines()) == 1
    piped = subprocess.run(
        [*run, "-"], input="id,text\n1,how do i cancel\n", capture_output=True, text=True, check=True
    )
    assert json.loads(piped.stdout)[0]["topic"] == "account/billing"
