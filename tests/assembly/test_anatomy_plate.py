"""Plates made from data: every line stands inside the picture, none over another, none is lost unsaid."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.assembly import plate_sheet
from breakdowns.assembly.anatomy_plate import short_sources
from breakdowns.assembly.fonts import line_width
from breakdowns.assembly.interchange import otio_text
from breakdowns.assembly.ledger_plan import plan_from_piece
from breakdowns.assembly.piece import Piece, PieceBeat, PlatePicture
from breakdowns.assembly.plates import draw_plate, plate_faults, plate_identity
from breakdowns.assembly.show_notes import show_notes
from breakdowns.scripts.plate_content import (
    ENTRY_KINDS,
    MOST_RIGHT,
    MOST_SAID,
    MOST_SOURCE,
    AnatomyTable,
    Correction,
    NoEntry,
    TableRow,
    anatomy_table,
)

VOCABULARY = packaged_vocabulary()
SHAPES = [(1280, 720), (720, 1280), (720, 720)]
SECONDS = Fraction(6)


def anatomy(table: AnatomyTable) -> PlatePicture:
    return PlatePicture("anatomy", table.heading, table.text, SECONDS, content=table)


def correction(said: str, right: str, source: str = "", title: str = "Correction") -> PlatePicture:
    card = Correction(said, right, source)
    return PlatePicture("correction", title, card.text, SECONDS, content=card)


def plain_blanks(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.fixture
def drawn(monkeypatch):
    """Draws a plate and answers its lines: (left, top, right, bottom, text, size)."""

    def draw(picture: PlatePicture, size: tuple[int, int]) -> list[tuple]:
        lines: list[tuple] = []

        def noted(pen, at, text, style, ink):
            right = at[0] + line_width(text, style)
            lines.append(
                (
                    at[0],
                    at[1] - 0.72 * style.size,
                    right,
                    at[1] + 0.24 * style.size,
                    plain_blanks(text),
                    style.size,
                )
            )

        with monkeypatch.context() as patch:
            patch.setattr(plate_sheet, "draw_line", noted)
            draw_plate(picture, size)
        return lines

    return draw


def assert_well_set(lines: list[tuple], size: tuple[int, int]) -> None:
    """Inside the safe area of EBU R 95 (5 % at each side), and no line over another."""
    across, down = 0.05 * size[0], 0.05 * min(size)
    for left, top, right, bottom, text, _ in lines:
        assert left >= across, text
        assert right <= size[0] - across, text
        assert top >= down, text
        assert bottom <= size[1] - down, text
    for number, one in enumerate(lines):
        for other in lines[number + 1 :]:
            apart = (
                one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] + 1 or other[3] <= one[1] + 1
            )
            assert apart, (one[4], other[4])


EVERYTHING = [("muscle", name) for name in VOCABULARY.muscles] + [
    ("group", name) for name in VOCABULARY.groups
]
OTHERS = [
    ("motion", "hip: extension"), ("motion", "glenohumeral: external rotation"), ("joint", "glenohumeral"),
    ("joint", "hip"), ("nerve", "axillary nerve"), ("structure", "spleen"), ("contraction", "eccentric"),
    ("plane", "sagittal"), ("concept", "kinetic chain"),
]  # fmt: skip


@pytest.mark.parametrize("size", SHAPES, ids=str)
def test_every_muscle_and_group_is_set_without_overflow(drawn, size):
    for kind, name in [*EVERYTHING[SHAPES.index(size) :: 3], *OTHERS]:
        picture = anatomy(anatomy_table(VOCABULARY, kind, name))
        lines = drawn(picture, size)
        assert_well_set(lines, size)
        assert not any(text.endswith("…") for *_, text, _ in lines), name


@pytest.mark.parametrize("size", SHAPES, ids=str)
def test_rows_are_shown_whole_or_counted(drawn, size):
    for kind, name in EVERYTHING[::11] + OTHERS[:4]:
        table = anatomy_table(VOCABULARY, kind, name)
        picture = anatomy(table)
        words = " ".join(text for *_, text, _ in drawn(picture, size))
        titles = [row.title for row in table.rows]
        shown = 0
        while shown < len(titles) and titles[shown].split()[-1] in words:
            shown += 1
        left_out = [fault for fault in plate_faults(picture, size) if "find room" in fault]
        if left_out:
            counted = int(left_out[0].split("only ")[1].split(" ")[0])
            assert counted < table.total
            assert f"{counted} of {table.total} {table.counted} shown" in words
        else:
            assert shown == len(titles), name
            assert "shown" not in words


@pytest.mark.parametrize("size", SHAPES, ids=str)
def test_type_is_large_enough_for_a_phone(drawn, size):
    """24 of 720 pixels for the table (common practice, no source); the source line is smaller."""
    for name in ("gluteus maximus", "biceps brachii", "latissimus dorsi"):
        lines = drawn(anatomy(anatomy_table(VOCABULARY, "muscle", name)), size)
        sizes = [size for *_, text, size in lines]
        assert min(sizes) >= 720 * 7 / 250 - 1
        assert sorted(sizes)[len(sizes) // 2] >= 23


def test_a_plate_says_what_the_vocabulary_says(drawn):
    """Nerve and roots of gluteus maximus: Gray 1918, page 959; extension as its chief action: OpenStax 11.6."""
    table = anatomy_table(VOCABULARY, "muscle", "gluteus maximus")
    words = " ".join(text for *_, text, _ in drawn(anatomy(table), (720, 1280)))
    for part in (
        "Gluteus maximus",
        "musculus",
        "Hip extension",
        "prime mover",
        "inferior gluteal nerve",
        "Sources:",
    ):
        assert part in words
    assert "L5, S1, S2" in words
    assert table.rows[0].key == "hip: extension"
    assert "sagittal plane, mediolateral axis" in table.rows[0].under


def test_chosen_rows_alone_are_shown_and_counted(drawn):
    table = anatomy_table(VOCABULARY, "muscle", "gluteus maximus", ["hip: extension", "no: such"])
    assert [row.key for row in table.rows] == ["hip: extension"]
    words = " ".join(text for *_, text, _ in drawn(anatomy(table), (1280, 720)))
    assert f"1 of {table.total} motions shown" in words
    every = anatomy_table(VOCABULARY, "muscle", "gluteus maximus", ["no: such"])
    assert len(every.rows) == every.total  # rows that are gone choose nothing


@pytest.mark.parametrize(
    ("kind", "name"), [("muscle", "no such muscle"), ("muscle", ""), ("chain", "throw"), ("x", "y")]
)
def test_an_entry_that_is_not_there_is_told(kind, name):
    with pytest.raises(NoEntry, match=r"choose|chosen"):
        anatomy_table(VOCABULARY, kind, name)


def test_every_kind_has_a_plate():
    assert {kind for kind, _ in OTHERS} | {"muscle", "group"} == set(ENTRY_KINDS)


texts = st.text(st.characters(categories=["L", "N", "P", "Zs"]), max_size=70)
rows = st.builds(TableRow, texts, texts, texts, texts, texts)
tables = st.builds(
    AnatomyTable,
    texts,
    texts,
    texts,
    st.tuples(texts, texts, texts),
    st.lists(rows, max_size=14).map(tuple),
    st.integers(0, 20),
    texts,
    st.lists(st.tuples(texts, texts), max_size=4).map(tuple),
    st.lists(texts, max_size=9).map(tuple),
)


@settings(max_examples=40)
@given(tables, st.sampled_from([(320, 180), (180, 320), (180, 180), (640, 360)]))
def test_any_table_stays_inside_its_margins(table, size):
    table = replace(table, total=max(table.total, len(table.rows)))
    image = np.asarray(draw_plate(anatomy(table), size)).astype(int)
    far = np.abs(image - (0xF5, 0xF1, 0xE7)).max(axis=2) > 24
    edge = int(min(size) * 0.04)
    for strip in (far[:edge], far[-edge:], far[:, :edge], far[:, -edge:]):
        assert not strip.any()


@pytest.mark.parametrize("size", SHAPES, ids=str)
def test_the_longest_correction_that_can_be_typed_fits(drawn, size):
    words = "the thoracodorsal nerve supplies the latissimus dorsi and not the accessory nerve "
    said, right, source = ((words * 9)[:most] for most in (MOST_SAID, MOST_RIGHT, MOST_SOURCE))
    picture = correction(said, right, source)
    assert plate_faults(picture, size) == ()
    lines = drawn(picture, size)
    assert_well_set(lines, size)
    shown = " ".join(text for *_, text, _ in lines)
    assert shown.startswith("Correction")
    for label in ("What was said", "What is right", "Source:"):
        assert label in shown


def test_a_correction_without_what_was_said_or_source_shows_what_is_right(drawn):
    lines = [text for *_, text, _ in drawn(correction("", "The pelvis leads."), (1280, 720))]
    assert lines == ["Correction", "What is right", "The pelvis leads."]


def test_what_is_right_carries_a_solid_bar():
    image = np.asarray(draw_plate(correction("A.", "B."), (1280, 720))).astype(int)
    ink = np.abs(image - (0x1B, 0x23, 0x26)).max(axis=2) < 12
    bar = ink[:, int(0.08 * 1280) : int(0.08 * 1280) + 9].all(axis=1)
    assert bar.sum() > 60


def test_a_corrected_fact_makes_another_picture_and_seconds_do_not():
    table = anatomy_table(VOCABULARY, "muscle", "gluteus maximus")
    other = replace(table, rows=(replace(table.rows[0], right="assists"), *table.rows[1:]))
    assert plate_identity(anatomy(table)) != plate_identity(anatomy(other))
    assert plate_identity(anatomy(table)) == plate_identity(replace(anatomy(table), seconds=Fraction(9)))
    assert plate_identity(correction("a", "b")) != plate_identity(correction("a", "c"))
    plain = PlatePicture("text", "T", "x", SECONDS)
    assert "content" not in plate_identity(plain)  # what was drawn before stays in the cache


def test_a_plate_of_data_needs_its_data():
    with pytest.raises(TypeError):
        PlatePicture("anatomy", "T", "x", SECONDS)
    with pytest.raises(TypeError):
        PlatePicture("text", "T", "x", SECONDS, content=Correction("a", "b", ""))


def piece() -> Piece:
    table = anatomy_table(VOCABULARY, "muscle", "gluteus maximus", ["hip: extension"])
    beats = (
        PieceBeat("a", anatomy(table), "Hips first."),
        PieceBeat("b", correction("The accessory nerve.", "The thoracodorsal nerve.", "Gray 1918")),
    )
    return Piece("Invented", "invented", beats, Fraction(25))


def test_such_plates_are_own_picture_in_the_ledger():
    plan = plan_from_piece(piece())
    assert plan["sources"] == []
    assert all("source" not in segment for segment in plan["segments"])


def test_show_notes_name_such_plates_and_their_sources_in_full():
    notes = show_notes(piece(), references=["An invented reference."])
    assert "1 anatomy plate" in notes
    assert "1 correction" in notes
    said_by = notes.split("## Sources for what is said")[1].split("##")[0]
    assert "An invented reference" in said_by
    assert "Gray 1918" in said_by
    table = piece().beats[0].picture.content  # type: ignore[union-attr]
    assert len(table.sources) > 1
    assert said_by.count("\n- ") >= 2 + len(table.sources) - 1


def test_such_plates_travel_in_the_interchange_timeline():
    told = otio_text(piece())
    assert "plate.anatomy" in told
    assert "plate.correction" in told
    assert "Hip extension" in told


def test_the_source_line_counts_what_it_leaves_out():
    every = [f"Author {n}, A Book of Invented Anatomy {n} (1999), chapter {n}" for n in range(5)]
    lines = list(short_sources(every))
    assert lines[0].count(";") == 4
    assert lines[2].endswith("; and 1 more")
    assert lines[-1] == "Sources: 5, listed with the video"
    assert all(len(b) <= len(a) for a, b in pairwise(lines[1:]))
