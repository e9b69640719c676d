"""From a JSON document to a posture and what is asked about it. Whatever is wrong is said in one line, with how to mend it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from anatomy.muscles.catalogue import find_muscles
from anatomy.muscles.coordinates import Coordinate, find_joint, find_motion
from anatomy.muscles.faults import PostureError
from anatomy.muscles.known import KnownPosture, known_posture
from anatomy.muscles.position import Posture, checked, posture_of
from anatomy.strict_json import NotJson, read_json, short
from anatomy.vocabulary.collection import Vocabulary

__all__ = ["Request", "Sweep", "read_known", "read_request"]

_KEYS = ("side", "angles", "muscles", "sweep", "rank")
_MOST = 721  # postures in a sweep


@dataclass(frozen=True)
class Sweep:
    """``values`` as asked for, along the motion that was named; ``degrees`` along the coordinate's own motion."""

    coordinate: Coordinate
    values: tuple[float, ...]
    degrees: tuple[float, ...]


@dataclass(frozen=True)
class Request:
    """``bases`` None: every muscle. ``rank``: joint and motion to rank the muscles for, or None."""

    posture: Posture
    bases: frozenset[str] | None
    sweep: Sweep | None
    rank: tuple[str, str] | None
    ignored: tuple[str, ...]


def read_request(text: str, vocabulary: Vocabulary) -> Request:
    """The request in a JSON text. Raises PostureError."""
    try:
        document = read_json(text)
    except NotJson as fault:
        raise PostureError(str(fault)) from None
    if not isinstance(document, dict):
        raise PostureError('The document is no object: give {"side": "right", "angles": {…}}.')
    side = document.get("side", "right")
    if side not in ("right", "left"):
        raise PostureError(f'"side" is {short(side)}: write "right" or "left".')
    return Request(
        posture_of(side, _angles(document.get("angles", {}))),
        _muscles(document.get("muscles"), vocabulary),
        _sweep(document.get("sweep")),
        _rank(document.get("rank")),
        tuple(sorted(short(key) for key in document if key not in _KEYS)),
    )


def read_known(text: str) -> KnownPosture:
    """A measured posture: ``{"side": "right", "angles": {"hip": {"flexion": [95, 8]}}}``. Raises PostureError."""
    try:
        document = read_json(text)
    except NotJson as fault:
        raise PostureError(str(fault)) from None
    whole = _object(document, "The posture", '{"side": "right", "angles": {…}}')
    side = whole.get("side", "right")
    if side not in ("right", "left"):
        raise PostureError(f'"side" is {short(side)}: write "right" or "left".')
    found: dict[str, dict[str, tuple[float, float]]] = {}
    for joint, motions in _object(
        whole.get("angles", {}), '"angles"', '{"hip": {"flexion": [95, 8]}}'
    ).items():
        inner = _object(motions, f"The angles of {short(joint)}", '{"flexion": [95, 8]}')
        for motion, pair in inner.items():
            where = f"The angle {short(motion)} of {short(joint)}"
            if not isinstance(pair, list) or len(pair) != 2:
                raise PostureError(
                    f"{where} is {short(pair)}: write degrees and their error, such as [95, 8]."
                )
            found.setdefault(joint, {})[motion] = _number(pair[0], where), _number(pair[1], where)
    return known_posture(side, found)


def _number(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= 1e6:
        raise PostureError(f"{where} is {short(value)}: write a number of degrees.")
    return float(value)


def _object(value: Any, where: str, example: str) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise PostureError(f"{where} is {short(value)}: write {example}.")
    return value


def _angles(value: Any) -> dict[str, dict[str, float]]:
    found: dict[str, dict[str, float]] = {}
    twice: dict[str, str] = {}
    for joint, motions in _object(value, '"angles"', '{"hip": {"flexion": 60}}').items():
        known = find_joint(joint)
        if known in twice:
            raise PostureError(
                f"The {known} stands twice, as {short(twice[known])} and {short(joint)}: write it once."
            )
        twice[known] = joint
        inner = _object(motions, f"The angles of {short(joint)}", '{"flexion": 60}')
        found[known] = {
            name: _number(degrees, f"The angle {short(name)} of the {known}")
            for name, degrees in inner.items()
        }
    return found


def _muscles(value: Any, vocabulary: Vocabulary) -> frozenset[str] | None:
    if value is None:
        return None
    if not isinstance(value, list) or not value or not all(isinstance(name, str) for name in value):
        raise PostureError(
            f'"muscles" is {short(value)}: write a list of names, or leave it out for all muscles.'
        )
    return find_muscles(value, vocabulary)


def _named(value: Mapping[str, Any], where: str) -> tuple[Coordinate, int]:
    for key in ("joint", "motion"):
        if not isinstance(value.get(key), str):
            raise PostureError(f'{where} needs a "{key}": write its name, such as hip and flexion.')
    return find_motion(find_joint(value["joint"]), value["motion"])


def _sweep(value: Any) -> Sweep | None:
    if value is None:
        return None
    asked = _object(
        value, '"sweep"', '{"joint": "hip", "motion": "flexion", "from": 0, "to": 90, "step": 10}'
    )
    one, sign = _named(asked, '"sweep"')
    for key in ("from", "to", "step"):
        if key not in asked:
            raise PostureError(f'"sweep" needs "{key}": write a number of degrees.')
    start, end, step = (_number(asked[key], f'"{key}" of "sweep"') for key in ("from", "to", "step"))
    if step == 0 or (end - start) * step < 0:
        raise PostureError(
            '"step" of "sweep" does not lead from "from" to "to": turn its sign or make it larger.'
        )
    for end_value in (start, end):
        checked(one, sign * end_value)
    if abs((end - start) / step) > _MOST - 1:
        raise PostureError(f'"sweep" has more than {_MOST} positions: write a larger "step".')
    count = math.floor((end - start) / step + 1e-9) + 1
    values = tuple(round(start + n * step, 9) for n in range(count))
    return Sweep(one, values, tuple(checked(one, sign * v) for v in values))


def _rank(value: Any) -> tuple[str, str] | None:
    if value is None:
        return None
    asked = _object(value, '"rank"', '{"joint": "hip", "motion": "extension"}')
    _named(asked, '"rank"')
    return asked["joint"], asked["motion"]
