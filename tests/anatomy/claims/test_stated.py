"""Facts without a table of their own: the rows name sources, are read however they are said, and denial turns them."""

from __future__ import annotations

import pytest

from anatomy.claims.kinds.stated import stated_facts
from anatomy.vocabulary.packaged import packaged_vocabulary

from .stating import claims, mended, verdicts


def test_every_stated_fact_names_a_source_of_the_vocabulary_and_can_be_said_wrongly_or_rightly() -> None:
    known = packaged_vocabulary().sources
    for fact in stated_facts():
        assert fact.why
        assert fact.sources
        assert all(key in known for key in fact.sources), fact.why
        assert {verdict for verdict, _ in fact.said} & {"wrong", "depends"}, fact.why


@pytest.mark.parametrize(
    ("kind", "wrong", "right"),
    [
        # Moore, Clinically Oriented Anatomy (from memory)
        ("side", "The medial malleolus belongs to the fibula.", "The medial malleolus belongs to the tibia."),
        ("side", "Tennis elbow hurts on the inside.", "Tennis elbow hurts on the outside."),
        ("level", "The dens is part of the atlas.", "The dens is part of the axis."),
        # OpenStax, Anatomy and Physiology 2e
        ("side", "The left ventricle pumps into the lungs.", "The left ventricle pumps into the body."),
        ("side", "The left hemisphere moves the left hand.", "The left hemisphere moves the right hand."),
        # Neumann, Kinesiology of the Musculoskeletal System (from memory)
        ("rom", "Thoracic rotation is less than lumbar rotation.", "Lumbar rotation is less than thoracic rotation."),
        ("rom", "Eversion is larger than inversion.", "Eversion is smaller than inversion."),
        # Komi (2000), J Biomech 33
        ("contraction", "Muscles give the most force concentrically.", "Muscles give the most force eccentrically."),
        # common practice, no source
        ("order", "The clean's second pull comes and only then the first pull, so second pull before the first.", "In the clean the first pull comes before the second."),
    ],
)  # fmt: skip
def test_a_fact_is_judged_either_way(kind: str, wrong: str, right: str) -> None:
    assert "wrong" in verdicts(kind, wrong)
    assert verdicts(kind, right) <= {"right"}


def test_denial_turns_a_fact_and_only_in_its_own_clause() -> None:
    assert verdicts("side", "The left ventricle doesn't pump into the lungs.") == {"right"}
    assert verdicts("side", "The heart isn't on the right, it points left.") <= {"right"}


def test_what_stands_between_commas_and_says_nothing_is_read_over() -> None:
    for aside in ("I'm told", "you know", "as I always say", "honestly"):
        assert verdicts("innervation", f"Sartorius, {aside}, is obturator nerve.") == {"wrong"}
    assert verdicts("innervation", "Sartorius, not gracilis, is femoral nerve.") <= {"right"}


@pytest.mark.parametrize(
    ("root", "above", "below"),
    [("C1", "skull", "C1"), ("C6", "C5", "C6"), ("C8", "C7", "T1"), ("T12", "T12", "L1"), ("L4", "L4", "L5")],
)
def test_a_root_leaves_between_its_neighbours(root: str, above: str, below: str) -> None:
    # Moore, Clinically Oriented Anatomy (from memory)
    if above != "skull":
        assert verdicts("level", f"The {root} root leaves between {above} and {below}.") == {"right"}
        assert verdicts("level", f"The {root} root leaves between T4 and T5.") == {"wrong"}


def test_the_replacement_mends_a_roots_way_out() -> None:
    text = "The L4 root leaves between L3 and L4."
    (claim,) = claims("level", text)
    assert mended(claim, text) == "The L4 root leaves between L4 and L5."
