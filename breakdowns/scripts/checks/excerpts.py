"""The excerpt policy's verdicts as notes on the beats that would have to change.

Only limits that are broken speak here: for one that is merely close there is nothing to do, and the
figures above the script show it. Limits are planning aids, not legal advice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.plan import OwnSegment, Plan, Segment
from breakdowns.excerpts.policies import Policy, UnknownPolicy, preset
from breakdowns.excerpts.rules import wording
from breakdowns.excerpts.steps import Step, sentence
from breakdowns.excerpts.verdicts import Verdict, judge
from breakdowns.footage.timebase import decimal_text
from breakdowns.scripts.checks.figures import act, down_to, exact, seconds_text, tenth_up
from breakdowns.scripts.excerpt_plan import plan_of
from breakdowns.scripts.margin import Action, Argument, Finding, WholeCheck
from breakdowns.scripts.script import ScriptView

__all__ = ["ExcerptPolicyCheck", "policy_of"]

# Rules whose figures need to know when words are spoken; for all others typing changes nothing.
_NARRATION_RULES = {"bare_excerpt_seconds", "longest_uncommented_run_seconds", "commentary_to_excerpt_ratio"}


def policy_of(script: ScriptView) -> Policy | None:
    """The policy that the script is held against: the one given, else the preset of that name."""
    if script.limits is not None:
        return script.limits
    try:
        return preset(script.policy) if script.policy else None
    except UnknownPolicy:
        return None


Arguments = dict[str, Argument]
Command = tuple[str, Arguments]


class _Use(NamedTuple):
    plan: Plan
    policy: Policy
    beats: tuple[str, ...]
    kinds: tuple[str, ...]
    starts: tuple[Fraction, ...]
    titles: tuple[tuple[str, str], ...]


class ExcerptPolicyCheck(WholeCheck):
    """Each broken limit once, on the beat that its plainest mend begins with."""

    key = "excerpts"
    version = 2

    def reads(self, script: ScriptView) -> _Use | None:
        policy = policy_of(script)
        if policy is None or not policy.limits or not any(beat.shows_footage for beat in script.beats):
            return None
        spoken = any(limit.rule in _NARRATION_RULES for limit in policy.limits)
        return _Use(
            _without_asking_stills(plan_of(script, with_narration=spoken)),
            policy,
            tuple(beat.id for beat in script.beats),
            tuple(beat.kind for beat in script.beats),
            tuple(start for _, start in script.starts()),
            tuple((source.id, source.title) for source in script.sources),
        )

    def judge(self, material: _Use) -> Iterator[Finding]:
        for verdict in judge(compute(material.plan), material.policy).over:
            yield _finding(verdict, material)


def _without_asking_stills(plan: Plan) -> Plan:
    """The plan with something in the purpose of each still, which has no place to write one down.

    A purpose belongs to a stored excerpt. The filling never leaves this check: it is neither shown nor
    stored, and no figure but the number of excerpts without a purpose depends on it.
    """
    return replace(plan, segments=tuple(map(_as_if_stated, plan.segments)))


def _as_if_stated(segment: Segment) -> Segment:
    if isinstance(segment, OwnSegment) or segment.purpose or segment.main.played:
        return segment
    return replace(segment, purpose="a still")


def _finding(verdict: Verdict, use: _Use) -> Finding:
    titles = dict(use.titles)
    of = titles.get(verdict.where.name or "", verdict.where.name or "")
    way = verdict.ways[0] if verdict.ways else []
    read = f"{use.policy.title}: {verdict.limit.source} ({verdict.limit.how_read})."
    cautions = [wording()[key] for key in ("not_advice", "no_safe_harbour")]
    return Finding(
        "over",
        f"{_says(verdict)} ({of})" if of else _says(verdict),
        _mend(way, titles),
        _actions(way, use),
        cite=" ".join([read, *cautions]),
        rule=f"{verdict.limit.rule} {verdict.limit.sense}",
        about=f"{of} {exact(verdict.value)} {exact(verdict.limit.value)}",
        beat=_beat(way, verdict, use),
    )


def _says(verdict: Verdict) -> str:
    """As in: Longest single excerpt: 12.4 s, at most 10.0 s."""
    about = verdict.limit.about
    if about.unit == "yes_no":
        return f"Still missing: {about.label}"
    bound = "at most" if verdict.limit.sense == "max" else "at least"
    value, allowed = _figure(verdict.value, about.unit), _figure(verdict.limit.value, about.unit)
    return f"{about.label[:1].upper()}{about.label[1:]}: {value}, {bound} {allowed}"


def _mend(way: Sequence[Step], titles: dict[str, str]) -> str:
    if not way:
        return "Show less of it."
    named = [step if step.source is None else _with_title(step, titles) for step in way]
    told = sentence(named, lambda number: f"beat {number + 1}")
    return f"{told[:1].upper()}{told[1:]}."


def _with_title(step: Step, titles: dict[str, str]) -> Step:
    return replace(step, source=titles.get(step.source or "", step.source))


def _figure(value: Fraction, unit: str) -> str:
    if unit == "share":
        return f"{decimal_text(value * 100, 1)} %"
    if unit == "count":
        return str(value.numerator)
    if unit == "hours":
        return f"{decimal_text(value, 1)} h"
    return seconds_text(value) if unit.endswith("seconds") else decimal_text(value, 2)


def _beat(way: Sequence[Step], verdict: Verdict, use: _Use) -> str:
    """The beat of the first step that has one; else the first beat that uses what was judged."""
    for step in way:
        if step.segment is not None:
            return use.beats[step.segment]
        if step.do == "narrate" and step.start is not None:
            return use.beats[_at(use, step.start)]
    if verdict.where.scope == "source" and verdict.where.segments:
        return use.beats[verdict.where.segments[0]]
    return ""


def _at(use: _Use, second: Fraction) -> int:
    return max((number for number, start in enumerate(use.starts) if start <= second), default=0)


def _command(step: Step, use: _Use) -> Command | None:
    """The machine command for one step; None for what only a person can do (waiting)."""
    if step.role == "beside":
        return None
    beat: Arguments = {"beat": use.beats[step.segment]} if step.segment is not None else {}
    made: dict[str, Callable[[], Command]] = {
        "trim_in": lambda: ("trim_in", beat | {"seconds": exact(step.to or Fraction(0))}),
        "trim_out": lambda: ("trim_out", beat | {"seconds": exact(step.to or Fraction(0))}),
        "shorten_hold": lambda: _shortened(step, use, beat),
        "drop": lambda: ("choose_picture", beat),
        "mute": lambda: ("set_sound", beat | {"original_sound": False}),
        "own_before": lambda: ("insert_own", beat | {"seconds": exact(tenth_up(step.amount or Fraction(0)))}),
        "own_at_end": lambda: (
            "insert_own",
            {"beat": "", "seconds": exact(tenth_up(step.amount or Fraction(0)))},
        ),
        "narrate": lambda: ("write_words", {"beat": use.beats[_at(use, step.start or Fraction(0))]}),
        "name_source": lambda: ("open_source", {"source": step.source or ""}),
        "state_purpose": lambda: ("state_purpose", beat),
    }
    return made[step.do]() if step.do in made else None


def _shortened(step: Step, use: _Use, beat: Arguments) -> Command:
    still = step.segment is not None and use.kinds[step.segment] == "still"
    wanted = down_to(step.to or Fraction(0), Fraction(1, 1000))
    return ("set_seconds" if still else "set_hold"), beat | {"seconds": exact(wanted)}


_LABELS = {
    "trim_in": "Trim it",
    "trim_out": "Trim it",
    "set_hold": "Hold it shorter",
    "set_seconds": "Hold it shorter",
    "choose_picture": "Choose another picture",
    "set_sound": "Mute it",
    "insert_own": "Add own picture",
    "write_words": "Write words",
    "open_source": "Name the source",
    "state_purpose": "State the purpose",
}
_BY_HAND = {"choose_picture", "write_words", "open_source", "state_purpose"}


def _actions(way: Sequence[Step], use: _Use) -> tuple[Action, ...]:
    """One action for the whole way where a machine can go it; else the first step a person has to take."""
    commands = [command for step in way if (command := _command(step, use)) is not None]
    if not commands:
        return ()
    by_hand = next((command for command in commands if command[0] in _BY_HAND), None)
    if by_hand is not None or len(commands) == 1:
        name, arguments = by_hand or commands[0]
        return (act(_LABELS[name], name, key="Enter", **arguments),)
    if len(commands) < len(way):
        return ()
    listed = tuple((name, tuple(arguments.items())) for name, arguments in commands)
    return (act("Do all of it", "several", key="Enter", commands=listed),)
