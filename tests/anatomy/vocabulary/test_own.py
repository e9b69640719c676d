"""What a site adds itself: held against ours, kept apart, and never lost."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

import pytest
from django.db import connection

from anatomy.vocabulary.models import OwnEntry, OwnTerm, VocabularyState
from anatomy.vocabulary.own import EntryGiven, OwnFault, TermGiven, term_faults
from anatomy.vocabulary.packaged import packaged_vocabulary
from anatomy.vocabulary.selectors import current_vocabulary, own_entries, own_terms
from anatomy.vocabulary.services import (
    add_own_entry,
    add_own_term,
    change_own_entry,
    change_own_term,
    remove_own_entry,
    remove_own_term,
    restore_own_entry,
    restore_own_term,
    vocabulary_load,
)
from tests.anatomy.vocabulary.small_folder import Files, small_files, write_folder

pytestmark = pytest.mark.django_db

KICKER = TermGiven("kicker", "muscle", "rectus femoris", gloss="what kicks", note="said in the dressing room")
SARTORIUS = EntryGiven("muscle", "sartorius", "the long strap across the thigh")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = write_folder(tmp_path / "vocabulary", small_files())
    vocabulary_load(folder)
    return folder


def without_rectus() -> Files:
    files = small_files()
    files["muscles.csv"] = files["muscles.csv"][1:]
    files["actions.csv"] = files["actions.csv"][2:]
    files["terms_small.csv"] = [row for row in files["terms_small.csv"] if row[2] != "rectus femoris"]
    files["groups.csv"][0][2] = "vastus medialis"
    return files


def test_an_own_term_counts_at_once(folder: Path) -> None:
    assert current_vocabulary().meanings("kicker") == ()
    term = add_own_term(KICKER, added_by="The physiotherapist")
    found = current_vocabulary().meanings("Kicker")
    assert [(t.of, t.style) for t in found] == [("rectus femoris", "own")]
    assert current_vocabulary().cite(found[0].sources)
    assert (term.added_by, term.gloss) == ("The physiotherapist", "what kicks")
    assert [(shown.term, shown.lost) for shown in own_terms()] == [(term, False)]
    remove_own_term(term.pk)
    remove_own_term(term.pk)
    assert current_vocabulary().meanings("kicker") == ()


def test_an_own_term_stands_on_the_packaged_vocabulary_too() -> None:
    add_own_term(KICKER)
    assert [t.of for t in current_vocabulary().meanings("kicker")] == ["rectus femoris"]
    assert packaged_vocabulary().meanings("kicker") == ()


def test_the_vocabulary_is_put_together_once(folder: Path, django_assert_num_queries) -> None:
    add_own_term(KICKER)
    first = current_vocabulary()
    with django_assert_num_queries(1):
        assert current_vocabulary() is first


def test_own_terms_survive_a_reload_and_an_upgrade(folder: Path) -> None:
    term = add_own_term(KICKER)
    vocabulary_load(folder)
    assert current_vocabulary().meanings("kicker")

    vocabulary_load(write_folder(folder, without_rectus()))
    assert [(shown.term, shown.lost) for shown in own_terms()] == [(term, True)]
    assert current_vocabulary().meanings("kicker") == ()

    vocabulary_load(write_folder(folder, small_files()))
    assert [(shown.term, shown.lost) for shown in own_terms()] == [(term, False)]
    assert current_vocabulary().meanings("kicker")


def test_a_lost_term_can_be_pointed_elsewhere(folder: Path) -> None:
    term = add_own_term(KICKER)
    vocabulary_load(write_folder(folder, without_rectus()))
    change_own_term(term.pk, replace(KICKER, of="vastus medialis"))
    assert [shown.lost for shown in own_terms()] == [False]
    assert [t.of for t in current_vocabulary().meanings("kicker")] == ["vastus medialis"]


def test_a_term_may_be_changed_without_being_in_its_own_way(folder: Path) -> None:
    term = add_own_term(KICKER)
    assert change_own_term(term.pk, replace(KICKER, text="Kicker", style="slang")).folded == "kicker"
    assert [t.text for t in current_vocabulary().meanings("kicker")] == ["Kicker"]


@pytest.mark.parametrize(
    ("given", "field", "said"),
    [
        (replace(KICKER, text=" "), "text", "empty"),
        (replace(KICKER, text="a" * 121), "text", "121"),
        (replace(KICKER, text="two\nlines"), "text", "one line"),
        (replace(KICKER, text="nul\0"), "text", "invisible"),
        (replace(KICKER, of="sartorius"), "of", "no muscle called 'sartorius'"),
        (replace(KICKER, kind="bone"), "of", "no bone"),
        (replace(KICKER, kind="motion", of="hip"), "of", "no motion"),
        (replace(KICKER, style="standard"), "style", "'standard'"),
        (replace(KICKER, text="Rec Fem"), "text", "already"),
        (replace(KICKER, text="vastus medialis"), "text", "is a name of 'vastus medialis'"),
        (replace(KICKER, text="quads"), "style", "'quadriceps femoris' too"),
        (replace(KICKER, note="\0"), "note", "control characters"),
        (replace(KICKER, gloss="g" * 2001), "gloss", "2001"),
    ],
)
def test_a_term_that_cannot_be_taken_is_refused_in_a_sentence(
    folder: Path, given: TermGiven, field: str, said: str
) -> None:
    before = VocabularyState.objects.get().own_stamp
    with pytest.raises(OwnFault) as error:
        add_own_term(given)
    assert said in error.value.faults[field]
    assert error.value.faults[field].endswith(".")
    assert not OwnTerm.objects.exists()
    assert VocabularyState.objects.get().own_stamp == before


def test_a_text_that_is_said_of_two_is_taken_as_slang_and_reported(folder: Path) -> None:
    add_own_term(replace(KICKER, text="quads", style="slang"))
    assert {t.of for t in current_vocabulary().ambiguous("quads")} == {"quadriceps femoris", "rectus femoris"}


def test_an_own_entry_counts_with_terms_that_point_to_it(folder: Path) -> None:
    entry = add_own_entry(SARTORIUS, added_by="The physiotherapist")
    add_own_term(TermGiven("tailor's muscle", "muscle", "sartorius"))
    vocabulary = current_vocabulary()
    assert ("muscle", "sartorius") in vocabulary.own
    assert vocabulary.muscles["sartorius"].gloss == SARTORIUS.gloss
    assert vocabulary.actions_of("sartorius") == ()
    assert [t.of for t in vocabulary.meanings("tailor’s muscle")] == ["sartorius"]

    remove_own_entry(entry.pk)
    assert [shown.lost for shown in own_terms()] == [True]
    assert current_vocabulary().meanings("sartorius") == ()


def test_ours_takes_the_place_of_an_own_entry_which_stays(folder: Path) -> None:
    entry = add_own_entry(SARTORIUS)
    files = small_files()
    files["muscles.csv"].append(
        ["sartorius", *[""] * 3, "ours", "", "", "femoral nerve", "L2; L3", "", "", "", "book"]
    )
    vocabulary_load(write_folder(folder, files))
    assert [(shown.entry, shown.state) for shown in own_entries()] == [(entry, "superseded")]
    assert current_vocabulary().muscles["sartorius"].gloss == "ours"
    vocabulary_load(write_folder(folder, small_files()))
    assert [shown.state for shown in own_entries()] == ["counts"]


def test_an_own_motion_needs_its_joint_and_has_the_axis_of_its_plane(folder: Path) -> None:
    add_own_entry(EntryGiven("motion", "hitch", "lifting the hip", joint="hip", plane="frontal"))
    assert current_vocabulary().motions["hip: hitch"].axis == "anteroposterior"
    assert [t.of for t in current_vocabulary().meanings("hip hitch")] == ["hip: hitch"]
    files = {
        name: rows for name, rows in small_files().items() if name in ("sources_small.csv", "planes.csv")
    }
    vocabulary_load(write_folder(folder, files))
    assert [shown.state for shown in own_entries()] == ["lost"]


@pytest.mark.parametrize(
    ("given", "field", "said"),
    [
        (EntryGiven("range", "x", "y"), "kind", "'range'"),
        (replace(SARTORIUS, name=""), "name", "empty"),
        (replace(SARTORIUS, name="a: b"), "name", "colons"),
        (replace(SARTORIUS, gloss=" "), "gloss", "plain words"),
        (replace(SARTORIUS, name="Rectus femoris"), "name", "already"),
        (replace(SARTORIUS, name="quads"), "name", "already"),
        (EntryGiven("motion", "hitch", "g"), "joint", "no joint called ''"),
        (EntryGiven("motion", "hitch", "g", joint="hip", plane="median"), "plane", "sagittal"),
        (EntryGiven("motion", "flexion", "g", joint="hip"), "name", "already"),
        (EntryGiven("structure", "spleen", "g"), "side", "left"),
    ],
)
def test_an_entry_that_cannot_be_taken_is_refused_in_a_sentence(
    folder: Path, given: EntryGiven, field: str, said: str
) -> None:
    with pytest.raises(OwnFault) as error:
        add_own_entry(given)
    assert said in error.value.faults[field]
    assert not OwnEntry.objects.exists()


@pytest.mark.parametrize("kind", ["muscle", "joint", "structure", "nerve", "segment", "concept"])
def test_every_kind_of_entry_can_be_added_once(folder: Path, kind: str) -> None:
    given = EntryGiven(kind, "something new", "what it is", side="both")
    add_own_entry(given)
    assert current_vocabulary().entry(kind, "something new") is not None
    with pytest.raises(OwnFault):
        add_own_entry(given)


@pytest.mark.django_db(transaction=True)
def test_two_who_add_the_same_at_once_add_it_once() -> None:
    start = threading.Barrier(2)
    ends: list[str] = []

    def add() -> None:
        try:
            start.wait()
            add_own_term(KICKER)
            ends.append("added")
        except OwnFault as fault:
            ends.append(str(fault))
        finally:
            connection.close()

    both = [threading.Thread(target=add) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert sorted(ends) == [
        "'kicker' stands for 'rectus femoris' already: nothing needs to be added.",
        "added",
    ]
    assert OwnTerm.objects.count() == 1


@pytest.mark.parametrize("text", ["the", "is not", "Left", "with the", "a", "1", "12", "…", "-"])
def test_words_that_every_sentence_needs_are_no_names(text: str) -> None:
    """One such name would hide what sentences say from everything that reads them."""
    with pytest.raises(OwnFault) as fault:
        add_own_term(TermGiven(text, "muscle", "biceps brachii"))
    assert set(fault.value.faults) == {"text"}
    with pytest.raises(OwnFault) as fault:
        add_own_entry(EntryGiven("concept", text, "said all the time"))
    assert set(fault.value.faults) == {"name"}


def test_no_term_of_ours_is_made_of_small_words_alone() -> None:
    """Whatever the vocabulary itself says could have been added by a site."""
    vocabulary = packaged_vocabulary()
    terms = [TermGiven(term.text, "muscle", "biceps brachii", "slang") for term in vocabulary.terms]
    faults = [term_faults(given, vocabulary).get("text", "") for given in terms]
    assert not [fault for fault in faults if "Every sentence" in fault or "two letters" in fault]


def test_a_changed_entry_keeps_its_place_and_its_terms_follow(folder: Path) -> None:
    entry = add_own_entry(SARTORIUS, added_by="The physiotherapist")
    add_own_term(TermGiven("strap", "muscle", "sartorius"))
    changed = change_own_entry(entry.pk, replace(SARTORIUS, name="long strap"))
    stored = OwnEntry.objects.get()
    assert (stored.pk, stored.added_by, stored.added_at) == (entry.pk, entry.added_by, entry.added_at)
    assert changed.key == "long strap"
    assert [(shown.term.of, shown.lost) for shown in own_terms()] == [("long strap", False)]


def test_a_superseded_entry_takes_no_terms_of_ours_along(folder: Path) -> None:
    entry = add_own_entry(SARTORIUS)
    files = small_files()
    files["muscles.csv"].append(["sartorius", *[""] * 11, "book"])
    vocabulary_load(write_folder(folder.parent / "newer", files))
    add_own_term(TermGiven("strap", "muscle", "sartorius"))
    change_own_entry(entry.pk, replace(SARTORIUS, name="long strap"))
    assert [(shown.term.of, shown.lost) for shown in own_terms()] == [("sartorius", False)]


def test_an_entry_that_is_gone_is_not_changed_back_to_life(folder: Path) -> None:
    entry = add_own_entry(SARTORIUS)
    remove_own_entry(entry.pk)
    with pytest.raises(OwnEntry.DoesNotExist):
        change_own_entry(entry.pk, SARTORIUS)
    assert not OwnEntry.objects.exists()


def test_what_did_not_count_may_be_restored_as_it_was(folder: Path) -> None:
    waiting = TermGiven("strap", "muscle", "sartorius")
    with pytest.raises(OwnFault):
        restore_own_term(waiting)
    restore_own_term(waiting, waits=True)
    assert [shown.lost for shown in own_terms()] == [True]
    with pytest.raises(OwnFault):
        restore_own_term(waiting, waits=True)
    superseded = EntryGiven("joint", "hip", "ours, from before")
    with pytest.raises(OwnFault):
        restore_own_entry(superseded)
    restore_own_entry(superseded, idle=True)
    with pytest.raises(OwnFault):
        restore_own_entry(superseded, idle=True)
    assert [shown.state for shown in own_entries()] == ["superseded"]
