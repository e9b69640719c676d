"""The margin itself: attaching, caching, failing, ordering, answering."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.scripts.checks import CHECKS
from breakdowns.scripts.margin import (
    Action,
    BeatCheck,
    CacheKey,
    Finding,
    MemoryCache,
    WholeCheck,
    cache_key_text,
    read_margin,
)
from breakdowns.scripts.revisions import move
from breakdowns.scripts.script import BeatView, ScriptView

ROOT = Path(__file__).resolve().parents[2]


class Shouting(BeatCheck):
    """Marks every word in capitals; counts how often it was asked."""

    key = "shouting"

    def __init__(self) -> None:
        self.judged: list[str] = []

    def reads(self, beat: BeatView, script: ScriptView) -> str | None:
        return beat.words or None

    def judge(self, material: str) -> Iterator[Finding]:
        self.judged.append(material)
        at = 0
        for word in material.split():
            at = material.index(word, at)
            if word.isupper():
                whisper = Action(
                    "Lower it", "replace_words", (("start", at), ("text", word.lower())), "Enter"
                )
                yield Finding(
                    "near", "Capitals shout", "Write it small.", (whisper,), span=(at, at + len(word))
                )
            at += len(word)


class Counting(WholeCheck):
    key = "counting"

    def reads(self, script: ScriptView) -> int:
        return len(script.beats)

    def judge(self, material: int) -> Iterator[Finding]:
        if material > 2:
            yield Finding("over", f"{material} beats", "Delete one.")


class Broken(BeatCheck):
    key = "broken"

    def reads(self, beat: BeatView, script: ScriptView) -> str:
        if beat.id == "unreadable":
            raise RuntimeError("can't read")
        return beat.words

    def judge(self, material: str) -> Iterator[Finding]:
        if "quiet" in material:
            raise ZeroDivisionError("can't judge")
        yield Finding("offer", "Fine here", "Go on.")


def script(*words: str) -> ScriptView:
    beats = tuple(
        BeatView(f"b{number}", "camera", text, seconds=Fraction(5)) for number, text in enumerate(words)
    )
    return ScriptView("Late hips", beats)


class TestAttaching:
    def test_to_a_span_of_a_beats_words(self) -> None:
        (note,) = read_margin(script("look", "the HIP is late"), [Shouting()]).notes
        assert (note.beat, note.span, note.quote, note.state) == ("b1", (4, 7), "HIP", "near")
        assert note.actions[0].as_json() == {
            "label": "Lower it",
            "command": "replace_words",
            "arguments": {"beat": "b1", "start": 4, "text": "hip"},
            "key": "Enter",
        }
        assert json.loads(json.dumps(note.as_json()))["quote"] == "HIP"

    def test_to_the_whole(self) -> None:
        margin = read_margin(script("a", "b", "c"), [Counting()])
        assert [note.says for note in margin.of_whole] == ["3 beats"]
        assert margin.of_beat("b0") == ()

    def test_nothing_to_do_nothing_said(self) -> None:
        assert read_margin(script("the hip"), [Shouting(), Counting()]).notes == ()

    def test_order_is_whole_then_beats_then_gravity_then_place(self) -> None:
        class Grave(BeatCheck):
            key = "grave"

            def reads(self, beat: BeatView, script: ScriptView) -> str:
                return beat.words

            def judge(self, material: str) -> Iterator[Finding]:
                yield Finding("offer", "Offer", "x")
                yield Finding("over", "Over", "x")

        margin = read_margin(script("a HIP", "an ARM HIP", "c"), [Grave(), Shouting(), Counting()])
        assert [(note.beat, note.says, note.quote) for note in margin.notes] == [
            ("", "3 beats", ""),
            ("b0", "Over", ""),
            ("b0", "Capitals shout", "HIP"),
            ("b0", "Offer", ""),
            ("b1", "Over", ""),
            ("b1", "Capitals shout", "ARM"),
            ("b1", "Capitals shout", "HIP"),
            ("b1", "Offer", ""),
            ("b2", "Over", ""),
            ("b2", "Offer", ""),
        ]

    def test_the_same_is_told_once(self) -> None:
        class Echo(Shouting):
            key = "echo"

        assert len(read_margin(script("a HIP"), [Shouting(), Echo()]).notes) == 1


class TestOnlyWhatChanged:
    def test_is_judged_again(self) -> None:
        check, cache = Shouting(), MemoryCache()
        before = script("one HIP", "two", "three")
        read_margin(before, [check], cache=cache)
        check.judged.clear()
        edited = replace(
            before, beats=(before.beats[0], replace(before.beats[1], words="TWO"), before.beats[2])
        )
        margin = read_margin(edited, [check], cache=cache)
        assert check.judged == ["TWO"]
        assert [note.quote for note in margin.notes] == ["HIP", "TWO"]

    def test_what_a_check_does_not_read_changes_nothing(self) -> None:
        check, cache = Shouting(), MemoryCache()
        before = script("one HIP", "two")
        read_margin(before, [check], cache=cache)
        check.judged.clear()
        moved = replace(
            before, title="New", beats=tuple(replace(b, seconds=Fraction(9)) for b in reversed(before.beats))
        )
        assert [note.beat for note in read_margin(moved, [check], cache=cache).notes] == ["b0"]
        assert check.judged == []

    def test_like_readings_are_judged_once(self) -> None:
        check = Shouting()
        assert len(read_margin(script("a HIP", "a HIP"), [check]).notes) == 2
        assert check.judged == ["a HIP"]

    def test_another_version_is_judged_anew(self) -> None:
        class Newer(Shouting):
            version = 2

        cache = MemoryCache()
        read_margin(script("x"), [Shouting()], cache=cache)
        newer = Newer()
        read_margin(script("x"), [newer], cache=cache)
        assert newer.judged == ["x"]

    @given(
        st.lists(st.text(st.sampled_from("abAB "), max_size=8), max_size=6),
        st.integers(0, 5),
        st.text(max_size=5),
    )
    def test_kept_results_are_what_fresh_ones_would_be(self, words: list[str], at: int, text: str) -> None:
        cache, before = MemoryCache(), script(*words)
        read_margin(before, [Shouting(), Counting()], cache=cache)
        beats = tuple(replace(b, words=text) if n == at else b for n, b in enumerate(before.beats))
        after = replace(before, beats=beats)
        kept = read_margin(after, [Shouting(), Counting()], cache=cache)
        assert kept == read_margin(after, [Shouting(), Counting()])

    def test_the_least_recently_used_goes_first(self) -> None:
        cache = MemoryCache(most=2)
        keys = [CacheKey("check", 1, number) for number in range(3)]
        cache.set_many({keys[0]: (), keys[1]: ()})
        cache.get_many([keys[0]])
        cache.set_many({keys[2]: ()})
        assert set(cache.get_many(keys)) == {keys[0], keys[2]}
        assert len(cache) == 2

    def test_a_key_is_the_same_text_in_every_process(self) -> None:
        """A shared cache is asked by several processes; Python's own hashes differ between them."""
        code = (
            "from fractions import Fraction as F\n"
            "from breakdowns.scripts.margin import *\n"
            "from breakdowns.scripts.speech import default_voice\n"
            "print(cache_key_text(CacheKey('x', 1, ('hip', F(1, 3), default_voice()))))"
        )
        told = {
            subprocess.run(
                [sys.executable, "-c", code],
                capture_output=True,
                text=True,
                check=True,
                env={"PYTHONHASHSEED": seed},
            ).stdout
            for seed in ("1", "2")
        }
        assert len(told) == 1
        assert cache_key_text(CacheKey("x", 1, "a")) != cache_key_text(CacheKey("x", 1, "b"))


class TestFailing:
    def test_a_check_that_fails_is_logged_and_leaves_the_others_alone(
        self, caplog: pytest.LogCaptureFixture
    ) -> None:
        with caplog.at_level(logging.ERROR):
            margin = read_margin(script("a HIP", "quiet"), [Broken(), Shouting()])
        assert [(note.beat, note.says) for note in margin.notes] == [
            ("b0", "Capitals shout"),
            ("b0", "Fine here"),
        ]
        assert [(failure.check, failure.beat) for failure in margin.failures] == [("broken", "b1")]
        assert "ZeroDivisionError" in caplog.text

    def test_also_while_reading(self) -> None:
        beats = (BeatView("unreadable", "camera", "a HIP"),)
        margin = read_margin(ScriptView("x", beats), [Broken(), Shouting()])
        assert [note.quote for note in margin.notes] == ["HIP"]
        assert margin.failures[0].error.startswith("RuntimeError")

    def test_a_failure_is_not_kept(self) -> None:
        cache = MemoryCache()
        read_margin(script("quiet"), [Broken()], cache=cache)
        assert len(cache) == 0

    @pytest.mark.parametrize("span", [(2, 99), (3, 3), (-1, 2)])
    def test_words_that_are_not_there_are_a_failure(self, span: tuple[int, int]) -> None:
        class Astray(Broken):
            key = "astray"

            def judge(self, material: str) -> Iterator[Finding]:
                yield Finding("near", "There", "x", span=span)

        margin = read_margin(script("hip"), [Astray()])
        assert margin.notes == ()
        assert len(margin.failures) == 1

    def test_a_reading_that_can_not_be_a_key_is_a_failure(self) -> None:
        class Listed(Shouting):
            def reads(self, beat: BeatView, script: ScriptView) -> Any:
                return [beat.words]

        assert len(read_margin(script("hip"), [Listed()]).failures) == 1


class TestAnswering:
    def test_an_answered_note_is_silent_with_its_reason(self) -> None:
        (note,) = read_margin(script("the HIP is"), [Shouting()]).notes
        margin = read_margin(script("the HIP is"), [Shouting()], answered={note.id: "a name"})
        assert margin.notes == ()
        assert [(silent.quote, reason) for silent, reason in margin.silenced] == [("HIP", "a name")]

    def test_it_stays_silent_while_other_words_and_beats_move(self) -> None:
        before = script("the HIP is", "other")
        (note,) = read_margin(before, [Shouting()]).notes
        beats = (replace(before.beats[0], words="and now the HIP is late"), before.beats[1])
        after = replace(before, beats=move(beats, "b0", 1))
        assert read_margin(after, [Shouting()], answered={note.id: "meant"}).notes == ()

    def test_it_speaks_again_when_its_text_changes(self) -> None:
        (note,) = read_margin(script("the HIP is"), [Shouting()]).notes
        assert (
            len(
                read_margin(
                    script("the HIPS is".replace("HIPS", "ARM")), [Shouting()], answered={note.id: "x"}
                ).notes
            )
            == 1
        )

    def test_a_note_about_a_whole_beat_hangs_on_what_was_read(self) -> None:
        (note,) = read_margin(script("a"), [Broken()]).notes
        assert read_margin(script("a"), [Broken()], answered={note.id: "x"}).notes == ()
        assert len(read_margin(script("b"), [Broken()], answered={note.id: "x"}).notes) == 1

    def test_ids_are_unique_also_for_the_same_words_twice(self) -> None:
        notes = read_margin(script("HIP and HIP"), [Shouting()]).notes
        assert len({note.id for note in notes}) == 2


class TestRegistry:
    def test_keys_are_unique(self) -> None:
        assert len({check.key for check in CHECKS}) == len(CHECKS)
