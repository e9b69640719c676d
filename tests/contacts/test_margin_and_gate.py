"""The caution in the margin, its two mends, and the gate before a release."""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction
from importlib.resources import files
from itertools import count
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from breakdowns.contacts.duties import duties, injuries_named
from breakdowns.publishing import services
from breakdowns.scripts.checks.cautions import CautionsCheck
from breakdowns.scripts.commands import perform
from breakdowns.scripts.margin import Note, read_margin
from breakdowns.scripts.script import BeatView, ScriptView

WORDS = "The elbow lands on the left flank and could rupture the spleen."
CAREFUL = "Nobody can tell from a video. If the pain gets worse or he turns pale, he needs a doctor at once."


def notes(*beats: BeatView) -> tuple[Note, ...]:
    margin = read_margin(ScriptView("Late hips", beats), [CautionsCheck()])
    assert margin.failures == ()
    return margin.notes


def test_each_owed_caution_is_one_note_on_the_beat_that_names_the_injury() -> None:
    found = notes(
        BeatView("a", "camera", "The hips turn first."),
        BeatView("b", "camera", WORDS),
        BeatView("c", "camera", WORDS),
    )
    assert [(note.beat, note.state) for note in found] == [("b", "over"), ("b", "over")]
    assert [note.instead for note in found] == [duties()["organ"].line, duties()["no_diagnosis"].line]
    assert found[0].quote in WORDS


@pytest.mark.parametrize("label", ["Put it in the words", "Put it on a plate"])
@pytest.mark.parametrize("seconds", [None, Fraction(4)])
def test_doing_what_the_notes_offer_settles_them(label: str, seconds: Fraction | None) -> None:
    beats: tuple[BeatView, ...] = (BeatView("a", "camera", WORDS, take_seconds=seconds),)
    ids = count()
    for _ in range(2):
        action = next(one for one in notes(*beats)[0].actions if one.label == label)
        beats = perform(beats, action.command, dict(action.arguments), lambda: f"new{next(ids)}")
    assert notes(*beats) == ()
    plates = [beat for beat in beats if beat.plate == "caution"]
    on_plates = label == "Put it on a plate"
    assert len(plates) == (2 if on_plates else 0)
    assert not on_plates or beats[0].words == WORDS


def test_own_words_in_another_beat_settle_it() -> None:
    assert notes(BeatView("a", "camera", WORDS), BeatView("b", "camera", CAREFUL)) == ()


def test_what_a_plate_names_counts_and_a_house_message_never_carries() -> None:
    line = duties()["organ"].line
    house = BeatView("h", "plate", plate="house", plate_title="Paid message", plate_text=line)
    assert {note.beat for note in notes(house, BeatView("p", "plate", plate="text", plate_text=WORDS))} == {
        "p"
    }


def test_recorded_words_are_left_alone_first() -> None:
    spoken = notes(BeatView("a", "camera", WORDS, take_seconds=Fraction(4)))[0]
    written = notes(BeatView("a", "camera", WORDS))[0]
    assert [spoken.actions[0].label, spoken.actions[0].key] == ["Put it on a plate", "Enter"]
    assert [written.actions[0].label, written.actions[0].key] == ["Put it in the words", "Enter"]


def test_the_demonstration_carries_what_it_owes() -> None:
    scenario = json.loads(
        files("deploy.demonstration").joinpath("data", "scenario.json").read_text(encoding="utf-8")
    )
    beats = [one for one in _beats_in(scenario) if "words" in one]
    services._check_cautions(account(*beats))
    assert any(injuries_named(one["words"]) for one in beats)


def _beats_in(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        if "kind" in value:
            yield {"plate_title": "", "plate_text": "", **value}
        for one in value.values():
            yield from _beats_in(one)
    elif isinstance(value, list):
        for one in value:
            yield from _beats_in(one)


def account(*beats: dict[str, Any]) -> dict[str, Any]:
    return {"beats": [{"kind": "camera", "words": ""} | beat for beat in beats]}


def test_the_gate_names_what_is_missing(tmp_path: Path, settings: Any) -> None:
    settings.MEDIA_ROOT = tmp_path
    (tmp_path / "made").mkdir()
    (tmp_path / "made" / "late-hips.mp4").write_bytes(b"video")
    assembly = SimpleNamespace(
        breakdown=SimpleNamespace(slug="late-hips"), folder="made", is_finished=True, report={"account": account({"words": WORDS})}
    )  # fmt: skip
    with pytest.raises(services.CannotRelease) as fault:
        services.release_make(assembly, audience="members")  # type: ignore[arg-type]
    assert duties()["organ"].line in str(fault.value)
    assert duties()["no_diagnosis"].line in str(fault.value)
    assert duties()["head"].line not in str(fault.value)
    assert not (tmp_path / "releases").exists()


def test_the_gate_opens_with_the_cautions_said_or_on_a_plate() -> None:
    plate = {"plate": "caution", "plate_title": "Caution", "plate_text": duties()["organ"].line}
    services._check_cautions(account({"words": WORDS}, {"words": CAREFUL}))
    services._check_cautions(account({"words": WORDS + " This is not a diagnosis."}, plate))
    services._check_cautions(account({"words": "The hips turn before the shoulders."}))


def test_the_page_of_a_reader_lists_the_cautions_of_what_is_named() -> None:
    assert services._owed(account({"words": WORDS})) == [duties()["organ"].line]
    assert services._owed(account({"words": "The hips turn first."})) == []
