"""The command check_claims: offsets of the text as given, exit codes, standard input."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from anatomy.vocabulary.own import TermGiven
from anatomy.vocabulary.services import add_own_term


def answer(*args: str) -> Any:
    out = io.StringIO()
    call_command(*args, stdout=out)
    return json.loads(out.getvalue())


@pytest.mark.django_db
def test_claims_are_found_at_offsets_of_the_text_as_given(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "# Jump\r\n\r\nThe deltoid flexes the knee. Ä short line.\n"
    path = tmp_path / "words.md"
    path.write_bytes(text.encode())
    claims = answer("check_claims", str(path))["claims"]
    assert claims
    for claim in claims:
        assert set(claim) >= {"start", "end", "text", "kind", "verdict", "why", "instead", "sources"}
        assert text[claim["start"] : claim["end"]] == claim["text"]
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8"))
    assert answer("check_claims", "-")["claims"] == claims


@pytest.mark.django_db
def test_an_empty_text_holds_no_claims(tmp_path: Path) -> None:
    (tmp_path / "empty.md").write_bytes(b"")
    assert answer("check_claims", str(tmp_path / "empty.md")) == {"claims": []}


@pytest.mark.parametrize("kind", ["missing", "folder", "latin", "nul"])
def test_a_text_that_cannot_be_read_ends_with_2_and_one_line(tmp_path: Path, kind: str) -> None:
    (tmp_path / "latin").write_bytes(b"a b\xe4r")
    (tmp_path / "folder").mkdir()
    path = str(tmp_path / kind) if kind != "nul" else "a\0b"
    with pytest.raises(CommandError) as error:
        call_command("check_claims", path)
    assert error.value.returncode == 2
    assert "\n" not in str(error.value)
    if kind == "latin":
        assert "byte 3" in str(error.value)


@pytest.mark.django_db
def test_the_sites_own_words_count(tmp_path: Path) -> None:
    path = tmp_path / "words.md"
    path.write_text("The handbrake extends the knee.", encoding="utf-8")
    before = answer("check_claims", str(path))["claims"]
    add_own_term(TermGiven("handbrake", "group", "quadriceps femoris"))
    after = answer("check_claims", str(path))["claims"]
    assert [claim["verdict"] for claim in before if claim["verdict"] == "right"] == []
    assert [claim["verdict"] for claim in after] == ["right"]
