"""The filter graph of one beat: from footage or a drawn picture to the frames of its segment.

All graphs end in exactly the beat's frames, numbered 0, 1, 2 … in a time base of one output frame, 4:2:0,
BT.709. A picture that stands is made once and repeated by reference, so holds cost next to nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import ffmpeg

from breakdowns.footage.media.guard import file_name, opened
from breakdowns.footage.timebase import decimal_text

from .framing import Framing, Size, frame_picture
from .halves import Half, halves_of
from .piece import ExcerptPicture, Fill, FootagePicture, Piece, PieceSource, StillPicture
from .source_facts import SourceFacts

__all__ = ["RUN_UPS", "Layers", "Look", "View", "drawn_graph", "footage_graph", "look_of", "looks_of"]

# How far before the in point to enter the file, seconds, one after the other until every frame is met;
# None counts from the start of the file.
RUN_UPS: tuple[Fraction | None, ...] = (Fraction(1), Fraction(10), None)
_REORDERED = 16  # frames that H.264 and HEVC may hold back (ITU-T H.264, A.3.1: MaxDpbFrames ≤ 16)
_HALF = Fraction(1, 2)
_TICKS = 1_000_000  # per second, while frames are moved about
_SCALER = "bicubic+accurate_rnd+full_chroma_inp"
GROUND = "0x26292a"  # the house's ground for footage


@dataclass(frozen=True)
class Look:
    """How footage is shown: where in the output, which way round, and what lies over it.

    ``overlay`` covers whatever stands; ``mark`` (a small label, PNG in the output's size) covers all.
    ``coming`` is a folder of such pictures, 000000.png and on, one for each frame that stands; the last stays.
    """

    framing: Framing
    output: Size
    mirrored: bool
    overlay: Path | None = None
    mark: Path | None = None
    coming: Path | None = None


@dataclass(frozen=True)
class View:
    """One view to be drawn: ``counts`` = (all, moving) output frames; what does not move stands on out − 1."""

    picture: FootagePicture
    counts: tuple[int, int]
    look: Look
    facts: SourceFacts


@dataclass(frozen=True)
class Layers:
    """What lies over all views: ``curve`` is a folder of pictures, 000000.png and on, one for each output frame (the
    last stays), put at ``curve_at``; ``mark`` is a PNG in the output's size and lies over everything."""

    curve: Path | None = None
    curve_at: tuple[int, int] = (0, 0)
    mark: Path | None = None


def looks_of(picture: FootagePicture, piece: Piece) -> tuple[Look, ...]:
    """The look of each view of a picture; ``Look.output`` is the part of the output that the view has."""
    halves = halves_of(picture, (piece.width, piece.height))
    if picture.beside is None:
        return (look_of(picture, piece),)
    views = (picture, picture.beside)
    return tuple(
        _look(view, piece, half.size, picture.halves) for view, half in zip(views, halves, strict=True)
    )


def look_of(picture: FootagePicture, piece: Piece, mark: Path | None = None) -> Look:
    """The look of a picture that has the whole output."""
    look = _look(picture, piece, (piece.width, piece.height), piece.fill)
    return replace(look, mark=mark)


def _look(picture: FootagePicture, piece: Piece, output: Size, fill: Fill) -> Look:
    focus = picture.focus or piece.focus
    if picture.mirrored:  # the focus is told as shown, the crop is made before the picture is turned round
        focus = (1 - focus[0], focus[1])
    source = picture.source
    framing = frame_picture((source.width, source.height), source.pixel_aspect, output, fill, focus)
    return Look(framing, output, picture.mirrored, Path(picture.overlay) if picture.overlay else None)


def footage_graph(
    views: Sequence[View], rate: Fraction, output: Size, layers: Layers, run_up: Fraction | None
) -> Any:
    """A picture of one view, or of two beside each other, with what lies over them."""
    if len(views) == 1 and layers.curve is None:
        view = views[0]
        return _numbered(_view(replace(view, look=replace(view.look, mark=layers.mark)), rate, run_up), rate)
    shown = [_numbered(_view(view, rate, run_up), rate) for view in views]
    node = shown[0] if len(shown) == 1 else _beside(shown, halves_of(views[0].picture, output), output)
    if layers.curve is not None:
        node = _sequence_over(node, layers.curve, rate, layers.curve_at)
    return _numbered(_marked(node, layers.mark), rate)


def _beside(shown: Sequence[Any], halves: Sequence[Half], output: Size) -> Any:
    first = shown[0].filter("pad", *output, *halves[0].at, color=GROUND)
    return ffmpeg.filter([first, shown[1]], "overlay", *halves[1].at, format="yuv420", eof_action="repeat")


def _view(view: View, rate: Fraction, run_up: Fraction | None) -> Any:
    if isinstance(view.picture, StillPicture):
        frame = _footage(view.picture.source, view.picture.frame, 1, view.facts, run_up).filter("setpts", "0")
        return _standing(_dressed(frame, view.look, view.facts), view.look, view.counts[0], rate)
    return _excerpt(view.picture, view.counts, rate, view.look, view.facts, run_up)


def _excerpt(
    picture: ExcerptPicture,
    counts: tuple[int, int],
    rate: Fraction,
    look: Look,
    facts: SourceFacts,
    run_up: Fraction | None,
) -> Any:
    total, moving = counts
    taken = picture.out_frame - picture.in_frame
    frames = _footage(picture.source, picture.in_frame, taken, facts, run_up)
    step = picture.speed * picture.source.rate / rate  # source frames for each output frame
    dressed_first = step <= 1  # dress each picture once: before it is repeated, or after others are dropped
    if dressed_first:
        frames = _dressed(frames, look, facts)
    parts = frames.filter_multi_output("split") if total > moving else {0: frames}
    moved = _timed(parts[0], step, rate, moving)
    moved = _marked(moved if dressed_first else _dressed(moved, look, facts), look.mark)
    if total == moving:
        return moved
    last = parts[1].filter("trim", start_frame=taken - 1).filter("setpts", "0")
    held = _standing(last if dressed_first else _dressed(last, look, facts), look, total - moving, rate)
    return ffmpeg.concat(moved, held)


def drawn_graph(png: Path, count: int, rate: Fraction) -> Any:
    """A picture of our own in the output's size, standing for ``count`` output frames."""
    picture = _our_own(png).filter("format", "yuv420p")
    return _numbered(picture.filter("loop", loop=count - 1, size=1, start=0), rate)


def _footage(source: PieceSource, first: int, count: int, facts: SourceFacts, run_up: Fraction | None) -> Any:
    """``count`` source frames from ``first`` on, each told of on standard error (showinfo).

    The file is entered ``run_up`` seconds early and frames are known by their own times, each within
    half a frame of where it is due.
    """
    if run_up is None:
        node = opened(source.path, copyts=None)["V:0"]
        node = node.filter("trim", start_frame=first, end_frame=first + count)
    else:
        start = facts.start or Fraction(0)
        moment, half = start + first / source.rate, _HALF / source.rate
        entry = max(start, moment - max(run_up, _REORDERED / source.rate))
        how: dict[str, Any] = {"copyts": None, "noaccurate_seek": None, "seek_timestamp": 1}
        node = opened(source.path, **how, ss=decimal_text(entry, 6))["V:0"]
        begin, end = moment - half, moment + count / source.rate - half
        node = node.filter("trim", start=decimal_text(begin, 6), end=decimal_text(end, 6))
    node = node.filter("showinfo", checksum=0)
    return node.filter("yadif", mode="send_frame", deint="interlaced") if facts.is_interlaced else node


def _timed(node: Any, step: Fraction, rate: Fraction, moving: int) -> Any:
    """Spread source frames over ``moving`` output frames, exactly as ``piece.source_frame_at`` says.

    Output frame k shows source frame ⌈k·step − 1/2⌉ of the excerpt, so source frame N comes on at
    k = ⌊(2N − 1) / (2·step)⌋ + 1; of those that come on together the last is seen.
    """
    comes_on = f"max(0,floor((2*N-1)*{step.denominator}/{2 * step.numerator})+1)"
    return (
        node.filter("settb", f"1/{_TICKS}")
        .filter("setpts", f"{comes_on}*{_TICKS * rate.denominator}/{rate.numerator}")
        .filter("fps", fps=_text(rate), start_time=0, round="near")
        .filter("tpad", stop_mode="clone", stop=moving)
        .filter("trim", end_frame=moving)
    )


def _dressed(node: Any, look: Look, facts: SourceFacts) -> Any:
    """Cropped, scaled, turned round and padded: footage as it stands in the output."""
    framing = look.framing
    if framing.crop:
        left, top, width, height = framing.crop
        node = node.filter("crop", width, height, left, top)
    node = node.filter("scale", *framing.scaled, flags=_SCALER, **_colour(facts))
    node = node.filter("format", "yuv420p")
    if look.mirrored:
        node = node.filter("hflip")
    if framing.scaled != look.output:
        node = node.filter("pad", *look.output, *framing.offset, color=GROUND)
    return node


def _colour(facts: SourceFacts) -> dict[str, str]:
    """Nothing where the source is coded as the output is: then the scaler leaves the values alone."""
    if facts.matrix == "bt709" and not facts.full_range:
        return {}
    return {
        "in_color_matrix": facts.matrix,
        "out_color_matrix": "bt709",
        "in_range": "pc" if facts.full_range else "tv",
        "out_range": "tv",
    }


def _standing(node: Any, look: Look, count: int, rate: Fraction) -> Any:
    """One frame with all that lies over it, ``count`` times."""
    if look.overlay:
        node = _laid_over(node, look.overlay)
    if look.coming is None:
        node = _marked(node, look.mark)
    node = _clocked(node.filter("loop", loop=count - 1, size=1, start=0), rate)
    if look.coming is None:
        return node
    return _marked(_sequence_over(node, look.coming, rate, (0, 0)), look.mark)


def _sequence_over(node: Any, folder: Path, rate: Fraction, at: tuple[int, int]) -> Any:
    """Pictures 000000.png and on over the frames of ``node``, one each; the last stays."""
    pattern = file_name(str(folder).replace("%", "%%") + "/%06d.png")
    frames = ffmpeg.input(
        pattern, format="image2", start_number=0, framerate=_text(rate), protocol_whitelist="file"
    )
    frames = frames.filter("scale", out_color_matrix="bt709", out_range="tv", flags=_SCALER)
    frames = _clocked(frames.filter("format", "yuva420p"), rate)
    node = _clocked(node, rate)
    return ffmpeg.filter([node, frames], "overlay", *at, format="yuv420", eof_action="repeat")


def _clocked(node: Any, rate: Fraction) -> Any:
    """Frames 0, 1, 2 … at their output times in ticks."""
    return node.filter("settb", f"1/{_TICKS}").filter(
        "setpts", f"N*{_TICKS * rate.denominator}/{rate.numerator}"
    )


def _marked(node: Any, mark: Path | None) -> Any:
    return _laid_over(node, mark) if mark else node


def _laid_over(node: Any, png: Path) -> Any:
    top = _our_own(png).filter("format", "yuva420p")
    return ffmpeg.filter([node, top], "overlay", 0, 0, format="yuv420", eof_action="repeat")


def _our_own(png: Path) -> Any:
    """A PNG made by this project; the decoder is named, so that it can be nothing else."""
    node = ffmpeg.input(file_name(png), format="png_pipe", protocol_whitelist="file")
    return node.filter("scale", out_color_matrix="bt709", out_range="tv", flags=_SCALER)


def _numbered(node: Any, rate: Fraction) -> Any:
    """Frames 0, 1, 2 … in a time base of one output frame, named BT.709 at video range."""
    colour = {"colorspace": "bt709", "color_primaries": "bt709", "color_trc": "bt709", "range": "tv"}
    return (
        node.filter("settb", f"{rate.denominator}/{rate.numerator}")
        .filter("setpts", "N")
        .filter("setsar", "1")
        .filter("setparams", **colour)
        .filter("format", "yuv420p")
    )


def _text(rate: Fraction) -> str:
    return f"{rate.numerator}/{rate.denominator}"
