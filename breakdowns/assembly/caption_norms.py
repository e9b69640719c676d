"""The caption norms, break rules and word classes of the data files.

Every row of those files names its source. A profile is a full set of norms: ``house`` (the default),
``broadcast`` and ``learning``.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from fractions import Fraction
from functools import cache

from breakdowns.assembly.tables import rows
from breakdowns.footage.timebase import parse_rational

__all__ = [
    "DEFAULT_PROFILE",
    "CaptionError",
    "CaptionNorms",
    "break_costs",
    "caption_norms",
    "caption_profiles",
    "word_classes",
]

DEFAULT_PROFILE = "house"


class CaptionError(ValueError):
    """A profile or a timing that captions cannot be made from."""


@dataclass(frozen=True)
class CaptionNorms:
    """Limits of one profile; seconds and rates exact. ``linger_seconds``: how long a cue may stay
    after its last word; ``drift_seconds``: how far a cue may start from its first word so that the one
    before it can be read; a gap between cues is none or at least both gap norms."""

    profile: str
    line_characters: int
    lines: int
    words_per_minute: Fraction
    characters_per_second: Fraction
    shortest_seconds: Fraction
    longest_seconds: Fraction
    gap_frames: int
    gap_seconds: Fraction
    linger_seconds: Fraction
    drift_seconds: Fraction

    def least_gap(self, rate: Fraction) -> int:
        """The shortest gap that is one, in whole frames at ``rate``."""
        return max(self.gap_frames, -int(-self.gap_seconds * rate // 1))

    def reading_seconds(self, characters: int, words: int) -> Fraction:
        """How long a cue of this size has to stay to keep both reading norms and the shortest time."""
        return max(
            self.shortest_seconds,
            characters / self.characters_per_second,
            words * 60 / self.words_per_minute,
        )


def caption_profiles() -> tuple[str, ...]:
    """The names of the profiles."""
    return tuple(dict.fromkeys(row["profile"] for row in rows("caption_norms")))


@cache
def caption_norms(profile: str = DEFAULT_PROFILE) -> CaptionNorms:
    """The norms of a profile. Raises CaptionError for a name that is not in the data."""
    values = {row["norm"]: row["value"] for row in rows("caption_norms") if row["profile"] == profile}
    if not values:
        raise CaptionError(
            f"There is no caption profile {profile!r}: choose one of {', '.join(caption_profiles())}."
        )
    whole = {field.name for field in fields(CaptionNorms) if field.type == "int"}
    exact = {name: parse_rational(value) for name, value in values.items()}
    return CaptionNorms(profile, **{n: int(v) if n in whole else v for n, v in exact.items()})  # type: ignore[arg-type]


@cache
def break_costs() -> dict[str, int]:
    """Cost of every way to break, by rule."""
    return {row["rule"]: int(row["cost"]) for row in rows("caption_breaks")}


def _base(language: str) -> str:
    return language.split("-")[0].lower()


@cache
def word_classes(language: str) -> dict[str, frozenset[str]]:
    """The words of each class in a language ("en-GB" reads "en"); empty classes where it has none."""
    table = rows("caption_words")
    return {
        name: frozenset(
            row["word"] for row in table if (row["class"], row["language"]) == (name, _base(language))
        )
        for name in {row["class"] for row in table}
    }
