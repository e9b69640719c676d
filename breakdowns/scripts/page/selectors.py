"""The script page: its rows, strip and margin, and who has it open."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from uuid import UUID

from django.core.cache import cache
from django.urls import reverse

from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.excerpts.ledger import Ledger, compute
from breakdowns.excerpts.policies import PolicyError, UnknownPolicy
from breakdowns.excerpts.selectors import policy_named
from breakdowns.excerpts.verdicts import judge
from breakdowns.footage.models import Source
from breakdowns.footage.timebase import clock_label, decimal_text
from breakdowns.people.models import User
from breakdowns.scripts.checks.plain_words import PlainWordsCheck
from breakdowns.scripts.commands import BY_HAND
from breakdowns.scripts.contact.kept import Kept, kept_with
from breakdowns.scripts.excerpt_plan import plan_of
from breakdowns.scripts.margin import Action, Note
from breakdowns.scripts.models import Beat, Breakdown, Revision, SetAside
from breakdowns.scripts.script import BeatView, ScriptView, words_seconds
from breakdowns.scripts.selectors import beats_of, has_marks, margin_of, script_view
from breakdowns.scripts.speech import VoiceProfile, estimate, fit
from breakdowns.scripts.two_views.selectors import (
    beside_source,
    footage_of,
)
from breakdowns.scripts.vocabulary_stamps import vocabulary_stamp

HERE_SECONDS = 50
_ZERO = Fraction(0)


@dataclass(frozen=True)
class MarkedText:
    """A stretch of words; ``note`` is the id of the note that points at it."""

    text: str
    state: str = ""
    note: str = ""


@dataclass(frozen=True)
class NoteAction:
    """A button of a note, or a link where a person has to go on by hand."""

    label: str
    key: str
    key_says: str
    href: str = ""
    panel: str = ""
    select: str = ""


@dataclass(frozen=True)
class NoteRow:
    note: Note
    actions: list[NoteAction]


@dataclass(frozen=True)
class StripPart:
    """A part of the strip; ``x`` and ``width`` in per cent of the piece."""

    key: str
    number: int
    kind: str
    x: str
    width: str
    says: str


@dataclass(frozen=True)
class Tick:
    x: str
    label: str
    minor: bool


@dataclass
class Aside:
    """Words set aside, as the page shows them."""

    pk: int
    beat_key: UUID
    words: str
    made_by: User | None
    made_at: datetime
    is_mine: bool
    other: str


@dataclass
class Row:
    """One beat on the page."""

    beat: Beat
    view: BeatView
    number: int
    start: Fraction
    x: str
    words_seconds: Fraction
    fit_state: str
    fit_says: str
    head: str
    says: str
    says_more: str
    still_source: Source | None
    still_frame: int
    still_label: str
    beside_source: Source | None
    beside_frame: int
    beside_label: str
    is_first: bool
    is_last: bool
    marked: list[MarkedText]
    notes: list[NoteRow] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)

    @property
    def picture_seconds(self) -> Fraction:
        return self.view.picture_seconds

    @property
    def kept(self) -> Kept:
        """The contact and the trade-offs of the beat."""
        return kept_with(self.beat.contact_rows, self.beat.tradeoffs)


@dataclass
class ScriptPage:
    """Everything the script page shows."""

    breakdown: Breakdown
    script: ScriptView
    rows: list[Row]
    ledger: Ledger
    policy_title: str
    share_state: str
    share_why: str
    undo: Revision | None
    redo: Revision | None
    orphans: list[Aside]
    notes: list[NoteRow] = field(default_factory=list)
    offers: list[NoteRow] = field(default_factory=list)
    silenced: list[tuple[Note, str]] = field(default_factory=list)

    def row(self, key: UUID) -> Row | None:
        return next((row for row in self.rows if row.beat.key == key), None)

    @property
    def seconds(self) -> Fraction:
        return self.script.picture_seconds

    @property
    def vocabulary_stamp(self) -> str:
        return vocabulary_stamp(self.script.vocabulary or packaged_vocabulary())

    @property
    def words_seconds(self) -> Fraction:
        return sum((row.words_seconds for row in self.rows), _ZERO)

    @property
    def word_count(self) -> int:
        return sum(estimate(row.view.words, self.script.voice).words for row in self.rows)

    @property
    def pace(self) -> int:
        """Words a minute of the voice, for the teleprompter."""
        return round(self.script.voice.words_per_minute)

    @property
    def others_seconds(self) -> Fraction:
        return self.ledger.excerpt_screen_seconds

    @property
    def others_percent(self) -> str:
        share = self.ledger.excerpt_share_of_piece
        return "" if not share else decimal_text(share * 100, 0)

    @property
    def longest_run(self) -> Fraction:
        return self.ledger.longest_any_source_run_seconds

    @property
    def _sources(self) -> dict[int, Source]:
        shown = (source for row in self.rows for source in (row.still_source, row.beside_source) if source)
        return {source.pk: source for source in shown}

    @property
    def events(self) -> list[str]:
        return list(dict.fromkeys(source.event.name for source in self._sources.values() if source.event))

    @property
    def views(self) -> str:
        names = list(dict.fromkeys(source.view for source in self._sources.values() if source.view))
        if not names:
            return ""
        told = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
        return f"{told} view{'s' if len(names) > 2 else ''}"

    @property
    def strip(self) -> list[StripPart]:
        return [part for row in self.rows for part in _strip_parts(row, self)]

    @property
    def ticks(self) -> list[Tick]:
        return _ticks(self.seconds)


def _per_cent(part: Fraction, whole: Fraction) -> str:
    return decimal_text(100 * part / whole, 3) if whole else "0"


def _strip_parts(row: Row, page: ScriptPage) -> list[StripPart]:
    """Others' moving picture, others' held picture, own picture: what lasts longer than nothing."""
    shown = [source for source in (row.still_source, row.beside_source) if source]
    counted = any(source.counts_in_ledger for source in shown)
    moving = max(row.view.moving_seconds, row.view.moving_beside)
    spans = [("moving", moving), ("held", row.picture_seconds - moving)]
    if not counted:
        spans = [("own-part", row.picture_seconds)]
    parts, at = [], row.start
    for kind, seconds in spans:
        if seconds > 0:
            says = f"{row.head.lower()} {'moving ' if kind == 'moving' else ''}{decimal_text(seconds, 1)} s"
            x, width = _per_cent(at, page.seconds), _per_cent(seconds, page.seconds)
            parts.append(StripPart(str(row.beat.key), row.number, kind, x, width, says))
        at += seconds
    return parts


def _ticks(seconds: Fraction) -> list[Tick]:
    """A tick each 5, 10, 15, 30, 60 … seconds: at most nine. Every other label may be left out."""
    step = next((step for step in (5, 10, 15, 30, 60, 120, 300, 600, 1800) if seconds / step <= 8), 3600)
    places = range(0, int(seconds) + 1, step)
    # A label needs room to its right.
    return [
        Tick(_per_cent(Fraction(at), seconds), clock_label(Fraction(at), 0), number % 2 == 1)
        for number, at in enumerate(places)
        if seconds and at <= seconds * Fraction(96, 100)
    ]


_SPEEDS = {Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾", Fraction(1, 3): "⅓"}


def _speed_text(speed: Fraction) -> str:
    return _SPEEDS.get(speed) or (
        f"{speed.numerator}/{speed.denominator}" if speed < 1 else f"{float(speed):g}×"
    )


def _picture_lines(beat: Beat, view: BeatView, source: Source | None) -> tuple[str, str, str]:
    """(kind, what it is, what comes with it) as the page says them."""
    if beat.kind == Beat.Kind.EXCERPT:
        return _excerpt_lines(beat, view, source)
    told = f"{decimal_text(view.seconds, 1)} s"
    if beat.kind == Beat.Kind.STILL:
        if source is None:
            return "Still", "not chosen yet", ""
        where = f"{source.view or source.title}, {source.timecode_at(view.in_frame)}, {told}"
        more = ["marks on the still"] if view.marked != "none" else []
        more += ["mirrored"] if beat.mirrored else []
        return "Still", where, " · ".join([*_beside_lines(beat, view), *more])
    if beat.kind == Beat.Kind.PLATE:
        return "Plate", f"{_plate_says(beat)}, {told}", "own picture"
    return "To camera", told, ""


def _plate_says(beat: Beat) -> str:
    if beat.plate == Beat.Plate.POSTURE:
        return f"posture: {beat.plate_entry or 'none chosen yet'}"
    if beat.plate == Beat.Plate.CONTACT:
        return f"contact: {beat.plate_entry or 'none chosen yet'}"
    if beat.plate != Beat.Plate.ANATOMY:
        return beat.get_plate_display()
    return f"anatomy: {beat.plate_entry or 'no entry chosen yet'}"


def _excerpt_lines(beat: Beat, view: BeatView, source: Source | None) -> tuple[str, str, str]:
    if source is None:
        return "Excerpt", "not chosen yet", ""
    played = view.frame_count / view.source_rate
    says = f"{source.view or source.title}, {decimal_text(played, 1)} s"
    if view.speed != 1:
        says += f" at {_speed_text(view.speed)} → {decimal_text(view.moving_seconds, 1)} s"
    more = _beside_lines(beat, view)
    more += [f"then still, {decimal_text(view.hold, 1)} s"] if view.hold else []
    more += ["original sound" if beat.original_sound else "muted"]
    more += ["mirrored"] if beat.mirrored else []
    more += ["marks on the still"] if has_marks(beat) else []
    more += [f"curve of “{beat.curve_track}”"] if beat.curve_track else []
    return "Excerpt", says, " · ".join(more)


def _beside_lines(beat: Beat, view: BeatView) -> list[str]:
    """The second view as the page says it; that it can't be shown where it can't."""
    source = beside_source(beat)
    if source is None:
        return []
    if view.beside is None:
        return [f"beside it {source.view or source.title}: no picture of these instants"]
    told = f"beside it {source.view or source.title}, {source.timecode_at(view.beside_span[0])}"
    return [f"{told}, mirrored" if view.beside.mirrored else told]


def _fit_says(words: Fraction, picture: Fraction) -> tuple[str, str]:
    """(state, what to say) about words against picture; the margin says where it is worse than close."""
    if not words:
        return "", "no words yet" if picture else ""
    found = fit(words, picture)
    by = f"{decimal_text(found.by, 1)} s"
    if found.state == "over":
        return "near", f"{by} short of picture"
    return "", f"{by} of picture left over" if found.state == "under" else "fits"


def _row(
    beat: Beat,
    view: BeatView,
    number: int,
    start: Fraction,
    page_seconds: Fraction,
    count: int,
    voice: VoiceProfile,
) -> Row:
    spoken = words_seconds(view.words, voice, view.take_seconds)
    found = footage_of(beat)
    source = found[0] if found else None
    state, says = _fit_says(spoken, view.picture_seconds)
    head, what, more = _picture_lines(beat, view, source)
    return Row(
        beat=beat,
        view=view,
        number=number,
        start=start,
        x=_per_cent(start, page_seconds),
        words_seconds=spoken,
        fit_state=state,
        fit_says=says,
        head=head,
        says=what,
        says_more=more,
        still_source=source,
        still_frame=view.in_frame,
        still_label=source.timecode_at(view.in_frame) if source else "",
        beside_source=other if (other := beside_source(beat)) and view.beside else None,
        beside_frame=view.beside_span[0],
        beside_label=other.timecode_at(view.beside_span[0]) if other and view.beside else "",
        is_first=number == 1,
        is_last=number == count,
        marked=[MarkedText(view.words)],
    )


def _share_state(ledger: Ledger, policy_name: str) -> tuple[str, str, str]:
    """(policy's title, worst state of the excerpt limits, why)."""
    try:
        policy = policy_named(policy_name)
    except (UnknownPolicy, PolicyError):
        return f"{policy_name} (no longer there)", "", ""
    amounts = ("source_seconds", "screen_seconds", "seconds", "share")
    verdicts = [one for one in judge(ledger, policy).verdicts if one.limit.about.unit in amounts]
    for state in ("over", "near"):
        worst = next((one for one in verdicts if one.state == state), None)
        if worst is not None:
            return policy.title, state, f"{worst.limit.about.label}: {state} the limit"
    return policy.title, "", ""


def _by_hand(action: Action, page: ScriptPage) -> NoteAction:
    """Where a person goes on: a page of the site, a panel of the beat, or a place in its words."""
    given, slug = dict(action.arguments), page.breakdown.slug
    beat = str(given.get("beat", ""))
    row = page.row(UUID(beat)) if beat else None
    href, panel, select = reverse("scripts:settings", args=[slug]), "", ""
    if action.command in ("write_title", "open_settings"):
        href += f"#id_{given.get('field', 'title')}"
    elif action.command == "open_source" and given.get("source"):
        href = reverse("footage:source", args=[given["source"]])
    elif action.command == "state_purpose" and row and row.beat.excerpt_id:
        href = reverse("excerpts:edit", args=[row.beat.excerpt_id]) + "#id_purpose"
    elif action.command == "write_words":
        words = row.view.words if row else ""
        href, select = f"#words-{beat}", f"{given.get('start', len(words))} {given.get('end', len(words))}"
    elif action.command == "open_two_views" and beat:
        href = reverse("scripts:two_views", args=[slug, beat])
    elif beat:
        href, panel = reverse("scripts:beat_picture", args=[slug, beat]), f"panel-{beat}"
    return NoteAction(action.label, action.key, action.key_says, href, panel, select)


def _note_row(note: Note, page: ScriptPage) -> NoteRow:
    made = [
        _by_hand(action, page)
        if action.command in BY_HAND
        else NoteAction(action.label, action.key, action.key_says)
        for action in note.actions
    ]
    return NoteRow(note, made)


def _marked(words: str, notes: Sequence[Note]) -> list[MarkedText]:
    """The words cut where notes point at them; where two meet, the first keeps its place."""
    parts, at = [], 0
    for note in sorted((note for note in notes if note.span), key=lambda note: note.span or (0, 0)):
        start, end = note.span or (0, 0)
        if start >= at:
            parts += [MarkedText(words[at:start]), MarkedText(words[start:end], note.state, note.id)]
            at = end
    return [part for part in (*parts, MarkedText(words[at:])) if part.text]


def _hang_notes(page: ScriptPage) -> None:
    margin = margin_of(page.breakdown, page.script)
    whole = [_note_row(note, page) for note in margin.of_whole]
    page.offers = [row for row in whole if row.note.check == PlainWordsCheck.key]
    page.notes = [row for row in whole if row.note.check != PlainWordsCheck.key]
    page.silenced = list(margin.silenced)
    for row in page.rows:
        found = margin.of_beat(row.view.id)
        row.notes = [_note_row(note, page) for note in found]
        row.marked = _marked(row.view.words, found)
        if row.fit_state and any(note.check == "timing" and note.state == "over" for note in found):
            row.fit_state = "over"


def _asides(breakdown: Breakdown, rows: list[Row], user_id: int | None) -> list[Aside]:
    """Hang unsettled words on their beats; returns those whose beat is gone."""
    by_key = {row.beat.key: row for row in rows}
    orphans: list[Aside] = []
    for entry in SetAside.objects.filter(breakdown=breakdown, settled_at=None).select_related("made_by"):
        row = by_key.get(entry.beat_key)
        other = str(row.beat.changed_by) if row and row.beat.changed_by else ""
        mine = entry.made_by_id == user_id
        aside = Aside(entry.pk, entry.beat_key, entry.words, entry.made_by, entry.made_at, mine, other)
        (row.asides if row else orphans).append(aside)
    return orphans


def script_of(breakdown: Breakdown, *, notes: bool = True, user: User | None = None) -> ScriptPage:
    """The whole page: a fixed number of queries, however many beats there are."""
    beats = list(beats_of(breakdown))
    script = script_view(breakdown, beats)
    starts = [start for _, start in script.starts()]
    rows = [
        _row(beat, view, number, start, script.picture_seconds, len(beats), script.voice)
        for number, (beat, view, start) in enumerate(zip(beats, script.beats, starts, strict=True), start=1)
    ]
    ledger = compute(plan_of(script))
    title, state, why = _share_state(ledger, breakdown.policy)
    turns = breakdown.revisions.defer("snapshot")
    page = ScriptPage(
        breakdown=breakdown,
        script=script,
        rows=rows,
        ledger=ledger,
        policy_title=title,
        share_state=state,
        share_why=why,
        undo=turns.filter(undone=False).order_by("-number").first(),
        redo=turns.filter(undone=True).order_by("number").first(),
        orphans=_asides(breakdown, rows, user.pk if user else None),
    )
    if notes:
        _hang_notes(page)
    return page


# --- who is here ---------------------------------------------------------------------------------


def who_is_here(breakdown: Breakdown, user: User) -> list[str]:
    """Note that ``user`` has the script open, and name everybody else who had it moments ago."""
    key, now = f"script-here:{breakdown.pk}", time.time()
    seen = {pk: one for pk, one in cache.get(key, {}).items() if now - one[1] < HERE_SECONDS}
    seen[user.pk] = (str(user), now)
    cache.set(key, seen, HERE_SECONDS)
    return sorted(name for pk, (name, _) in seen.items() if pk != user.pk)
