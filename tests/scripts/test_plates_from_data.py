"""Anatomy plates and corrections on the picture side: chosen, shown, kept, undone, offered by notes."""

from __future__ import annotations

from fractions import Fraction
from uuid import uuid4

import pytest
from django.urls import reverse

from anatomy.vocabulary.own import TermGiven
from anatomy.vocabulary.services import add_own_term
from breakdowns.assembly.selectors import NotReady, piece_of
from breakdowns.scripts import services
from breakdowns.scripts.checks.timing import reading_seconds
from breakdowns.scripts.commands import perform
from breakdowns.scripts.models import Beat
from breakdowns.scripts.page.selectors import script_of
from breakdowns.scripts.plate_content import plate_of_terms
from breakdowns.scripts.script import BeatView
from breakdowns.scripts.selectors import beat_view
from breakdowns.scripts.snapshots import picture_digest

pytestmark = [pytest.mark.once, pytest.mark.django_db]
PLATE = {"kind": "plate", "plate": "anatomy", "seconds": "6"}


@pytest.fixture
def beat(breakdown) -> Beat:
    return breakdown.beats.get()


@pytest.fixture
def picture(studio, breakdown, beat):
    def post(**data):
        address = reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])
        answer = studio.post(address, {**PLATE, "base_picture": picture_digest(Beat.objects.get()), **data})
        return answer, Beat.objects.get(pk=beat.pk)

    return post


@pytest.mark.parametrize(
    ("typed", "kind", "name"),
    [
        ("Glute Max", "muscle", "gluteus maximus"),
        ("hamstrings", "group", "hamstrings"),
        ("hip flexion", "motion", "hip: flexion"),
        ("axillary nerve", "nerve", "axillary nerve"),
        ("eccentric", "contraction", "eccentric"),
    ],
)
def test_an_entry_is_chosen_by_any_of_its_names(picture, typed, kind, name):
    answer, beat = picture(plate_entry=typed)
    assert answer.status_code == 302
    assert (beat.plate, beat.plate_entry_kind, beat.plate_entry, beat.plate_rows) == (
        "anatomy",
        kind,
        name,
        [],
    )


def test_rows_are_kept_by_key_and_what_belongs_to_another_entry_is_left_out(picture):
    rows = ["hip: extension", "elbow: flexion", "x" * 250]
    _, beat = picture(plate_entry="gluteus maximus", plate_rows=rows)
    assert beat.plate_rows == ["hip: extension"]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Name a muscle"),
        ("gluteus maximusss", "Is it “gluteus maximus” (muscle)"),
        ("qqqqq", "no “qqqqq”"),
        ("<b>", "no “&lt;b&gt;”"),
    ],
)
def test_what_is_no_entry_gets_a_sentence_beside_the_field(picture, typed, says):
    answer, beat = picture(plate_entry=typed)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert beat.kind == "camera"


def test_a_text_with_two_meanings_asks_which(picture):
    add_own_term(TermGiven("the engine", "muscle", "gluteus maximus", "slang"))
    add_own_term(TermGiven("the engine", "muscle", "gluteus medius", "slang"))
    answer, _ = picture(plate_entry="the engine")
    assert "can mean “gluteus maximus” (muscle) or “gluteus medius” (muscle)" in answer.content.decode()


def test_own_terms_work_as_ours_do(picture):
    add_own_term(TermGiven("back motor", "muscle", "gluteus maximus"))
    _, beat = picture(plate_entry="back motor")
    assert beat.plate_entry == "gluteus maximus"


def test_showing_keeps_nothing_and_lists_the_rows(picture, breakdown):
    version = breakdown.version
    answer, beat = picture(plate_entry="glute max", show="1")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert beat.kind == "camera"
    assert beat.breakdown.version == version
    assert "Hip extension, prime mover" in page
    assert reverse("assembly:plate") + "?plate=anatomy" in page
    assert 'list="vocabulary-names"' in page
    assert '<option value="gluteus maximus">' in page


def test_a_correction_needs_what_is_right(picture):
    answer, beat = picture(plate="correction", plate_said="The accessory nerve.")
    assert answer.status_code == 422
    assert "Say what is right." in answer.content.decode()
    answer, beat = picture(
        plate="correction",
        plate_said="The accessory nerve.",
        plate_right="The thoracodorsal nerve.",
        plate_source="Gray",
    )
    assert answer.status_code == 302
    assert (beat.plate_said, beat.plate_text, beat.plate_source) == (
        "The accessory nerve.", "The thoracodorsal nerve.", "Gray",
    )  # fmt: skip
    shown = piece_of(beat.breakdown).beats[0].picture
    assert shown.title == "Correction"
    assert "What is right: The thoracodorsal nerve." in shown.text


def test_the_text_of_a_plain_plate_is_not_touched_by_a_correction_and_back(picture):
    picture(plate="text", plate_text="Words.")
    _, beat = picture(plate="anatomy", plate_entry="gluteus maximus")
    assert beat.plate_text == "Words."
    _, beat = picture(plate="text", plate_text="Words.")
    assert (beat.plate, beat.plate_entry) == ("text", "gluteus maximus")


def test_a_plate_is_undone_and_redone_whole(picture, breakdown, editor):
    picture(plate_entry="gluteus maximus", plate_rows=["hip: extension"])
    services.revision_undo(breakdown, by=editor)
    assert Beat.objects.get().plate_entry == ""
    services.revision_redo(breakdown, by=editor)
    again = Beat.objects.get()
    assert (again.plate, again.plate_entry, again.plate_rows) == (
        "anatomy",
        "gluteus maximus",
        ["hip: extension"],
    )
    copy = services.beat_duplicate(breakdown, again.key, by=editor)
    assert copy.plate_rows == ["hip: extension"]


def test_splitting_and_joining_keep_what_the_plate_shows(picture, breakdown, editor):
    picture(plate_entry="gluteus maximus", plate_rows=["hip: extension"])
    key = Beat.objects.get().key
    services.beat_words_save(
        breakdown, key, "One thing. Two things.", base_version=Beat.objects.get().version, by=editor
    )
    second = services.beat_split(breakdown, key, 11, by=editor)
    assert second.plate_rows == ["hip: extension"]
    joined = services.beat_join(breakdown, key, by=editor)
    assert (joined.plate_entry, joined.seconds_ms) == ("gluteus maximus", 6000)


def test_an_entry_that_has_gone_is_told_and_breaks_no_page(studio, breakdown, beat, editor):
    Beat.objects.update(kind="plate", plate="anatomy", plate_entry_kind="muscle", plate_entry="lost muscle")
    with pytest.raises(NotReady, match="Beat 1: The vocabulary has no muscle “lost muscle”"):
        piece_of(breakdown)
    assert studio.get(breakdown.get_absolute_url()).status_code == 200
    assert studio.get(reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])).status_code == 200
    assert "lost muscle" in studio.get(reverse("assembly:assemble", args=[breakdown.slug])).content.decode()


def test_the_script_page_says_what_the_plate_is(studio, picture, breakdown):
    picture(plate_entry="gluteus maximus")
    page = studio.get(breakdown.get_absolute_url()).content.decode()
    assert "anatomy: gluteus maximus" in page
    assert "own picture" in page


def test_one_question_for_the_vocabulary_however_many_plates(breakdown, editor, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            script_of(breakdown, user=editor)
        return len(caught)

    made = {"plate": "anatomy", "plate_entry_kind": "muscle", "plate_entry": "gluteus maximus"}
    services.plate_insert(breakdown, seconds_ms=9000, by=editor, **made)
    queries()
    few = queries()
    for _ in range(6):
        services.plate_insert(breakdown, seconds_ms=9000, by=editor, **made)
    queries()
    assert queries() == few


def test_a_plate_stands_where_it_was_asked_for(breakdown, beat, editor):
    made = {
        "plate": "anatomy",
        "plate_entry_kind": "muscle",
        "plate_entry": "gluteus maximus",
        "seconds_ms": 5000,
    }
    last = services.plate_insert(breakdown, by=editor, **made)
    first = services.plate_insert(breakdown, by=editor, at_start=True, **made)
    behind = services.plate_insert(breakdown, by=editor, after=first.key, **made)
    order = list(breakdown.beats.order_by("position").values_list("key", flat=True))
    assert order == [first.key, behind.key, beat.key, last.key]


# --- what notes may offer ------------------------------------------------------------------------


def made_by(command: str, **arguments) -> tuple[BeatView, ...]:
    beats = (
        BeatView("a", "camera", "Words.", seconds=Fraction(4)),
        BeatView("b", "camera", seconds=Fraction(4)),
    )
    return perform(beats, command, {"seconds": "6", **arguments}, lambda: "new")


def test_a_note_may_put_in_an_anatomy_plate():
    after = made_by(
        "insert_anatomy", beat="a", entry_kind="muscle", entry="gluteus maximus", rows=("hip: extension",)
    )
    assert [beat.id for beat in after] == ["a", "new", "b"]
    assert (after[1].plate, after[1].plate_entry, after[1].plate_rows) == (
        "anatomy", "gluteus maximus", ("hip: extension",),
    )  # fmt: skip
    assert after[1].seconds == 6


def test_a_note_may_put_in_a_correction():
    after = made_by("insert_correction", beat="", said="So.", right="Thus.", source="Gray")
    assert [beat.id for beat in after] == ["a", "b", "new"]
    assert (after[2].plate_said, after[2].plate_text, after[2].plate_source) == ("So.", "Thus.", "Gray")


@pytest.mark.parametrize(
    ("terms", "plate"),
    [
        (
            [("muscle", "gluteus maximus"), ("motion", "hip: abduction")],
            ("muscle", "gluteus maximus", ("hip: abduction",)),
        ),
        ([("motion", "flexion"), ("group", "hamstrings")], ("group", "hamstrings", ())),
        ([("motion", "hip: flexion"), ("plane", "frontal")], ("motion", "hip: flexion", ())),
        ([("nerve", "axillary nerve")], ("nerve", "axillary nerve", ())),
        ([("plane", "frontal")], None),
        ([], None),
    ],
)
def test_a_statement_has_the_plate_of_what_it_is_about(terms, plate):
    assert plate_of_terms(terms) == plate


def test_a_statement_that_depends_is_shown_on_a_plate_with_its_condition(breakdown, beat, editor):
    """Only the upper fibres of gluteus maximus abduct the hip: Moore, Dalley, Agur 2014 (from memory)."""
    words = "The gluteus maximus abducts the hip."
    services.beat_words_save(breakdown, beat.key, words, base_version=beat.version, by=editor)
    page = script_of(breakdown, user=editor)
    (note,) = [row.note for row in page.rows[0].notes if row.note.check == "claims"]
    place = next(n for n, action in enumerate(note.actions) if action.command == "insert_anatomy")
    services.note_act(breakdown, note.id, str(place), by=editor)
    made = breakdown.beats.get(plate="anatomy")
    assert (made.plate_entry, made.plate_rows) == ("gluteus maximus", ["hip: abduction"])
    assert "upper fibres" in piece_of(breakdown).beats[1].picture.text


def test_what_a_note_puts_in_is_stored(breakdown, beat, editor):
    def change(beats):
        arguments = {
            "beat": str(beat.key), "entry_kind": "muscle", "entry": "gluteus maximus",
            "rows": ("hip: extension",), "seconds": "7",
        }  # fmt: skip
        return perform(beats, "insert_anatomy", arguments, lambda: str(uuid4()))

    services._revise(breakdown, "a plate", editor, change, like=beat)
    made = breakdown.beats.get(plate="anatomy")
    assert (made.position, made.plate_entry, made.plate_rows, made.seconds_ms) == (
        1, "gluteus maximus", ["hip: extension"], 7000,
    )  # fmt: skip
    view = beat_view(made)
    assert "Hip extension prime mover" in view.plate_reading
    assert reading_seconds(view) > 3


# --- the picture of a plate ----------------------------------------------------------------------


@pytest.mark.parametrize(("shape", "size"), [("16:9", (960, 540)), ("9:16", (540, 960)), ("1:1", (540, 540))])
def test_a_plate_is_drawn_in_the_shape_of_the_piece(studio, shape, size):
    import io

    from PIL import Image

    asked = {
        "plate": "anatomy",
        "plate_entry_kind": "muscle",
        "plate_entry": "gluteus maximus",
        "shape": shape,
    }
    answer = studio.get(reverse("assembly:plate"), asked)
    assert answer["Content-Type"] == "image/png"
    assert Image.open(io.BytesIO(answer.content)).size == size


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"plate": "anatomy", "shape": "16:9"},
        {"plate": "anatomy", "plate_entry_kind": "muscle", "plate_entry": "no such", "shape": "16:9"},
        {"plate": "dance", "shape": "16:9"},
        {"plate": "text", "plate_text": "x", "shape": "3:2"},
    ],
)
def test_what_is_no_plate_is_not_found(studio, asked):
    assert studio.get(reverse("assembly:plate"), asked).status_code == 404
    assert studio.get(reverse("assembly:plate_says"), asked).status_code == 404


def test_what_a_plate_leaves_out_is_said_beside_it(studio):
    asked = {
        "plate": "anatomy",
        "plate_entry_kind": "joint",
        "plate_entry": "shoulder complex",
        "shape": "1:1",
    }
    assert "find room; choose the rows" in studio.get(reverse("assembly:plate_says"), asked).content.decode()
