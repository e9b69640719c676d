"""One beat's pictures as one H.264 segment, cached by all that can change a pixel of it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import ffmpeg

from breakdowns.footage.media.guard import file_name

from .cache import Workshop, key_of
from .curve_layer import curve_facts
from .encoder import EncoderSettings, picture_options
from .faults import RenderFailed
from .halves import credits_facts, halves_of
from .layers import LayerMaker
from .marks_coming import GROWTH
from .marks_layer import marks_svg
from .mp4_boxes import NotWhole, TrackFacts, read_track
from .picture_filters import RUN_UPS, Layers, Look, View, drawn_graph, footage_graph, looks_of
from .piece import (
    CameraPicture,
    ExcerptPicture,
    FootagePicture,
    Piece,
    PieceSource,
    PlacedBeat,
    PlatePicture,
    StillPicture,
    views_of,
)
from .plates import draw_plate, plate_identity
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
        return self.frame_count + 2 * (self.placed.moving_frames + self.placed.moving_beside)


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
    looks = looks_of(picture, piece)
    shown = _view_facts(picture, looks[0], placed, stands=placed.moving_frames < placed.record.frame_count)
    if picture.beside:
        total, moving = placed.record.frame_count, placed.moving_beside
        shown["beside"] = {
            **_view_facts(picture.beside, looks[1], placed, stands=moving < total),
            "moving": moving,
            "halves": halves_of(picture, (piece.width, piece.height)),
            "credits": credits_facts(picture),
        }
    if isinstance(picture, ExcerptPicture) and picture.curve:
        shown["curve"] = curve_facts(picture.curve, (piece.width, piece.height))
    return shown


def _view_facts(picture: FootagePicture, look: Look, placed: PlacedBeat, *, stands: bool) -> dict[str, Any]:
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
        job.from_footage(picture, [facts_for(view.source) for view in views_of(picture)])
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

    def from_footage(self, picture: FootagePicture, facts: Sequence[SourceFacts]) -> None:
        """Enter each file near the cut, and further away until every frame of it has been met."""
        views, layers = self._views(picture, facts)
        output = (self.piece.width, self.piece.height)
        wanted = sum(
            view.out_frame - view.in_frame if isinstance(view, ExcerptPicture) else 1
            for view in views_of(picture)
        )
        for run_up in RUN_UPS[-1:] if any(one.must_count for one in facts) else RUN_UPS:
            met = _Met()
            try:
                self._encode(footage_graph(views, self.piece.rate, output, layers, run_up), met)
            except RenderFailed:
                if met.count or run_up is None:
                    raise
            if met.count == wanted:
                return
        titles = " and ".join(f"“{view.source.title}”" for view in views_of(picture))
        raise RenderFailed(
            f"{self.segment.name}: only {met.count} of {wanted} frames of {titles} can be read; "
            "the file may have been damaged or replaced since it was added."
        )

    def _views(self, picture: FootagePicture, facts: Sequence[SourceFacts]) -> tuple[list[View], Layers]:
        """The views as they are drawn, and what lies over all of them."""
        placed, number = self.segment.placed, self.segment.number
        maker = LayerMaker(self.shop, number, placed, self.piece.rate, (self.piece.width, self.piece.height))
        total, views = placed.record.frame_count, []
        moving = (placed.moving_frames, placed.moving_beside)
        for place, (view, look) in enumerate(
            zip(views_of(picture), looks_of(picture, self.piece), strict=True)
        ):
            stands = moving[place]
            # Marks beside are not seen before those of the first view can be.
            marked = maker.with_marks(
                view.marks, look, f"marks{number}-{place}", stands, max(moving[: place + 1])
            )
            views.append(View(view, (total, stands), marked, facts[place]))
        return views, maker.layers(picture, is_scratch=self.segment.is_scratch)

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
