"""The ledger command as a user runs it."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from breakdowns.excerpts.models import ExcerptPolicy

PLAN = {
    "sources": [
        {
            "id": "A",
            "duration": "600",
            "rate": {"num": 30000, "den": 1001},
            "event": "Halbfinale – Männer",
            "attributed": True,
        },
        {"id": "B", "duration": "600", "rate": {"num": 25, "den": 1}, "event": "Halbfinale – Männer"},
    ],
    "segments": [
        {"kind": "own", "duration": "10"},
        {
            "kind": "excerpt",
            "source": "A",
            "in": "100",
            "out": {"frames": 3240},
            "speed": "1/2",
            "hold": "3",
            "muted": True,
            "annotated": "hold",
            "beside": {"source": "B", "in": "31", "out": "34", "muted": True},
        },
    ],
    "narration": {"intervals": [["0", "40"]]},
}


def ran(plan, tmp_path):
    path = tmp_path / "plan.json"
    path.write_text(plan if isinstance(plan, str) else json.dumps(plan), encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    code = 0
    try:
        call_command("ledger", str(path), stdout=out, stderr=err)
    except CommandError as fault:
        code, line = fault.returncode, str(fault)
        err.write(line)
    return code, json.loads(out.getvalue()), err.getvalue()


def test_the_answer_is_exact_and_complete(tmp_path):
    code, answer, said = ran(PLAN, tmp_path)
    assert (code, said) == (0, "")
    assert answer["piece_seconds"] == {"exact": "3652/125", "decimal": "29.216000"}
    assert answer["sources"]["A"]["hold_seconds"]["exact"] == "3"
    assert answer["sources"]["B"]["hold_seconds"]["exact"] == "2027/125"
    assert answer["events"]["Halbfinale – Männer"]["sources"] == 2
    assert "verdicts" not in answer


def test_a_preset_brings_verdicts_and_cautions(tmp_path):
    code, answer, _ = ran(PLAN | {"policy": "quotation"}, tmp_path)
    assert code == 0
    states = {(row["rule"], row["where"]["name"]): row["state"] for row in answer["verdicts"]}
    assert states == {
        ("source_named", "A"): "within",
        ("source_named", "B"): "over",
        ("purposes_unstated", None): "over",
    }
    assert any("not legal advice" in caution for caution in answer["cautions"])


def test_a_plan_can_carry_limits_of_its_own(tmp_path):
    own = {"title": "House", "limits": [{"rule": "longest_timeline_run_seconds", "value": "15"}]}
    code, answer, _ = ran(PLAN | {"policy": own}, tmp_path)
    assert code == 0
    assert [row["state"] for row in answer["verdicts"]] == ["over", "over"]


@pytest.mark.django_db
def test_a_stored_policy_is_found_by_its_name(tmp_path):
    ExcerptPolicy.objects.create(name="House", limits=[{"rule": "union_seconds", "value": "5"}])
    code, answer, _ = ran(PLAN | {"policy": "House"}, tmp_path)
    assert code == 0
    assert {row["rule"] for row in answer["verdicts"]} == {"union_seconds"}


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("change", "error"),
    [
        ({"segments": [{"kind": "excerpt", "source": "Z", "in": "0", "out": "1"}]}, ("unknown_source", 0)),
        ({"segments": [{"kind": "own", "duration": "-1"}]}, ("negative_duration", 0)),
        ({"policy": "no such"}, ("unknown_policy", None)),
        ({"policy": "own:999"}, ("unknown_policy", None)),
        ({"policy": {"limits": [{"rule": "x"}]}}, ("malformed", None)),
        ({"sources": None}, ("malformed", None)),
    ],
)
def test_a_faulty_plan_exits_2_with_its_code_and_one_line(change, error, tmp_path):
    code, answer, said = ran(PLAN | change, tmp_path)
    assert code == 2
    assert answer == {"error": error[0], "segment": error[1]}
    assert said.strip()
    assert "\n" not in said.strip()


def test_a_missing_file_exits_2():
    out = io.StringIO()
    with pytest.raises(CommandError) as caught:
        call_command("ledger", "no/such/plan.json", stdout=out)
    assert caught.value.returncode == 2
    assert json.loads(out.getvalue()) == {"error": "unreadable", "segment": None}


def test_it_reads_standard_input_and_writes_utf_8_in_any_locale(tmp_path):
    root = Path(__file__).resolve().parents[2]
    environment = os.environ | {
        "LC_ALL": "C",
        "PYTHONIOENCODING": "ascii",
        "STANCEWRIGHT_DATA": str(tmp_path),
    }
    done = subprocess.run(
        [sys.executable, "manage.py", "ledger", "-"],
        input=json.dumps(PLAN).encode(),
        capture_output=True,
        cwd=root,
        env=environment,
        timeout=60,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert "Halbfinale – Männer" in json.loads(done.stdout.decode("utf-8"))["events"]


def test_bad_standard_input_exits_2_with_one_line(tmp_path):
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "manage.py", "ledger", "-"],
        input=b"\xff\xfe{",
        capture_output=True,
        cwd=root,
        env=os.environ | {"STANCEWRIGHT_DATA": str(tmp_path)},
        timeout=60,
    )
    assert done.returncode == 2
    assert json.loads(done.stdout) == {"error": "not_json", "segment": None}
    assert len(done.stderr.splitlines()) == 1
