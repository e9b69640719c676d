"""From a piece to one MP4: each beat its own cached segment, one sound track, joined without loss.

Nothing here knows of a database. A second render makes only what has changed.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import FIRST_EXCEPTION, Future, ThreadPoolExecutor, wait
from pathlib import Path
from threading import Event, Lock

from PIL import Image, UnidentifiedImageError

from breakdowns.footage.media.locate import Tools

from .audio import SoundTrack, make_track, scratch_beats
from .cache import Workshop, open_workshop, trim_cache
from .encoder import EncoderSettings, house_settings
from .faults import RenderFailed, RenderStopped
from .join import deliver, join
from .ledger_plan import plan_from_piece
from .piece import (
    CameraPicture,
    ExcerptPicture,
    FootagePicture,
    Piece,
    PieceSource,
    PlatePicture,
    StillPicture,
    views_of,
)
from .plates import plate_faults
from .report import BeatReport, RenderReport
from .runs import Runs
from .segments import Segment, facts_of, found_segment, make_segment, segment_of
from .source_facts import SourceFacts, read_source

__all__ = ["BeatReport", "RenderFailed", "RenderReport", "RenderStopped", "render", "trim_cache"]

Progress = Callable[[int, int, str], None]
_POLL_SECONDS = 0.1
_SMALLEST, _LARGEST = 64, 4096
_SLOWEST, _FASTEST, _FINEST = 1, 120, 1_000_000


def render(
    piece: Piece,
    out: Path,
    *,
    cache_dir: Path,
    tools: Tools,
    progress: Progress,
    stopped: Callable[[], bool],
    workers: int | None = None,
    settings: EncoderSettings | None = None,
) -> RenderReport:
    """Write ``out``: exactly ``piece.timeline.frame_count`` frames, frame n shown at n/rate seconds.

    ``progress`` gets (frames encoded, frames to encode, what is being done); the second is 0 when every
    beat was in the cache. ``progress`` and ``stopped`` are called in the caller's own thread only.
    ``workers`` encoders run side by side (default: one for each processor). Raises RenderFailed with one
    sentence, RenderStopped; then ``out`` is as it was and no process runs on.
    """
    _check_piece(piece)
    with open_workshop(Path(cache_dir)) as shop:
        work = _Work(piece, shop, tools, settings or house_settings(), workers or os.cpu_count() or 1)
        return work.done(Path(out), progress, stopped)


def _check_piece(piece: Piece) -> None:
    """Refuse what can't be rendered, before anything is started."""
    if not piece.beats:
        raise RenderFailed("The piece has no beats yet; add one and render again.")
    for side in (piece.width, piece.height):
        if side % 2 or not _SMALLEST <= side <= _LARGEST:
            raise RenderFailed(
                f"A picture of {piece.width} × {piece.height} can't be rendered: "
                f"each side must be an even number from {_SMALLEST} to {_LARGEST}."
            )
    if not _SLOWEST <= piece.rate <= _FASTEST or piece.rate.numerator > _FINEST:
        raise RenderFailed(
            f"A rate of {piece.rate} frames a second can't be rendered: choose one from 1 to 120."
        )
    for number, beat in enumerate(piece.beats, start=1):
        if isinstance(beat.picture, ExcerptPicture | StillPicture):
            for view in views_of(beat.picture):
                _check_footage(number, view, piece)


def _check_footage(number: int, picture: FootagePicture, piece: Piece) -> None:
    if not os.path.isfile(picture.source.path):
        raise RenderFailed(
            f"Beat {number}: the file of “{picture.source.title}” is missing; add the footage again."
        )
    if picture.overlay is None:
        return
    try:
        with Image.open(picture.overlay, formats=("PNG",)) as overlay:
            size = overlay.size
    except (OSError, UnidentifiedImageError):
        raise RenderFailed(
            f"Beat {number}: the drawing over the picture can't be read; draw it again."
        ) from None
    if size != (piece.width, piece.height):
        raise RenderFailed(
            f"Beat {number}: the drawing over the picture is {size[0]} × {size[1]}, "
            f"the video {piece.width} × {piece.height}; draw it in the video's size."
        )


class _Work:
    """One render: what there is to do, who does it, how far it is."""

    def __init__(
        self, piece: Piece, shop: Workshop, tools: Tools, settings: EncoderSettings, workers: int
    ) -> None:
        self.piece, self.shop, self.settings, self.workers = piece, shop, settings, workers
        self.stop = Event()
        self.runs = Runs(tools, self.stop, shop.cache)
        self.facts: dict[PieceSource, SourceFacts] = {}
        self.asking = Lock()
        self.encoded: dict[str, int] = {}
        self.scratch = scratch_beats(piece)
        self.segments = [
            segment_of(n, placed, piece, settings, tools.version, is_scratch=n - 1 in self.scratch)
            for n, placed in enumerate(piece.timeline.placed, start=1)
        ]

    def done(self, out: Path, progress: Progress, stopped: Callable[[], bool]) -> RenderReport:
        paths = {s.key: path for s in self.segments if (path := found_segment(s, self.shop))}
        cached = frozenset(paths)
        track = self._make(self._missing(paths), paths, progress, stopped)
        if not _fit_together(paths):  # some were made by another build of the encoder
            cached = frozenset()
            track = self._make(self._all_again(paths), paths, progress, stopped)
            if not _fit_together(paths):
                raise RenderFailed(
                    "The parts of the video don't fit together; this ffmpeg's x264 can't be used."
                )
        joined = self._joined(paths, track, progress, stopped)
        deliver(joined, out)
        return self._report(out, track, cached)

    def _missing(self, paths: dict[str, Path]) -> list[Segment]:
        """Each segment that has to be made, once, the dearest first, so that none is left over at the end."""
        wanted = {s.key: s for s in self.segments if s.key not in paths}
        return sorted(wanted.values(), key=lambda segment: -segment.cost)

    def _all_again(self, paths: dict[str, Path]) -> list[Segment]:
        for segment in self.segments:
            self.shop.drop(segment.key, ".mp4")
        paths.clear()
        self.encoded.clear()
        return self._missing(paths)

    def _make(
        self, missing: list[Segment], paths: dict[str, Path], progress: Progress, stopped: Callable[[], bool]
    ) -> SoundTrack:
        """Encode pictures and sound side by side. The first failure ends everything else."""
        total = sum(segment.frame_count for segment in missing)
        with ThreadPoolExecutor(self.workers) as pictures, ThreadPoolExecutor(1) as sounds:
            sound = sounds.submit(
                make_track, self.piece, self.settings, self.shop, self.runs, self._facts_for
            )
            made = {segment.key: pictures.submit(self._segment, segment) for segment in missing}
            try:
                self._attend({sound, *made.values()}, total, progress, stopped)
            except BaseException:
                self.stop.set()
                for future in made.values():
                    future.cancel()
                raise
        paths.update({key: future.result() for key, future in made.items()})
        return sound.result()

    def _attend(
        self, futures: set[Future], total: int, progress: Progress, stopped: Callable[[], bool]
    ) -> None:
        """Watch until all are done: tell how far it is, hear whether to stop, pass on the first failure."""
        waiting = futures
        while waiting:
            ended, waiting = wait(waiting, timeout=_POLL_SECONDS, return_when=FIRST_EXCEPTION)
            for future in ended:
                future.result()
            if stopped():
                raise RenderStopped
            done = min(sum(list(self.encoded.values())), total)
            progress(done, total, "Encoding pictures" if done < total else "Setting the sound")

    def _segment(self, segment: Segment) -> Path:
        if self.stop.is_set():
            raise RenderStopped

        def tell(frames: int) -> None:
            self.encoded[segment.key] = frames

        path = make_segment(segment, self.piece, self.settings, self.shop, self.runs, self._facts_for, tell)
        tell(segment.frame_count)
        return path

    def _facts_for(self, source: PieceSource) -> SourceFacts:
        """Asked once for each source, by whichever thread needs it first."""
        with self.asking:
            if source not in self.facts:
                self.facts[source] = read_source(source, self.runs)
            return self.facts[source]

    def _joined(
        self, paths: dict[str, Path], track: SoundTrack, progress: Progress, stopped: Callable[[], bool]
    ) -> Path:
        total = sum(self.encoded.values())
        parts = [(paths[segment.key], segment.frame_count) for segment in self.segments]
        with ThreadPoolExecutor(1) as pool:
            joining = pool.submit(
                join, self.piece, parts, track.path, self.shop, self.runs, has_scratch=bool(self.scratch)
            )
            progress(total, total, "Joining")
            try:
                while not joining.done():
                    wait({joining}, timeout=_POLL_SECONDS)
                    if stopped():
                        raise RenderStopped
            except BaseException:
                self.stop.set()
                raise
            return joining.result()

    def _report(self, out: Path, track: SoundTrack, cached: frozenset[str]) -> RenderReport:
        timeline = self.piece.timeline
        beats = tuple(
            BeatReport(s.placed.beat.id, s.placed.record, s.key in cached, s.is_scratch)
            for s in self.segments
        )
        return RenderReport(
            path=out,
            frame_count=timeline.frame_count,
            rate=timeline.rate,
            seconds=timeline.seconds,
            width=self.piece.width,
            height=self.piece.height,
            beats=beats,
            loudness_lufs=track.loudness.integrated,
            true_peak_dbtp=track.loudness.true_peak,
            gain_db=track.gain_db,
            sound_was_cached=track.was_cached,
            scratch_voice=bool(self.scratch),
            warnings=tuple(self._warnings(track)),
            plan=plan_from_piece(self.piece),
        )

    def _warnings(self, track: SoundTrack) -> list[str]:
        found = list(track.warnings)
        size = (self.piece.width, self.piece.height)
        for beat in self.piece.beats:
            if isinstance(beat.picture, PlatePicture | CameraPicture):
                found.extend(plate_faults(beat.picture, size))
        return [*found, *_scratch_warnings(self.piece, self.scratch)]


def _fit_together(paths: dict[str, Path]) -> bool:
    """One file carries one decoder configuration: all segments must share it."""
    return len({facts_of(path).configuration for path in paths.values()}) == 1


def _scratch_warnings(piece: Piece, scratch: frozenset[int]) -> list[str]:
    if scratch:
        return [
            f"A scratch voice speaks {len(scratch)} of {len(piece.beats)} beats; record them before publishing."
        ]
    spoken = any(beat.words.strip() and beat.take is None for beat in piece.beats)
    if piece.scratch_voice and spoken:
        return ["No scratch voice: espeak-ng is not installed on this machine, so those words are silent."]
    return []
