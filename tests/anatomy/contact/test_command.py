"""The command contact: the contract's keys, the side, standard input, and exit 2 with one line."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

pytestmark = pytest.mark.django_db
CONTRACT = {"places", "structures", "cautions", "unsure"}
ROW = {"name", "layer", "side", "why", "watch_for", "urgency", "sources"}


def answer(*args: str) -> Any:
    out = io.StringIO()
    call_command("contact", *args, stdout=out)
    return json.loads(out.getvalue())


def test_the_answer_has_the_contracts_keys() -> None:
    found = answer("elbow into the left side, about the tenth rib, towards the back")
    assert found.keys() >= CONTRACT
    assert found["places"] == ["left lower ribs towards the back"]
    for row in found["structures"]:
        assert row.keys() >= ROW
        assert row["urgency"] in ("routine", "soon", "emergency")
    names = [row["name"] for row in found["structures"] if row["urgency"] == "emergency"]
    assert {"spleen", "left kidney", "lungs"} <= set(names)
    assert found["structures"][0]["urgency"] == "emergency"
    assert found["where"][0]["key"] == "lower-ribs-back"
    assert found["where"][0]["views"] == ["back", "side"]
    assert found["where"][0]["ribs"] == ["9", "10", "11", "12"]
    assert all(
        isinstance(line, str) for key in ("places", "cautions", "unsure", "reasoning") for line in found[key]
    )
    assert {one["line"] for one in found["caution_sources"].values()} == set(found["cautions"])


def test_the_side_and_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    assert answer("knee to the outside of the thigh", "--side", "left")["places"] == [
        "outer side of the left thigh"
    ]
    text = "Schlag: ball to the right ear\n"
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8"))
    assert answer("-")["places"] == ["right ear"]


def test_nothing_recognised_is_no_fault() -> None:
    found = answer("the whistle blew")
    assert (found["places"], found["structures"]) == ([], [])
    assert found["unsure"]
    assert found["cautions"]


@pytest.mark.parametrize(
    "args",
    [("",), ("  ",), ("x" * 100_001,), ("knee", "--side", "middle"), ("knee", "--side", "")],
    ids=["empty", "blank", "over-long", "unknown side", "empty side"],
)
def test_bad_input_ends_with_2_and_one_line(args: tuple[str, ...]) -> None:
    with pytest.raises(CommandError) as error:
        answer(*args)
    assert error.value.returncode == 2
    assert "\n" not in str(error.value)


def test_standard_input_that_is_not_utf_8_ends_with_2(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"kn\xffee"), encoding="utf-8"))
    with pytest.raises(CommandError) as error:
        answer("-")
    assert error.value.returncode == 2
    assert "byte 2" in str(error.value)


def test_the_process_itself_keeps_output_and_messages_apart() -> None:
    def run(*args: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "manage.py", "contact", *args]
        return subprocess.run(command, cwd=settings.BASE_DIR, capture_output=True, text=True, check=False)

    good = run("kicked in the left shin")
    assert good.returncode == 0
    assert good.stderr == ""
    assert json.loads(good.stdout)["places"] == ["left shin"]
    bad = run("kicked in the shin", "--side", "up")
    assert bad.returncode == 2
    assert bad.stdout == ""
    assert len(bad.stderr.strip().splitlines()) == 1
