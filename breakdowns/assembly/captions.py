"""Captions of a piece: what each beat says, when, in cues that keep a profile's norms.

Cues stand on whole output frames, never overlap, and stay inside the record span of their beat. Where
the words of a beat take longer than its picture, they run on until the next words begin or the piece
ends, and a warning says how much is missing. Where speech is too fast for the norms, a cue first stays
longer over the silence behind it; what is still too fast is warned of with its figures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from breakdowns.assembly.caption_layout import DraftCue, draft_cues
from breakdowns.assembly.caption_norms import DEFAULT_PROFILE, CaptionError, CaptionNorms, caption_norms
from breakdowns.assembly.caption_timing import (
    HeardWord,
    WordTime,
    nominal_seconds,
    scaled,
    spread,
    timed_as_heard,
)
from breakdowns.assembly.caption_words import CaptionWord, caption_words, word_count
from breakdowns.assembly.piece import Piece, PlacedBeat
from breakdowns.footage.timebase import Span, clock_label, decimal_text, frames_nearest

__all__ = [
    "DEFAULT_PROFILE",
    "CaptionError",
    "CaptionReport",
    "CaptionWarning",
    "Cue",
    "HeardWord",
    "captions_of",
]

WarningKind = Literal[
    "words_per_minute",
    "characters_per_second",
    "shortest_seconds",
    "longest_seconds",
    "overrun",
    "unshown",
    "estimated",
    "unheard",
]


@dataclass(frozen=True)
class Cue:
    """Lines of plain text on screen for ``span``, whole output frames of the piece."""

    span: Span
    lines: tuple[str, ...]
    beat_id: str

    @property
    def text(self) -> str:
        return " ".join(self.lines)

    @property
    def words_per_minute(self) -> Fraction:
        """60 · words / seconds."""
        return 60 * sum(map(word_count, self.lines)) / self.span.seconds

    @property
    def characters_per_second(self) -> Fraction:
        """Characters / seconds; spaces and punctuation counted, the line break not."""
        return sum(map(len, self.lines)) / self.span.seconds


@dataclass(frozen=True)
class CaptionWarning:
    """What a norm could not be kept for. ``value`` and ``limit`` are exact, in the norm's unit;
    ``cue`` is a place in the report's cues, None where the warning is about the whole beat."""

    kind: WarningKind
    beat_id: str
    cue: int | None
    value: Fraction
    limit: Fraction
    text: str


@dataclass(frozen=True)
class CaptionReport:
    """The cues in order, and everything that is not as the norms want it."""

    norms: CaptionNorms
    cues: tuple[Cue, ...]
    warnings: tuple[CaptionWarning, ...]


@dataclass
class _BeatCues:
    """The cues of one beat while they find their frames; [start, end) frames each, inside ``room``."""

    placed: PlacedBeat
    drafts: list[DraftCue]
    room: Span
    spans: list[list[int]]
    warnings: list[CaptionWarning]


def captions_of(
    piece: Piece,
    *,
    profile: str = DEFAULT_PROFILE,
    heard: Mapping[str, Sequence[HeardWord]] | None = None,
) -> CaptionReport:
    """The captions of a piece.

    A beat's words begin with its first frame and take ``words_seconds``; without that they are
    estimated. ``heard`` gives, by beat id, the words found in a take with their times, which are then
    used instead. Raises CaptionError for an unknown profile or for heard times that run backwards.
    """
    norms = caption_norms(profile)
    spoken = [
        (placed, words)
        for placed in piece.timeline.placed
        if (words := caption_words(placed.beat.words, piece.language, norms.line_characters))
    ]
    limits = [placed.record.start for placed, _ in spoken[1:]] + [piece.timeline.frame_count]
    beats = [
        _beat_cues(placed, words, limit, norms, (heard or {}).get(placed.beat.id, ()))
        for (placed, words), limit in zip(spoken, limits, strict=False)
    ]
    _mend_gaps_between_beats(beats, norms)
    return _report(beats, norms)


def _beat_cues(
    placed: PlacedBeat,
    words: Sequence[CaptionWord],
    limit: int,
    norms: CaptionNorms,
    heard: Sequence[HeardWord],
) -> _BeatCues:
    times, warnings = _word_times(placed, words, heard)
    room = placed.record
    overrun = times[-1].end - room.seconds
    if frames_nearest(times[-1].end, room.rate).count > room.frame_count:
        room = Span(room.start, max(limit, room.end), room.rate)
        warnings.append(_overrun_warning(placed, overrun, room))
        if times[-1].end > room.seconds:
            times = scaled(times, room.seconds / times[-1].end)
    drafts = draft_cues(words, times, norms, room.seconds)
    if len(drafts) > room.frame_count:
        warnings.append(_unshown_warning(placed, drafts[room.frame_count :]))
        drafts = drafts[: room.frame_count]
    return _BeatCues(placed, drafts, room, _frames_of(drafts, room, norms), warnings)


def _word_times(
    placed: PlacedBeat, words: Sequence[CaptionWord], heard: Sequence[HeardWord]
) -> tuple[list[WordTime], list[CaptionWarning]]:
    beat, zero = placed.beat, Fraction(0)
    if heard and (times := timed_as_heard(words, heard, beat.words_seconds)):
        return times, []
    warnings = []
    if heard:
        text = f"{_where(placed)}: the heard words are not the beat's words; their times were not used."
        warnings.append(CaptionWarning("unheard", beat.id, None, zero, zero, text))
    if beat.words_seconds > 0:
        return spread(words, zero, beat.words_seconds), warnings
    estimate = min(nominal_seconds(words), placed.record.seconds)
    text = (
        f"{_where(placed)}: no spoken time is known, so {decimal_text(estimate, 1)} s were estimated. "
        "Record the words or give their time."
    )
    return spread(words, zero, estimate), [
        *warnings,
        CaptionWarning("estimated", beat.id, None, estimate, zero, text),
    ]


def _frames_of(drafts: Sequence[DraftCue], room: Span, norms: CaptionNorms) -> list[list[int]]:
    """Whole frames [start, end) of each cue inside the room, at least one each, in order."""
    rate, count = room.rate, len(drafts)
    starts: list[int] = []
    for at, draft in enumerate(drafts):
        start = room.start + frames_nearest(draft.start, rate).count
        earliest = starts[-1] + 1 if starts else room.start
        starts.append(min(max(start, earliest), room.end - (count - at)))
    _delay_starts(starts, drafts, room, norms)
    following = [*starts[1:], room.end]
    return [
        [start, _end_of(draft, start, then, room, norms, is_last=at == count - 1)]
        for at, (draft, start, then) in enumerate(zip(drafts, starts, following, strict=True))
    ]


def _delay_starts(starts: list[int], drafts: Sequence[DraftCue], room: Span, norms: CaptionNorms) -> None:
    """Let a cue that is read too fast stay into the next one's time, where that one can spare it."""
    for at in range(1, len(starts)):
        following = starts[at + 1] if at + 1 < len(starts) else room.end
        shortage = _stays_until(drafts[at - 1], starts[at - 1], room, norms) - starts[at]
        spare = following - starts[at] - _reading_frames(drafts[at], norms, room.rate)
        starts[at] += max(0, min(shortage, spare, int(norms.drift_seconds * room.rate)))


def _reading_frames(draft: DraftCue, norms: CaptionNorms, rate: Fraction) -> int:
    return _whole_up(norms.reading_seconds(draft.characters, draft.words) * rate)


def _stays_until(draft: DraftCue, start: int, room: Span, norms: CaptionNorms) -> int:
    """As long as it is spoken, longer where reading asks for it (but not long after the words), never
    longer than the norm: the frame at which the cue would end if nothing followed."""
    rate = room.rate
    spoken = room.start + frames_nearest(draft.end, rate).count
    shortest = start + _whole_up(norms.shortest_seconds * rate)
    lingering = max(spoken + int(norms.linger_seconds * rate), shortest)
    wanted = min(start + _reading_frames(draft, norms, rate), lingering)
    return min(max(spoken, wanted), start + max(1, int(norms.longest_seconds * rate)))


def _end_of(
    draft: DraftCue, start: int, following: int, room: Span, norms: CaptionNorms, *, is_last: bool
) -> int:
    """The end of a cue before the next one's start, with no gap between them or one of the least length."""
    end = max(min(_stays_until(draft, start, room, norms), following), start + 1)
    gap, least = following - end, norms.least_gap(room.rate)
    if is_last or not 0 < gap < least:
        return end
    longest = start + int(norms.longest_seconds * room.rate)
    return following if following <= longest else max(start + 1, following - least)


def _mend_gaps_between_beats(beats: Sequence[_BeatCues], norms: CaptionNorms) -> None:
    """Close, or open to the least gap, what is left between the last cue of one beat and the next's first."""
    for one, other in pairwise(beats):
        before, after = one.spans[-1], other.spans[0]
        least = norms.least_gap(one.room.rate)
        if not 0 < after[0] - before[1] < least:
            continue
        longest = int(norms.longest_seconds * one.room.rate)
        meeting = min(one.room.end, after[0], before[0] + max(1, longest))
        if meeting >= other.room.start and after[1] - meeting <= longest:
            before[1] = after[0] = meeting
        else:
            before[1] = max(before[0] + 1, after[0] - least)


def _report(beats: Sequence[_BeatCues], norms: CaptionNorms) -> CaptionReport:
    cues: list[Cue] = []
    warnings: list[CaptionWarning] = []
    for beat in beats:
        warnings += beat.warnings
        for draft, (start, end) in zip(beat.drafts, beat.spans, strict=True):
            cue = Cue(Span(start, end, beat.room.rate), draft.lines, beat.placed.beat.id)
            spoken_to = beat.room.start_seconds + draft.end
            warnings += _cue_warnings(cue, len(cues), spoken_to, norms)
            cues.append(cue)
    return CaptionReport(norms, tuple(cues), tuple(warnings))


def _cue_warnings(cue: Cue, at: int, spoken_to: Fraction, norms: CaptionNorms) -> list[CaptionWarning]:
    where = f"At {clock_label(cue.span.start_seconds)}"
    frame = 1 / cue.span.rate
    found: list[tuple[WarningKind, Fraction, Fraction, str]] = []
    if cue.words_per_minute > norms.words_per_minute:
        found.append(("words_per_minute", cue.words_per_minute, norms.words_per_minute, "words a minute"))
    if cue.characters_per_second > norms.characters_per_second:
        limit = norms.characters_per_second
        found.append(("characters_per_second", cue.characters_per_second, limit, "characters a second"))
    if cue.span.seconds < norms.shortest_seconds:
        found.append(("shortest_seconds", cue.span.seconds, norms.shortest_seconds, "seconds on screen"))
    unseen = spoken_to - cue.span.end_seconds_exclusive
    if unseen > frame and cue.span.seconds + frame > norms.longest_seconds:
        full = cue.span.seconds + unseen
        found.append(("longest_seconds", full, norms.longest_seconds, "seconds of speech in one caption"))
    return [
        CaptionWarning(
            kind, cue.beat_id, at, value, limit,
            f"{where}: {decimal_text(value, 1)} {unit} ({decimal_text(limit, 1)} is the norm): {cue.text!r}.",
        )
        for kind, value, limit, unit in found
    ]  # fmt: skip


def _overrun_warning(placed: PlacedBeat, overrun: Fraction, room: Span) -> CaptionWarning:
    kept = "" if room.seconds >= overrun + placed.record.seconds else " and are shown faster than spoken"
    text = (
        f"{_where(placed)}: the words take {decimal_text(overrun, 2)} s longer than the picture; "
        f"the captions run on{kept}. Lengthen the picture or shorten the words."
    )
    seconds = placed.record.seconds
    return CaptionWarning("overrun", placed.beat.id, None, seconds + overrun, seconds, text)


def _unshown_warning(placed: PlacedBeat, drafts: Sequence[DraftCue]) -> CaptionWarning:
    lost = " ".join(line for draft in drafts for line in draft.lines)
    text = f"{_where(placed)}: there is not one frame left for {lost!r}. Lengthen the picture."
    count = Fraction(sum(draft.words for draft in drafts))
    return CaptionWarning("unshown", placed.beat.id, None, count, Fraction(0), text)


def _where(placed: PlacedBeat) -> str:
    return f"Beat {placed.beat.heading or placed.beat.id} at {clock_label(placed.record.start_seconds)}"


def _whole_up(value: Fraction) -> int:
    return -int(-value // 1)
