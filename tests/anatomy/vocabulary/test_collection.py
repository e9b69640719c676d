"""Look-ups by standard name, and a site's own terms on top."""

from __future__ import annotations

from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Joint, Motion, Muscle, Term
from anatomy.vocabulary.mirroring import rows_of, vocabulary_of
from anatomy.vocabulary.naming import fold
from anatomy.vocabulary.reading import read_vocabulary
from tests.anatomy.vocabulary.small_folder import small_files, write_folder


@pytest.fixture
def small(tmp_path: Path) -> Vocabulary:
    return read_vocabulary(write_folder(tmp_path / "v", small_files()))


def test_what_stands_where(small: Vocabulary) -> None:
    assert [(a.joint, a.motion) for a in small.actions_of("rectus femoris")] == [
        ("hip", "flexion"),
        ("knee", "extension"),
    ]
    assert [a.muscle for a in small.actions_at("knee", "extension")] == ["rectus femoris", "vastus medialis"]
    assert small.actions_at("knee", "flexion") == ()
    assert [(r.low, r.high) for r in small.ranges_of("knee", "flexion")] == [(130.0, 150.5)]
    assert [m.name for m in small.motions_of("hip")] == ["extension", "flexion"]
    assert [m.joint for m in small.motions_named("flexion")] == ["hip", "knee"]
    assert small.members("knee extensors") == ("rectus femoris", "vastus medialis")
    assert small.members("vastus medialis") == ("vastus medialis",)
    assert small.members("nobody") == ()
    assert small.groups_of("vastus medialis") == ("knee extensors", "quadriceps femoris")
    assert small.parts_of("lower limb") == ("lower limb", "hip", "knee")
    assert small.cite(["book", "book"]) == ["A textbook (from memory)"]
    with pytest.raises(KeyError):
        small.cite(["atlas"])


def test_every_kind_has_its_entries(small: Vocabulary) -> None:
    assert small.entry("motion", "hip: flexion") is small.motions["hip: flexion"]
    assert small.entry("axis", "mediolateral") is small.planes["sagittal"]
    assert small.entry("chain", "throw") is small.chains[0]
    assert small.entry("muscle", "quads") is None
    assert small.entry("nonsense", "hip") is None
    assert small.has("motion", "flexion")
    assert not small.has("motion", "hip")
    assert not small.has("nonsense", "hip")
    for term in small.terms:
        assert small.has(term.kind, term.of), term


def test_standard_names_are_terms_and_texts_are_found_whatever_their_capitals(small: Vocabulary) -> None:
    assert small.meanings("Rectus FEMORIS")[0].style == "standard"
    assert [(t.kind, t.of) for t in small.meanings("Hip  flexion")] == [("motion", "hip: flexion")]
    assert [t.of for t in small.meanings("QUADS")] == ["quadriceps femoris"]
    assert small.synonyms("group", "quadriceps femoris") == ("quads",)
    assert small.synonyms("motion", "flexion") == ("bending",)
    assert small.meanings("nothing of ours") == ()


def test_nothing_can_be_changed(small: Vocabulary) -> None:
    with pytest.raises(TypeError):
        small.muscles["x"] = small.muscles["rectus femoris"]  # type: ignore[index]
    with pytest.raises(FrozenInstanceError):
        small.actions = ()  # type: ignore[misc]


def test_own_terms_are_added_and_ours_stay(small: Vocabulary) -> None:
    own = [
        Term("the big four", "group", "quadriceps femoris", "slang", ("own",)),
        Term("quads", "group", "quadriceps femoris", "own", ("own",)),
        Term("gone", "muscle", "sartorius", "own", ("own",)),
    ]
    grown = small.with_own(own)
    assert [t.of for t in grown.meanings("the big four")] == ["quadriceps femoris"]
    assert [t.style for t in grown.meanings("quads")] == ["short"]
    assert grown.meanings("gone") == ()
    assert grown.cite(["own"])
    assert small.meanings("the big four") == ()


def test_own_entries_are_added_unless_ours_has_them(small: Vocabulary) -> None:
    toe = Joint("toe", "", "", "", "", "", "", "the big toe", "", ("own",))
    curl = Motion("toe", "curl", "", "sagittal", "mediolateral", "curling", "", ("own",))
    lost = Motion("finger", "curl", "", "", "", "", "", ("own",))
    ours = Muscle("rectus femoris", "", "", "", "another", "", "", "", (), (), "", "", ("own",))
    grown = small.with_own(
        [Term("gripping", "motion", "toe: curl", "own", ("own",))], [curl, lost, toe, ours]
    )
    assert grown.own == {("joint", "toe"), ("motion", "toe: curl")}
    assert grown.muscles["rectus femoris"] == small.muscles["rectus femoris"]
    assert [t.of for t in grown.meanings("gripping")] == ["toe: curl"]
    assert "finger: curl" not in grown.motions


@given(st.text(max_size=40))
def test_folding_twice_is_folding_once_and_capitals_do_not_matter(text: str) -> None:
    once = fold(text)
    assert fold(once) == once
    assert fold(f"  {text.casefold()} ") == once
    assert once == " ".join(once.split())


def test_typists_apostrophes_and_hyphens_are_the_same() -> None:
    assert fold("Golfer’s  elbow") == fold("golfer's elbow")
    assert fold("ilio‑psoas") == fold("ILIO-PSOAS")


def test_the_order_of_the_files_does_not_matter(small: Vocabulary) -> None:
    tables = small.tables()
    turned = Vocabulary.of({name: tuple(reversed(records)) for name, records in tables.items()})
    assert turned.tables() == tables


def test_rows_and_records_say_the_same_both_ways(small: Vocabulary) -> None:
    assert vocabulary_of(rows_of(small)).tables() == small.tables()
