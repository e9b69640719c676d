"""The commands: keys as promised, exit codes, and no database where none is needed."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError

from anatomy.vocabulary.models import Muscle
from anatomy.vocabulary.packaged import packaged_vocabulary
from tests.anatomy.vocabulary.small_folder import cell, small_files, write_folder


def answer(*args: str) -> Any:
    out = io.StringIO()
    call_command(*args, stdout=out)
    return json.loads(out.getvalue())


# Without the database: these tests have none, and would fail if the command asked for it.
def test_muscles_have_a_row_for_each_muscle_joint_and_motion() -> None:
    rows = answer("vocabulary", "--muscles")
    keys = {
        "muscle",
        "synonyms",
        "joint",
        "motion",
        "role",
        "plane",
        "depends_on",
        "nerve",
        "roots",
        "sources",
    }
    assert all(keys <= set(row) for row in rows)
    assert len({(row["muscle"], row["joint"], row["motion"]) for row in rows}) == len(rows)
    assert {row["muscle"] for row in rows} == set(packaged_vocabulary().muscles)
    assert {row["role"] for row in rows} == {"prime", "assist"}
    assert all(row["sources"] and all(isinstance(key, str) for key in row["sources"]) for row in rows)
    assert all(isinstance(row["roots"], list) and isinstance(row["synonyms"], list) for row in rows)


@pytest.mark.parametrize(
    ("option", "key"), [("--joints", "joint"), ("--motions", "motion"), ("--structures", "structure")]
)
def test_the_other_lists_name_what_they_are_about(option: str, key: str) -> None:
    rows = answer("vocabulary", option)
    assert rows
    assert all(row[key] and row["sources"] and "synonyms" in row for row in rows)


def test_without_an_option_everything_is_said_and_counted() -> None:
    everything = answer("vocabulary")
    assert everything["counts"]["muscles"] == len(packaged_vocabulary().muscles)
    assert {"muscles", "joints", "motions", "structures"} < set(everything)


def test_motions_carry_their_muscles_and_ranges() -> None:
    hip = next(
        r for r in answer("vocabulary", "--motions") if (r["joint"], r["motion"]) == ("hip", "extension")
    )
    assert "gluteus maximus" in hip["muscles"]["prime"]
    assert all(one["low"] <= one["high"] and one["sources"] for one in hip["ranges"])


@pytest.mark.django_db
def test_load_reports_what_it_did(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "v", small_files())
    first, second = answer("load_vocabulary", str(folder)), answer("load_vocabulary", str(folder))
    assert first["tables"]["muscles"]["added"] + first["tables"]["muscles"]["changed"] == 2
    assert (second["added"], second["changed"], second["removed"]) == (0, 0, 0)
    assert second["stamp"] == first["stamp"]
    assert answer("load_vocabulary")["removed"] > 0
    assert Muscle.objects.count() == len(packaged_vocabulary().muscles)


@pytest.mark.django_db
@pytest.mark.parametrize("options", [[], ["--check"]])
def test_faulty_files_end_with_2_and_one_line_for_each_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str]
) -> None:
    files = cell(cell(small_files(), "actions.csv", 0, "role", "main"), "structures.csv", 0, "side", "middle")
    folder = write_folder(tmp_path / "v", files)
    with pytest.raises(SystemExit) as end:
        call_command("load_vocabulary", str(folder), *options)
    assert end.value.code == 2
    captured = capsys.readouterr()
    lines = captured.err.splitlines()
    assert captured.out == ""
    assert [line.split(":")[0] for line in lines] == ["actions.csv, line 2", "structures.csv, line 2"]
    assert Muscle.objects.count() == len(packaged_vocabulary().muscles)


def test_check_looks_without_loading(tmp_path: Path) -> None:
    assert answer("load_vocabulary", str(write_folder(tmp_path / "v", small_files())), "--check") == {
        "faults": 0
    }


@pytest.mark.django_db
def test_a_database_without_tables_gets_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OperationalError("no such table: vocabulary_vocabularystate")

    monkeypatch.setattr("anatomy.vocabulary.services._locked_state", refuse)
    with pytest.raises(CommandError, match=r"no such table.*run migrate first") as error:
        call_command("load_vocabulary")
    assert error.value.returncode == 2
