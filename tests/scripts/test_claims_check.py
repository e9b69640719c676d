"""Wrong anatomy in the margin: what a note says, what its actions do, and that recorded words stay as they were said.

What is wrong and right here: OpenStax, Anatomy and Physiology 2e (2022), chapter 11 (from memory).
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.claims.check import check_claims
from anatomy.vocabulary.entries import Term
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.scripts.checks import CHECKS
from breakdowns.scripts.checks.claims import ClaimsCheck
from breakdowns.scripts.checks.pictures import PlateTimeCheck
from breakdowns.scripts.checks.plain_words import PlainWordsCheck, plain_words_of
from breakdowns.scripts.checks.timing import TimingCheck
from breakdowns.scripts.commands import perform
from breakdowns.scripts.margin import Action, Check, MemoryCache, Note, read_margin
from breakdowns.scripts.recording import second_at, share_before, starts_between, word_offsets
from breakdowns.scripts.revisions import RevisionError, edit
from breakdowns.scripts.script import BeatView, ScriptView
from breakdowns.scripts.terms import find_terms, meanings_of
from breakdowns.scripts.transcripts import cut_at_pauses, read_transcript
from breakdowns.scripts.vocabulary_stamps import vocabulary_stamp

WRONG = "infraspinatus internally rotates the shoulder"
RIGHT = "infraspinatus rotates the shoulder externally"
DEPENDS = "The deltoid rotates the arm inwards"
VOCABULARY = packaged_vocabulary()


def notes(check: Check, *beats: BeatView, **whole: object) -> tuple[Note, ...]:
    margin = read_margin(ScriptView("Late hips", beats, **whole), [check])  # type: ignore[arg-type]
    assert margin.failures == ()
    return margin.notes


def camera(words: str, **fields: object) -> BeatView:
    return BeatView("a", "camera", words, **({"seconds": Fraction(9)} | fields))  # type: ignore[arg-type]


def recorded(words: str, seconds: int = 20, start: int = 60, **fields: object) -> BeatView:
    """Spoken evenly, word by word, in a recording where the beat begins at second ``start``."""
    number = len(words.split())
    starts = tuple(start + Fraction(seconds * place, number) for place in range(number))
    given_fields = {"seconds": Fraction(seconds), "take_seconds": Fraction(seconds), "word_starts": starts}
    return camera(words, **(given_fields | fields))


def done(beats: tuple[BeatView, ...], action: Action) -> tuple[BeatView, ...]:
    numbers = count()
    return perform(beats, action.command, dict(action.arguments), lambda: f"new{next(numbers)}")


class TestWrong:
    def test_a_wrong_statement(self) -> None:
        words = f"As the arm comes through, {WRONG}."
        (note,) = notes(ClaimsCheck(), camera(words))
        assert (note.state, note.quote, note.instead) == ("over", WRONG, RIGHT)
        assert "rotates it externally" in note.says
        assert not note.says.endswith(".")
        assert note.mend.endswith("Say instead:")
        assert "OpenStax" in note.cite
        assert note.actions[0].key == "Enter"
        assert done((camera(words),), note.actions[0])[0].words == f"As the arm comes through, {RIGHT}."

    def test_what_is_right_or_unknown_is_passed_over(self) -> None:
        for words in ("Infraspinatus rotates the arm outwards.", "Look at the floor.", "   ", ""):
            assert notes(ClaimsCheck(), camera(words)) == ()

    def test_what_depends_says_on_what_and_proposes_no_words(self) -> None:
        (note,) = notes(ClaimsCheck(), camera(f"{DEPENDS}."))
        assert (note.state, note.quote, note.instead) == ("near", DEPENDS, "")
        assert "anterior deltoid" in note.says
        assert [action.command for action in note.actions] == ["write_words", "insert_anatomy"]

    def test_offsets_are_characters_of_the_words_as_they_stand(self) -> None:
        words = f"🤾🏽‍♀️ *Look:* “{WRONG}” …"
        (note,) = notes(ClaimsCheck(), camera(words))
        assert note.quote == WRONG
        assert RIGHT in done((camera(words),), note.actions[0])[0].words

    def test_doing_what_it_says_mends_it(self) -> None:
        for words in (
            f"{WRONG}.",
            "The hamstrings straighten the knee.",
            f"{WRONG}. The quads bend the knee.",
        ):
            beats = (camera(words),)
            for _ in range(3):
                found = [note for note in notes(ClaimsCheck(), *beats) if note.state == "over"]
                if not found:
                    break
                beats = done(beats, found[0].actions[0])
            assert notes(ClaimsCheck(), *beats) == (), beats[0].words

    def test_the_same_statement_keeps_its_id_wherever_it_moves(self) -> None:
        first = notes(ClaimsCheck(), camera(f"{WRONG}."))[0]
        later = notes(ClaimsCheck(), camera(f"Much more has been said before. {WRONG}, I say."))[0]
        assert first.id == later.id
        margin = read_margin(
            ScriptView("", (camera(f"{WRONG}."),)), [ClaimsCheck()], answered={first.id: "a quotation"}
        )
        assert margin.notes == ()
        assert [reason for _, reason in margin.silenced] == ["a quotation"]

    def test_judged_again_only_where_words_or_vocabulary_change(self) -> None:
        cache, check = MemoryCache(), ClaimsCheck()
        beats = (camera(f"{WRONG}."), replace(camera("The foot stops."), id="b"))
        read_margin(ScriptView("", beats), [check], cache=cache)
        kept = len(cache)
        read_margin(ScriptView("Another title", tuple(reversed(beats))), [check], cache=cache)
        assert len(cache) == kept
        own = VOCABULARY.with_own([Term("the cuffy one", "muscle", "infraspinatus", "own", ("own",))])
        assert vocabulary_stamp(own) != vocabulary_stamp(VOCABULARY)
        words = "The cuffy one internally rotates the shoulder."
        assert notes(ClaimsCheck(), camera(words)) == ()
        assert len(notes(ClaimsCheck(), camera(words), vocabulary=own)) == 1

    @given(st.text(max_size=300))
    def test_it_never_fails(self, words: str) -> None:
        margin = read_margin(ScriptView("", (camera(words),)), [ClaimsCheck(), PlainWordsCheck()])
        assert margin.failures == ()


class TestRecorded:
    WORDS = f"From above you can see it. Here {WRONG}. " + "And then the hip line goes on and on. " * 4

    def test_the_note_names_the_time_of_the_slip(self) -> None:
        (note,) = notes(ClaimsCheck(), recorded(self.WORDS, seconds=48))
        # One word a second from 1:00.0 on; "infraspinatus" is the eighth.
        assert note.mend.startswith("Said at 1:07.0 of the recording.")
        assert [action.command for action in note.actions] == ["correct_recording", "replace_words"]
        assert [action.key for action in note.actions] == ["Enter", ""]

    def test_the_card_lies_over_what_was_said(self) -> None:
        beat = recorded(self.WORDS, seconds=48)
        (note,) = notes(ClaimsCheck(), beat)
        parts = done((beat,), note.actions[0])
        before, card, after = parts
        assert [part.kind for part in parts] == ["camera", "plate", "camera"]
        assert "".join(part.words for part in parts) == self.WORDS
        assert before.words == "From above you can see it. "
        assert (card.plate, card.plate_said, card.plate_text) == ("correction", WRONG, f"I{RIGHT[1:]}")
        assert "OpenStax" in card.plate_source
        assert before.take_seconds == before.seconds == 6
        assert sum(part.take_seconds for part in parts) == 48
        assert after.word_starts[0] == 60 + 6 + card.take_seconds
        # It can be read, no words went out of time, and the slip is settled.
        assert notes(PlateTimeCheck(), *parts) == ()
        assert notes(TimingCheck(), *parts) == ()
        assert notes(ClaimsCheck(), *parts) == ()

    def test_without_the_times_of_words_the_length_is_divided(self) -> None:
        beat = replace(recorded(self.WORDS, seconds=48), word_starts=())
        (note,) = notes(ClaimsCheck(), beat)
        assert "recording" not in note.mend.split(".")[0]
        parts = done((beat,), note.actions[0])
        assert "".join(part.words for part in parts) == self.WORDS
        assert sum(part.take_seconds for part in parts) == 48

    def test_a_sound_file_is_never_cut_and_gets_a_card_behind_it(self) -> None:
        beat = recorded(self.WORDS, take_is_file=True)
        (note,) = notes(ClaimsCheck(), beat)
        parts = done((beat,), note.actions[0])
        assert parts[0] == beat
        assert (parts[1].plate, parts[1].plate_said) == ("correction", WRONG)
        assert notes(ClaimsCheck(), *parts) == ()
        card = {"beat": "a", "start": 32, "end": 77, "was": WRONG, "said": "", "right": "", "source": ""}
        with pytest.raises(RevisionError, match="no recording that can be divided"):
            perform((beat,), "correct_recording", card, lambda: "new")

    def test_a_card_over_changed_words_is_refused(self) -> None:
        beat = recorded(self.WORDS)
        (note,) = notes(ClaimsCheck(), beat)
        changed = edit((beat,), "a", words=f"Now {self.WORDS}")
        with pytest.raises(RevisionError, match="have changed"):
            done(changed, note.actions[0])

    @given(
        st.integers(1, 12),
        st.integers(0, 12),
        st.integers(2, 90),
        st.sampled_from(["camera", "still", "excerpt"]),
    )
    def test_a_card_loses_no_word_and_no_time(
        self, before: int, behind: int, seconds: int, kind: str
    ) -> None:
        words = "The hip turns. " * before + f"Here {WRONG}. " + "Then it stops. " * behind
        footage = {"source_id": "A", "source_rate": Fraction(30000, 1001), "in_frame": 9, "out_frame": 400}
        beat = replace(recorded(words, seconds), kind=kind, **(footage if kind != "camera" else {}))  # type: ignore[arg-type]
        (note,) = notes(ClaimsCheck(), beat)
        parts = done((beat,), note.actions[0])
        assert "".join(part.words for part in parts) == words
        assert sum(part.take_seconds for part in parts) == seconds
        assert abs(sum(part.picture_seconds for part in parts) - beat.picture_seconds) < Fraction(1, 500)
        assert [start for part in parts for start in part.word_starts] == list(beat.word_starts)
        assert len({part.id for part in parts}) == len(parts)
        (card,) = [part for part in parts if part.kind == "plate"]
        assert WRONG in card.words
        assert notes(ClaimsCheck(), *parts) == ()


class TestRecording:
    def test_the_times_of_a_transcript_come_with_its_words(self) -> None:
        cues = "WEBVTT\n\n00:01:00.000 --> 00:01:02.000\nab cd\n\n00:01:02.000 --> 00:01:05.000\n<00:01:03.000>The arm.\n"
        (beat,) = cut_at_pauses(read_transcript(cues))
        assert beat.words == "ab cd The arm."
        # "cd" begins three of five letters in (2 s): 61.2 s; the inner timestamp says when "The" begins.
        assert beat.word_times == [60000, 61200, 63000, 64000]

    @given(st.lists(st.text("ab.", min_size=1, max_size=6), min_size=1, max_size=20), st.integers(0, 140))
    def test_shares_rise_from_nothing_to_all(self, said: list[str], at: int) -> None:
        words = " ".join(said)
        starts = tuple(Fraction(7 + place) for place in range(len(said)))
        for known in (starts, ()):
            shares = [
                share_before(words, known, Fraction(len(said)), place) for place in range(len(words) + 1)
            ]
            assert shares == sorted(shares)
            assert (shares[0], shares[-1]) == (0, 1)
        assert second_at(words, (), at) is None
        assert second_at(words, starts, at) in starts
        parts = starts_between(words, starts, 0, at) + starts_between(words, starts, at, len(words) + 1)
        assert parts == starts
        assert len(word_offsets(words)) == len(said)


class TestTerms:
    def test_the_longest_term_stands(self) -> None:
        said = "Then the long head of triceps and pec major, with the hamstrings’ pull."
        found = [said[one.start : one.end] for one in find_terms(said, VOCABULARY)]
        assert "long head of triceps" in found
        assert "pec major" in found
        assert any(text.startswith("hamstrings") for text in found)

    def test_initials_need_capitals_and_no_term_runs_over_a_stop(self) -> None:
        assert [one.terms[0].of for one in find_terms("VMO", VOCABULARY)] == ["vastus medialis"]
        assert find_terms("vmo", VOCABULARY) == ()
        assert all(
            one.terms[0].of != "pectoralis major" for one in find_terms("A pec. Major news.", VOCABULARY)
        )

    def test_every_term_is_found_as_itself(self) -> None:
        for term in VOCABULARY.terms:
            assert (term.kind, term.of) in {(one.kind, one.of) for one in meanings_of(term.text, VOCABULARY)}

    @given(st.text(max_size=200))
    def test_places_are_in_order_and_apart(self, words: str) -> None:
        at = 0
        for found in find_terms(words, VOCABULARY):
            assert at <= found.start < found.end <= len(words)
            at = found.end


class TestPlainWords:
    def offers(self, *texts: str) -> list[str]:
        beats = [
            BeatView(str(number), "camera", text, seconds=Fraction(5)) for number, text in enumerate(texts)
        ]
        return [note.instead for note in notes(PlainWordsCheck(), *beats)]

    def test_offered_once_where_it_is_said_first(self) -> None:
        (offer,) = self.offers("The vastus lateralis drives.", "The vastus lateralis again.")
        assert offer.startswith("vastus lateralis, the ")

    @pytest.mark.parametrize(
        "words",
        [
            "The vastus lateralis, a big muscle of the thigh, drives.",
            "The vastus lateralis (the outer thigh) drives.",
            "A muscle called the vastus lateralis drives.",
            "Look at the outer part of the quadriceps that straightens the knee. That is vastus lateralis.",
            "The knee bends, the hip turns, the shoulder follows.",
            "The glenohumeral rhythm is late.",
        ],
    )
    def test_nothing_where_it_is_told_or_everybody_knows_it(self, words: str) -> None:
        assert self.offers(words) == []

    def test_recorded_words_are_left_alone(self) -> None:
        assert notes(PlainWordsCheck(), recorded("The vastus lateralis drives.")) == ()

    def test_an_answer_holds_wherever_the_term_goes(self) -> None:
        beats = (camera("The vastus lateralis drives."), replace(camera("Look here."), id="b"))
        (offer,) = notes(PlainWordsCheck(), *beats)
        moved = (replace(beats[1], words="Look, the vastus lateralis drives."), beats[0])
        margin = read_margin(ScriptView("", moved), [PlainWordsCheck()], answered={offer.id: "known"})
        assert margin.notes == ()

    def test_putting_them_in_settles_it_for_every_entry_that_has_plain_words(self) -> None:
        tried = 0
        for term in VOCABULARY.terms:
            if term.kind != "muscle" or term.style != "standard" or not plain_words_of(term, VOCABULARY):
                continue
            beats: tuple[BeatView, ...] = (camera(f"Watch the {term.text} when the foot lands."),)
            for note in notes(PlainWordsCheck(), *beats):
                if note.instead.startswith(f"{term.text},"):
                    beats = done(beats, note.actions[0])
                    tried += 1
            assert not [n for n in notes(PlainWordsCheck(), *beats) if n.instead.startswith(f"{term.text},")]
            assert ",," not in beats[0].words
        assert tried > 50


def test_every_check_of_words_stands_in_the_register() -> None:
    assert {"claims", "plain_words"} <= {check.key for check in CHECKS}
    assert check_claims("", VOCABULARY) == []
