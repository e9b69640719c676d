"""Timed transcripts (WebVTT or SRT) read into cues, and cues cut into beats at pauses.

Reading follows W3C WebVTT for ``WEBVTT`` files and common practice for SRT, which has no standard.
Files from outside are forgiving where nothing is lost by it (a missing blank line at the end, a
point for a comma, missing counters) and refused with the number of the line where guessing would be
needed. Times are exact: whole milliseconds as Fractions of a second.
"""

from __future__ import annotations

import html
import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal

from breakdowns.scripts.tables import limit

__all__ = [
    "Cue",
    "TimedBeat",
    "TimedWord",
    "Transcript",
    "TranscriptError",
    "cut_at_pauses",
    "cut_into_beats",
    "read_transcript",
    "without_roll_up",
]


class TranscriptError(ValueError):
    """A transcript that can't be read: one sentence with the line, counted from 1 (0: the file)."""

    def __init__(self, sentence: str, line: int = 0) -> None:
        super().__init__(f"Line {line}: {sentence}" if line else sentence)
        self.line = line


@dataclass(frozen=True, slots=True)
class Cue:
    """[start, end) in seconds, the lines shown, who speaks; ``anchors`` are inner timestamps:
    (characters of the lines joined by spaces, second)."""

    start: Fraction
    end: Fraction
    lines: tuple[str, ...]
    speaker: str = ""
    anchors: tuple[tuple[int, Fraction], ...] = ()
    line_number: int = 0

    @property
    def text(self) -> str:
        return " ".join(self.lines)


@dataclass(frozen=True, slots=True)
class Transcript:
    """Cues by start, what kind of file it was, how it was encoded, and what was mended or left out."""

    cues: tuple[Cue, ...]
    form: Literal["webvtt", "srt"]
    encoding: str
    remarks: tuple[str, ...] = ()

    def __iter__(self) -> Iterator[Cue]:
        return iter(self.cues)

    def __len__(self) -> int:
        return len(self.cues)


# --- bytes to text -----------------------------------------------------------------------------

_MARKED: Final = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)


def _decode(data: bytes) -> tuple[str, str]:
    """(text, encoding). Raises TranscriptError for what is no text."""
    for mark, encoding in _MARKED:
        if data.startswith(mark):
            try:
                return data[len(mark) :].decode(encoding), encoding
            except UnicodeDecodeError as fault:
                raise TranscriptError(
                    f"The file says that it is {encoding.upper()} but is broken at byte {fault.start + len(mark)}: "
                    "save it as UTF-8."
                ) from None
    head = data[:400]
    if head[1::2].count(0) > len(head) // 4:
        return _decode(b"\xff\xfe" + data)
    if head[0::2].count(0) > len(head) // 4:
        return _decode(b"\xfe\xff" + data)
    if b"\x00" in head:
        raise TranscriptError("This is not a text file: choose a WebVTT (.vtt) or SRT (.srt) file.")
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace"), "windows-1252"


# --- text to cues ------------------------------------------------------------------------------

_STAMP: Final = r"(?:(\d{1,4}):)?(\d{1,2}):(\d{1,2})(?:[.,](\d{1,3}))?"
_TIMING: Final = re.compile(rf"^[ \t]*{_STAMP}[ \t]*-->[ \t]*{_STAMP}(?=[ \t]|$)[^\n]*$")
_INNER_STAMP: Final = re.compile(rf"<{_STAMP}>")
_VOICE: Final = re.compile(r"<v(?:\.[^\s>]{0,80})?[ \t]+([^>\n]{1,200})>")
_TAG: Final = re.compile(r"</?[A-Za-z][^<>\n]{0,300}>|<>|</>|\{\\[^{}\n]{0,200}\}")
_COUNTER: Final = re.compile(r"^[ \t]*\d{1,9}[ \t]*$")
_NOT_SPOKEN_BLOCK: Final = re.compile(r"^(?:NOTE|STYLE|REGION)(?:[ \t]|$)")
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufeff]")


def _seconds(parts: Sequence[str | None], line: int) -> Fraction:
    hours, minutes, seconds, thousandths = parts
    if int(minutes or 0) > 59 or int(seconds or 0) > 59:
        raise TranscriptError("minutes and seconds go from 00 to 59: mend the time.", line)
    whole = int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0)
    return whole + Fraction(int((thousandths or "0").ljust(3, "0")), 1000)


def read_transcript(data: bytes | str) -> Transcript:
    """The cues of a WebVTT or SRT file, in order of their start.

    ``data``: the bytes of the file, or its text. Live captions that roll up are folded so that every
    word stands once. Raises TranscriptError.
    """
    if len(data) > limit("transcript_bytes"):
        raise TranscriptError(
            f"The file is larger than {int(limit('transcript_bytes')) // 10**6} MB: divide it."
        )
    text, encoding = _decode(data) if isinstance(data, bytes) else (data, "text")
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    form: Literal["webvtt", "srt"] = "webvtt" if re.match(r"WEBVTT(?:[ \t]|$)", lines[0]) else "srt"
    cues, remarks = _cues(lines, form)
    if not cues:
        raise TranscriptError(
            "No times were found: each cue needs a line such as 00:00:01.000 --> 00:00:04.000."
        )
    if encoding == "windows-1252":
        remarks.append("The file is not UTF-8 and was read as Windows-1252: look at accents and dashes.")
    ordered = sorted(cues, key=lambda cue: cue.start)
    if ordered != cues:
        remarks.append("Some cues stood out of order and were sorted by their start.")
    folded = without_roll_up(ordered)
    if len(folded) != len(ordered) or any(a.lines != b.lines for a, b in zip(folded, ordered, strict=False)):
        remarks.append("Lines that roll up and repeat were folded: every word stands once.")
    spoken = tuple(cue for cue in folded if cue.text)
    if not spoken:
        raise TranscriptError("The cues hold no words: choose a file with the words that were spoken.")
    return Transcript(spoken, form, encoding, tuple(remarks))


def _cues(lines: list[str], form: str) -> tuple[list[Cue], list[str]]:
    cues: list[Cue] = []
    remarks: list[str] = []
    at = _after_header(lines) if form == "webvtt" else 0
    while at < len(lines):
        timing = _TIMING.match(lines[at])
        if timing:
            at = _one_cue(lines, at, timing, form, cues, remarks)
        elif "-->" in lines[at]:
            raise TranscriptError(
                f"{lines[at].strip()[:60]!r} is no pair of times: write 00:00:01.000 --> 00:00:04.000.",
                at + 1,
            )
        elif form == "webvtt" and _NOT_SPOKEN_BLOCK.match(lines[at]):
            at = _end_of_block(lines, at)
        else:
            _check_stray(lines, at, form)
            at += 1
    return cues, remarks


def _after_header(lines: list[str]) -> int:
    """Past the header block: everything up to the first blank line, unless times begin before it."""
    at = 1
    while at < len(lines) and lines[at] and "-->" not in lines[at]:
        at += 1
    return at


def _end_of_block(lines: list[str], at: int) -> int:
    while at < len(lines) and lines[at]:
        at += 1
    return at


def _check_stray(lines: list[str], at: int, form: str) -> None:
    """A line outside cues must be blank, a counter or an identifier right before its times."""
    if not lines[at].strip() or _COUNTER.match(lines[at]):
        return
    if form == "webvtt" or (at + 1 < len(lines) and _TIMING.match(lines[at + 1])):
        return
    raise TranscriptError(
        f"{lines[at].strip()[:60]!r} belongs to no times: a WebVTT file starts with the line WEBVTT, "
        "and an SRT file with a counter and its times.",
        at + 1,
    )


def _one_cue(
    lines: list[str], at: int, timing: re.Match[str], form: str, cues: list[Cue], remarks: list[str]
) -> int:
    """Append the cue whose times stand on line ``at``; returns the first line after it."""
    if len(cues) >= limit("transcript_cues"):
        raise TranscriptError(f"More than {limit('transcript_cues')} cues: divide the file.", at + 1)
    parts = timing.groups()
    start, end = _seconds(parts[:4], at + 1), _seconds(parts[4:], at + 1)
    if end < start:
        raise TranscriptError("the cue ends before it starts: change one of its times.", at + 1)
    until = _payload_end(lines, at + 1, form)
    if end == start:
        remarks.append(f"Line {at + 1}: a cue without length was left out.")
    else:
        cues.append(_cue(lines[at + 1 : until], start, end, at + 1))
    return until


def _payload_end(lines: list[str], at: int, form: str) -> int:
    """Where the cue's text ends. In SRT a blank line ends it only if a cue or nothing follows."""
    while at < len(lines):
        if _TIMING.match(lines[at]):
            named = at > 0 and _COUNTER.match(lines[at - 1])
            return at - 1 if named else at
        blank = not lines[at] if form == "webvtt" else not lines[at].strip()
        if blank and (form == "webvtt" or _cue_follows(lines, at)):
            return at
        at += 1
    return at


def _cue_follows(lines: list[str], at: int) -> bool:
    """Whether the next lines with something on them begin a cue, or nothing more comes."""
    following = [number for number in range(at, min(at + 12, len(lines))) if lines[number].strip()][:2]
    if not following:
        return True
    if "-->" in lines[following[0]]:
        return True
    return len(following) > 1 and "-->" in lines[following[1]]


def _cue(payload: Sequence[str], start: Fraction, end: Fraction, line: int) -> Cue:
    """One cue from its raw lines: tags, entities and inner timestamps taken out of the words."""
    text = _CONTROL.sub("", "\n".join(payload))
    voices = dict.fromkeys(html.unescape(name).strip() for name in _VOICE.findall(text))
    clean: list[str] = []
    anchors: list[tuple[int, Fraction]] = []
    length = 0
    for raw in text.split("\n"):
        spoken = ""
        at = 0
        for stamp in [*_INNER_STAMP.finditer(raw), None]:
            spoken += _plain(raw[at : stamp.start() if stamp else len(raw)])
            if stamp:
                moment = _inner(stamp.groups())
                last = anchors[-1][1] if anchors else start
                if moment is not None and last < moment < end:
                    anchors.append((length + len(" ".join(spoken.split())), moment))
                at = stamp.end()
        spoken = " ".join(spoken.split())
        if spoken:
            clean.append(spoken)
            length += len(spoken) + 1
    return Cue(start, end, tuple(clean), ", ".join(voices), tuple(anchors), line)


def _inner(parts: Sequence[str | None]) -> Fraction | None:
    try:
        return _seconds(parts, 0)
    except TranscriptError:
        return None


def _plain(raw: str) -> str:
    return html.unescape(_TAG.sub("", raw)).replace("\xa0", " ")


# --- live captions that roll up ----------------------------------------------------------------


def without_roll_up(cues: Sequence[Cue]) -> list[Cue]:
    """Cues in order of start with repeated lines folded away.

    Live captions show a line again above the next one, or the same line growing word by word. In a
    file where this happens between many touching neighbours, what a cue repeats of the end of what
    has just been shown is taken out of it. In any other file only exact doubles (same times, same
    text) go: a person may well say a thing twice.
    """
    unique = [
        cue for number, cue in enumerate(cues) if not number or _identity(cue) != _identity(cues[number - 1])
    ]
    pairs = [(a, b) for a, b in pairwise(unique) if b.start - a.end <= limit("touching_cues")]
    rolled = sum(1 for a, b in pairs if _shared(a.lines, b.lines))
    if rolled < 2 or rolled < limit("roll_up_share") * len(pairs):
        return unique
    folded: list[Cue] = []
    shown: tuple[str, ...] = ()
    last_end: Fraction | None = None
    for cue in unique:
        touching = last_end is not None and cue.start - last_end <= limit("touching_cues")
        fresh = _fresh(shown, cue) if touching else cue
        if fresh.text:
            folded.append(fresh)
        if cue.lines:
            shown = cue.lines
        last_end = max(cue.end, last_end or cue.end)
    return folded


def _identity(cue: Cue) -> tuple[Fraction, Fraction, str]:
    return cue.start, cue.end, cue.text


def _shared(shown: tuple[str, ...], lines: tuple[str, ...]) -> int:
    """How many lines at the start of ``lines`` repeat the end of ``shown``; a grown line counts as one."""
    for count in range(min(len(shown), len(lines)), 0, -1):
        if shown[-count:] == lines[:count]:
            return count
        grown = lines[count - 1].startswith(shown[-1] + " ")
        if shown[-count:-1] == lines[: count - 1] and grown:
            return count
    return 0


def _fresh(shown: tuple[str, ...], cue: Cue) -> Cue:
    """The cue without what it repeats of the lines shown just before."""
    count = _shared(shown, cue.lines)
    if not count:
        return cue
    rest = list(cue.lines[count:])
    if cue.lines[count - 1] != shown[-1]:
        rest.insert(0, cue.lines[count - 1][len(shown[-1]) :].strip())
    gone = len(cue.text) - len(" ".join(rest))
    anchors = tuple((at - gone, moment) for at, moment in cue.anchors if at >= gone)
    start = cue.start
    if anchors and anchors[0][0] == 0:
        start, anchors = anchors[0][1], anchors[1:]
    return replace(cue, start=start, lines=tuple(rest), anchors=anchors)


# --- beats -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TimedWord:
    """One word with the time it is taken to be spoken: inside its cue in proportion to its letters."""

    text: str
    start: Fraction
    end: Fraction
    speaker: str
    closes_cue: bool


@dataclass(frozen=True, slots=True)
class TimedBeat:
    """Words with their real time, [start, end) in seconds of the recording, and the second at which each begins."""

    words: str
    start: Fraction
    end: Fraction
    speaker: str = ""
    starts: tuple[Fraction, ...] = ()

    @property
    def seconds(self) -> Fraction:
        return self.end - self.start

    @property
    def spoken_ms(self) -> int:
        """Length in whole milliseconds, at least 1."""
        return max(1, round(self.seconds * 1000))

    @property
    def word_times(self) -> list[int]:
        """Where each word begins, in whole milliseconds of the recording."""
        return [round(start * 1000) for start in self.starts]


def _timed_words(cues: Iterable[Cue]) -> list[TimedWord]:
    words: list[TimedWord] = []
    for cue in cues:
        words += _words_of(cue)
    return words


def _words_of(cue: Cue) -> Iterator[TimedWord]:
    points = _Points(cue)
    found = list(re.finditer(r"\S+", cue.text))
    for number, match in enumerate(found):
        last = number == len(found) - 1
        until = cue.end if last else points.moment(found[number + 1].start())
        yield TimedWord(match[0], points.moment(match.start()), until, cue.speaker, last)


class _Points:
    """The known moments of a cue: its start, its inner timestamps, its end."""

    def __init__(self, cue: Cue) -> None:
        at = dict([(0, cue.start), *cue.anchors, (max(len(cue.text), 1), cue.end)])
        self.places, self.moments = list(at), list(at.values())

    def moment(self, at: int) -> Fraction:
        """The second at which character ``at`` is reached, straight between the known points."""
        left = min(bisect_right(self.places, at) - 1, len(self.places) - 2)
        began, ended = self.moments[left], self.moments[left + 1]
        return began + (ended - began) * Fraction(
            at - self.places[left], self.places[left + 1] - self.places[left]
        )


_SENTENCE_END: Final = re.compile(r"[.!?…][\"'”’»)\]]*$")
_CLAUSE_END: Final = re.compile(r"[,;:—–][\"'”’»)\]]*$")


def cut_into_beats(
    cues: Iterable[Cue],
    min_pause: Fraction | None = None,
    max_seconds: Fraction | None = None,
    min_seconds: Fraction | None = None,
) -> list[TimedBeat]:
    """Beats of a transcript, cut where the voice pauses for ``min_pause`` seconds or longer.

    A cut falls between sentences. Only where a sentence alone would last longer than ``max_seconds``
    it is divided, at its longest pause, else at a comma, else between cues or words. A transcript without full
    stops takes its pauses for sentence ends. Pieces shorter than ``min_seconds`` are joined to their
    neighbour where that stays within ``max_seconds``. No word is lost or doubled. Defaults: ``limits.csv``.
    Raises ValueError for a length that is not positive.
    """
    pause = limit("cut_min_pause") if min_pause is None else Fraction(min_pause)
    longest = limit("cut_max_seconds") if max_seconds is None else Fraction(max_seconds)
    shortest = limit("cut_min_seconds") if min_seconds is None else Fraction(min_seconds)
    if pause < 0 or longest <= 0 or shortest < 0:
        raise ValueError("Give a longest beat above 0 s, and a pause and a shortest beat not below.")
    words = _timed_words(cues)
    if not words:
        return []
    ends = _sentence_ends(words, pause)
    pieces = _cut_at(words, [at for at in ends if _gap(words, at) >= pause or _other_voice(words, at)])
    short = [
        part for piece in pieces for part in _shortened(piece, set(_sentence_ends(piece, pause)), longest)
    ]
    return [_beat(piece) for piece in _joined(short, shortest, longest)]


def cut_at_pauses(transcript: Iterable[Cue], min_pause: Fraction | None = None) -> list[TimedBeat]:
    """``cut_into_beats`` with the usual lengths."""
    return cut_into_beats(transcript, min_pause)


def _gap(words: Sequence[TimedWord], at: int) -> Fraction:
    """Silence before word ``at``; negative where cues overlap."""
    return words[at].start - words[at - 1].end


def _other_voice(words: Sequence[TimedWord], at: int) -> bool:
    return words[at].speaker != words[at - 1].speaker


def _sentence_ends(words: Sequence[TimedWord], pause: Fraction) -> list[int]:
    """Places (before word n) between sentences."""
    stops = sum(1 for word in words if _SENTENCE_END.search(word.text))
    unpunctuated = stops * limit("words_without_stop") < len(words)
    return [
        at
        for at in range(1, len(words))
        if _SENTENCE_END.search(words[at - 1].text)
        or _other_voice(words, at)
        or (unpunctuated and _gap(words, at) >= pause)
    ]


def _cut_at(words: Sequence[TimedWord], places: Sequence[int]) -> list[list[TimedWord]]:
    bounds = [0, *places, len(words)]
    return [list(words[left:right]) for left, right in pairwise(bounds) if left < right]


def _length(words: Sequence[TimedWord]) -> Fraction:
    return max(word.end for word in words) - words[0].start


def _shortened(words: list[TimedWord], ends: set[int], longest: Fraction) -> list[list[TimedWord]]:
    """Divide until every piece lasts at most ``longest`` or is a single word."""
    done: list[list[TimedWord]] = []
    waiting = [(words, ends)]
    while waiting:
        piece, stops = waiting.pop()
        if len(piece) == 1 or _length(piece) <= longest:
            done.append(piece)
            continue
        at = _best_cut(piece, stops)
        waiting.append((piece[at:], {stop - at for stop in stops if stop > at}))
        waiting.append((piece[:at], {stop for stop in stops if stop < at}))
    return done


def _best_cut(words: Sequence[TimedWord], stops: set[int]) -> int:
    """Between sentences if there are any, else at the longest pause, a clause, a cue, a word: near the middle."""
    middle = words[0].start + _length(words) / 2

    def off_centre(at: int) -> Fraction:
        return abs(words[at].start - middle)

    if stops:
        return min(stops, key=off_centre)
    quarter = len(words) // 4  # so that halving ends soon, whatever the file
    places = range(max(1, quarter), max(2, len(words) - quarter))
    pauses = [at for at in places if _gap(words, at) > 0]
    if pauses:
        return max(pauses, key=lambda at: (_gap(words, at), -off_centre(at)))
    clauses = [at for at in places if _CLAUSE_END.search(words[at - 1].text)]
    cues = [at for at in places if words[at - 1].closes_cue]
    return min(clauses or cues or places, key=off_centre)


def _joined(pieces: list[list[TimedWord]], shortest: Fraction, longest: Fraction) -> list[list[TimedWord]]:
    joined: list[list[TimedWord]] = []
    for piece in pieces:
        last = joined[-1] if joined else None
        if (
            last is not None
            and min(_length(last), _length(piece)) < shortest
            and _length([*last, *piece]) <= longest
            and last[-1].speaker == piece[0].speaker
        ):
            last.extend(piece)
        else:
            joined.append(list(piece))
    return joined


def _beat(words: Sequence[TimedWord]) -> TimedBeat:
    voices = ", ".join(dict.fromkeys(word.speaker for word in words if word.speaker))
    return TimedBeat(
        " ".join(word.text for word in words),
        words[0].start,
        max(word.end for word in words),
        voices,
        tuple(word.start for word in words),
    )
