"""How long words take to say: from text to exact seconds, for one voice.

Two rates are kept apart. The *speaking rate* (words per minute) counts pauses, the *articulation
rate* (syllables per second) does not. A voice holds an articulation rate and the lengths of its
pauses; made from a speaking rate, its articulation is derived so that running text with average
punctuation comes out at exactly that rate. Pauses are therefore never counted twice.

Sources of the figures stand in ``data/voices.csv`` and ``data/limits.csv``. No published error
figure for estimates from text was found; the likely errors stated here were measured on a
synthetic voice and are for ranking only until a voice is calibrated on its own recordings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache, lru_cache
from math import ceil, floor
from typing import Any, Literal

from breakdowns.footage.timebase import parse_rational, rational_text
from breakdowns.scripts.spoken_text import SpokenText, measure, read_aloud
from breakdowns.scripts.tables import limit, rows

__all__ = [
    "Fit",
    "SpeechError",
    "SpeechEstimate",
    "Tolerance",
    "VoiceProfile",
    "calibrate",
    "default_tolerance",
    "default_voice",
    "estimate",
    "fit",
    "voices",
    "words_for_seconds",
]


class SpeechError(ValueError):
    """A voice or a sample that cannot be."""


def _thousandth(seconds: Fraction) -> Fraction:
    return Fraction(round(seconds * 1000), 1000)


def _pauses_per_word(comma: Fraction, sentence: Fraction, paragraph: Fraction) -> Fraction:
    """Seconds of pauses that one word of running text carries on average."""
    paragraphs = limit("paragraphs_per_word")
    inner_sentences = limit("sentences_per_word") - paragraphs
    return limit("commas_per_word") * comma + inner_sentences * sentence + paragraphs * paragraph


@dataclass(frozen=True)
class VoiceProfile:
    """One voice. Raises SpeechError for a rate outside the limits or a negative pause.

    ``syllables_per_second`` is the articulation rate; pauses in seconds; ``dysfluency`` is the share
    of extra syllables for slips and repeats (0 for a script read word for word); ``samples`` counts
    the recordings it was calibrated on.
    """

    syllables_per_second: Fraction
    comma_seconds: Fraction
    sentence_seconds: Fraction
    paragraph_seconds: Fraction
    dysfluency: Fraction = Fraction(0)
    name: str = ""
    samples: int = 0

    def __post_init__(self) -> None:
        for field in (
            "syllables_per_second",
            "comma_seconds",
            "sentence_seconds",
            "paragraph_seconds",
            "dysfluency",
        ):
            object.__setattr__(self, field, Fraction(getattr(self, field)))
        low, high = limit("slowest_articulation"), limit("fastest_articulation")
        if not low <= self.syllables_per_second <= high:
            raise SpeechError(
                f"A voice says {float(low):g} to {float(high):g} syllables per second between pauses, "
                f"not {float(self.syllables_per_second):.3g}: give another rate or shorter pauses."
            )
        if min(self.comma_seconds, self.sentence_seconds, self.paragraph_seconds, self.dysfluency) < 0:
            raise SpeechError("A pause or an allowance can't be below zero: write 0 to leave it out.")
        numbers = (
            self.syllables_per_second,
            self.comma_seconds,
            self.sentence_seconds,
            self.paragraph_seconds,
        )
        object.__setattr__(self, "_hash", hash((*numbers, self.dysfluency, self.name)))

    def __hash__(self) -> int:
        """Worked out once: a voice is looked up for every beat, and exact numbers hash slowly."""
        return self._hash  # type: ignore[attr-defined,no-any-return]

    @classmethod
    def from_speaking_rate(
        cls,
        words_per_minute: Fraction | int,
        *,
        comma_seconds: Fraction,
        sentence_seconds: Fraction,
        paragraph_seconds: Fraction,
        dysfluency: Fraction = Fraction(0),
        name: str = "",
    ) -> VoiceProfile:
        """The voice whose running text, pauses included, comes out at ``words_per_minute``."""
        low, high = limit("slowest_wpm"), limit("fastest_wpm")
        if not low <= words_per_minute <= high:
            raise SpeechError(f"Give a speaking rate between {low} and {high} words per minute.")
        pauses = _pauses_per_word(comma_seconds, sentence_seconds, paragraph_seconds)
        speaking = Fraction(60) / words_per_minute - pauses
        if speaking <= 0:
            raise SpeechError(f"At {words_per_minute} words per minute these pauses leave no time to speak.")
        rate = limit("syllables_per_word") * (1 + dysfluency) / speaking
        return cls(rate, comma_seconds, sentence_seconds, paragraph_seconds, dysfluency, name)

    @property
    def seconds_per_syllable(self) -> Fraction:
        """Including the allowance for slips, without pauses."""
        return (1 + self.dysfluency) / self.syllables_per_second

    @property
    def words_per_minute(self) -> Fraction:
        """Speaking rate in running text with average words and punctuation."""
        pauses = _pauses_per_word(self.comma_seconds, self.sentence_seconds, self.paragraph_seconds)
        return 60 / (limit("syllables_per_word") * self.seconds_per_syllable + pauses)

    def as_json(self) -> dict[str, Any]:
        """Exact numbers as texts, for storing."""
        numbers = {
            "syllables_per_second": self.syllables_per_second,
            "comma_seconds": self.comma_seconds,
            "sentence_seconds": self.sentence_seconds,
            "paragraph_seconds": self.paragraph_seconds,
            "dysfluency": self.dysfluency,
        }
        return {key: rational_text(value) for key, value in numbers.items()} | {
            "name": self.name,
            "samples": self.samples,
        }

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> VoiceProfile:
        """What ``as_json`` wrote. Raises SpeechError (or TimeError for a number that is none)."""
        try:
            numbers = {
                key: parse_rational(stored[key])
                for key in ("syllables_per_second", "comma_seconds", "sentence_seconds", "paragraph_seconds")
            }
        except KeyError as missing:
            raise SpeechError(f"The stored voice has no {missing}: calibrate it again.") from None
        return cls(
            **numbers,
            dysfluency=parse_rational(stored.get("dysfluency", "0")),
            name=str(stored.get("name", "")),
            samples=int(stored.get("samples", 0)),
        )


@cache
def voices() -> dict[str, VoiceProfile]:
    """The voices that come with the desk, by key. Sources stand in ``voices.csv``."""
    return {
        row["key"]: VoiceProfile.from_speaking_rate(
            parse_rational(row["words_per_minute"]),
            comma_seconds=parse_rational(row["comma_seconds"]),
            sentence_seconds=parse_rational(row["sentence_seconds"]),
            paragraph_seconds=parse_rational(row["paragraph_seconds"]),
            dysfluency=parse_rational(row["dysfluency"]),
            name=row["name"],
        )
        for row in rows("voices")
    }


def default_voice() -> VoiceProfile:
    """Narration at 150 words per minute."""
    return voices()["narration"]


@dataclass(frozen=True, slots=True)
class SpeechEstimate:
    """How long a text takes to say.

    ``seconds`` (a Fraction in whole thousandths) holds every pause, also ``closing_pause``, the
    breath after the last sentence, which a recording of the text does not have. ``words`` and
    ``syllables`` are as spoken ("35°" is three words). The errors are shares of the time:
    ``likely_error`` for the usual miss, ``largest_error`` for what a single sentence may miss.
    """

    seconds: Fraction
    words: int
    syllables: int
    sentences: int
    pause_seconds: Fraction
    closing_pause: Fraction
    likely_error: Fraction
    largest_error: Fraction

    @property
    def recorded_seconds(self) -> Fraction:
        """Without the closing breath: what a recording, cut close, should last."""
        return self.seconds - self.closing_pause


@dataclass(frozen=True, slots=True)
class _Count:
    words: int
    syllables: int
    commas: int
    inner_sentences: int
    inner_paragraphs: int
    sentences: int


def _count(text: SpokenText) -> _Count:
    measures = [measure(sentence.spoken) for sentence in text.sentences]
    paragraphs = sum(1 for sentence in text.sentences[:-1] if sentence.closes_paragraph)
    return _Count(
        words=sum(one.words for one in measures),
        syllables=sum(one.syllables for one in measures),
        commas=sum(one.commas for one in measures),
        inner_sentences=max(0, len(measures) - 1 - paragraphs),
        inner_paragraphs=paragraphs,
        sentences=len(measures),
    )


def _inner_pauses(count: _Count, profile: VoiceProfile) -> Fraction:
    return (
        count.commas * profile.comma_seconds
        + count.inner_sentences * profile.sentence_seconds
        + count.inner_paragraphs * profile.paragraph_seconds
    )


@lru_cache(maxsize=4096)
def estimate(text: str, profile: VoiceProfile) -> SpeechEstimate:
    """Seconds that ``text`` takes in this voice; 0 where nothing is spoken and no pause is asked for."""
    spoken = read_aloud(text)
    count = _count(spoken)
    closing = profile.sentence_seconds if count.sentences else Fraction(0)
    pauses = _inner_pauses(count, profile) + closing + spoken.directed_seconds
    largest = limit("single_sentence_error") if count.sentences == 1 else limit("typical_error")
    return SpeechEstimate(
        seconds=_thousandth(count.syllables * profile.seconds_per_syllable + pauses),
        words=count.words,
        syllables=count.syllables,
        sentences=count.sentences,
        pause_seconds=_thousandth(pauses),
        closing_pause=_thousandth(closing),
        likely_error=limit("typical_error"),
        largest_error=largest,
    )


def words_for_seconds(
    seconds: Fraction, profile: VoiceProfile, text: str = "", *, to: Literal["cut", "add"] = "cut"
) -> int:
    """About how many words fill ``seconds`` (> 0), at least 1: rounded up to cut, down to add.

    With ``text`` the words are taken to be as long as that text's own. 2.6 s at 150 wpm: cut 7, add 6.
    """
    own = estimate(text, profile) if text else None
    if own and own.words:
        per_word = (own.seconds - read_aloud(text).directed_seconds) / own.words
    else:
        per_word = 60 / profile.words_per_minute
    count = abs(seconds) / per_word
    return max(1, ceil(count) if to == "cut" else floor(count))


# --- does it fit -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far words and picture may differ unsaid: the larger of seconds and share, each way."""

    over_seconds: Fraction
    over_share: Fraction
    under_seconds: Fraction
    under_share: Fraction


@cache
def default_tolerance() -> Tolerance:
    """The tolerance of ``limits.csv``."""
    return Tolerance(
        *(limit(f"fit_{key}") for key in ("over_seconds", "over_share", "under_seconds", "under_share"))
    )


@dataclass(frozen=True, slots=True)
class Fit:
    """``over``: the words are ``by`` seconds longer than the picture; ``under``: shorter by that much."""

    state: Literal["fits", "over", "under"]
    by: Fraction


def fit(words_seconds: Fraction, picture_seconds: Fraction, tolerance: Tolerance | None = None) -> Fit:
    """Whether words fit their picture. ``by`` is the exact difference, never negative."""
    allowed = tolerance or default_tolerance()
    more = words_seconds - picture_seconds
    if more > max(allowed.over_seconds, allowed.over_share * words_seconds):
        return Fit("over", more)
    if -more > max(allowed.under_seconds, allowed.under_share * picture_seconds):
        return Fit("under", -more)
    return Fit("fits", abs(more))


# --- a speaker's own rate ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Sample:
    syllables: int
    pauses: Fraction  # seconds of inner pauses in the starting voice
    seconds: Fraction  # as recorded, directed pauses taken out


def calibrate(samples: Iterable[tuple[str, Fraction]], start: VoiceProfile | None = None) -> VoiceProfile:
    """The voice that fits recordings of known texts best, by weighted least squares.

    ``samples`` are (text, seconds of its recording cut close). Seconds = syllables · a + pauses · k,
    where the pauses are those of the ``start`` voice; every sample weighs 1/seconds, since the miss
    grows with the length. With few samples, or where a and k cannot be told apart or leave their
    limits, k stays 1. Recordings that miss the fit by far are left out once. The result has no
    allowance for slips: the recordings hold them already. Raises SpeechError when nothing is usable.
    """
    base = start or default_voice()
    usable = [sample for text, seconds in samples if (sample := _sample(text, Fraction(seconds), base))]
    if not usable:
        raise SpeechError(
            f"No recording is usable: give at least one of {limit('calibration_least_syllables')} syllables or more "
            "whose words and length belong together."
        )
    usable = _without_outliers(usable)
    per_syllable, pause_scale = _solve(usable)
    return replace(
        base,
        syllables_per_second=_bounded(1 / per_syllable, "slowest_articulation", "fastest_articulation"),
        comma_seconds=_thousandth(base.comma_seconds * pause_scale),
        sentence_seconds=_thousandth(base.sentence_seconds * pause_scale),
        paragraph_seconds=_thousandth(base.paragraph_seconds * pause_scale),
        dysfluency=Fraction(0),
        samples=len(usable),
    )


def _sample(text: str, seconds: Fraction, base: VoiceProfile) -> _Sample | None:
    """None for a recording that is too short or whose length can't belong to its words."""
    if seconds <= 0:
        raise SpeechError(f"A recording can't last {float(seconds):g} s: take it out of the samples.")
    spoken = read_aloud(text)
    count = _count(spoken)
    left = seconds - spoken.directed_seconds
    if count.syllables < limit("calibration_least_syllables") or left <= 0:
        return None
    if not limit("slowest_articulation") / 2 <= count.syllables / left <= limit("fastest_articulation"):
        return None
    return _Sample(count.syllables, _inner_pauses(count, base), left)


def _bounded(value: Fraction, low: str, high: str) -> Fraction:
    return _thousandth(min(max(value, limit(low)), limit(high)))


def _solve(samples: Sequence[_Sample]) -> tuple[Fraction, Fraction]:
    """(seconds per syllable, scale of the pauses), both > 0; exact."""
    ss = sum((s.syllables**2 / s.seconds for s in samples), Fraction(0))
    sp = sum((s.syllables * s.pauses / s.seconds for s in samples), Fraction(0))
    pp = sum((s.pauses**2 / s.seconds for s in samples), Fraction(0))
    st, pt = Fraction(sum(s.syllables for s in samples)), sum((s.pauses for s in samples), Fraction(0))
    determinant = ss * pp - sp * sp
    told_apart = determinant * 100 > ss * pp  # correlation of the two below 0.995
    if len(samples) >= limit("calibration_samples_for_pauses") and told_apart:
        per_syllable, scale = (st * pp - pt * sp) / determinant, (ss * pt - sp * st) / determinant
        if _possible(per_syllable) and limit("least_pause_scale") <= scale <= limit("most_pause_scale"):
            return per_syllable, scale
    per_syllable = (st - sp) / ss
    if _possible(per_syllable):
        return per_syllable, Fraction(1)
    return st / ss, limit("least_pause_scale")  # hardly any pauses: all the time goes to the syllables


def _possible(per_syllable: Fraction) -> bool:
    return per_syllable > 0 and limit("slowest_articulation") <= 1 / per_syllable <= limit(
        "fastest_articulation"
    )


def _without_outliers(samples: list[_Sample]) -> list[_Sample]:
    if len(samples) <= limit("calibration_samples_for_pauses"):
        return samples
    per_syllable, scale = _solve(samples)
    misses = [abs(s.seconds / (s.syllables * per_syllable + s.pauses * scale) - 1) for s in samples]
    median = sorted(misses)[len(misses) // 2]
    bound = max(median * limit("calibration_outlier"), limit("typical_error"))
    return [sample for sample, miss in zip(samples, misses, strict=True) if miss <= bound]
