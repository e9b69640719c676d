"""One beat's pictures as one H.264 segment, cached by all that can change a pixel of it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import ffmpeg
from PIL import Image

from breakdowns.footage.media.guard import file_name

from .cache import Workshop, key_of, link
from .encoder import EncoderSettings, picture_options
from .faults import RenderFailed
from .marks_coming import GROWTH, reveal_at
from .marks_layer import MarksLayer, marks_picture, marks_svg
from .mp4_boxes import NotWhole, TrackFacts, read_track
from .picture_filters import RUN_UPS, Look, drawn_graph, excerpt_graph, look_of, still_graph
from .piece import CameraPicture, ExcerptPicture, Piece, PieceSource, PlacedBeat, PlatePicture, StillPicture
from .plates import draw_plate, plate_identity, scratch_mark
from .runs import Runs
from .source_facts import SourceFacts

__all__ = ["PICTURE_VERSION", "Segment", "found_segment", "make_segment", "segment_of"]

# Raise it whenever the same input gives other pixels than before.
PICTURE_VERSION = 1
SUFFIX = ".mp4"


@dataclass(frozen=True)
class Segment:
    """A segment to be: which beat, how many frames, and the key it is cached under.

    ``number`` is the beat's place in the piece, from 1; ``is_scratch``: a synthetic voice speaks.
    """

    number: int
    placed: PlacedBeat
    key: str
    is_scratch: bool

    @property
    def frame_count(self) -> int:
        return self.placed.record.frame_count

    @property
    def name(self) -> str:
        return f"Beat {self.number}"

    @property
    def cost(self) -> int:
        """Frames to encode, moving ones weighed as about three times as dear as standing ones."""
        return self.frame_count + 2 * self.placed.moving_frames


def segment_of(
    number: int,
    placed: PlacedBeat,
    piece: Piece,
    settings: EncoderSettings,
    version: str,
    *,
    is_scratch: bool,
) -> Segment:
    """The segment of a placed beat. ``version`` is the encoder program's. Raises RenderFailed where an
    overlay can't be read."""
    facts = {
        "version": PICTURE_VERSION,
        "program": version,
        "settings": asdict(settings),
        "rate": piece.rate,
        "size": (piece.width, piece.height),
        "frames": (placed.record.frame_count, placed.moving_frames),
        "picture": _picture_facts(placed, piece),
        "scratch": is_scratch,
    }
    return Segment(number, placed, key_of(facts), is_scratch)


def _picture_facts(placed: PlacedBeat, piece: Piece) -> dict[str, Any]:
    picture = placed.beat.picture
    if isinstance(picture, PlatePicture | CameraPicture):
        return plate_identity(picture)
    look = look_of(picture, piece)
    stands = placed.moving_frames < placed.record.frame_count
    shown = {
        "source": _source_facts(picture.source),
        "framing": asdict(look.framing),
        "mirrored": picture.mirrored,
        "overlay": _digest(look.overlay, placed) if look.overlay and stands else None,
    }
    if picture.marks and stands:  # the drawing itself: another way of drawing is another picture
        shown["marks"] = marks_svg(picture.marks, look.framing, mirrored=picture.mirrored)
        if picture.marks.starts:
            shown["marks come"] = (*picture.marks.starts, GROWTH)
    if isinstance(picture, ExcerptPicture):
        return {**shown, "cut": (picture.in_frame, picture.out_frame), "speed": picture.speed}
    return {**shown, "frame": picture.frame}


def _source_facts(source: PieceSource) -> dict[str, Any]:
    return {
        "digest": source.digest,
        "rate": source.rate,
        "start": source.start,
        "size": (source.width, source.height),
    }


def _digest(path: Path, placed: PlacedBeat) -> str:
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        heading = placed.beat.heading or placed.beat.words[:40]
        raise RenderFailed(
            f"The marks of the still in beat “{heading}” can't be read; draw them again."
        ) from None


def found_segment(segment: Segment, shop: Workshop) -> Path | None:
    """The segment out of the cache, if it is there and whole; one that is not is thrown away."""
    path = shop.take(segment.key, SUFFIX)
    if path is None or _is_whole(path, segment):
        return path
    shop.drop(segment.key, SUFFIX)
    return None


def facts_of(path: Path) -> TrackFacts:
    """Raises RenderFailed where a segment has gone bad under our hands."""
    try:
        return read_track(path)
    except (NotWhole, OSError):
        raise RenderFailed(
            "A part of the video was damaged while it was put together; render again."
        ) from None


def _is_whole(path: Path, segment: Segment) -> bool:
    try:
        return read_track(path).frame_count == segment.frame_count
    except (NotWhole, OSError):
        return False


def make_segment(
    segment: Segment,
    piece: Piece,
    settings: EncoderSettings,
    shop: Workshop,
    runs: Runs,
    facts_for: Callable[[PieceSource], SourceFacts],
    on_frames: Callable[[int], None],
) -> Path:
    """Encode the segment and put it into the cache. Raises RenderFailed, RenderStopped."""
    picture = segment.placed.beat.picture
    part = shop.new(f"part{segment.number}.mp4")
    job = _Job(segment, piece, settings, shop, runs, part, on_frames)
    if isinstance(picture, ExcerptPicture | StillPicture):
        job.from_footage(picture, facts_for(picture.source))
    else:
        job.from_drawing(picture)
    if not _is_whole(part, segment):
        raise RenderFailed(
            f"{segment.name} did not come out with its {segment.frame_count} frames; "
            "see whether the disk is full, then render again."
        )
    return shop.keep(part, segment.key, SUFFIX)


@dataclass(frozen=True)
class _Job:
    segment: Segment
    piece: Piece
    settings: EncoderSettings
    shop: Workshop
    runs: Runs
    part: Path
    on_frames: Callable[[int], None]

    def from_footage(self, picture: ExcerptPicture | StillPicture, facts: SourceFacts) -> None:
        """Enter the file near the cut, and further away until every frame of it has been met."""
        wanted = picture.out_frame - picture.in_frame if isinstance(picture, ExcerptPicture) else 1
        for run_up in RUN_UPS[-1:] if facts.must_count else RUN_UPS:
            met = _Met()
            try:
                self._encode(self._graph(picture, facts, run_up), met)
            except RenderFailed:
                if met.count or run_up is None:
                    raise
            if met.count == wanted:
                return
        raise RenderFailed(
            f"{self.segment.name}: only {met.count} of {wanted} frames of “{picture.source.title}” can be read; "
            "the file may have been damaged or replaced since it was added."
        )

    def _graph(self, picture: ExcerptPicture | StillPicture, facts: SourceFacts, run_up: Any) -> Any:
        look, rate = look_of(picture, self.piece, self._mark()), self.piece.rate
        look = self._with_marks(picture, look)
        if isinstance(picture, StillPicture):
            return still_graph(picture, self.segment.frame_count, rate, look, facts, run_up)
        counts = self.segment.frame_count, self.segment.placed.moving_frames
        return excerpt_graph(picture, counts, rate, look, facts, run_up)

    def _with_marks(self, picture: ExcerptPicture | StillPicture, look: Look) -> Look:
        """The look with the still's marks over whatever lies over the footage already."""
        if picture.marks is None:
            return look
        if picture.marks.starts:
            return replace(look, coming=self._coming(picture.marks, look))
        svg = marks_svg(picture.marks, look.framing, mirrored=picture.mirrored)
        drawn = marks_picture(svg, look.framing, look.output)
        if look.overlay:
            with Image.open(look.overlay, formats=("PNG",)) as below:
                drawn = Image.alpha_composite(below.convert("RGBA"), drawn)
        png = self.shop.new(f"marks{self.segment.number}.png")
        drawn.save(png, compress_level=1)
        return replace(look, overlay=png)

    def _coming(self, marks: MarksLayer, look: Look) -> Path:
        """One picture for each output frame until every mark is whole, drawn only where something has changed."""
        standing = self.segment.frame_count - self.segment.placed.moving_frames
        folder = self.shop.new(f"marks{self.segment.number}")
        folder.mkdir()
        before: tuple[Fraction, ...] = ()
        kept = folder
        for frame in range(standing):
            parts = reveal_at(marks.starts, frame, self.piece.rate)
            png = folder / f"{frame:06d}.png"
            if parts == before:
                link(kept, png)
                continue
            svg = marks_svg(marks, look.framing, mirrored=look.mirrored, parts=parts)
            marks_picture(svg, look.framing, look.output).save(png, compress_level=1)
            before, kept = parts, png
            if min(parts) == 1:
                break
        return folder

    def _mark(self) -> Path | None:
        if not self.segment.is_scratch:
            return None
        png = self.shop.new(f"mark{self.segment.number}.png")
        scratch_mark((self.piece.width, self.piece.height)).save(png, compress_level=1)
        return png

    def from_drawing(self, picture: PlatePicture | CameraPicture) -> None:
        png = self.shop.new(f"plate{self.segment.number}.png")
        size = (self.piece.width, self.piece.height)
        draw_plate(picture, size, scratch_voice=self.segment.is_scratch).save(png, compress_level=1)
        self._encode(drawn_graph(png, self.segment.frame_count, self.piece.rate), None)

    def _encode(self, graph: Any, met: _Met | None) -> None:
        options = picture_options(self.settings, self.piece.rate)
        output = graph.output(file_name(self.part), **options, **{"frames:v": self.segment.frame_count})
        self.runs.ffmpeg(
            ffmpeg.get_args(output, overwrite_output=True),
            what=self.segment.name,
            on_frames=self.on_frames,
            on_line=met.take if met else None,
        )


class _Met:
    """Counts the source frames that the graph has let in."""

    def __init__(self) -> None:
        self.count = 0

    def take(self, line: str) -> bool:
        told = line.startswith("[Parsed_showinfo_")
        if told and "] n:" in line:
            self.count += 1
        return told
