"""A breakdown's script as plain values: what the margin reads and the revisions change.

The site builds a ``ScriptView`` from its models; nothing here knows a database. Times are exact:
whole frames of a source at its rate, or Fraction seconds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Literal

from anatomy.motion.facts import Measured
from anatomy.muscles.known import KnownPosture
from anatomy.vocabulary.collection import Vocabulary
from breakdowns.excerpts.policies import Policy
from breakdowns.footage.timebase import frames_nearest
from breakdowns.scripts.speech import VoiceProfile, default_voice, estimate
from breakdowns.scripts.tradeoffs.notes import TradeOff

__all__ = [
    "BeatView",
    "Kind",
    "PlateKind",
    "ScriptView",
    "SecondView",
    "SourceView",
    "Trouble",
    "moving_seconds",
    "words_seconds",
]

Kind = Literal["excerpt", "still", "plate", "camera"]
PlateKind = Literal["title", "text", "caution", "house", "anatomy", "correction", "posture", "contact", ""]


@dataclass(frozen=True, slots=True)
class SourceView:
    """One piece of footage. ``terms`` as in the excerpt plan; ``event_age_hours`` since the event's end."""

    id: str
    title: str
    rate: Fraction
    frame_count: int
    event: str = ""
    event_age_hours: Fraction | None = None
    terms: Literal["own", "licensed", "open", "third_party"] = "third_party"
    attributed: bool = False

    @property
    def duration(self) -> Fraction:
        """Exact seconds."""
        return self.frame_count / self.rate


@dataclass(frozen=True, slots=True)
class SecondView:
    """What stands beside an excerpt or a still: [in_frame, out_frame) of a source, at the beat's own speed.

    With ``offset`` it is a tied view and follows the first one: seconds to add to a time there to get the same instant
    here; the frames are then those of the beat as it was stored.
    """

    source_id: str
    rate: Fraction
    in_frame: int
    out_frame: int
    mirrored: bool = False
    offset: Fraction | None = None

    def same_instants(self, first: int, last: int, rate: Fraction) -> tuple[int, int]:
        """[in, out) here of the instants of frames ``first`` to ``last`` (inclusive) at ``rate`` of the first view."""
        assert self.offset is not None
        start, end = (frames_nearest(frame / rate + self.offset, self.rate).count for frame in (first, last))
        return start, end + 1


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something chosen that can't be shown: what is so, and how to mend it. ``two_views``: on the page of two views."""

    state: Literal["over", "near"]
    says: str
    mend: str
    two_views: bool = False


@dataclass(frozen=True)
class BeatView:
    """One beat: a picture side and a words side.

    Excerpt: [in_frame, out_frame) of ``source_id`` at ``speed``, then the last frame held ``hold``
    seconds. Still: frame ``in_frame`` of ``source_id`` for ``seconds``. Plate and camera: ``seconds``.
    ``take_seconds`` is how long a recording of the words lasts, None without one; ``word_starts`` are the
    seconds of the recording at which each word (what blanks divide) begins, empty where that is not known,
    and ``take_is_file`` tells whether it is a sound file, which plays as a whole. ``marked`` tells
    whether marks are drawn on the picture (``"hold"``: on the hold only), ``troubles`` what of the picture
    can't be shown as it was chosen. ``plate_reading`` is what a
    plate that is made from data gives to read; it is made afresh and never stored. ``postures`` are the measured joint
    angles of the still that is shown, one side or both, as somebody kept them for it. ``measured``: angles, orders and
    speeds by the marks and tracks of the picture. ``contact`` is the contact that the
    beat is about, as the contact map writes one down; ``tradeoffs`` are told of its technique.
    """

    id: str
    kind: Kind
    words: str = ""
    heading: str = ""
    phase: str = ""
    seconds: Fraction = Fraction(0)
    source_id: str = ""
    source_rate: Fraction = Fraction(0)
    in_frame: int = 0
    out_frame: int = 0
    speed: Fraction = Fraction(1)
    hold: Fraction = Fraction(0)
    mirrored: bool = False
    original_sound: bool = False
    marked: Literal["none", "hold", "all"] = "none"
    beside: SecondView | None = None
    purpose: str = ""
    plate: PlateKind = ""
    plate_title: str = ""
    plate_text: str = ""
    plate_entry_kind: str = ""
    plate_entry: str = ""
    plate_rows: tuple[str, ...] = ()
    plate_said: str = ""
    plate_source: str = ""
    plate_reading: str = ""
    take_seconds: Fraction | None = None
    take_is_file: bool = False
    word_starts: tuple[Fraction, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    postures: tuple[KnownPosture, ...] = ()
    measured: Measured = field(default_factory=Measured)
    contact: tuple[str, ...] = ()
    tradeoffs: tuple[TradeOff, ...] = ()

    @property
    def frame_count(self) -> int:
        """Source frames that an excerpt plays; 0 for every other kind."""
        return max(0, self.out_frame - self.in_frame) if self.kind == "excerpt" else 0

    @cached_property
    def moving_seconds(self) -> Fraction:
        """Exact screen seconds of movement; 0 where nothing moves or no footage is chosen yet."""
        if not self.frame_count or self.source_rate <= 0 or self.speed <= 0:
            return Fraction(0)
        return moving_seconds(self.frame_count, self.source_rate, self.speed)

    @cached_property
    def beside_span(self) -> tuple[int, int]:
        """[in, out) of the second view; of a tied one the instants of the first as they are now."""
        beside = self.beside
        if beside is None:
            return 0, 0
        if beside.offset is None or self.source_rate <= 0:
            return beside.in_frame, beside.out_frame
        last = self.out_frame - 1 if self.kind == "excerpt" else self.in_frame
        return beside.same_instants(self.in_frame, max(self.in_frame, last), self.source_rate)

    @cached_property
    def moving_beside(self) -> Fraction:
        """Exact screen seconds for which the view beside an excerpt moves."""
        if self.beside is None or self.kind != "excerpt" or self.speed <= 0 or not self.frame_count:
            return Fraction(0)
        start, end = self.beside_span
        return moving_seconds(end - start, self.beside.rate, self.speed)

    @cached_property
    def picture_seconds(self) -> Fraction:
        """Exact screen seconds of the picture side: of two views the longer one counts."""
        if self.kind != "excerpt":
            return self.seconds
        return max(self.moving_seconds + self.hold, self.moving_beside)

    @property
    def shows_footage(self) -> bool:
        return self.kind in ("excerpt", "still")


@dataclass(frozen=True)
class ScriptView:
    """The whole script. ``rate`` is the piece's own frame rate; ``wished_seconds`` its length wished for.

    ``policy`` names the excerpt policy; ``limits`` is the policy itself, where it is no preset.
    ``cautions`` are lines that the piece must carry. ``vocabulary`` is what words are held against; None: ours.
    """

    title: str
    beats: tuple[BeatView, ...]
    sources: tuple[SourceView, ...] = ()
    rate: Fraction = Fraction(30)
    voice: VoiceProfile = field(default_factory=default_voice)
    policy: str = ""
    limits: Policy | None = None
    wished_seconds: Fraction | None = None
    cautions: tuple[str, ...] = ()
    vocabulary: Vocabulary | None = field(default=None, compare=False, repr=False)

    @cached_property
    def picture_seconds(self) -> Fraction:
        """Exact seconds of all pictures together."""
        return sum((beat.picture_seconds for beat in self.beats), Fraction(0))

    @cached_property
    def positions(self) -> dict[str, int]:
        """Beat id → its place, counted from 0."""
        return {beat.id: place for place, beat in enumerate(self.beats)}

    @cached_property
    def by_id(self) -> dict[str, BeatView]:
        return {beat.id: beat for beat in self.beats}

    def starts(self) -> Iterator[tuple[BeatView, Fraction]]:
        """Each beat with the exact second at which its picture begins."""
        at = Fraction(0)
        for beat in self.beats:
            yield beat, at
            at += beat.picture_seconds


def moving_seconds(frame_count: int, rate: Fraction, speed: Fraction) -> Fraction:
    """Exact screen seconds that ``frame_count`` frames at ``rate`` a second (> 0) take at ``speed`` (> 0)."""
    return frame_count / rate / speed


def words_seconds(words: str, voice: VoiceProfile, take_seconds: Fraction | None = None) -> Fraction:
    """How long words take: as recorded where there is a recording, else as estimated in this voice."""
    return take_seconds if take_seconds is not None else estimate(words, voice).seconds
