"""Excerpt policies: named sets of limits, as presets from data or as a user's own.

A preset is a yardstick chosen by the user. Each limit says where its number comes from, whom it was
made for and how the source was read. None of them is a safe harbour.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from breakdowns.footage.timebase import TimeError, parse_rational, rational_text

from .rules import Rule, rules, unique
from .tables import DataError, Row, read_table

__all__ = [
    "Limit",
    "Policy",
    "PolicyError",
    "UnknownPolicy",
    "policy_from_json",
    "policy_to_json",
    "preset",
    "presets",
]

HOW_READ = ("read", "secondary", "from memory", "own")
OWN_SOURCE = "no source: your own limits"


class PolicyError(ValueError):
    """A policy that cannot be; ``faults`` holds one sentence for each thing to mend."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__(" ".join(faults))
        self.faults = tuple(faults)


class UnknownPolicy(KeyError):
    """No preset has this name."""


@dataclass(frozen=True)
class Limit:
    """One number: ``value`` in the rule's unit, an upper (max) or lower (min) limit."""

    rule: str
    scope: str
    sense: str
    value: Fraction
    note: str = ""
    made_for: str = ""
    source: str = OWN_SOURCE
    how_read: str = "own"

    @property
    def about(self) -> Rule:
        """The rule with its label, unit and definition."""
        return rules()[self.rule]


@dataclass(frozen=True)
class Policy:
    """A named set of limits."""

    key: str
    title: str
    limits: tuple[Limit, ...] = ()
    made_for: str = ""
    source: str = OWN_SOURCE
    how_read: str = "own"
    note: str = ""


def limit_faults(limit: Limit) -> list[str]:
    """What is wrong with a limit against the rules' vocabulary; empty if nothing is."""
    rule = rules().get(limit.rule)
    if rule is None:
        return [f"{limit.rule[:40]!r} is no rule: choose one of {', '.join(rules())}."]
    faults = []
    if limit.scope not in rule.scopes:
        faults.append(
            f"{rule.label}: is judged for {' or '.join(rule.scopes)}, not for {limit.scope[:20]!r}."
        )
    if limit.sense not in rule.senses:
        faults.append(f"{rule.label}: takes {' or '.join(rule.senses)}, not {limit.sense[:20]!r}.")
    if limit.how_read not in HOW_READ:
        faults.append(f"{rule.label}: how the source was read must be one of {', '.join(HOW_READ)}.")
    return faults + _value_faults(rule, limit.value)


def _value_faults(rule: Rule, value: Fraction) -> list[str]:
    if not 0 <= value <= 10**9:
        return [f"{rule.label}: the limit must lie between 0 and 10^9, not {rational_text(value)}."]
    if rule.unit == "share" and value > 1:
        return [f"{rule.label}: a share is at most 1 (write 1/10 for 10 %), not {rational_text(value)}."]
    if rule.unit in ("count", "yes_no") and value.denominator != 1:
        return [f"{rule.label}: needs a whole number, not {rational_text(value)}."]
    if rule.unit == "yes_no" and value > 1:
        return [f"{rule.label}: takes 1 (yes) or 0 (no matter), not {rational_text(value)}."]
    return []


def _set_faults(limits: tuple[Limit, ...]) -> list[str]:
    """Limits of one policy that contradict or repeat each other."""
    faults = []
    values: dict[tuple[str, str, str], Fraction] = {}
    for limit in limits:
        key = (limit.rule, limit.scope, limit.sense)
        if key in values:
            faults.append(f"{limit.rule} for {limit.scope}: has more than one {limit.sense}: keep one.")
        values[key] = limit.value
    for (rule, scope, sense), value in values.items():
        other = values.get((rule, scope, "max"))
        if sense == "min" and other is not None and value > other:
            faults.append(f"{rule} for {scope}: its min is above its max.")
    return faults


# --- presets -----------------------------------------------------------------------------------

_POLICY_COLUMNS = ("policy", "title", "made_for", "published_source", "how_read", "note")
_LIMIT_COLUMNS = (
    "policy",
    "rule",
    "scope",
    "sense",
    "value",
    "unit",
    "note",
    "made_for",
    "published_source",
    "how_read",
)


@cache
def presets() -> dict[str, Policy]:
    """All presets by key, in order. Raises DataError naming each inconsistency by file and row."""
    return build_presets(
        read_table("policies.csv", _POLICY_COLUMNS), read_table("limits.csv", _LIMIT_COLUMNS)
    )


def build_presets(heads: list[Row], rows: list[Row]) -> dict[str, Policy]:
    """Presets from the rows of both tables. Raises DataError with every fault."""
    faults = [fault for row in (*heads, *rows) for fault in row.missing()]
    faults += unique(heads, "policy") + unique(rows, "policy", "rule", "scope", "sense")
    keys = {head["policy"] for head in heads}
    faults += [f"{row.place}: no policy {row['policy']!r}." for row in rows if row["policy"] not in keys]
    faults += [
        f"{head.place}: {head['how_read']!r} is no way of reading."
        for head in heads
        if head["how_read"] not in HOW_READ
    ]
    limits: dict[str, list[Limit]] = {}
    for row in rows:
        limit, wrong = _limit_row(row)
        faults += wrong
        if limit is not None:
            limits.setdefault(row["policy"], []).append(limit)
    made = {head["policy"]: _head(head, tuple(limits.get(head["policy"], ()))) for head in heads}
    faults += [f"limits.csv, {key}: {fault}" for key, it in made.items() for fault in _set_faults(it.limits)]
    if faults:
        raise DataError(faults)
    return made


def _limit_row(row: Row) -> tuple[Limit | None, list[str]]:
    try:
        value = row.number("value")
    except DataError as fault:
        return None, list(fault.faults)
    limit = Limit(
        rule=row["rule"],
        scope=row["scope"],
        sense=row["sense"],
        value=value,
        note=row["note"],
        made_for=row["made_for"],
        source=row["published_source"],
        how_read=row["how_read"],
    )
    faults = [f"{row.place}: {fault}" for fault in limit_faults(limit)]
    if not faults and limit.about.unit != row["unit"]:
        faults.append(f"{row.place}: {row['rule']} is in {limit.about.unit}, not {row['unit']}.")
    return limit, faults


def _head(row: Row, limits: tuple[Limit, ...]) -> Policy:
    return Policy(
        key=row["policy"],
        title=row["title"],
        limits=limits,
        made_for=row["made_for"],
        source=row["published_source"],
        how_read=row["how_read"],
        note=row["note"],
    )


def preset(name: str) -> Policy:
    """The preset of that key, with or without ``preset:`` before it. Raises UnknownPolicy."""
    try:
        return presets()[name.removeprefix("preset:")]
    except KeyError:
        raise UnknownPolicy(name) from None


# --- a user's own ------------------------------------------------------------------------------


def policy_from_json(document: Any) -> Policy:
    """A policy from ``{"key", "title", "limits": [{"rule", "scope", "sense", "value", "note"}]}``.

    ``scope`` and ``sense`` may be left out where the rule has only one. Values are exact: ints or
    strings such as "90" or "1/10". Raises PolicyError with a sentence for each fault.
    """
    if not isinstance(document, dict):
        raise PolicyError(["A policy must be an object with a title and limits."])
    rows = document.get("limits")
    if not isinstance(rows, list):
        raise PolicyError(['A policy needs a list under "limits" (it may be empty).'])
    faults: list[str] = []
    limits = [limit for n, row in enumerate(rows) if (limit := _limit_from_json(row, n, faults)) is not None]
    texts = {
        key: _text(document, key, default, faults)
        for key, default in (
            ("key", "own"),
            ("title", "Your own limits"),
            ("made_for", ""),
            ("source", OWN_SOURCE),
            ("how_read", "own"),
            ("note", ""),
        )
    }
    if texts["how_read"] not in HOW_READ:
        faults.append(f"How the source was read must be one of {', '.join(HOW_READ)}.")
    faults += _set_faults(tuple(limits))
    if faults:
        raise PolicyError(faults)
    return Policy(limits=tuple(limits), **texts)


def _text(holder: dict[str, Any], key: str, default: str, faults: list[str]) -> str:
    value = holder.get(key)
    if value is None:
        return default
    if not isinstance(value, str) or len(value) > 2000:
        faults.append(f'"{key}" must be a text of at most 2000 characters.')
        return default
    return value


def _limit_from_json(row: Any, number: int, faults: list[str]) -> Limit | None:
    place = f"Limit {number + 1}"
    if not isinstance(row, dict) or not isinstance(row.get("rule"), str):
        faults.append(f'{place}: must be an object with a "rule" and a "value".')
        return None
    rule = rules().get(row["rule"])
    if rule is None:
        faults.append(f"{place}: {row['rule'][:40]!r} is no rule: choose one of {', '.join(rules())}.")
        return None
    try:
        value = parse_rational(row.get("value"))  # type: ignore[arg-type]
    except TimeError as fault:
        faults.append(f"{place}, {rule.label}: {fault}")
        return None
    before = len(faults)
    texts = {
        key: _text(row, key, default, faults)
        for key, default in (
            ("scope", rule.scopes[0] if len(rule.scopes) == 1 else ""),
            ("sense", rule.senses[0] if len(rule.senses) == 1 else ""),
            ("note", ""),
            ("made_for", ""),
            ("source", OWN_SOURCE),
            ("how_read", "own"),
        )
    }
    limit = Limit(rule=rule.key, value=value, **texts)
    faults += [f"{place}, {fault}" for fault in limit_faults(limit)]
    return limit if len(faults) == before else None


def policy_to_json(policy: Policy) -> dict[str, Any]:
    """What ``policy_from_json`` reads back to an equal policy."""
    return {
        "key": policy.key,
        "title": policy.title,
        "made_for": policy.made_for,
        "source": policy.source,
        "how_read": policy.how_read,
        "note": policy.note,
        "limits": [limit_to_json(limit) for limit in policy.limits],
    }


def limit_to_json(limit: Limit) -> dict[str, str]:
    """One limit as ``policy_from_json`` reads it."""
    return {
        "rule": limit.rule,
        "scope": limit.scope,
        "sense": limit.sense,
        "value": rational_text(limit.value),
        "note": limit.note,
        "made_for": limit.made_for,
        "source": limit.source,
        "how_read": limit.how_read,
    }
