"""The search over the packaged vocabulary: what a question must bring, and what it must not."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from anatomy.lookup.index import KINDS, SearchIndex, index_of, resolve
from anatomy.lookup.words import words_of
from anatomy.vocabulary.entries import Term
from anatomy.vocabulary.packaged import packaged_vocabulary

VOCABULARY = packaged_vocabulary()
INDEX = index_of(VOCABULARY)


def names(question: str, kind: str = "", most: int = 8) -> list[str]:
    return [hit.name for hit in INDEX.search(question, kinds=(kind,) if kind else KINDS)][:most]


# Who moves what: OpenStax, Anatomy and Physiology 2e, sections 11.5 and 11.6 (tables of muscles).
QUESTIONS = [
    ("what turns the arm out", "motion", "glenohumeral: external rotation"),
    ("what turns the arm out", "muscle", "infraspinatus"),
    ("what turns the arm out", "muscle", "teres minor"),
    ("which muscles turn the arm in", "muscle", "subscapularis"),
    ("straighten the elbow", "motion", "elbow: extension"),
    ("straighten the elbow", "muscle", "triceps brachii long head"),
    ("bend the knee", "muscle", "semitendinosus"),
    ("what straightens the knee", "group", "quadriceps femoris"),
    ("turns the foot in", "muscle", "tibialis anterior"),
    ("raising the arm to the side", "motion", "glenohumeral: abduction"),
    ("hip flexion", "muscle", "psoas major"),
    ("external rotation at the shoulder", "motion", "shoulder complex: external rotation"),
]


@pytest.mark.parametrize(("question", "kind", "wanted"), QUESTIONS)
def test_a_question_brings_what_it_asks_for(question, kind, wanted):
    assert wanted in names(question, kind)


# Slang, short forms, slips of the finger, and what dictation makes of a name (usage, no source).
FIRST = [
    ("glute max", "gluteus maximus"),
    ("GLUTEUS  maximus", "gluteus maximus"),
    ("gluteus maximis", "gluteus maximus"),
    ("lats", "latissimus dorsi"),
    ("ham strings", "hamstrings"),
    ("hamstirngs", "hamstrings"),
    ("quads", "quadriceps femoris"),
    ("iliosoas", "iliopsoas"),
    ("serratus", "serratus anterior"),
    ("axillary nerve", "axillary nerve"),
    ("axilary nerv", "axillary nerve"),
    ("eccentric", "eccentric"),
    ("spleen", "spleen"),
    ("kinetic chain", "kinetic chain"),
    ("hip flexion", "hip: flexion"),
    ("hip", "hip"),
    ("infraspin", "infraspinatus"),
]


@pytest.mark.parametrize(("question", "wanted"), FIRST)
def test_a_name_however_it_is_written_comes_first(question, wanted):
    assert names(question)[0] == wanted


def test_muscles_come_through_a_motion_with_the_reason():
    hits = {hit.name: hit for hit in INDEX.search("hip flexion")}
    assert hits["psoas major"].through == "action"
    assert hits["psoas major"].said == "hip flexion"
    primes = {action.muscle for action in VOCABULARY.actions_at("hip", "flexion") if action.role == "prime"}
    assert primes <= set(hits)
    assert all(hits["hip: flexion"].score > hits[muscle].score for muscle in primes)


@pytest.mark.parametrize("question", ["", "   ", "?!", "qqqqq zzzzz"])
def test_what_says_nothing_brings_nothing_or_little(question):
    assert len(INDEX.search(question)) <= 5


def test_a_strange_word_does_not_hide_the_others():
    assert "biceps brachii" in names("qqqqq biceps")


@settings(max_examples=60)
@given(st.sampled_from(sorted(VOCABULARY.muscles)), st.data())
def test_a_muscle_is_found_with_one_slip_in_its_name(name, data):
    letters = [at for at, sign in enumerate(name) if sign.isalpha() and 0 < at < len(name) - 1]
    at = data.draw(st.sampled_from(letters))
    other = data.draw(st.sampled_from("aeiosn"))
    slipped = name[:at] + data.draw(st.sampled_from(["", other, name[at] * 2])) + name[at + 1 :]
    strange = set(words_of(slipped)) - set(words_of(name))
    assume(not any(sure > 0.9 for word in strange for sure in INDEX.book.like(word).values()))  # another word
    assert name in names(slipped, most=12) or name in names(slipped, "muscle", most=12)


@settings(max_examples=60)
@given(st.sampled_from([term for term in VOCABULARY.terms if term.kind in ("muscle", "group", "nerve")]))
def test_every_way_of_saying_an_entry_finds_it(term):
    assert term.of in [hit.name for hit in INDEX.search(term.text)]


@settings(max_examples=40)
@given(st.text(max_size=60))
def test_any_text_is_answered_in_order(question):
    hits = INDEX.search(question)
    scores = [round(hit.score, 3) for hit in hits]
    assert scores == sorted(scores, reverse=True)
    assert len({(hit.kind, hit.name) for hit in hits}) == len(hits)
    assert all(VOCABULARY.has(hit.kind, hit.name) for hit in hits)


def test_own_terms_are_found_like_ours():
    grown = VOCABULARY.with_own([Term("back motor", "muscle", "gluteus maximus", "own", ("own",))])
    assert SearchIndex(grown).search("back motor")[0].name == "gluteus maximus"
    assert not any(hit.said == "back motor" for hit in INDEX.search("back motor"))


def test_a_text_is_resolved_to_exactly_what_it_names():
    assert resolve(VOCABULARY, "Glute Max") == [("muscle", "gluteus maximus")]
    assert resolve(VOCABULARY, "hip: flexion", ("motion",)) == [("motion", "hip: flexion")]
    assert resolve(VOCABULARY, "hip flexion", ("motion",)) == [("motion", "hip: flexion")]
    assert resolve(VOCABULARY, "gluteus maximis") in ([], [("muscle", "gluteus maximus")])
    assert resolve(VOCABULARY, "no such thing") == []
    assert len(resolve(VOCABULARY, "hip")) > 1  # a joint and a segment
