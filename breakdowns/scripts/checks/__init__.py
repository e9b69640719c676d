"""The checks of the margin. Adding one is one class and one line here."""

from __future__ import annotations

from breakdowns.scripts.checks.cautions import CautionsCheck
from breakdowns.scripts.checks.claims import ClaimsCheck
from breakdowns.scripts.checks.excerpts import ExcerptPolicyCheck
from breakdowns.scripts.checks.house import HouseMessageCheck
from breakdowns.scripts.checks.measured import MeasuredCheck
from breakdowns.scripts.checks.pictures import (
    EmptyPictureCheck,
    LongBeatCheck,
    PictureTroubleCheck,
    PlateTimeCheck,
)
from breakdowns.scripts.checks.plain_words import PlainWordsCheck
from breakdowns.scripts.checks.sides import MirroredSidesCheck
from breakdowns.scripts.checks.timing import PieceLengthCheck, TimingCheck
from breakdowns.scripts.checks.words import EmptyWordsCheck, LongSentenceCheck, TitleCheck
from breakdowns.scripts.margin import BeatCheck, Check

__all__ = ["CHECKS", "WORD_CHECKS"]

# What points at words: asked again for one beat while it is being typed.
WORD_CHECKS: tuple[BeatCheck, ...] = (
    ClaimsCheck(),
    MeasuredCheck(),
    MirroredSidesCheck(),
    LongSentenceCheck(),
)

CHECKS: tuple[Check, ...] = (
    TitleCheck(),
    PieceLengthCheck(),
    ExcerptPolicyCheck(),
    CautionsCheck(),
    HouseMessageCheck(),
    EmptyPictureCheck(),
    PictureTroubleCheck(),
    TimingCheck(),
    *WORD_CHECKS,
    EmptyWordsCheck(),
    PlateTimeCheck(),
    LongBeatCheck(),
    PlainWordsCheck(),
)
