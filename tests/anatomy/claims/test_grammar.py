"""The grammar against sentences of our own: ways to tie a muscle to a motion, and plain words for motions.

Which muscle makes which motion is what OpenStax *Anatomy & Physiology* 2e ch. 11 and any course table print.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator

import pytest

from anatomy.claims.check import Claims
from anatomy.vocabulary.packaged import packaged_vocabulary

from .measuring import DATA

SLIPS = [
    ("the biceps", "biceps", "extends the elbow", "elbow extension", "elbow extensor"),
    (
        "infraspinatus",
        "infraspinatus",
        "turns the arm inwards",
        "internal rotation of the shoulder",
        "internal rotator",
    ),
    ("tibialis anterior", "tib ant", "pushes the foot down", "plantarflexion", "ankle plantarflexor"),
]


@pytest.fixture(scope="module")
def checker() -> Claims:
    return Claims(packaged_vocabulary())


def rows(name: str) -> Iterator[dict[str, str]]:
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        yield from csv.DictReader(file)


def verdicts(checker: Claims, text: str) -> set[str]:
    return {claim.verdict for claim in checker.check(text) if claim.kind == "muscle_action"}


def filled(phrasing: str, slip: tuple[str, str, str, str, str]) -> str:
    muscle, bare, verb, noun, agent = slip
    first, _, rest = verb.partition(" ")
    base = first[:-2] if first == "pushes" else first[:-1]
    said = phrasing.format(
        M=muscle,
        M0=bare,
        Vs=verb,
        Vb=f"{base} {rest}",
        G=f"{base}ing {rest}",
        Ved=f"{base}ed {rest}",
        N=noun,
        A=agent,
    )
    return said[0].upper() + said[1:]


def test_every_way_of_saying_who_does_what_is_read(checker: Claims) -> None:
    silent = [
        text
        for row in rows("phrasings")
        for slip in SLIPS
        if "wrong" not in verdicts(checker, text := filled(row["phrasing"], slip))
    ]
    assert silent == []


def test_plain_words_for_a_motion_fit_the_muscle_that_makes_it_and_no_other(checker: Claims) -> None:
    misread: list[str] = []
    for row in rows("motions_said"):
        right = verdicts(checker, f"{row['makes'].capitalize()} {row['said']}.")
        wrong = verdicts(checker, f"{row['does_not'].capitalize()} {row['said']}.")
        if "right" not in right or "wrong" in right or "wrong" not in wrong:
            misread.append(f"{row['makes']} / {row['does_not']}: {row['said']}")
    assert misread == []


def test_whole_sentences_are_judged_as_a_teacher_would(checker: Claims) -> None:
    misjudged: list[str] = []
    for row in rows("house_sentences"):
        found = verdicts(checker, row["text"])
        fits = {
            "wrong": "wrong" in found,
            "right": "right" in found and not found & {"wrong", "depends"},
            "none": not found & {"wrong", "depends"},
        }[row["verdict"]]
        if not fits:
            misjudged.append(f"{row['verdict']}: {row['text']}")
    assert misjudged == []
