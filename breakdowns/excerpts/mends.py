"""What would bring a figure back within its limit: computed instructions, one way or several.

Each function answers the ways to mend one rule, the plainest first; each way is a list of steps that
really brings that figure within its limit when it is carried out (``steps.apply_steps``). A mend
looks at its own limit only; ``tighten`` is for meeting all of them together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

from .drafts import Draft, Key, key_of
from .intervals import Interval, IntervalSet
from .layout import Showing
from .ledger import EventLedger, Ledger, SourceLedger, busiest_window
from .plan import OwnSegment, View
from .policies import Limit
from .rules import choice
from .steps import Step

__all__ = ["Judged", "Way", "ways_to_mend"]

Judged = SourceLedger | EventLedger | Ledger
Way = list[Step]
Mender = Callable[[Ledger, Limit, Judged, Fraction], list[Way]]

_ZERO = Fraction(0)
_HOUR = Fraction(3600)


def ways_to_mend(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """The ways to bring ``value`` within ``limit``, plainest first. Never empty for a broken limit."""
    return [way for way in _MENDERS[limit.rule](ledger, limit, judged, value) if way]


def _members(judged: Judged) -> tuple[SourceLedger, ...]:
    if isinstance(judged, SourceLedger):
        return (judged,)
    return judged.members if isinstance(judged, EventLedger) else tuple(judged.counted)


def _showings(judged: Judged) -> list[Showing]:
    found = [showing for member in _members(judged) for showing in member.showings]
    return sorted(found, key=lambda showing: (showing.segment, showing.role))


def _segments(judged: Judged) -> list[int]:
    return sorted({showing.segment for showing in _showings(judged)})


def _hundredth_up(value: Fraction) -> Fraction:
    return Fraction(-(-value * 100 // 1), 100)


# --- amounts of the source ---------------------------------------------------------------------


def _longest_excerpt(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    draft = Draft(ledger)
    for showing in _showings(judged):
        draft.limit_played(key_of(showing), limit.value)
    return [draft.steps()]


def _tails(ledger: Ledger, members: Iterable[SourceLedger], seconds: Fraction) -> dict[str, IntervalSet]:
    """Source time to give up, by source: the ends of the longest stretches, ``seconds`` in all or more."""
    stretches = [(member, start, end) for member in members for start, end in member.union]
    given_up: dict[str, IntervalSet] = {}
    for member, start, end in sorted(stretches, key=lambda found: found[1] - found[2]):
        if seconds <= 0:
            break
        rate = member.source.rate
        cut = max(start, end - seconds)
        cut = cut if rate is None else max(start, Fraction(cut * rate // 1) / rate)
        key = member.source.id
        given_up[key] = given_up.get(key, IntervalSet()) | IntervalSet([(cut, end)])
        seconds -= end - cut
    return given_up


def _union_by(ledger: Ledger, judged: Judged, excess: Fraction) -> list[Way]:
    given_up = _tails(ledger, _members(judged), excess)
    draft = Draft(ledger)
    for showing in _showings(judged):
        source = showing.view.source
        if source in given_up:
            draft.leave_only(key_of(showing), ledger.sources[source].union - given_up[source])
    return [draft.steps()]


def _union(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    return _union_by(ledger, judged, value - limit.value)


def _share_of_source(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    assert isinstance(judged, SourceLedger)
    return _union_by(ledger, judged, judged.union_seconds - limit.value * judged.source.duration)


def _played(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """Shorten from the last excerpt backwards: replays usually come late."""
    draft, excess = Draft(ledger), value - limit.value
    for showing in reversed(_showings(judged)):
        if excess <= 0:
            break
        key = key_of(showing)
        before = showing.view.played
        draft.limit_played(key, max(before - excess, _ZERO))
        excess -= before - (draft.views[key].played if key in draft.views else _ZERO)
    return [draft.steps()]


# --- replays -----------------------------------------------------------------------------------


def _moving_views(draft: Draft, judged: Judged) -> list[tuple[Key, View]]:
    keys = [key_of(showing) for showing in _showings(judged)]
    return [(key, draft.views[key]) for key in keys if key in draft.views and draft.views[key].played]


def _take_from(draft: Draft, key: Key, part: tuple[Fraction, Fraction], at_most: Fraction | None) -> None:
    """Take a part of a view away: at its end or start trimmed, in its middle the whole view left out.

    With ``at_most`` no more of the part goes than that (rounded up to frames).
    """
    view = draft.views[key]
    start, end = part
    if end >= view.end:
        draft.end_at(key, start if at_most is None else max(start, view.end - at_most))
    elif start <= view.start:
        draft.start_at(key, end if at_most is None else min(end, view.start + at_most))
    else:
        draft.drop(key)


def _replayed(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """Take what was already seen off the last excerpts that repeat something."""
    draft = Draft(ledger)
    while True:
        views = _moving_views(draft, judged)
        union = IntervalSet((view.start, view.end) for _, view in views)
        excess = sum((view.played for _, view in views), _ZERO) - union.measure - limit.value
        if excess <= 0:
            return [draft.steps()]
        for at in reversed(range(len(views))):
            key, view = views[at]
            others = IntervalSet((other.start, other.end) for n, (_, other) in enumerate(views) if n != at)
            seen = others.within(view.start, view.end)
            if seen:
                _take_from(draft, key, seen.intervals[-1], excess)
                break


def _too_often(views: Sequence[tuple[Key, View]], most: int) -> tuple[Fraction, Fraction] | None:
    """The first stretch of source time that more than ``most`` views show."""
    turns = sorted([(view.start, 1) for _, view in views] + [(view.end, -1) for _, view in views])
    now = 0
    for number, (moment, turn) in enumerate(turns):
        now += turn
        if now > most and turns[number + 1][0] > moment:
            return moment, turns[number + 1][0]
    return None


def _repeats(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    draft = Draft(ledger)
    while True:
        views = _moving_views(draft, judged)
        part = _too_often(views, int(limit.value) + 1)
        if part is None:
            return [draft.steps()]
        last = max(key for key, view in views if view.start <= part[0] and part[1] <= view.end)
        _take_from(draft, last, part, None)


# --- time on screen ----------------------------------------------------------------------------


def _longest_on_screen(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    draft = Draft(ledger)
    for number in _segments(judged):
        if draft.segment_seconds(number) > limit.value:
            draft.shorten_segment(number, limit.value)
    return [draft.steps()]


def _screen_by(ledger: Ledger, judged: Judged, excess: Fraction) -> list[Way]:
    """Shorten the longest segments until ``excess`` screen seconds are gone, once per view shown."""
    draft = Draft(ledger)
    count = dict.fromkeys(_segments(judged), 0)
    for showing in _showings(judged):
        count[showing.segment] = count[showing.segment] + 1 if isinstance(judged, SourceLedger) else 1
    for number in sorted(count, key=lambda n: (-draft.segment_seconds(n), n)):
        if excess <= 0:
            break
        before = draft.segment_seconds(number)
        draft.shorten_segment(number, max(before - excess / count[number], _ZERO))
        excess -= (before - draft.segment_seconds(number)) * count[number]
    return [draft.steps()]


def _screen(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    return _screen_by(ledger, judged, value - limit.value)


def _screen_in_hour(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """Shorten or leave out the last segments of the busiest hour, until no hour holds too much."""
    draft, patience = Draft(ledger), 2 * len(ledger.plan.segments)
    while True:
        on_screen = _places_now(ledger, draft, _segments(judged))
        start, busy = busiest_window(IntervalSet(on_screen.values()), _HOUR)
        if busy <= limit.value:
            return [draft.steps()]
        inside = [n for n, (a, b) in on_screen.items() if b > a and a < start + _HOUR and b > start]
        excess = busy - limit.value
        patience -= 1
        for number in reversed(inside):
            if excess <= 0:
                break
            before = draft.segment_seconds(number)
            draft.shorten_segment(number, max(before - excess, _ZERO) if patience > 0 else _ZERO)
            excess -= before - draft.segment_seconds(number)


def _places_now(ledger: Ledger, draft: Draft, numbers: list[int]) -> dict[int, tuple[Fraction, Fraction]]:
    """Where these segments stand on the piece's clock after the cuts of the draft."""
    at, places = _ZERO, {}
    for number, segment in enumerate(ledger.plan.segments):
        own = isinstance(segment, OwnSegment)
        length = segment.duration if own else draft.segment_seconds(number)
        if number in numbers:
            places[number] = (at, at + length)
        at += length
    return places


def _share(ledger: Ledger, judged: Judged, limit: Limit, on_screen: Fraction) -> list[Way]:
    """Shorten the longest segments, or add own picture, until the share of the piece is met.

    Taking d seconds off a segment that shows the source m times changes (s, t) to (s - m d, t - d),
    so d = (s - p t) / (m - p) is what it takes.
    """
    draft, total, share = Draft(ledger), ledger.piece_seconds, limit.value
    for number in sorted(_segments(judged), key=lambda n: (-draft.segment_seconds(n), n)):
        excess = on_screen - share * total
        if excess <= 0:
            break
        count = 1
        if isinstance(judged, SourceLedger):
            count = sum(showing.segment == number for showing in judged.showings)
        before = draft.segment_seconds(number)
        if count > share:
            draft.shorten_segment(number, max(before - excess / (count - share), _ZERO))
        gone = before - draft.segment_seconds(number)
        on_screen, total = on_screen - count * gone, total - gone
    return [draft.steps()]


def _own_picture_for_share(ledger: Ledger, limit: Limit, on_screen: Fraction) -> list[Way]:
    if limit.value == 0:
        return []
    more = _hundredth_up(on_screen / limit.value - ledger.piece_seconds)
    return [[Step("own_at_end", amount=more)]]


def _share_of_piece(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    on_screen = value * ledger.piece_seconds
    return _share(ledger, judged, limit, on_screen) + _own_picture_for_share(ledger, limit, on_screen)


def _excerpt_screen(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    return _screen_by(ledger, judged, value - limit.value)


# --- runs --------------------------------------------------------------------------------------


def _break_up(
    ledger: Ledger, limit: Limit, rows: dict[int, Interval], cut: Callable[[Draft, int], None]
) -> list[Way]:
    """Own picture between segments, so that no row of them gets past the limit.

    ``rows``: the piece's time that counts, by segment, in order; ``cut(draft, segment)`` shortens one
    that is too long by itself.
    """
    draft, run, reached = Draft(ledger), _ZERO, None
    for number, (start, end) in rows.items():
        length = end - start
        if length > limit.value:
            cut(draft, number)
            length = limit.value if draft.segment_keys(number) else _ZERO
        run = run if reached == start else _ZERO
        if length and run and run + length > limit.value:
            draft.put_own_before(number, choice("break_seconds"))
            run = _ZERO
        run += length
        reached = end
    return [draft.steps()]


def _run(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    rows = {number: ledger.layout.places[number] for number in _segments(judged)}
    return _break_up(ledger, limit, rows, lambda draft, number: draft.shorten_segment(number, limit.value))


def _moving_run(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    showings = _showings(judged)
    rows: dict[int, Interval] = {}
    for showing in showings:
        until = max(showing.moving_end, rows.get(showing.segment, (_ZERO, _ZERO))[1])
        rows[showing.segment] = (showing.start, until)

    def cut(draft: Draft, number: int) -> None:
        for showing in showings:
            if showing.segment == number:
                draft.limit_played(key_of(showing), limit.value * showing.view.speed)

    return _break_up(ledger, limit, rows, cut)


# --- sound and stills --------------------------------------------------------------------------


def _sound(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """Take the sound off the longest first."""
    draft, excess = Draft(ledger), value - limit.value
    loud = [showing for showing in _showings(judged) if showing.moving and not showing.view.muted]
    for showing in sorted(loud, key=lambda showing: (-showing.moving, showing.segment)):
        if excess <= 0:
            break
        draft.mute(key_of(showing))
        excess -= showing.moving
    return [draft.steps()]


def _stills(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """Leave out the stills that come last."""
    assert isinstance(judged, SourceLedger)
    draft = Draft(ledger)
    too_many = judged.still_moments[int(limit.value) :]
    for showing in judged.showings:
        if not showing.view.played and showing.held_moment in too_many:
            draft.drop(key_of(showing))
    return [draft.steps()]


# --- words -------------------------------------------------------------------------------------


def _speak(times: IntervalSet, seconds: Fraction) -> Way:
    """Words over the longest of these times, ``seconds`` in all."""
    steps: Way = []
    for start, end in sorted(times, key=lambda found: (found[0] - found[1], found[0])):
        if seconds <= 0:
            break
        until = min(end, start + seconds)
        steps.append(Step("narrate", start=start, to=until, amount=until - start))
        seconds -= until - start
    return sorted(steps, key=lambda step: step.start or _ZERO)


def _bare(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    return [_speak(ledger.bare_time or IntervalSet(), value - limit.value)]


def _uncommented_run(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    runs = [run for run in ledger.uncommented_time or () if run[1] - run[0] > limit.value]
    return [
        [
            Step("narrate", start=start + limit.value, to=end, amount=end - start - limit.value)
            for start, end in runs
        ]
    ]


def _commentary(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """More words; with timed narration over excerpts first, then over own picture, then more of it."""
    wanted = limit.value * ledger.excerpt_screen_seconds
    spoken = ledger.plan.narration
    if ledger.narration is None:
        assert spoken.wpm is not None
        assert spoken.words is not None
        words = -(-wanted * spoken.wpm // 60) - spoken.words
        return [[Step("write_words", amount=Fraction(words))]]
    missing = wanted - ledger.narration.measure
    silent_own = IntervalSet([(_ZERO, ledger.piece_seconds)]) - ledger.excerpt_time - ledger.narration
    over = ledger.uncommented_time or IntervalSet()
    steps = _speak(over, missing)
    steps += _speak(silent_own, missing - over.measure)
    beyond = _hundredth_up(wanted - ledger.piece_seconds)
    if beyond > 0:
        end = ledger.piece_seconds + beyond
        steps.append(Step("own_at_end", amount=beyond))
        steps.append(Step("narrate", start=ledger.piece_seconds, to=end, amount=beyond))
    return [steps]


# --- days, names, purposes ---------------------------------------------------------------------


def _minute_up(hours: Fraction) -> Fraction:
    return Fraction(-(-hours * 60 // 1), 60)


def _leave_out(ledger: Ledger, judged: Judged) -> Way:
    draft = Draft(ledger)
    for showing in _showings(judged):
        draft.drop(key_of(showing))
    return draft.steps()


def _age(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """Too early: wait. Too late: nothing but leaving the event out."""
    if limit.sense == "min":
        return [[Step("wait", amount=_minute_up(limit.value - value))]]
    return [_leave_out(ledger, judged)]


def _online(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    """Take it down earlier; if that were before publishing, leave the event out."""
    if value - limit.value > (ledger.hours_online or _ZERO):
        return [_leave_out(ledger, judged)]
    return [[Step("withdraw_earlier", amount=_minute_up(value - limit.value))]]


def _name(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    assert isinstance(judged, SourceLedger)
    return [[Step("name_source", source=judged.source.id)]]


def _purpose(ledger: Ledger, limit: Limit, judged: Judged, value: Fraction) -> list[Way]:
    without = [n for n in _segments(judged) if not getattr(ledger.plan.segments[n], "purpose", "")]
    return [[Step("state_purpose", number) for number in without[int(limit.value) :]]]


_MENDERS: dict[str, Mender] = {
    "longest_excerpt_seconds": _longest_excerpt,
    "longest_excerpt_screen_seconds": _longest_on_screen,
    "union_seconds": _union,
    "sum_union_seconds": _union,
    "played_seconds": _played,
    "sum_played_seconds": _played,
    "replayed_seconds": _replayed,
    "times_repeated": _repeats,
    "screen_seconds": _screen,
    "screen_seconds_in_an_hour": _screen_in_hour,
    "share_of_source": _share_of_source,
    "share_of_piece": _share_of_piece,
    "longest_timeline_run_seconds": _run,
    "longest_moving_run_seconds": _moving_run,
    "longest_any_source_run_seconds": _run,
    "original_sound_seconds": _sound,
    "stills_outside_union": _stills,
    "source_named": _name,
    "event_age_hours": _age,
    "event_age_at_withdrawal_hours": _online,
    "hours_online": _online,
    "excerpt_screen_seconds": _excerpt_screen,
    "excerpt_share_of_piece": _share_of_piece,
    "bare_excerpt_seconds": _bare,
    "longest_uncommented_run_seconds": _uncommented_run,
    "commentary_to_excerpt_ratio": _commentary,
    "purposes_unstated": _purpose,
}
