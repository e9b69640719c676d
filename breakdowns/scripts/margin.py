"""The margin: one mechanism through which every check attaches notes to a script.

A check says what it *reads* of a beat or of the whole, as a hashable value, and *judges* that value
alone. So a result belongs to (check, version, reading) and is computed again only where the reading
has changed, however much else has. Adding a check is one class and one line in ``checks/__init__``.

The margin speaks only where there is something to do: no scores, no praise. A check that fails
yields nothing, is logged, and leaves the others alone.
"""

from __future__ import annotations

import logging
from abc import ABC, abstractmethod
from collections import OrderedDict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from threading import Lock
from typing import Any, ClassVar, Final, Literal, Protocol

from breakdowns.scripts.script import BeatView, ScriptView

__all__ = [
    "Action",
    "BeatCheck",
    "CacheKey",
    "Check",
    "Failure",
    "Finding",
    "FindingsCache",
    "Margin",
    "MemoryCache",
    "Note",
    "Reading",
    "WholeCheck",
    "cache_key_text",
    "read_margin",
]

State = Literal["over", "near", "offer"]
_ORDER: Final = {"over": 0, "near": 1, "offer": 2}
_log = logging.getLogger(__name__)

Argument = str | int | bool | tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do: a label that begins with a verb, and the command that does it.

    ``arguments`` are pairs of name and JSON-able value; exact numbers are texts such as "58/5". The
    margin adds ``beat`` where the note is about a beat. Commands: ``commands.COMMANDS``. ``key`` is
    the name of a key as in ``KeyboardEvent.key`` (W3C UI Events), pressed while the note has focus.
    """

    label: str
    command: str
    arguments: tuple[tuple[str, Argument], ...] = ()
    key: str = ""

    @property
    def key_says(self) -> str:
        return {"Enter": "⏎"}.get(self.key, self.key)

    def as_json(self) -> dict[str, Any]:
        """``{"label", "command", "arguments", "key"}``."""
        arguments = {name: _listed(value) for name, value in self.arguments}
        return {"label": self.label, "command": self.command, "arguments": arguments, "key": self.key}


def _listed(value: Any) -> Any:
    return [_listed(one) for one in value] if isinstance(value, tuple) else value


@dataclass(frozen=True, slots=True)
class Finding:
    """What a check has to say about its reading.

    ``says``: what is so. ``mend``: what to do, one sentence. ``instead``: words to put in place.
    ``cite``: the source. ``span``: half-open characters of the beat's words. ``rule`` tells findings of
    one check apart; ``about`` is what an answer hangs on (default: the quoted words, else everything
    that was read). ``beat`` names the beat where the reading is of the whole.
    """

    state: State
    says: str
    mend: str = ""
    actions: tuple[Action, ...] = ()
    span: tuple[int, int] | None = None
    instead: str = ""
    cite: str = ""
    rule: str = ""
    about: str = ""
    beat: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """A finding at its place. ``beat`` is "" for the whole piece; ``quote`` the words at ``span``.

    ``id`` stays the same while what the note is about stays the same, whatever moves around it.
    """

    id: str
    check: str
    state: State
    beat: str
    span: tuple[int, int] | None
    quote: str
    says: str
    mend: str
    instead: str
    cite: str
    actions: tuple[Action, ...]

    def as_json(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "check": self.check,
            "state": self.state,
            "beat": self.beat or None,
            "span": list(self.span) if self.span else None,
            "quote": self.quote,
            "says": self.says,
            "mend": self.mend,
            "instead": self.instead,
            "cite": self.cite,
            "actions": [action.as_json() for action in self.actions],
        }


# --- checks ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reading:
    """What a check reads at one place; ``beat`` is "" for the whole."""

    beat: str
    material: Hashable


class Check(ABC):
    """``key`` is stable and unique; raise ``version`` whenever ``judge`` would say something else."""

    key: ClassVar[str]
    version: ClassVar[int] = 1

    @abstractmethod
    def readings(self, script: ScriptView) -> Iterable[Reading]:
        """Everything that will be judged, place by place."""

    @abstractmethod
    def judge(self, material: Any) -> Iterable[Finding]:
        """What is to be said about one reading. Must not look at anything else."""


class BeatCheck(Check):
    """A check that looks at one beat at a time."""

    def readings(self, script: ScriptView) -> Iterator[Reading]:
        for beat in script.beats:
            material = self.reads(beat, script)
            if material is not None:
                yield Reading(beat.id, material)

    @abstractmethod
    def reads(self, beat: BeatView, script: ScriptView) -> Hashable | None:
        """The part of the beat (and of the whole) that matters, hashable; None: nothing to judge."""


class WholeCheck(Check):
    """A check that looks at the piece as a whole."""

    def readings(self, script: ScriptView) -> Iterator[Reading]:
        material = self.reads(script)
        if material is not None:
            yield Reading("", material)

    @abstractmethod
    def reads(self, script: ScriptView) -> Hashable | None:
        """The part of the whole that matters, hashable; None: nothing to judge."""


# --- results that stay -------------------------------------------------------------------------


class CacheKey:
    """(check, version, reading); its hash is worked out once, since exact numbers hash slowly."""

    __slots__ = ("_hash", "check", "material", "version")

    def __init__(self, check: str, version: int, material: Hashable) -> None:
        self.check, self.version, self.material = check, version, material
        self._hash = hash((check, version, material))

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, CacheKey)
            and self._hash == other._hash
            and (self.check, self.version) == (other.check, other.version)
            and self.material == other.material
        )


Findings = tuple[Finding, ...]


class FindingsCache(Protocol):
    """Where results are kept; one call each way, so that a remote cache is asked once."""

    def get_many(self, keys: Sequence[CacheKey]) -> Mapping[CacheKey, Findings]: ...

    def set_many(self, found: Mapping[CacheKey, Findings]) -> None: ...


class MemoryCache:
    """Results of this process, the least recently used going first. Safe between threads."""

    def __init__(self, most: int = 20_000) -> None:
        self._kept: OrderedDict[CacheKey, Findings] = OrderedDict()
        self._most = most
        self._lock = Lock()

    def get_many(self, keys: Sequence[CacheKey]) -> Mapping[CacheKey, Findings]:
        with self._lock:
            found = {key: kept for key in keys if (kept := self._kept.get(key)) is not None}
            for key in found:
                self._kept.move_to_end(key)
        return found

    def set_many(self, found: Mapping[CacheKey, Findings]) -> None:
        with self._lock:
            self._kept.update(found)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)

    def __len__(self) -> int:
        return len(self._kept)


def cache_key_text(key: CacheKey) -> str:
    """The key as a short text that is the same in every process, for a shared cache."""
    read = blake2b(repr(key.material).encode(), digest_size=20).hexdigest()
    return f"margin:{key.check}:{key.version}:{read}"


# --- reading -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Failure:
    """A check that could not do its work at one place ("" for the whole)."""

    check: str
    beat: str
    error: str


@dataclass(frozen=True, slots=True)
class Margin:
    """The notes in order: the whole piece first, then beat by beat, the gravest first.

    ``silenced`` are the notes that a person has answered, each with its reason.
    """

    notes: tuple[Note, ...]
    silenced: tuple[tuple[Note, str], ...] = ()
    failures: tuple[Failure, ...] = ()

    @property
    def of_whole(self) -> tuple[Note, ...]:
        return tuple(note for note in self.notes if not note.beat)

    def of_beat(self, beat_id: str) -> tuple[Note, ...]:
        return tuple(note for note in self.notes if note.beat == beat_id)


def read_margin(
    script: ScriptView,
    checks: Iterable[Check],
    *,
    cache: FindingsCache | None = None,
    answered: Mapping[str, str] | None = None,
) -> Margin:
    """All notes on a script. ``answered``: ids of notes that a person meant, with their reasons."""
    failures: list[Failure] = []
    places = _places(script, checks, failures)
    results = _results(places, cache, failures)
    notes: list[tuple[tuple[Any, ...], Note]] = []
    for rank, (check, reading, key) in enumerate(places):
        for finding in results.get(key, ()):
            note = _bound(script, check, reading, finding, failures)
            if note is not None:
                notes.append((_sorting(script, note, rank), note))
    ordered = _told_once(note for _, note in sorted(notes, key=lambda pair: pair[0]))
    meant = answered or {}
    return Margin(
        notes=tuple(note for note in ordered if note.id not in meant),
        silenced=tuple((note, meant[note.id]) for note in ordered if note.id in meant),
        failures=tuple(failures),
    )


_Place = tuple[Check, Reading, CacheKey]


def _failed(failures: list[Failure], check: Check, beat: str, fault: Exception) -> None:
    _log.exception("The check %s failed at %s.", check.key, beat or "the whole piece", exc_info=fault)
    failures.append(Failure(check.key, beat, f"{type(fault).__name__}: {fault}"[:300]))


def _places(script: ScriptView, checks: Iterable[Check], failures: list[Failure]) -> list[_Place]:
    places: list[_Place] = []
    for check in checks:
        try:
            found = [
                (check, reading, CacheKey(check.key, check.version, reading.material))
                for reading in check.readings(script)
            ]
            places += found
        except Exception as fault:  # a check from anywhere may fail in any way
            _failed(failures, check, "", fault)
    return places


def _results(
    places: Sequence[_Place], cache: FindingsCache | None, failures: list[Failure]
) -> Mapping[CacheKey, Findings]:
    keys = list(dict.fromkeys(key for _, _, key in places))
    results = dict(cache.get_many(keys)) if cache is not None else {}
    fresh: dict[CacheKey, Findings] = {}
    failed: set[CacheKey] = set()
    for check, reading, key in places:
        if key in results or key in fresh or key in failed:
            continue
        try:
            fresh[key] = tuple(_with_about(finding, key) for finding in check.judge(reading.material))
        except Exception as fault:  # a check from anywhere may fail in any way
            failed.add(key)
            _failed(failures, check, reading.beat, fault)
    if fresh and cache is not None:
        cache.set_many(fresh)
    return results | fresh


def _with_about(finding: Finding, key: CacheKey) -> Finding:
    """A finding about no words and nothing named is about all that was read."""
    return finding if finding.about or finding.span else replace(finding, about=cache_key_text(key))


def _bound(
    script: ScriptView, check: Check, reading: Reading, finding: Finding, failures: list[Failure]
) -> Note | None:
    """The finding at its place; None (and a failure) where it points at words that are not there."""
    beat_id = reading.beat or finding.beat
    words = script.by_id[beat_id].words if beat_id in script.by_id else ""
    quote = ""
    if finding.span is not None:
        start, end = finding.span
        if not 0 <= start < end <= len(words):
            _failed(
                failures, check, beat_id, ValueError(f"points at {finding.span} of {len(words)} characters")
            )
            return None
        quote = words[start:end]
    return Note(
        id=_stable_id(check.key, finding.rule, beat_id, finding.about or quote),
        check=check.key,
        state=finding.state,
        beat=beat_id,
        span=finding.span,
        quote=quote,
        says=finding.says,
        mend=finding.mend,
        instead=finding.instead,
        cite=finding.cite,
        actions=tuple(_aimed(action, beat_id) for action in finding.actions),
    )


def _aimed(action: Action, beat_id: str) -> Action:
    if not beat_id or any(name == "beat" for name, _ in action.arguments):
        return action
    return Action(action.label, action.command, (("beat", beat_id), *action.arguments), action.key)


def _stable_id(*parts: str) -> str:
    return f"{parts[0]}-{blake2b(chr(0).join(parts).encode(), digest_size=10).hexdigest()}"


def _sorting(script: ScriptView, note: Note, rank: int) -> tuple[Any, ...]:
    place = script.positions.get(note.beat, -1)
    return place, _ORDER[note.state], note.span or (0, 0), rank


def _told_once(notes: Iterable[Note]) -> list[Note]:
    """Without doubles (same place, same words); ids of like notes numbered from the second on."""
    said: set[tuple[Any, ...]] = set()
    seen: dict[str, int] = {}
    kept = []
    for note in notes:
        double = (note.beat, note.span, note.says)
        if double in said:
            continue
        said.add(double)
        seen[note.id] = seen.get(note.id, 0) + 1
        kept.append(note if seen[note.id] == 1 else replace(note, id=f"{note.id}-{seen[note.id]}"))
    return kept
