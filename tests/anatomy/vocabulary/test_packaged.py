"""The data files that come with the project: free of faults, every fact cited, enough of it."""

from __future__ import annotations

import pytest

from anatomy.vocabulary.mirroring import rows_of, vocabulary_of
from anatomy.vocabulary.packaged import packaged_folder, packaged_vocabulary, vocabulary_stamp
from anatomy.vocabulary.reading import survey
from anatomy.vocabulary.tables import TABLES


def test_the_packaged_files_have_no_fault() -> None:
    assert [str(fault) for fault in survey(packaged_folder())[1]] == []


def test_every_fact_is_cited() -> None:
    vocabulary = packaged_vocabulary()
    for name in set(TABLES) - {"sources"}:
        for record in vocabulary.tables()[name]:
            citations = vocabulary.cite(record.sources)
            assert citations, record
            assert all(len(citation) > 5 for citation in citations), record


def test_there_is_enough_to_talk_about_sport() -> None:
    vocabulary = packaged_vocabulary()
    assert len(vocabulary.muscles) >= 140
    assert {action.muscle for action in vocabulary.actions} == set(vocabulary.muscles)
    assert len(vocabulary.tables()["terms"]) > len(vocabulary.muscles) * 3


# Gray H, Anatomy of the Human Body, 20th US edition (1918), chapters on muscles and nerves, from memory.
@pytest.mark.parametrize(
    ("muscle", "nerve", "roots"),
    [
        ("gluteus medius", "superior gluteal nerve", {"L5", "S1"}),
        ("serratus anterior", "long thoracic nerve", {"C5", "C6", "C7"}),
        ("biceps brachii", "musculocutaneous nerve", {"C5", "C6"}),
        ("tibialis anterior", "deep fibular nerve", {"L4", "L5"}),
        ("supraspinatus", "suprascapular nerve", {"C5"}),
    ],
)
def test_nerves_agree_with_the_old_standard_work(muscle: str, nerve: str, roots: set[str]) -> None:
    entry = packaged_vocabulary().muscles[muscle]
    assert nerve in entry.nerve
    assert roots <= {*entry.roots, *entry.also_roots}


# OpenStax, Anatomy and Physiology 2e (2022), section 9.5: plane of each motion in the anatomical position.
@pytest.mark.parametrize(
    ("motion", "plane", "axis"),
    [
        ("hip: flexion", "sagittal", "mediolateral"),
        ("hip: abduction", "frontal", "anteroposterior"),
        ("hip: internal rotation", "transverse", "longitudinal"),
    ],
)
def test_planes_agree_with_an_open_textbook(motion: str, plane: str, axis: str) -> None:
    entry = packaged_vocabulary().motions[motion]
    assert (entry.plane, entry.axis) == (plane, axis)


def test_the_stamp_is_that_of_the_files() -> None:
    assert vocabulary_stamp() == vocabulary_stamp(packaged_folder())
    assert len(vocabulary_stamp()) == 64


def test_rows_hold_the_whole_of_it() -> None:
    assert vocabulary_of(rows_of(packaged_vocabulary())).tables() == packaged_vocabulary().tables()
