"""The checks of the margin. Adding one is one class and one line here."""

from __future__ import annotations

from breakdowns.scripts.checks.excerpts import ExcerptPolicyCheck
from breakdowns.scripts.checks.house import HouseMessageCheck
from breakdowns.scripts.checks.pictures import EmptyPictureCheck, LongBeatCheck, PlateTimeCheck
from breakdowns.scripts.checks.sides import MirroredSidesCheck
from breakdowns.scripts.checks.timing import PieceLengthCheck, TimingCheck
from breakdowns.scripts.checks.words import EmptyWordsCheck, LongSentenceCheck, TitleCheck
from breakdowns.scripts.margin import Check

__all__ = ["CHECKS"]

CHECKS: tuple[Check, ...] = (
    TitleCheck(),
    PieceLengthCheck(),
    ExcerptPolicyCheck(),
    HouseMessageCheck(),
    EmptyPictureCheck(),
    TimingCheck(),
    MirroredSidesCheck(),
    EmptyWordsCheck(),
    PlateTimeCheck(),
    LongBeatCheck(),
    LongSentenceCheck(),
)
