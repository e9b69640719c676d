"""The figures of the claim check on labelled sentences; none may fall.

Labels carry their published source in the column ``why`` (OpenStax A&P 2e, Gray 1918, Moore, Neumann …). The goal is
0.92 of the wrong claims, at most 2 % alarms and 95 % of the spans in place. The practice and development sets were used
to build the grammar; the eighth and the ninth were held out until their figures had been taken (data/README.md). Where
a set stays below the goal the line here is what is reached, so that it can only rise.
"""

from __future__ import annotations

import pytest

from anatomy.claims.check import Claims
from anatomy.vocabulary.packaged import packaged_vocabulary

from .measuring import DATA, measured

SETS = {
    "practice": (0.92, 0.02),
    "development": (0.92, 0.02),
    "development_second": (0.88, 0.04),
    "development_third": (0.95, 0.02),
    "development_fourth": (0.92, 0.02),
    "development_fifth": (0.92, 0.02),
    "development_sixth": (0.92, 0.03),
    "development_seventh": (0.91, 0.02),
    "development_tenth": (0.90, 0.035),
    "development_eighth": (0.93, 0.02),
    "development_ninth": (0.89, 0.02),
    "development_eleventh": (0.90, 0.02),
    "development_twelfth": (0.84, 0.02),
}


@pytest.fixture(scope="module")
def checker() -> Claims:
    return Claims(packaged_vocabulary())


@pytest.mark.parametrize("name", SETS)
def test_slips_are_caught_and_the_rest_left_alone(checker: Claims, name: str) -> None:
    recall, alarms = SETS[name]
    figures = measured([DATA / f"{name}.csv"], checker)
    assert figures.recall >= recall, str(figures)
    assert figures.alarms <= alarms, str(figures)
    assert figures.in_place >= 0.95, str(figures)
