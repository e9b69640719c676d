"""What the words column asks of the server: marks, terms and meanings; who may ask; and what broken asking gets."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.models import OwnTerm
from anatomy.vocabulary.own import TermGiven
from anatomy.vocabulary.packaged import packaged_vocabulary
from anatomy.vocabulary.services import add_own_term
from breakdowns.people.models import User
from breakdowns.scripts import services
from breakdowns.scripts.models import AnsweredNote, Beat, Breakdown, Revision
from breakdowns.scripts.selectors import beats_of, margin_of, script_view
from breakdowns.scripts.vocabulary_stamps import judging_stamp, vocabulary_stamp

from .conftest import write

pytestmark = pytest.mark.django_db

# OpenStax, Anatomy and Physiology 2e (2022), chapter 11: infraspinatus rotates the arm laterally (from memory).
WRONG = "infraspinatus internally rotates the shoulder"
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def beat(breakdown, editor) -> Beat:
    return write(breakdown, f"Look: {WRONG}.", by=editor)[0]


def check(client, beat: Beat, words: str):
    return client.post(reverse("scripts:beat_check", args=[beat.breakdown.slug, beat.key]), {"words": words})


def notes_of(breakdown: Breakdown) -> list:
    fresh = Breakdown.objects.get(pk=breakdown.pk)
    return list(margin_of(fresh, script_view(fresh, list(beats_of(fresh)))).notes)


class TestMarks:
    def test_of_words_that_are_not_saved(self, studio, beat):
        words = f"So {WRONG}!"
        (mark,) = check(studio, beat, words).json()["marks"]
        assert words[mark["start"] : mark["end"]] == WRONG
        assert mark["state"] == "over"
        start, end, text = mark["replace"]
        assert words[:start] + text + words[end:] == "So infraspinatus rotates the shoulder externally!"
        assert Beat.objects.get().words == f"Look: {WRONG}."
        assert Revision.objects.count() == Breakdown.objects.get().revisions.count()

    def test_they_name_the_notes_that_the_margin_shows(self, studio, beat, breakdown):
        marks = check(studio, beat, beat.words).json()["marks"]
        assert {mark["note"] for mark in marks} == {note.id for note in notes_of(breakdown) if note.span}

    def test_what_was_meant_is_not_marked_again(self, studio, beat, breakdown, editor):
        (mark,) = check(studio, beat, beat.words).json()["marks"]
        services.note_answer(breakdown, note_id=mark["note"], says="…", reason="quoted", by=editor)
        assert check(studio, beat, beat.words).json()["marks"] == []
        assert check(studio, beat, f"Now: {WRONG}.").json()["marks"] == []

    def test_line_ends_are_counted_as_the_page_counts_them(self, studio, beat):
        (mark,) = check(studio, beat, f"One.\r\nTwo.\r{WRONG}").json()["marks"]
        assert mark["start"] == len("One.\nTwo.\n")

    @pytest.mark.parametrize(
        "words",
        [
            "",
            "\x00\x01",
            "<script>alert(1)</script>",
            "𝔘" * 900,
            "\u202e" + WRONG,
            "knee " * 4000,
            "((((" * 4000,
        ],
    )
    def test_hostile_words_get_an_answer(self, studio, beat, words):
        answer = check(studio, beat, words)
        assert answer.status_code == 200
        assert answer["Content-Type"] == "application/json"
        for mark in answer.json()["marks"]:
            assert 0 <= mark["start"] < mark["end"] <= len(words)

    def test_too_many_words_and_strange_addresses_are_told(self, studio, beat, breakdown):
        answer = check(studio, beat, "a" * 20_001)
        assert answer.status_code == 422
        assert "split" in answer.json()["error"]
        for slug, key in ((breakdown.slug, uuid.uuid4()), ("elsewhere", beat.key)):
            assert (
                studio.post(reverse("scripts:beat_check", args=[slug, key]), {"words": "x"}).status_code
                == 404
            )
        assert studio.get(reverse("scripts:beat_check", args=[breakdown.slug, beat.key])).status_code == 405

    def test_a_beat_of_another_breakdown_is_not_there(self, studio, beat, editor):
        other = services.breakdown_create(by=editor, title="Another")
        assert studio.post(reverse("scripts:beat_check", args=[other.slug, beat.key])).status_code == 404

    def test_the_sites_own_terms_count(self, studio, beat):
        words = "The cuffy one internally rotates the shoulder."
        assert check(studio, beat, words).json()["marks"] == []
        add_own_term(TermGiven("the cuffy one", "muscle", "infraspinatus"))
        assert OwnTerm.objects.count() == 1
        assert [mark["state"] for mark in check(studio, beat, words).json()["marks"]] == ["over"]

    def test_few_queries_whatever_the_script(
        self, studio, beat, breakdown, editor, django_assert_max_num_queries
    ):
        for number in range(12):
            services.beat_insert(breakdown, by=editor, words=f"More {number}.")
        check(studio, beat, "Warm.")
        with django_assert_max_num_queries(9):
            check(studio, beat, f"Then {WRONG}.")


class TestMeanings:
    def ask(self, client, text: str):
        return client.get(reverse("scripts:vocabulary_meaning"), {"text": text})

    def test_a_muscle_with_its_work_its_nerve_and_its_page(self, studio):
        body = self.ask(studio, "Infraspinatus").content.decode()
        # OpenStax 2e, chapter 11; suprascapular nerve C5, C6: Moore, Clinically Oriented Anatomy (from memory).
        for part in (
            "Infraspinatus",
            "external rotation",
            "prime mover",
            "suprascapular nerve",
            "C5",
            "OpenStax",
        ):
            assert part in body, part
        assert 'href="/vocabulary/muscle/infraspinatus/"' in body
        assert studio.get("/vocabulary/muscle/infraspinatus/").status_code == 200

    def test_what_may_mean_several_things_says_each(self, studio):
        body = self.ask(studio, "flexion").content.decode()
        assert body.count("<section>") > 1

    def test_every_term_that_is_listed_can_be_asked(self, studio):
        rows = studio.get(reverse("scripts:vocabulary_terms")).json()["terms"]
        assert len(rows) > 1000
        for text, kind, _, _ in rows[::25]:
            assert self.ask(studio, text).status_code == 200, (text, kind)

    @pytest.mark.parametrize("text", ["", "nothing known", "<script>", "a" * 5000, "\x00", "shoulder " * 12])
    def test_what_is_no_term_is_not_there(self, studio, text):
        answer = self.ask(studio, text)
        assert answer.status_code == 404
        assert b"<" not in answer.content

    def test_own_words_are_escaped(self, studio):
        add_own_term(TermGiven("cuff <b>", "muscle", "infraspinatus"))
        body = self.ask(studio, "cuff <b>").content.decode()
        assert "cuff &lt;b&gt;" in body
        assert "<b>" not in body


class TestKept:
    def test_the_browser_keeps_what_carries_the_stamp(self, studio, breakdown):
        page = studio.get(breakdown.get_absolute_url()).content.decode()
        address = page.split('data-terms="')[1].split('"')[0]
        assert "immutable" in studio.get(address)["Cache-Control"]
        assert "private" in studio.get(address)["Cache-Control"]
        assert "no-cache" in studio.get(reverse("scripts:vocabulary_terms"))["Cache-Control"]

    def test_everyday_words_bring_no_list(self, studio):
        ordinary = set(studio.get(reverse("scripts:vocabulary_terms")).json()["ordinary"])
        assert {"for", "the", "arm", "knee", "lat"} - ordinary == {"lat"}


def test_a_reader_sees_none_of_it(client, beat):
    client.force_login(User.objects.create_user("reader@example.org", role="reader"))
    assert check(client, beat, "x").status_code == 403
    for name in ("vocabulary_terms", "vocabulary_meaning"):
        assert client.get(reverse(f"scripts:{name}")).status_code == 403


class TestPage:
    def test_the_offers_lie_folded_and_each_can_be_left(self, studio, breakdown, editor):
        write(breakdown, "The vastus lateralis drives.", by=editor)
        body = studio.get(breakdown.get_absolute_url()).content.decode()
        assert '<details class="plain-words" id="plain-words"><summary>1 technical term said' in body
        (offer,) = [note for note in notes_of(breakdown) if note.check == "plain_words"]
        address = reverse("scripts:note_answer", args=[breakdown.slug])
        studio.post(address, {"note_id": offer.id, "says": offer.says, "reason": "Clear."})
        write(breakdown, "Now again: the vastus lateralis drives.", by=editor)
        assert 'id="plain-words"' not in studio.get(breakdown.get_absolute_url()).content.decode()
        assert AnsweredNote.objects.count() == 1

    def test_a_slip_in_a_transcript_gets_its_card(self, studio, breakdown, editor):
        cues = (
            "WEBVTT\n\n00:01:00.000 --> 00:01:04.000\nFrom above you can see it.\n\n"
            f"00:01:04.000 --> 00:01:08.000\nHere {WRONG}.\n\n"
            "00:01:08.000 --> 00:01:20.000\nWatch the hip line, it stops before the shoulder line, and that is it.\n"
        )
        address = reverse("scripts:import", args=[breakdown.slug])
        studio.post(address, {"text": cues, "pause": "3", "take": "1"})
        (beat,) = breakdown.beats.all()
        assert len(beat.word_times) == len(beat.words.split())
        (note,) = [note for note in notes_of(breakdown) if note.check == "claims"]
        assert note.mend.startswith("Said at 1:04.")
        studio.post(reverse("scripts:note_action", args=[breakdown.slug]), {"note": note.id, "action": "0"})
        before, card, after = breakdown.beats.order_by("position")
        assert (card.kind, card.plate, card.plate_said) == ("plate", "correction", WRONG)
        assert before.spoken_ms + card.spoken_ms + after.spoken_ms == 20_000
        assert [*before.word_times, *card.word_times, *after.word_times] == beat.word_times
        assert before.words + card.words + after.words == beat.words
        assert not [note for note in notes_of(breakdown) if note.check == "claims"]
        services.revision_undo(breakdown, by=editor)
        again = breakdown.beats.get()
        assert (again.words, again.spoken_ms, again.word_times) == (
            beat.words,
            beat.spoken_ms,
            beat.word_times,
        )

    def test_typing_over_recorded_words_lets_their_times_go(self, studio, breakdown, editor):
        services.beats_take_over(breakdown, [("The foot stops.", 2000, [0, 500, 900])], by=editor)
        beat = breakdown.beats.get()
        services.beat_words_save(breakdown, beat.key, "The foot.", base_version=beat.version, by=editor)
        beat.refresh_from_db()
        assert (beat.spoken_ms, beat.word_times) == (None, [])


def test_a_stamp_changes_with_the_vocabulary_alone():
    same = Vocabulary.of(packaged_vocabulary().tables())
    assert vocabulary_stamp(same) == vocabulary_stamp(packaged_vocabulary())
    assert judging_stamp(same).startswith(vocabulary_stamp(same))
