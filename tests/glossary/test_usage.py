"""Where words are used: whole words, any capitals, never across sentences; always what the words say now."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.vocabulary.own import TermGiven
from anatomy.vocabulary.selectors import current_vocabulary
from anatomy.vocabulary.services import add_own_term
from breakdowns.glossary.selectors import usage_of
from breakdowns.glossary.usage import BeatWords, UsageIndex
from breakdowns.scripts import services
from breakdowns.scripts.models import Beat, Breakdown
from tests.factory import make_user


def index_of(*words: str) -> UsageIndex:
    index = UsageIndex()
    index.replace({1: 1}, [BeatWords(number, 1, text) for number, text in enumerate(words)])
    return index


def beats(index: UsageIndex, *names: str) -> list[int]:
    return sorted(place.beat for place in index.find(names))


def test_a_name_is_found_as_whole_words_in_any_capitals():
    index = index_of(
        "The gluteus maximus drives.", "GLUTEUS\nMAXIMUS!", "glute max", "gluteusmaximus", "A gluteus. Maximus said so.",
        "Ham-strings hold.", "the hamstringss", "",
    )  # fmt: skip
    assert beats(index, "gluteus maximus") == [0, 1]
    assert beats(index, "gluteus maximus", "glute max") == [0, 1, 2]
    assert beats(index, "ham strings") == [5]
    assert beats(index, "hamstrings") == []
    assert beats(index, "") == []


def test_the_words_around_are_shown_and_cut_at_words():
    before = "far before " * 12
    index = index_of(f"{before}the gluteus maximus drives {'far behind ' * 12}")
    left, said, right = index.snippet(index.find(["gluteus maximus"])[0])
    assert said == "gluteus maximus"
    assert left.startswith("… ")
    assert left.endswith("the ")
    assert right.endswith(" …")
    assert len(left) < 90
    assert index_of("Lats pull.").snippet(index_of("Lats pull.").find(["lats"])[0]) == ("", "Lats", " pull.")


def test_a_breakdown_is_replaced_whole_and_dropped_when_it_is_gone():
    index = UsageIndex()
    index.replace({1: 1, 2: 1}, [BeatWords(1, 1, "lats"), BeatWords(2, 2, "lats")])
    assert index.stale({1: 2, 2: 1}) == [1]
    index.replace({1: 2}, [BeatWords(3, 1, "quads")])
    assert beats(index, "lats") == [2]
    assert beats(index, "quads") == [3]
    assert index.stale({1: 2}) == []
    assert beats(index, "lats") == []


words = st.lists(
    st.sampled_from(["hip", "Hip", "flexion", "flex", "the", ".", "-", ",", "hips"]), max_size=12
)


@given(words)
def test_the_index_agrees_with_a_plain_search(parts):
    text = " ".join(parts)
    plain = re.search(r"(?<!\w)hip[\s\-'’/]+flexion(?!\w)", text, re.IGNORECASE)
    found = index_of(text).find(["hip flexion"])
    assert bool(found) == bool(plain)
    if plain:
        assert (found[0].start, found[0].end) == plain.span()


# --- with the stored words -----------------------------------------------------------------------


@pytest.fixture
def editor(db):
    return make_user()


def written(editor, title: str, *texts: str) -> Breakdown:
    breakdown = services.breakdown_create(by=editor, title=title)
    for number, text in enumerate(texts):
        beat = (
            breakdown.beats.order_by("position").last()
            if number == 0
            else services.beat_insert(
                breakdown, after=breakdown.beats.order_by("position").last().key, by=editor
            )
        )
        services.beat_words_save(
            breakdown, beat.key, text, base_version=Beat.objects.get(pk=beat.pk).version, by=editor
        )
    return breakdown


def used(kind: str = "muscle", name: str = "gluteus maximus") -> list[tuple]:
    found, _ = usage_of(current_vocabulary(), kind, name)
    return [(one.breakdown.title, use.number, float(use.at), use.said) for one in found for use in one.uses]


def test_a_use_is_told_with_beat_and_time(editor):
    breakdown = written(
        editor, "Late hips", "Nothing yet.", "The glute max drives.", "And GLUTEUS MAXIMUS again."
    )
    Beat.objects.filter(breakdown=breakdown).update(seconds_ms=4500)
    assert used() == [("Late hips", 2, 4.5, "glute max"), ("Late hips", 3, 9.0, "GLUTEUS MAXIMUS")]


def test_changed_words_undo_and_deletion_are_followed(editor):
    breakdown = written(editor, "Late hips", "The glute max drives.")
    beat = breakdown.beats.get()
    assert used()
    services.beat_words_save(
        breakdown, beat.key, "The calf drives.", base_version=Beat.objects.get().version, by=editor
    )
    assert used() == []
    services.revision_undo(breakdown, by=editor)
    services.revision_redo(breakdown, by=editor)
    assert used() == []
    services.beat_insert(breakdown, after=beat.key, by=editor)
    new = breakdown.beats.order_by("position").last()
    services.beat_words_save(breakdown, new.key, "Glute max.", base_version=new.version, by=editor)
    assert [number for _, number, *_ in used()] == [2]
    services.beat_move(breakdown, new.key, 0, by=editor)
    assert [number for _, number, *_ in used()] == [1]
    breakdown.delete()
    assert used() == []


def test_own_terms_count_at_once(editor):
    written(editor, "Late hips", "The back motor drives.")
    assert used() == []
    add_own_term(TermGiven("back motor", "muscle", "gluteus maximus"))
    assert [said for *_, said in used()] == ["back motor"]


def test_only_the_latest_are_shown_and_the_rest_counted(editor):
    for number in range(13):
        written(editor, f"Piece {number}", "Lats pull.")
    found, more = usage_of(current_vocabulary(), "muscle", "latissimus dorsi")
    assert (len(found), more) == (10, 3)
    assert found[0].breakdown.title == "Piece 12"
