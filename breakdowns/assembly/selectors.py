"""Out of the stored script into the pure piece that the renderer, the captions and the ledger read."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

from breakdowns.contacts.plate import ContactPlate
from breakdowns.contacts.reading import owed_by
from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import plan_from_json
from breakdowns.excerpts.selectors import policy_named
from breakdowns.excerpts.verdicts import Verdict, judge
from breakdowns.footage.models import Source
from breakdowns.footage.selectors import master_path
from breakdowns.postures.plate import PosturePlate
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.scripts.plate_content import AnatomyTable, Correction, NoEntry
from breakdowns.scripts.recording import places_of, second_at
from breakdowns.scripts.script import moving_seconds
from breakdowns.scripts.selectors import beats_of, plate_content, voice_profile
from breakdowns.scripts.speech import VoiceProfile, estimate
from breakdowns.scripts.tradeoffs.notes import read_tradeoffs
from breakdowns.scripts.two_views.selectors import (
    beside_marked,
    beside_source,
    curve_fault,
    curve_of,
    footage_of,
    second_view,
    view_fault,
)
from breakdowns.stills.models import Still
from breakdowns.stills.selectors import picture_facts, still_document, still_measures

from .correction_plate import CORRECTION
from .curve_layer import CurveLayer
from .ledger_bars import bars_of, figure_text
from .ledger_plan import plan_from_piece
from .marks_coming import in_turn, within
from .marks_layer import MarksLayer
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
    width, height, aspect = source.width or 0, source.height or 0, source.pixel_aspect
    if source.rotation in (90, 270):  # stored on its side, shown upright
        width, height, aspect = height, width, 1 / aspect
    return PieceSource(
        id=str(source.key),
        title=str(source),
        path=str(master_path(source)),
        digest=source.sha256 or str(source.key),
        rate=source.rate,
        frame_count=source.frame_count or 0,
        width=width,
        height=height,
        pixel_aspect=aspect,
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


def plate_picture(beat: Beat) -> PlatePicture:
    """A stored plate as the renderer draws it. Raises NotReady with one sentence."""
    try:
        content = plate_content(beat)
    except NoEntry as fault:
        raise NotReady(f"Beat {beat.position + 1}: {fault}") from None
    title, text = beat.plate_title, beat.plate_text
    if isinstance(content, AnatomyTable | PosturePlate | ContactPlate):
        title, text = content.heading, content.text
    elif isinstance(content, Correction):
        title, text = title.strip() or CORRECTION, content.text
    return PlatePicture(beat.plate, title, text, beat.seconds, content=content)  # type: ignore[arg-type]


def _marks(beat: Beat, still: Still | None, voice: VoiceProfile) -> MarksLayer | None:
    """The marks of a still over what stands; None where none is to be seen. Raises MarksError."""
    if still is None:
        return None
    document = still_document(still)
    if not any(mark.shown for mark in document.marks):
        return None
    count = sum(mark.shown for mark in document.marks)
    starts = _starts(beat, count, voice)
    return MarksLayer(document, picture_facts(still.source), tuple(still_measures(still)), starts)


def _starts(beat: Beat, count: int, voice: VoiceProfile) -> tuple[Fraction, ...]:
    """When each of ``count`` marks comes, in seconds from the moment at which the picture stands: words spoken before
    that bring their marks at once. Marks without a word of their own come with the last one."""
    if beat.marks_way == Beat.MarksWay.ONCE:
        return ()
    moving, standing = _moving_and_standing(beat)
    if beat.marks_way == Beat.MarksWay.TURN:
        return in_turn(count, standing)
    moments = [_spoken_at(beat, at, voice) - moving for at in places_of(beat.words, beat.marks_at)]
    moments = moments or [Fraction(0)]
    return within([moments[min(number, len(moments) - 1)] for number in range(count)], standing)


def _moving_and_standing(beat: Beat) -> tuple[Fraction, Fraction]:
    """Exact seconds for which a beat's footage moves, and then stands."""
    if beat.kind != Beat.Kind.EXCERPT:
        return Fraction(0), beat.seconds
    found = footage_of(beat)
    moving = moving_seconds(found[2] - found[1], found[0].rate, beat.speed) if found else Fraction(0)
    return moving, beat.hold


def _spoken_at(beat: Beat, at: int, voice: VoiceProfile) -> Fraction:
    """The second of the beat at which the word at character ``at`` is spoken: as recorded, else as estimated."""
    recorded = second_at(beat.words, [Fraction(time, 1000) for time in beat.word_times], at)
    return estimate(beat.words[:at], voice).seconds if recorded is None else recorded


def _focus(beat: Beat, across: int) -> tuple[Fraction, Fraction] | None:
    """Where a half is cut; None where the piece's own focus holds."""
    if beside_source(beat) is None:
        return None
    return Fraction(across, 100), Fraction(beat.breakdown.focus_y, 100)


def _second(
    beat: Beat, known: dict[int, PieceSource], voice: VoiceProfile
) -> ExcerptPicture | StillPicture | None:
    """The view beside a beat's excerpt or still. Raises NotReady where it has no picture of these instants."""
    source = beside_source(beat)
    if source is None:
        return None
    footage, view = _footage(beat, source, known), second_view(beat)
    if view is None:
        raise NotReady(f"Beat {beat.position + 1}: {view_fault(beat)}")
    marks = _marks(beat, beside_marked(beat, view), voice)
    focus = _focus(beat, beat.beside_focus)
    if beat.kind == Beat.Kind.STILL:
        return StillPicture(footage, view.in_frame, beat.seconds, view.mirrored, marks=marks, focus=focus)
    return ExcerptPicture(
        footage, view.in_frame, view.out_frame, beat.speed, mirrored=view.mirrored, marks=marks, focus=focus
    )


def _curve(beat: Beat) -> CurveLayer | None:
    """The curve that runs along with an excerpt. Raises NotReady where it has nothing to show."""
    if beat.curve_track is None:
        return None
    found = curve_of(beat)
    if found is None:
        raise NotReady(f"Beat {beat.position + 1}: {curve_fault(beat)}")
    return CurveLayer(found.plot, beat.curve_place, found.rate, found.first, found.follows_beside)  # type: ignore[arg-type]


def _excerpt(beat: Beat, known: dict[int, PieceSource], voice: VoiceProfile) -> ExcerptPicture:
    excerpt = beat.excerpt
    if excerpt is None:
        raise NotReady(f"Beat {beat.position + 1} has no excerpt yet. Choose one, or another picture.")
    beside = _second(beat, known, voice)
    assert beside is None or isinstance(beside, ExcerptPicture)
    return ExcerptPicture(
        source=_footage(beat, excerpt.source, known),
        in_frame=excerpt.in_frame if beat.in_frame is None else beat.in_frame,
        out_frame=excerpt.out_frame if beat.out_frame is None else beat.out_frame,
        speed=beat.speed,
        hold=beat.hold,
        mirrored=beat.mirrored,
        original_sound=beat.original_sound,
        name=excerpt.name,
        focus=_focus(beat, beat.half_focus),
        marks=_marks(beat, beat.marked, voice),
        beside=beside,
        halves=beat.halves,  # type: ignore[arg-type]
        curve=_curve(beat),
    )


def _still(beat: Beat, known: dict[int, PieceSource], voice: VoiceProfile) -> StillPicture:
    if beat.source is None or beat.frame is None:
        raise NotReady(f"Beat {beat.position + 1} has no still yet. Choose a frame, or another picture.")
    footage, beside = _footage(beat, beat.source, known), _second(beat, known, voice)
    assert beside is None or isinstance(beside, StillPicture)
    return StillPicture(
        footage,
        beat.frame,
        beat.seconds,
        beat.mirrored,
        focus=_focus(beat, beat.half_focus),
        marks=_marks(beat, beat.marked, voice),
        beside=beside,
        halves=beat.halves,  # type: ignore[arg-type]
    )


def _picture(beat: Beat, known: dict[int, PieceSource], voice: VoiceProfile) -> Picture:
    if beat.kind == Beat.Kind.EXCERPT:
        return _excerpt(beat, known, voice)
    if beat.kind == Beat.Kind.STILL:
        return _still(beat, known, voice)
    if beat.kind == Beat.Kind.PLATE:
        return plate_picture(beat)
    return CameraPicture(beat.seconds)


def piece_of(
    breakdown: Breakdown, *, height: int = 720, loudness: int = -16, scratch_voice: bool = False
) -> Piece:
    """The piece as it stands now. Raises NotReady with one sentence that names the beat."""
    width, height = frame_size(breakdown.shape, height)
    profile, known = voice_profile(breakdown), dict[int, PieceSource]()
    beats: list[PieceBeat] = []
    rows = beats_of(breakdown).select_related("still__source")
    for beat in rows:
        spoken = Fraction(beat.spoken_ms, 1000) if beat.spoken_ms else estimate(beat.words, profile).seconds
        try:
            picture = _picture(beat, known, profile)
        except NotReady:
            raise
        except ValueError as fault:
            raise NotReady(f"Beat {beat.position + 1}: {fault}") from None
        take = str(Path(settings.MEDIA_ROOT) / beat.take) if beat.take else None
        kept = owed_by(tuple(beat.contact_rows)), read_tradeoffs(beat.tradeoffs)
        beats.append(
            PieceBeat(str(beat.key), picture, beat.words, beat.heading, beat.phase, take, spoken, *kept)
        )
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
        loudness_lufs=Fraction(loudness),
        scratch_voice=scratch_voice,
    )


def ledger_page(breakdown: Breakdown) -> dict[str, Any]:
    """Figures, bars and verdicts of the script as it stands. Raises NotReady, PlanError, UnknownPolicy."""
    piece, policy = piece_of(breakdown), policy_named(breakdown.policy)
    document = plan_from_piece(piece)
    ended = {source["id"]: None for source in document["sources"]}
    for source in Source.objects.filter(key__in=ended).select_related("event"):
        if source.event and source.event.ended_at:
            ended[str(source.key)] = source.event.ended_at.isoformat()
    for source in document["sources"]:
        if ended[source["id"]]:
            source["event_ended"] = ended[source["id"]]
    document["published"] = timezone.now().isoformat()
    ledger = compute(plan_from_json(document))
    account = ledger.as_json()
    bars = [(bar, account["sources"][bar.source.id]) for bar in bars_of(piece)]
    names = {bar.source.id: bar.source.title for bar, _ in bars}
    judgement = judge(ledger, policy)
    rows = [_verdict_row(verdict, names) for verdict in judgement.verdicts]
    left = [(row.limit.about.label, row.why) for row in judgement.not_judged]
    return {"piece": piece, "policy": policy, "account": account, "bars": bars, "rows": rows, "left": left}


def _verdict_row(verdict: Verdict, names: dict[str, str]) -> dict[str, Any]:
    about = verdict.limit.about
    return {
        "label": about.label,
        "definition": about.definition,
        "where": names.get(verdict.where.name or "", verdict.where.name or "the whole piece"),
        "value": figure_text(verdict.value, about.unit),
        "sense": "" if about.unit == "yes_no" else {"max": "at most", "min": "at least"}[verdict.limit.sense],
        "limit": figure_text(verdict.limit.value, about.unit),
        "state": verdict.state,
        "mend": verdict.mend(lambda segment: f"beat {segment + 1}"),
        "source": verdict.limit.source,
        "how_read": verdict.limit.how_read,
    }


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
