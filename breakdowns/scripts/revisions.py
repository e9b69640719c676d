"""The algebra of a script's beats: changes, dividing and joining, and cutting what was recorded.

Every operation is a pure function of an immutable tuple of beats and returns a new tuple. Laws
(held by tests): splitting then joining gives the whole back.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from fractions import Fraction
from typing import Any, Final

from breakdowns.footage.timebase import frames_nearest
from breakdowns.scripts.plate_content import Correction
from breakdowns.scripts.recording import share_before, starts_between, word_offsets
from breakdowns.scripts.script import BeatView, SecondView
from breakdowns.scripts.spoken_text import measure, read_aloud
from breakdowns.scripts.tables import limit

__all__ = [
    "Beats",
    "RevisionError",
    "can_join",
    "correct_recording",
    "delete",
    "duplicate",
    "edit",
    "insert",
    "join",
    "move",
    "place_of",
    "replace_words",
    "split",
    "word_boundary",
]

Beats = tuple[BeatView, ...]
# Changed words no longer are what was recorded.
_UNRECORDED: Final[dict[str, Any]] = {"take_seconds": None, "take_is_file": False, "word_starts": ()}
# The contact and the trade-offs of a beat that is divided stay with its first part.
_NOTHING_KEPT: Final[dict[str, Any]] = {"contact": (), "tradeoffs": ()}


class RevisionError(ValueError):
    """A change that can't be made: one sentence."""


def place_of(beats: Beats, beat_id: str) -> int:
    for place, beat in enumerate(beats):
        if beat.id == beat_id:
            return place
    raise RevisionError("This beat is no longer in the script: load the page again.")


def _unused(beats: Beats, beat_id: str) -> None:
    if any(beat.id == beat_id for beat in beats):
        raise RevisionError(f"A beat with the id {beat_id[:40]!r} is in the script already.")


# --- one change each ---------------------------------------------------------------------------


def insert(beats: Beats, place: int, beat: BeatView) -> Beats:
    """``beat`` at ``place`` (0 to the number of beats; beyond the ends means the ends)."""
    _unused(beats, beat.id)
    place = max(0, min(place, len(beats)))
    return (*beats[:place], beat, *beats[place:])


def delete(beats: Beats, beat_id: str) -> Beats:
    """Without the beat. Raises RevisionError when it is not there."""
    place = place_of(beats, beat_id)
    return (*beats[:place], *beats[place + 1 :])


def move(beats: Beats, beat_id: str, to: int) -> Beats:
    """The beat at place ``to``, counted in the result; beyond the ends means the ends."""
    beat = beats[place_of(beats, beat_id)]
    return insert(delete(beats, beat_id), to, beat)


def duplicate(beats: Beats, beat_id: str, new_id: str) -> Beats:
    """A copy behind the beat; the recording stays with the original."""
    place = place_of(beats, beat_id)
    return insert(beats, place + 1, replace(beats[place], id=new_id, **_UNRECORDED))


_EDITABLE: Final = frozenset(each.name for each in fields(BeatView)) - {"id"}


def edit(beats: Beats, beat_id: str, **values: Any) -> Beats:
    """Some fields of a beat set anew. Changed words lose their recording. Raises RevisionError."""
    unknown = set(values) - _EDITABLE
    if unknown:
        raise RevisionError(f"A beat has no {', '.join(sorted(unknown))} to change.")
    place = place_of(beats, beat_id)
    if "words" in values and "take_seconds" not in values and values["words"] != beats[place].words:
        values |= _UNRECORDED
    return (*beats[:place], replace(beats[place], **values), *beats[place + 1 :])


def replace_words(beats: Beats, beat_id: str, start: int, end: int, was: str, text: str) -> Beats:
    """``text`` in place of the characters [start, end), which must still read ``was``."""
    words = beats[place_of(beats, beat_id)].words
    if not 0 <= start <= end <= len(words) or words[start:end] != was:
        raise RevisionError("The words have changed since this was proposed: look at the note again.")
    return edit(beats, beat_id, words=words[:start] + text + words[end:])


# --- split and join ----------------------------------------------------------------------------


def word_boundary(words: str, offset: int) -> int:
    """The place nearest at or before ``offset`` that does not lie inside a word; blanks stay left of it."""
    offset = max(0, min(offset, len(words)))
    while 0 < offset < len(words) and not words[offset - 1].isspace() and not words[offset].isspace():
        offset -= 1
    while offset < len(words) and words[offset].isspace():
        offset += 1
    return offset


def place_to_split(words: str) -> int:
    """Where to split when no cursor says so: a blank line, else the sentence end nearest the middle."""
    blank = words.find("\n\n")
    if blank > 0:
        return blank
    ends = [match.end() for match in re.finditer(r"[.!?…]+[\"'”’)]*\s+", words)]
    return min(ends, key=lambda end: abs(2 * end - len(words)), default=len(words))


def split(beats: Beats, beat_id: str, offset: int, new_id: str) -> Beats:
    """Two beats for one: the words before and from character ``offset``, never inside a word.

    The picture is divided in proportion to how long each side takes to say: an excerpt at a whole
    frame with at least one frame on each side, or inside its hold, where the rest becomes a still of
    the held frame; stills, plates and camera at a whole millisecond. Recordings are dropped. Raises
    RevisionError where the picture can't be divided.
    """
    _unused(beats, new_id)
    place = place_of(beats, beat_id)
    beat = beats[place]
    at = word_boundary(beat.words, offset)
    left, right = _divided_picture(beat, _share(beat.words[:at], beat.words[at:]))
    first = replace(left, words=beat.words[:at], **_UNRECORDED)
    second = replace(right, id=new_id, words=beat.words[at:], heading="", **_UNRECORDED, **_NOTHING_KEPT)
    return (*beats[:place], first, second, *beats[place + 1 :])


def _share(left: str, right: str) -> Fraction:
    """How much of the saying lies on the left; half where nothing is said."""
    before, after = (
        sum(measure(one.spoken).syllables for one in read_aloud(text).sentences) for text in (left, right)
    )
    return Fraction(before, before + after) if before + after else Fraction(1, 2)


def _milliseconds_part(seconds: Fraction, share: Fraction) -> Fraction:
    """A part of ``seconds`` in whole milliseconds that leaves something on both sides."""
    part = Fraction(round(seconds * share * 1000), 1000)
    step = min(Fraction(1, 1000), seconds / 2)
    return max(step, min(part, seconds - step))


def _divided_picture(beat: BeatView, share: Fraction) -> tuple[BeatView, BeatView]:
    if beat.kind != "excerpt":
        if beat.seconds <= 0:
            return beat, beat
        part = _milliseconds_part(beat.seconds, share)
        return replace(beat, seconds=part), replace(beat, seconds=beat.seconds - part)
    if beat.frame_count == 0:
        return beat, beat
    into = share * beat.picture_seconds - beat.moving_seconds
    if beat.hold > 0 and (into > 0 or beat.frame_count == 1):
        return _divided_hold(beat, into)
    if beat.frame_count == 1:
        raise RevisionError(
            "This excerpt is a single frame and can't be divided: hold it, or make it a still first."
        )
    wanted = frames_nearest(share * beat.picture_seconds * beat.speed, beat.source_rate).count
    cut = beat.in_frame + max(1, min(wanted, beat.frame_count - 1))
    left, right = _divided_beside(beat, cut)
    return (
        replace(beat, out_frame=cut, hold=Fraction(0), beside=left),
        replace(beat, in_frame=cut, beside=right),
    )


def _divided_beside(beat: BeatView, cut: int) -> tuple[SecondView | None, SecondView | None]:
    """The view beside before and from frame ``cut`` of the first; a tied one follows the first by itself.

    Where it is over by then, its last frame stays.
    """
    beside = beat.beside
    if beside is None or beside.offset is not None:
        return beside, beside
    passed = frames_nearest((cut - beat.in_frame) / beat.source_rate, beside.rate).count
    at = beside.in_frame + max(1, passed)
    if at >= beside.out_frame:
        return beside, _last_frame(beside)
    return replace(beside, out_frame=at), replace(beside, in_frame=at)


def _last_frame(beside: SecondView) -> SecondView:
    return replace(beside, in_frame=beside.out_frame - 1)


def _divided_hold(beat: BeatView, into: Fraction) -> tuple[BeatView, BeatView]:
    part = _milliseconds_part(beat.hold, max(Fraction(0), into) / beat.hold)
    still = replace(
        beat,
        kind="still",
        in_frame=beat.out_frame - 1,
        out_frame=beat.out_frame,
        speed=Fraction(1),
        hold=Fraction(0),
        seconds=beat.hold - part,
        beside=beat.beside and _last_frame(beat.beside),
    )
    return replace(beat, hold=part), still


def can_join(first: BeatView, second: BeatView) -> bool:
    """Whether the two pictures are one picture cut in two, so that joining loses none of either."""
    return _joined_picture(first, second) is not None


def _same(first: BeatView, second: BeatView, *names: str) -> bool:
    return all(getattr(first, name) == getattr(second, name) for name in names)


_FOOTAGE: Final = ("source_id", "source_rate", "mirrored")
_PLATE: Final = (
    "plate",
    "plate_title",
    "plate_text",
    "plate_entry_kind",
    "plate_entry",
    "plate_rows",
    "plate_said",
    "plate_source",
)


def _joined_picture(first: BeatView, second: BeatView) -> BeatView | None:
    """``first`` with the picture of both; None where they are two different pictures."""
    if first.kind == second.kind == "excerpt":
        follows = first.out_frame == second.in_frame and not first.hold and _beside_goes_on(first, second)
        alike = _same(first, second, *_FOOTAGE, "speed", "original_sound")
        if not (follows and alike):
            return None
        joined = replace(first, out_frame=second.out_frame, hold=second.hold)
        if first.beside and second.beside and first.beside.offset is None:
            return replace(joined, beside=replace(first.beside, out_frame=second.beside.out_frame))
        return joined
    if first.kind == "excerpt" and second.kind == "still":
        held = (
            first.frame_count > 0 and second.in_frame == first.out_frame - 1 and _beside_stays(first, second)
        )
        return (
            replace(first, hold=first.hold + second.seconds)
            if held and _same(first, second, *_FOOTAGE)
            else None
        )
    if first.kind == second.kind:
        names = (*_FOOTAGE, "in_frame", "beside") if first.kind == "still" else _PLATE
        return (
            replace(first, seconds=first.seconds + second.seconds) if _same(first, second, *names) else None
        )
    return None


def _beside_goes_on(first: BeatView, second: BeatView) -> bool:
    """Whether what stands beside the second picture is what follows beside the first."""
    one, other = first.beside, second.beside
    if one is None or other is None:
        return one is other
    alike = _same_view(one, other)
    return alike and (one.offset is not None or other.in_frame in (one.out_frame, one.out_frame - 1))


def _beside_stays(first: BeatView, second: BeatView) -> bool:
    """Whether what stands beside a still is what the view beside an excerpt arrived at."""
    one, other = first.beside, second.beside
    if one is None or other is None:
        return one is other
    return _same_view(one, other) and (one.offset is not None or other.in_frame == one.out_frame - 1)


def _same_view(one: SecondView, other: SecondView) -> bool:
    return (one.source_id, one.mirrored, one.offset) == (other.source_id, other.mirrored, other.offset)


def join(beats: Beats, beat_id: str) -> Beats:
    """The beat and the next one as one: words one after the other, pictures as one where they are one.

    Two different pictures: the first stays and is held longer by the time of the second, so that the
    words keep their time. Trade-offs come together, a contact stays. Recordings are dropped. Raises RevisionError at the
    last beat, and where each has a contact of its own.
    """
    place = place_of(beats, beat_id)
    if place + 1 >= len(beats):
        raise RevisionError("The last beat has none after it to join with.")
    first, second = beats[place], beats[place + 1]
    picture = _joined_picture(first, second) or _lengthened(first, second)
    words = _joined_words(first.words, second.words)
    joined = replace(picture, words=words, **_UNRECORDED, **_kept_of_both(first, second))
    if not joined.heading:
        joined = replace(joined, heading=second.heading)
    return (*beats[:place], joined, *beats[place + 2 :])


def _kept_of_both(first: BeatView, second: BeatView) -> dict[str, Any]:
    if first.contact and second.contact and first.contact != second.contact:
        raise RevisionError(
            "Each of the two beats has a contact of its own, and one beat keeps one: forget one of them first."
        )
    tradeoffs = tuple(dict.fromkeys((*first.tradeoffs, *second.tradeoffs)))
    return {"contact": first.contact or second.contact, "tradeoffs": tradeoffs}


def _lengthened(first: BeatView, second: BeatView) -> BeatView:
    if not first.picture_seconds and second.picture_seconds:
        return replace(second, id=first.id, heading=first.heading, phase=first.phase)
    name = "hold" if first.kind == "excerpt" else "seconds"
    return replace(first, **{name: getattr(first, name) + second.picture_seconds})


def _joined_words(first: str, second: str) -> str:
    if not first or not second or first[-1].isspace() or second[0].isspace():
        return first + second
    return f"{first} {second}"


# --- recorded words ----------------------------------------------------------------------------


def correct_recording(
    beats: Beats,
    beat_id: str,
    span: tuple[int, int],
    was: str,
    card: Mapping[str, str],
    new_id: Callable[[], str],
) -> Beats:
    """A correction card as the picture over recorded words, from the sentence that holds ``span`` on.

    ``card`` has ``plate_said``, ``plate_text`` (what is right) and ``plate_source``. Words and recording stay
    as they are: the beat is cut between words, each part with its own recorded time, and the card stays until
    the sentence ends and it can be read, or the beat ends. Raises RevisionError.
    """
    place = place_of(beats, beat_id)
    beat = beats[place]
    if beat.words[span[0] : span[1]] != was or not was:
        raise RevisionError("The words have changed since this was proposed: look at the note again.")
    if beat.take_seconds is None or beat.take_is_file:
        raise RevisionError("These words have no recording that can be divided: change the words themselves.")
    start, end = _card_span(beat, span, card)
    before, rest = _cut_recorded(beat, start, new_id) if start else (None, beat)
    over, after = _cut_recorded(rest, end - start, new_id) if end < len(beat.words) else (rest, None)
    seconds = Fraction(round(over.picture_seconds * 1000), 1000) or over.take_seconds or Fraction(1)
    plain = {name: getattr(_PLAIN_PICTURE, name) for name in _PICTURE}
    shown = replace(over, **{**plain, "kind": "plate", "plate": "correction", "seconds": seconds, **card})
    parts = tuple(part for part in (before, shown, after) if part is not None)
    return (*beats[:place], *parts, *beats[place + 1 :])


_PICTURE: Final = (
    *_FOOTAGE,
    "in_frame",
    "out_frame",
    "speed",
    "hold",
    "original_sound",
    "marked",
    "beside",
    "purpose",
    *_PLATE,
    "plate_reading",
)
_PLAIN_PICTURE: Final = BeatView("", "plate")


def _card_span(beat: BeatView, span: tuple[int, int], card: Mapping[str, str]) -> tuple[int, int]:
    """The words that the card covers: whole sentences, then word by word until it can be read."""
    sentences = read_aloud(beat.words).sentences
    start = max((one.start for one in sentences if one.start <= span[0]), default=span[0])
    end = min((one.end for one in sentences if one.end >= span[1]), default=span[1])
    if not beat.words[:start].strip():
        start = 0
    assert beat.take_seconds is not None
    reading = Correction(card["plate_said"], card["plate_text"], card["plate_source"]).reading
    wanted = len(reading.split()) / limit("readable_words_per_second") / beat.take_seconds
    begun = share_before(beat.words, beat.word_starts, beat.take_seconds, start)
    for end in (at for at in [*word_offsets(beat.words), len(beat.words)] if at >= end):
        share = share_before(beat.words, beat.word_starts, beat.take_seconds, end)
        left = (1 - share) * beat.take_seconds
        if share - begun >= wanted and left >= limit("cut_min_seconds"):
            return start, end
    return start, len(beat.words)


def _cut_recorded(beat: BeatView, at: int, new_id: Callable[[], str]) -> tuple[BeatView, BeatView]:
    """The beat before and from character ``at``, each with its part of the picture and of the recording."""
    assert beat.take_seconds is not None
    words, starts = beat.words, beat.word_starts
    share = share_before(words, starts, beat.take_seconds, at)
    part = _milliseconds_part(beat.take_seconds, share)
    left, right = _divided_picture(beat, share)
    first = replace(
        left, words=words[:at], take_seconds=part, word_starts=starts_between(words, starts, 0, at)
    )
    second = replace(
        right,
        id=new_id(),
        words=words[at:],
        heading="",
        take_seconds=beat.take_seconds - part,
        word_starts=starts_between(words, starts, at, len(words)),
        **_NOTHING_KEPT,
    )
    return first, second
