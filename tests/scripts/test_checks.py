"""The checks that come with the desk: what they say, and that doing what they say mends it."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.excerpts.policies import Limit, Policy
from breakdowns.scripts.checks import CHECKS
from breakdowns.scripts.checks.excerpts import ExcerptPolicyCheck
from breakdowns.scripts.checks.house import HouseMessageCheck, discloses
from breakdowns.scripts.checks.pictures import EmptyPictureCheck, LongBeatCheck, PlateTimeCheck
from breakdowns.scripts.checks.sides import MirroredSidesCheck, side_words
from breakdowns.scripts.checks.timing import PieceLengthCheck, TimingCheck
from breakdowns.scripts.checks.words import EmptyWordsCheck, LongSentenceCheck, TitleCheck
from breakdowns.scripts.commands import BY_HAND, COMMANDS, perform
from breakdowns.scripts.margin import Action, Check, Note, read_margin
from breakdowns.scripts.revisions import RevisionError
from breakdowns.scripts.script import BeatView, ScriptView, SourceView, words_seconds

RATE = Fraction(30)
WORDS = (
    "From above you can see it. Shoulder line, hip line, forty degrees between them. As the arm comes through, "
    "infraspinatus internally rotates the shoulder together with pec major and the lats."
)


def notes(check: Check, *beats: BeatView, **whole: object) -> tuple[Note, ...]:
    margin = read_margin(ScriptView(**{"title": "Late hips", "beats": beats, **whole}), [check])  # type: ignore[arg-type]
    assert margin.failures == ()
    return margin.notes


def one(check: Check, *beats: BeatView, **whole: object) -> Note:
    (note,) = notes(check, *beats, **whole)
    return note


def done(beats: tuple[BeatView, ...], action: Action) -> tuple[BeatView, ...]:
    numbers = count()
    return perform(beats, action.command, dict(action.arguments), lambda: f"new{next(numbers)}")


def excerpt(words: str = WORDS, frames: int = 120, **fields: object) -> BeatView:
    given_fields = {"source_id": "A", "source_rate": RATE, "in_frame": 0, "out_frame": frames} | fields
    return BeatView("a", "excerpt", words, **given_fields)  # type: ignore[arg-type]


class TestTiming:
    def test_words_over_a_still(self) -> None:
        note = one(TimingCheck(), BeatView("a", "still", WORDS, seconds=Fraction(9), source_id="A"))
        spoken = words_seconds(WORDS, ScriptView("", ()).voice)
        assert note.state == "over"
        assert note.says == f"{float(spoken - 9):.1f} s more words than picture"
        assert re.fullmatch(
            r"Hold the still for [\d.]+ s \(no excerpt used\), or cut about \d+ words\.", note.mend
        )
        assert [action.command for action in note.actions] == ["set_seconds", "write_words"]
        assert note.actions[0].key == "Enter"

    def test_a_small_excess_is_near(self) -> None:
        spoken = words_seconds(WORDS, ScriptView("", ()).voice)
        note = one(TimingCheck(), BeatView("a", "plate", WORDS, seconds=spoken * Fraction(9, 10)))
        assert note.state == "near"

    def test_a_recording_is_certain(self) -> None:
        note = one(
            TimingCheck(), BeatView("a", "camera", WORDS, seconds=Fraction(10), take_seconds=Fraction(11))
        )
        assert note.state == "over"
        assert note.says == "The recording is 1.0 s longer than the picture"
        assert note.actions[0].label == "Keep 11.0 s"

    def test_a_moving_excerpt_is_held_or_slowed(self) -> None:
        note = one(TimingCheck(), excerpt(frames=240))
        assert [action.command for action in note.actions] == ["set_hold", "set_speed", "write_words"]

    def test_an_excerpt_with_its_own_sound_is_not_slowed(self) -> None:
        note = one(TimingCheck(), excerpt(frames=240, original_sound=True))
        assert "set_speed" not in [action.command for action in note.actions]

    def test_picture_left_over(self) -> None:
        note = one(
            TimingCheck(), excerpt("Look at the hip.", frames=60, speed=Fraction(1, 2), hold=Fraction(6))
        )
        assert note.state == "offer"
        assert [action.label for action in note.actions] == ["Take the hold out", "Add about 21 words"]

    def test_a_plate_keeps_the_time_to_be_read(self) -> None:
        text = " ".join(["word"] * 30)
        assert (
            notes(TimingCheck(), BeatView("a", "plate", "Look here.", seconds=Fraction(11), plate_text=text))
            == ()
        )

    def test_fits(self) -> None:
        spoken = words_seconds(WORDS, ScriptView("", ()).voice)
        assert notes(TimingCheck(), BeatView("a", "camera", WORDS, seconds=spoken)) == ()
        assert notes(TimingCheck(), BeatView("a", "camera", "", seconds=spoken)) == ()

    @given(
        st.sampled_from(["excerpt", "still", "plate", "camera"]),
        st.integers(1, 12),
        st.integers(1, 900),
        st.integers(0, 12_000),
        st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(3, 4)]),
        st.one_of(st.none(), st.integers(500, 30_000)),
    )
    def test_doing_what_it_says_mends_it(self, kind, sentences, frames, still, speed, take) -> None:
        """Whatever can be done by itself leaves words and picture together."""
        beat = BeatView(
            "a",
            kind,
            "The hip turns late, and the arm is early. " * sentences,
            seconds=Fraction(max(1, still), 1000),
            source_id="A",
            source_rate=RATE,
            out_frame=frames,
            speed=speed,
            hold=Fraction(still, 1000),
            take_seconds=None if take is None else Fraction(take, 1000),
        )
        for note in notes(TimingCheck(), beat):
            for action in note.actions:
                if action.command not in BY_HAND:
                    after = notes(TimingCheck(), *done((beat,), action))
                    if note.state == "offer":  # taking the hold out may leave a part to words
                        assert not after or (after[0].state == "offer" and after[0].says != note.says)
                    else:
                        assert after == ()

    def test_a_held_time_is_exactly_what_the_label_says(self) -> None:
        beat = BeatView("a", "still", WORDS, seconds=Fraction(9), source_id="A")
        action = one(TimingCheck(), beat).actions[0]
        (held,) = done((beat,), action)
        assert action.label == f"Hold {float(held.seconds):.1f} s"
        assert held.seconds == Fraction(action.label.split()[1])


class TestPieceLength:
    def test_longer_and_shorter_than_wished(self) -> None:
        beats = (BeatView("a", "camera", "x", seconds=Fraction(100)),)
        longer = one(PieceLengthCheck(), *beats, wished_seconds=Fraction(90))
        assert (longer.state, longer.beat) == ("near", "")
        assert longer.says == "0:10.0 longer than the 1:30 you wished for"
        assert one(PieceLengthCheck(), *beats, wished_seconds=Fraction(120)).state == "offer"

    @pytest.mark.parametrize("wished", [None, Fraction(96), Fraction(105)])
    def test_within(self, wished: Fraction | None) -> None:
        beats = (BeatView("a", "camera", "x", seconds=Fraction(100)),)
        assert notes(PieceLengthCheck(), *beats, wished_seconds=wished) == ()


class TestWords:
    def test_missing_words(self) -> None:
        silent = BeatView("a", "camera", seconds=Fraction(5))
        other = BeatView("b", "camera", "words", seconds=Fraction(5))
        assert one(EmptyWordsCheck(), silent, other).state == "near"
        assert one(EmptyWordsCheck(), excerpt(" \n"), other).says == "Nothing is said over this excerpt"
        assert notes(EmptyWordsCheck(), silent) == ()  # a script not yet begun
        assert notes(EmptyWordsCheck(), BeatView("a", "plate", seconds=Fraction(5)), other) == ()
        assert notes(EmptyWordsCheck(), excerpt("", original_sound=True), other) == ()

    def test_missing_title(self) -> None:
        assert one(TitleCheck(), excerpt(), title=" ").actions[0].command == "write_title"
        assert notes(TitleCheck(), excerpt()) == ()

    def test_a_long_sentence(self) -> None:
        long = "The hip turns and " * 7 + "then it stops."
        words = f"Look at this. **{long}** Good."
        note = one(LongSentenceCheck(), BeatView("a", "camera", words))
        assert note.says == "A sentence of 31 words"
        assert note.quote.startswith("The hip turns")
        assert note.quote.endswith("stops.")
        assert note.state == "offer"

    def test_twenty_five_words_are_not_too_many(self) -> None:
        assert notes(LongSentenceCheck(), BeatView("a", "camera", " ".join(["hip"] * 25) + ".")) == ()
        assert len(notes(LongSentenceCheck(), BeatView("a", "camera", " ".join(["hip"] * 26) + "."))) == 1

    def test_figures_count_as_spoken(self) -> None:
        assert len(notes(LongSentenceCheck(), BeatView("a", "camera", " ".join(["35°"] * 13) + "."))) == 1


class TestPictures:
    def test_no_picture(self) -> None:
        assert one(EmptyPictureCheck(), BeatView("a", "excerpt", "words")).says == "No excerpt is chosen yet"
        assert (
            one(EmptyPictureCheck(), BeatView("a", "still", "", seconds=Fraction(5))).says
            == "No still is chosen yet"
        )
        assert one(EmptyPictureCheck(), BeatView("a", "camera", "words")).says == "The picture lasts no time"
        assert notes(EmptyPictureCheck(), excerpt()) == ()

    def test_long_without_a_cut_is_split_between_sentences(self) -> None:
        beat = BeatView("a", "plate", "One here. Two here. Three on.", seconds=Fraction(40))
        note = one(LongBeatCheck(), beat)
        halves = done((beat,), note.actions[0])
        assert [half.words for half in halves] == ["One here. ", "Two here. Three on."]
        assert notes(LongBeatCheck(), BeatView("a", "camera", "x", seconds=Fraction(40))) == ()
        assert one(LongBeatCheck(), replace(beat, words="One")).actions[0].command == "choose_picture"

    def test_a_plate_too_short_to_be_read(self) -> None:
        beat = BeatView(
            "a", "plate", seconds=Fraction(2), plate_title="Serratus anterior", plate_text="up " * 10
        )
        note = one(PlateTimeCheck(), beat)
        assert note.actions[0].label == "Keep 4.0 s"  # 12 words at 180 a minute: BBC Subtitle Guidelines
        assert notes(PlateTimeCheck(), *done((beat,), note.actions[0])) == ()


class TestMirroredSides:
    @pytest.mark.parametrize(
        ("words", "sides"),
        [
            ("The left hip, then the right.", ["left", "right"]),
            ("Right now the Left-handed thrower is all right.", ["Left"]),
            ("At right angles, right before that's right.", []),
            ("There is nothing left, it leaves a bright outright copyright", []),
            ("the right hand, right there", ["right"]),
        ],
    )
    def test_side_words(self, words: str, sides: list[str]) -> None:
        assert [words[start:end] for start, end in side_words(words)] == sides

    def test_note_on_a_mirrored_picture(self) -> None:
        beat = excerpt("So the left hip opens. Right behind it, right now, the right arm.", mirrored=True)
        note = one(MirroredSidesCheck(), beat)
        assert (note.state, note.quote) == ("near", "left")
        (shown,) = done((beat,), note.actions[0])
        assert not shown.mirrored
        (swapped,) = done((beat,), note.actions[1])
        assert swapped.words == "So the right hip opens. Left behind it, right now, the left arm."
        assert notes(MirroredSidesCheck(), shown) == ()

    def test_nothing_to_say(self) -> None:
        assert notes(MirroredSidesCheck(), excerpt("the left hip")) == ()
        assert notes(MirroredSidesCheck(), excerpt("the hip", mirrored=True)) == ()
        assert notes(MirroredSidesCheck(), BeatView("a", "camera", "my left", mirrored=True)) == ()


class TestHouseMessage:
    """Disclosure as in 16 CFR Part 255 (from memory): in the picture and in the words."""

    def beat(self, title: str = "Bands", text: str = "Elastic bands", words: str = "") -> BeatView:
        return BeatView(
            "a", "plate", words, seconds=Fraction(5), plate="house", plate_title=title, plate_text=text
        )

    @pytest.mark.parametrize("text", ["Paid message", "ADVERTISEMENT", "sponsored by", "This is an ad."])
    def test_disclosed(self, text: str) -> None:
        assert discloses(text)
        assert notes(HouseMessageCheck(), self.beat(title=text, words=text)) == ()

    @pytest.mark.parametrize("text", ["", "I advise you", "addition", "not paid", "unpaid", "our partner"])
    def test_not_disclosed(self, text: str) -> None:
        assert not discloses(text)

    def test_shown_and_spoken_each_need_it(self) -> None:
        beat = self.beat(words="Buy these bands.")
        both = notes(HouseMessageCheck(), beat)
        assert [note.state for note in both] == ["over", "over"]
        for note in both:
            (beat,) = done((beat,), note.actions[0])
        assert beat.plate_title == "Paid message: Bands"
        assert beat.words == "This is a paid message. Buy these bands."
        assert notes(HouseMessageCheck(), beat) == ()

    def test_other_plates_need_none(self) -> None:
        assert notes(HouseMessageCheck(), replace(self.beat(), plate="text")) == ()


SOURCES = (SourceView("A", "Baseline view", RATE, 18_000, "cup semi-final"),)


def policy(*limits: tuple[str, str, str, object]) -> Policy:
    return Policy(
        "own",
        "Short report",
        tuple(Limit(r, scope, sense, Fraction(str(v))) for r, scope, sense, v in limits),
    )


class TestExcerpts:
    def check(self, beats: tuple[BeatView, ...], limits: Policy) -> tuple[Note, ...]:
        return notes(ExcerptPolicyCheck(), *beats, sources=SOURCES, limits=limits)

    def beats(self) -> tuple[BeatView, ...]:
        first = excerpt("x", frames=150)
        second = replace(first, id="b", in_frame=600, out_frame=960, hold=Fraction(4))
        return first, BeatView("p", "plate", "own", seconds=Fraction(3)), second

    def test_a_broken_limit_is_a_note_on_the_beat_to_change(self) -> None:
        (note,) = self.check(self.beats(), policy(("longest_excerpt_seconds", "source", "max", 10)))
        assert (note.beat, note.state) == ("b", "over")
        assert note.says == "Longest single excerpt: 12.0 s, at most 10.0 s (Baseline view)"
        assert "beat 3" in note.mend
        assert "not legal advice" in note.cite
        assert "no safe harbour" in note.cite

    @pytest.mark.parametrize(
        "limits",
        [
            policy(("longest_excerpt_seconds", "source", "max", 10)),
            policy(("union_seconds", "source", "max", 12)),
            policy(("longest_excerpt_screen_seconds", "source", "max", 10)),
            policy(("screen_seconds", "source", "max", "15.5")),
            policy(("longest_any_source_run_seconds", "piece", "max", 9)),
        ],
    )
    def test_doing_what_it_says_meets_the_limit(self, limits: Policy) -> None:
        beats = self.beats()
        (note,) = self.check(beats, limits)
        (action,) = note.actions
        if action.command in BY_HAND:
            pytest.skip("the plainest mend is for a person")
        assert self.check(done(beats, action), limits) == ()

    def test_a_source_that_is_not_named(self) -> None:
        (note,) = self.check(self.beats(), policy(("source_named", "source", "min", 1)))
        assert note.says == "Still missing: source named (Baseline view)"
        assert note.actions[0].command == "open_source"
        assert dict(note.actions[0].arguments)["source"] == "A"

    def test_purposes(self) -> None:
        (note,) = self.check(self.beats(), policy(("purposes_unstated", "piece", "max", 0)))
        assert note.actions[0].command == "state_purpose"
        assert note.beat == "a"

    def test_a_still_has_no_place_for_a_purpose_and_is_not_asked_for_one(self) -> None:
        still = BeatView("s", "still", "x", seconds=Fraction(2), source_id="A", source_rate=RATE, in_frame=5)
        limits = policy(("purposes_unstated", "piece", "max", 0))
        assert self.check((still,), limits) == ()
        stated = replace(self.beats()[0], purpose="shows the planting step")
        assert self.check((still, stated), limits) == ()
        (note,) = self.check((still, *self.beats()), limits)
        assert "2" in note.says
        assert dict(note.actions[0].arguments)["beat"] == "a"

    def test_bare_excerpt_needs_to_know_when_words_are_spoken(self) -> None:
        limits = policy(("bare_excerpt_seconds", "piece", "max", 2))
        beats = (excerpt("", frames=300),)
        (note,) = self.check(beats, limits)
        assert note.actions[0].command == "write_words"
        assert self.check((excerpt(WORDS, frames=300),), limits) == ()

    def test_typing_changes_nothing_where_no_rule_asks_for_words(self) -> None:
        whole = ScriptView("x", self.beats(), SOURCES, limits=policy(("union_seconds", "source", "max", 12)))
        typed = replace(whole, beats=(replace(whole.beats[0], words="other words"), *whole.beats[1:]))
        assert ExcerptPolicyCheck().reads(whole) == ExcerptPolicyCheck().reads(typed)

    def test_within_says_nothing_and_so_does_an_unknown_policy(self) -> None:
        assert self.check(self.beats(), policy(("union_seconds", "source", "max", 100))) == ()
        assert notes(ExcerptPolicyCheck(), *self.beats(), sources=SOURCES, policy="preset:gone") == ()
        assert (
            len(notes(ExcerptPolicyCheck(), *self.beats(), sources=SOURCES, policy="preset:quotation")) == 2
        )

    def test_own_footage_does_not_count(self) -> None:
        own = (replace(SOURCES[0], terms="own"),)
        limits = policy(("union_seconds", "source", "max", 1))
        assert notes(ExcerptPolicyCheck(), *self.beats(), sources=own, limits=limits) == ()

    def test_a_still_uses_no_seconds_of_the_source(self) -> None:
        still = BeatView("a", "still", "x", seconds=Fraction(9), source_id="A", source_rate=RATE, in_frame=5)
        assert self.check((still,), policy(("union_seconds", "source", "max", 0))) == ()
        (note,) = self.check((still,), policy(("screen_seconds", "source", "max", 6)))
        (shorter,) = done((still,), note.actions[0])
        assert shorter.seconds == 6


any_words = st.lists(
    st.sampled_from(
        ["the", "left", "hip", "35°.", "Right", "now,", "[pause 1]", "turns", "\n\n", "**x**", "é"]
    ),
    max_size=60,
).map(" ".join)


@st.composite
def any_scripts(draw: st.DrawFn) -> ScriptView:
    beats = []
    for number in range(draw(st.integers(0, 5))):
        kind = draw(st.sampled_from(["excerpt", "still", "plate", "camera"]))
        start = draw(st.integers(0, 9000))
        footage = kind in ("excerpt", "still") and draw(st.booleans())
        beats.append(
            BeatView(
                str(number),
                kind,
                draw(any_words),
                seconds=Fraction(draw(st.integers(0, 60_000)), 1000),
                source_id="A" if footage else "",
                source_rate=RATE if footage else Fraction(0),
                in_frame=start if footage else 0,
                out_frame=start + draw(st.integers(1, 900)) if footage else 0,
                speed=draw(st.sampled_from([Fraction(1), Fraction(1, 3), Fraction(2)])),
                hold=Fraction(draw(st.integers(0, 9000)), 1000) if footage else Fraction(0),
                mirrored=draw(st.booleans()),
                plate=draw(st.sampled_from(["title", "text", "caution", "house"])) if kind == "plate" else "",
                plate_text=draw(any_words) if kind == "plate" else "",
                take_seconds=draw(st.sampled_from([None, Fraction(4)])),
            )
        )
    limits = policy(
        ("longest_excerpt_seconds", "source", "max", 5), ("bare_excerpt_seconds", "piece", "max", 1)
    )
    wished = draw(st.sampled_from([None, Fraction(60)]))
    return ScriptView(
        draw(st.sampled_from(["", "Hips"])), tuple(beats), SOURCES, limits=limits, wished_seconds=wished
    )


class TestAllChecks:
    @given(any_scripts())
    def test_no_check_fails_and_every_note_has_something_to_do(self, script: ScriptView) -> None:
        margin = read_margin(script, CHECKS)
        assert margin.failures == ()
        for note in margin.notes:
            assert note.says
            assert note.mend.endswith(".")
            assert len(note.says) < 120
            assert note.beat == "" or note.beat in script.by_id
            for action in note.actions:
                assert set(dict(action.arguments)) <= {*COMMANDS[action.command], "beat"}

    @given(any_scripts())
    def test_every_action_can_be_carried_out(self, script: ScriptView) -> None:
        for note in read_margin(script, CHECKS).notes:
            for action in note.actions:
                if action.command not in BY_HAND:
                    assert done(script.beats, action) != script.beats

    @given(any_scripts())
    def test_the_same_script_has_the_same_notes(self, script: ScriptView) -> None:
        assert read_margin(script, CHECKS) == read_margin(
            replace(script, beats=tuple(map(replace, script.beats))), CHECKS
        )


class TestCommands:
    def test_by_hand_and_unknown_commands_are_refused(self) -> None:
        for command in ("write_words", "format_disk"):
            with pytest.raises(RevisionError, match="nothing that can be done"):
                perform((excerpt(),), command, {"beat": "a"}, lambda: "n")

    @pytest.mark.parametrize(
        ("command", "arguments"),
        [
            ("set_seconds", {"beat": "a"}),
            ("set_seconds", {"beat": "a", "seconds": "0"}),
            ("set_hold", {"beat": "a", "seconds": "-1"}),
            ("set_speed", {"beat": "a", "speed": "0"}),
            ("set_speed", {"beat": "a", "speed": "fast"}),
            ("trim_out", {"beat": "a", "seconds": "900"}),
            ("replace_words", {"beat": "a", "start": 0, "end": 1, "was": "?", "text": ""}),
            ("set_hold", {"beat": "gone", "seconds": "1"}),
        ],
    )
    def test_what_can_not_be_done_is_refused(self, command: str, arguments: dict) -> None:
        with pytest.raises(RevisionError):
            perform((excerpt(),), command, arguments, lambda: "n")

    def test_several_are_one_step(self) -> None:
        commands = (
            ("set_hold", (("beat", "a"), ("seconds", "2"))),
            ("insert_own", (("beat", "a"), ("seconds", "3"))),
        )
        own, held = perform((excerpt(),), "several", {"commands": commands}, lambda: "n")
        assert (own.id, own.kind, own.seconds, held.hold) == ("n", "plate", 3, 2)
