"""Out of the stored script into the pure piece that the renderer, the captions and the ledger read."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from django.conf import settings

from breakdowns.footage.models import Source
from breakdowns.footage.selectors import master_path
from breakdowns.scripts.models import Beat, Breakdown

from .piece import (
    CameraPicture,
    ExcerptPicture,
    Picture,
    Piece,
    PieceBeat,
    PieceSource,
    PlatePicture,
    StillPicture,
)

SHAPES = {"16:9": (16, 9), "9:16": (9, 16), "1:1": (1, 1)}


class NotReady(ValueError):
    """The breakdown can't be assembled yet; the text says which beat lacks what."""


def frame_size(shape: str, height: int) -> tuple[int, int]:
    """Even pixels of a shape whose shorter side is ``height``: 720 → 1280x720, 720x1280, 720x720."""
    across, down = SHAPES[shape]
    if across >= down:
        return 2 * round(height * across / down / 2), height
    return height, 2 * round(height * down / across / 2)


def piece_source(source: Source) -> PieceSource:
    return PieceSource(
        id=str(source.key),
        title=str(source),
        path=str(master_path(source)),
        digest=source.sha256 or str(source.key),
        rate=source.rate,
        frame_count=source.frame_count or 0,
        width=source.width or 0,
        height=source.height or 0,
        pixel_aspect=source.pixel_aspect,
        has_audio=source.has_audio,
        event=source.event.name if source.event else "",
        view=source.view,
        own_terms=not source.counts_in_ledger,
        rights_holder=source.rights_holder,
        attribution=source.attribution,
    )


def _footage(beat: Beat, source: Source, known: dict[int, PieceSource]) -> PieceSource:
    if not source.is_ready:
        raise NotReady(f"Beat {beat.position + 1}: “{source}” has not been read yet. Wait until it is ready.")
    if not master_path(source).is_file():
        raise NotReady(f"Beat {beat.position + 1}: the file of “{source}” is missing. Add the footage again.")
    return known.setdefault(source.pk, piece_source(source))


def _picture(beat: Beat, known: dict[int, PieceSource]) -> Picture:
    if beat.kind == Beat.Kind.EXCERPT:
        if beat.excerpt is None:
            raise NotReady(f"Beat {beat.position + 1} has no excerpt yet. Choose one, or another picture.")
        excerpt = beat.excerpt
        return ExcerptPicture(
            source=_footage(beat, excerpt.source, known),
            in_frame=excerpt.in_frame if beat.in_frame is None else beat.in_frame,
            out_frame=excerpt.out_frame if beat.out_frame is None else beat.out_frame,
            speed=beat.speed,
            hold=beat.hold,
            mirrored=beat.mirrored,
            original_sound=beat.original_sound,
            name=excerpt.name,
        )
    if beat.kind == Beat.Kind.STILL:
        if beat.source is None or beat.frame is None:
            raise NotReady(f"Beat {beat.position + 1} has no still yet. Choose a frame, or another picture.")
        return StillPicture(_footage(beat, beat.source, known), beat.frame, beat.seconds, beat.mirrored)
    if beat.kind == Beat.Kind.PLATE:
        return PlatePicture(beat.plate, beat.plate_title, beat.plate_text, beat.seconds)  # type: ignore[arg-type]
    return CameraPicture(beat.seconds)


def piece_of(breakdown: Breakdown, *, height: int = 720, scratch_voice: bool = False) -> Piece:
    """The piece as it stands now. Raises NotReady with one sentence that names the beat."""
    from breakdowns.scripts.selectors import voice_profile
    from breakdowns.scripts.speech import estimate

    width, height = frame_size(breakdown.shape, height)
    profile, known = voice_profile(breakdown), dict[int, PieceSource]()
    beats: list[PieceBeat] = []
    rows = breakdown.beats.select_related("excerpt__source__event", "source__event").order_by(
        "position", "pk"
    )
    for beat in rows:
        spoken = Fraction(beat.spoken_ms, 1000) if beat.spoken_ms else estimate(beat.words, profile).seconds
        try:
            picture = _picture(beat, known)
        except NotReady:
            raise
        except ValueError as fault:
            raise NotReady(f"Beat {beat.position + 1}: {fault}") from None
        take = str(Path(settings.MEDIA_ROOT) / beat.take) if beat.take else None
        beats.append(PieceBeat(str(beat.key), picture, beat.words, beat.heading, beat.phase, take, spoken))
    if not beats:
        raise NotReady("There is nothing to assemble yet: the script has no beats. Write one first.")
    return Piece(
        title=breakdown.title,
        slug=breakdown.slug,
        beats=tuple(beats),
        rate=breakdown.rate,
        width=width,
        height=height,
        focus=(Fraction(breakdown.focus_x, 100), Fraction(breakdown.focus_y, 100)),
        fill="fill" if breakdown.fill else "fit",
        scratch_voice=scratch_voice,
    )


def lines(text: str) -> list[str]:
    """The lines of a text field that are not empty."""
    return [line.strip() for line in text.splitlines() if line.strip()]


def files_beside(video: Path) -> dict[str, Path]:
    """The names of everything an assembly leaves beside its video, by what it is."""
    endings = {
        "video": ".mp4", "captions": ".vtt", "subtitles": ".srt", "chapters": ".chapters.vtt", "timeline": ".otio",
        "edit list": ".edl", "show notes": ".md", "ledger": ".ledger.json",
    }  # fmt: skip
    return {what: video.with_suffix(ending) for what, ending in endings.items()}


CONTENT_TYPES = {
    ".mp4": "video/mp4", ".vtt": "text/vtt; charset=utf-8", ".srt": "text/plain; charset=utf-8",
    ".otio": "application/json", ".edl": "text/plain; charset=utf-8", ".md": "text/markdown; charset=utf-8",
    ".json": "application/json", ".jpg": "image/jpeg",
}  # fmt: skip


def content_type_of(path: Path) -> str:
    """The media type (IANA) of a file that an assembly or a release has made."""
    return CONTENT_TYPES[path.suffix]
