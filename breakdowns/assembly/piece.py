"""A breakdown as the assembly sees it, and its exact timeline.

Clocks: a ``PieceSource`` counts frames at its own rate; the piece counts whole output frames at
``Piece.rate``. Each beat's length is rounded to whole output frames on its own, so changing one
beat never changes the frames of another, and the total is the sum of the beats.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

from breakdowns.contacts.plate import ContactPlate
from breakdowns.footage.timebase import Span, TimeError, frames_nearest
from breakdowns.postures.plate import PosturePlate
from breakdowns.scripts.plate_content import AnatomyTable, Correction
from breakdowns.scripts.script import moving_seconds
from breakdowns.scripts.tradeoffs.notes import TradeOff

from .curve_layer import CurveLayer
from .marks_layer import MarksLayer
from .tables import exact

_TARGET_LUFS = exact("loudness", "target")
Fill = Literal["fit", "fill"]
PlateKind = Literal["title", "text", "caution", "house", "anatomy", "correction", "posture", "contact"]


@dataclass(frozen=True)
class PieceSource:
    """One piece of footage. ``path`` is the exact constant-rate file to cut from.

    ``width`` x ``height`` are display pixels before the pixel aspect is applied and after any
    rotation; ``digest`` identifies the content (hex SHA-256). ``own_terms`` is true for own,
    licensed or openly licensed footage, which the ledger lists but does not count. ``start`` is the
    time in the file, seconds, at which frame 0 is due (its ``Probe.grid_start``); None: the file is asked.
    """

    id: str
    title: str
    path: str
    digest: str
    rate: Fraction
    frame_count: int
    width: int
    height: int
    pixel_aspect: Fraction = Fraction(1)
    has_audio: bool = False
    event: str = ""
    view: str = ""
    own_terms: bool = False
    rights_holder: str = ""
    attribution: str = ""
    start: Fraction | None = None

    @property
    def duration(self) -> Fraction:
        """Exact seconds."""
        return self.frame_count / self.rate


@dataclass(frozen=True)
class ExcerptPicture:
    """[in_frame, out_frame) of a source at ``speed`` (> 0), then the last frame held ``hold`` seconds.

    ``overlay`` is the path of a transparent PNG in the output's size, laid over the hold; ``marks``
    are drawn over that. ``focus`` replaces the piece's own for this picture. ``beside`` is a second view, without
    hold, that begins at the same time: the longer of both counts, the shorter one stays as a still; ``halves`` says
    how each is framed in its half. ``curve`` runs along with the source time.
    """

    source: PieceSource
    in_frame: int
    out_frame: int
    speed: Fraction = Fraction(1)
    hold: Fraction = Fraction(0)
    mirrored: bool = False
    original_sound: bool = False
    name: str = ""
    overlay: str | None = None
    focus: tuple[Fraction, Fraction] | None = None
    marks: MarksLayer | None = None
    beside: ExcerptPicture | None = None
    halves: Fill = "fit"
    curve: CurveLayer | None = None

    def __post_init__(self) -> None:
        if self.beside and (self.beside.hold or self.beside.beside):
            raise TimeError("A view beside another has neither a hold nor a view beside it.")
        if not 0 <= self.in_frame < self.out_frame <= self.source.frame_count:
            raise TimeError(
                f"Excerpt {self.name or self.source.title!r}: [{self.in_frame}, {self.out_frame}) does not lie "
                f"inside the {self.source.frame_count} frames of its source."
            )
        if self.speed <= 0 or self.hold < 0:
            raise TimeError(
                f"Excerpt {self.name or self.source.title!r}: speed must be above 0, hold not below."
            )

    @property
    def moving_seconds(self) -> Fraction:
        return moving_seconds(self.out_frame - self.in_frame, self.source.rate, self.speed)

    @property
    def seconds(self) -> Fraction:
        own = self.moving_seconds + self.hold
        return max(own, self.beside.seconds) if self.beside else own


@dataclass(frozen=True)
class StillPicture:
    """One frame of a source, on screen for ``seconds`` (> 0).

    ``overlay``, ``marks``, ``focus``, ``beside`` and ``halves`` as for an excerpt; marks lie over the whole still.
    """

    source: PieceSource
    frame: int
    seconds: Fraction
    mirrored: bool = False
    name: str = ""
    overlay: str | None = None
    focus: tuple[Fraction, Fraction] | None = None
    marks: MarksLayer | None = None
    beside: StillPicture | None = None
    halves: Fill = "fit"

    def __post_init__(self) -> None:
        if not 0 <= self.frame < self.source.frame_count:
            raise TimeError(f"Frame {self.frame} lies outside {self.source.title!r}.")
        if self.seconds <= 0:
            raise TimeError("A still needs some seconds on screen.")


@dataclass(frozen=True)
class PlatePicture:
    """A full-screen picture of our own.

    ``disclosure`` is what a house message says of itself; empty: "Paid message". Nothing removes it.
    An anatomy plate, a correction, a posture and a contact are drawn from their ``content``; ``title`` and ``text`` say the
    same in words, for pages and files that show no picture.
    """

    kind: PlateKind
    title: str
    text: str
    seconds: Fraction
    disclosure: str = ""
    content: AnatomyTable | Correction | PosturePlate | ContactPlate | None = None

    def __post_init__(self) -> None:
        made_of = {
            "anatomy": AnatomyTable,
            "correction": Correction,
            "posture": PosturePlate,
            "contact": ContactPlate,
        }
        wanted = made_of.get(self.kind, type(None))
        if not isinstance(self.content, wanted):
            raise TypeError(f"A plate of kind {self.kind!r} is drawn from {wanted.__name__}.")
        if self.seconds <= 0:
            raise TimeError("A plate needs some seconds on screen.")


@dataclass(frozen=True)
class CameraPicture:
    """To camera. Until a recording exists the renderer shows a plain slate that says so."""

    seconds: Fraction

    def __post_init__(self) -> None:
        if self.seconds <= 0:
            raise TimeError("A to-camera beat needs some seconds on screen.")


FootagePicture = ExcerptPicture | StillPicture
Picture = FootagePicture | PlatePicture | CameraPicture


def views_of(picture: Picture) -> tuple[FootagePicture, ...]:
    """The footage that a picture shows, the view beside it last; none for pictures of our own."""
    if not isinstance(picture, ExcerptPicture | StillPicture):
        return ()
    return (picture,) if picture.beside is None else (picture, picture.beside)


@dataclass(frozen=True)
class PieceBeat:
    """One beat. ``take`` is the path of a recording of its words; ``words_seconds`` how long the words take.

    ``owed`` are the keys of the cautions that the contact kept with it brings; ``tradeoffs`` go to readers, unseen in the video.
    """

    id: str
    picture: Picture
    words: str = ""
    heading: str = ""
    phase: str = ""
    take: str | None = None
    words_seconds: Fraction = Fraction(0)
    owed: tuple[str, ...] = ()
    tradeoffs: tuple[TradeOff, ...] = ()


@dataclass(frozen=True)
class Piece:
    """The whole: beats in order at an output rate and size. ``focus`` (x, y) in 0..1, as shown (after
    mirroring), places the crop when the footage does not have the output's shape."""

    title: str
    slug: str
    beats: tuple[PieceBeat, ...]
    rate: Fraction = Fraction(30)
    width: int = 1280
    height: int = 720
    focus: tuple[Fraction, Fraction] = (Fraction(1, 2), Fraction(1, 2))
    fill: Literal["fit", "fill"] = "fit"
    loudness_lufs: Fraction = _TARGET_LUFS
    scratch_voice: bool = False
    language: str = "en"

    @cached_property
    def timeline(self) -> Timeline:
        return lay_out(self)


@dataclass(frozen=True)
class PlacedBeat:
    """A beat on the piece's clock: ``record`` in whole output frames, of which the first
    ``moving_frames`` move (0 for stills, plates and camera) and the rest stand still."""

    beat: PieceBeat
    record: Span
    moving_frames: int

    @property
    def moving_beside(self) -> int:
        """Output frames for which the view beside moves; 0 without one."""
        views = views_of(self.beat.picture)
        return _moving_frames(views[1], self.record.rate) if len(views) > 1 else 0


@dataclass(frozen=True)
class Timeline:
    """All beats placed without gaps; ``frame_count`` is the sum of the beats' lengths."""

    rate: Fraction
    placed: tuple[PlacedBeat, ...]

    @property
    def frame_count(self) -> int:
        return self.placed[-1].record.end if self.placed else 0

    @property
    def seconds(self) -> Fraction:
        return self.frame_count / self.rate


def beat_frames(picture: Picture, rate: Fraction) -> tuple[int, int]:
    """(all, moving) whole output frames of one picture; at least one of whatever is there.

    The length is rounded once, from the exact seconds; the hold takes what the movement leaves, and so does what is
    left beside a longer view.
    """
    if not isinstance(picture, ExcerptPicture):
        return max(1, frames_nearest(picture.seconds, rate).count), 0
    moving = _moving_frames(picture, rate)
    total = moving
    if picture.hold:
        total = max(frames_nearest(picture.moving_seconds + picture.hold, rate).count, moving + 1)
    return max(total, _moving_frames(picture.beside, rate)), moving


def _moving_frames(picture: Picture | None, rate: Fraction) -> int:
    if not isinstance(picture, ExcerptPicture):
        return 0
    return max(1, frames_nearest(picture.moving_seconds, rate).count)


def lay_out(piece: Piece) -> Timeline:
    """Place the beats one after another from frame 0."""
    placed: list[PlacedBeat] = []
    at = 0
    for beat in piece.beats:
        total, moving = beat_frames(beat.picture, piece.rate)
        placed.append(PlacedBeat(beat, Span(at, at + total, piece.rate), moving))
        at += total
    return Timeline(piece.rate, tuple(placed))


def source_frame_at(picture: ExcerptPicture, output_frame: int, rate: Fraction) -> int:
    """Which source frame output frame ``output_frame`` (0 = first of the beat) shows.

    The source frame that starts nearest to the output frame's own start (ties to the earlier one),
    never past the last of the excerpt: so the first picture is always the in frame and a hold
    stands on frame out − 1. At 30 fps from 30000/1001 at full speed: 0, 1, 2, …
    """
    position = output_frame * picture.speed * picture.source.rate / rate
    nearest = -((1 - 2 * position) // 2)
    return min(picture.in_frame + max(0, int(nearest)), picture.out_frame - 1)


def frame_shown_at(
    placed: PlacedBeat, output_frame: int, rate: Fraction, *, beside: bool = False
) -> int | None:
    """Which source frame stands on output frame ``output_frame`` (0 = first of the beat); None for
    pictures of our own. A hold always shows out − 1, whatever the speed before it was. ``beside``: of the second view.
    """
    views = views_of(placed.beat.picture)
    if len(views) <= beside:
        return None
    picture = views[beside]
    if isinstance(picture, StillPicture):
        return picture.frame
    if output_frame >= (placed.moving_beside if beside else placed.moving_frames):
        return picture.out_frame - 1
    return source_frame_at(picture, output_frame, rate)
