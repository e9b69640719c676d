"""What the posture page shows, as an address carries it: side, joint angles, the motion asked about, a muscle, a sweep.

A blank angle counts as 0 in the model and as unknown to the claim check; ``85 ± 10`` is a measured one with its error.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any
from urllib.parse import urlencode

from anatomy.muscles.catalogue import paths_on
from anatomy.muscles.coordinates import Coordinate, coordinates
from anatomy.muscles.faults import PostureError
from anatomy.muscles.position import Posture, checked
from anatomy.vocabulary.naming import fold

__all__ = [
    "SORTS",
    "Angle",
    "Asked",
    "State",
    "field_name",
    "motion_choices",
    "motion_named",
    "number_text",
    "read_state",
    "state_of",
]

SORTS = {
    "share": "share of the torque",
    "length": "nearest its best length",
    "lever": "longest lever",
    "name": "name",
}
_LONGEST = 60
_LARGEST_SD = 90.0
_TEXT = re.compile(
    r"(?P<number>[+\-−]?\d{1,4}(?:[.,]\d{1,6})?)\s*(?:°|deg|degrees)?\s*"
    r"(?:(?:±|\+/-|\+-)\s*(?P<sd>\d{1,4}(?:[.,]\d{1,6})?)\s*°?)?\s*(?P<word>[a-z][a-z ]*)?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Angle:
    """Degrees along the coordinate's own motion; ``sd`` None where nobody said how sure it is."""

    degrees: float
    sd: float | None = None

    @property
    def text(self) -> str:
        """As it is typed: ``-10``, ``85 ± 10``."""
        value = f"{self.degrees:g}"
        return value if self.sd is None else f"{value} ± {self.sd:g}"


@dataclass(frozen=True)
class State:
    """Everything that the page shows. ``angles`` by number of the coordinate; ``motion`` and ``swept`` are such numbers,
    the first with +1, or −1 for the opposite; ``muscle`` is a path's base name; ``still`` and ``kept`` are keys."""

    side: str = "right"
    angles: tuple[tuple[int, Angle], ...] = ()
    motion: tuple[int, int] | None = None
    muscle: str = ""
    swept: int | None = None
    joint: str = ""
    sort: str = ""
    still: str = ""
    kept: str = ""

    @property
    def posture(self) -> Posture:
        """The angles as the model reads them; what is blank is 0."""
        given = dict(self.angles)
        return Posture(
            self.side,
            tuple(given[one.number].degrees if one.number in given else 0.0 for one in coordinates()),
        )

    @property
    def about(self) -> Coordinate | None:
        """The coordinate of the motion asked about."""
        return None if self.motion is None else coordinates()[self.motion[0]]

    @property
    def motion_words(self) -> str:
        """ "hip extension"; empty without one."""
        if self.motion is None or self.about is None:
            return ""
        return f"{self.about.joint} {self.about.motion if self.motion[1] > 0 else self.about.opposite}"

    def told(self) -> list[tuple[Coordinate, Angle]]:
        """The angles that were given, in the order of the form."""
        return [(coordinates()[number], angle) for number, angle in self.angles]

    def query(self, **changes: Any) -> str:
        """The address's query; ``changes`` replace keys, None takes one away."""
        given: dict[str, Any] = {"side": self.side}
        given |= {field_name(one): angle.text for one, angle in self.told()}
        if self.motion is not None:
            one = coordinates()[self.motion[0]]
            given["motion"] = field_name(one, self.motion[1])
        if self.swept is not None:
            given["sweep"] = field_name(coordinates()[self.swept])
        for name in ("muscle", "joint", "sort", "still", "kept"):
            if value := getattr(self, name):
                given[name] = value
        given |= changes
        return urlencode({name: value for name, value in given.items() if value is not None})


@dataclass(frozen=True)
class Asked:
    """A state with what was typed for it and a sentence for each field that can't be read; those count as blank."""

    state: State
    typed: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)


@cache
def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def field_name(one: Coordinate, sign: int = 1) -> str:
    """``hip.internal-rotation``: the name of an angle's field, or of a motion that is asked about."""
    return f"{_slug(one.joint)}.{_slug(one.motion if sign > 0 else one.opposite)}"


@cache
def _motions() -> dict[str, tuple[int, int]]:
    return {field_name(one, sign): (one.number, sign) for one in coordinates() for sign in (1, -1)}


def motion_named(name: str) -> tuple[Coordinate, int] | None:
    """The coordinate behind a field's name, and +1, or −1 where the opposite is named."""
    found = _motions().get(name)
    return None if found is None else (coordinates()[found[0]], found[1])


def motion_choices() -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """(joint, [(field's name, motion)]) of every motion that a muscle may have a lever for."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for one in coordinates():
        if one.has_lever:
            rows = groups.setdefault(one.joint, [])
            rows += [(field_name(one, 1), one.motion), (field_name(one, -1), one.opposite)]
    yield from groups.items()


def read_state(query: Mapping[str, str]) -> Asked:
    """A state out of an address or a form. Never raises: what can't be read is told in ``errors`` by its field."""
    typed: dict[str, str] = {}
    errors: dict[str, str] = {}
    angles: list[tuple[int, Angle]] = []
    for one in coordinates():
        if not one.settable:
            continue
        name = field_name(one)
        text = query.get(name, "").replace("\0", "").strip()
        if not text:
            continue
        typed[name] = text[:_LONGEST]
        try:
            angles.append((one.number, read_angle(one, text)))
        except PostureError as fault:
            errors[name] = str(fault)

    def choice(name: str, known: Any, sentence: str) -> str:
        value = query.get(name, "")[:80]
        if value and value not in known:
            errors[name] = sentence
            return ""
        return value

    levers = {name for _, rows in motion_choices() for name, _ in rows}
    motion = choice("motion", levers, "The model knows no such motion: choose one from the list.")
    fields = {field_name(one) for one in coordinates() if one.settable}
    swept = choice("sweep", fields, "The model can't sweep that: choose a joint's motion from the list.")
    bases = {path.base for path in paths_on("right")}
    state = State(
        side=choice("side", ("right", "left"), "Choose the right or the left side.") or "right",
        angles=tuple(angles),
        motion=_motions()[motion] if motion else None,
        muscle=choice("muscle", bases, "The model has no such muscle: choose one from the list."),
        swept=_motions()[swept][0] if swept else None,
        joint=choice(
            "joint", {"all", *(one.joint for one in coordinates())}, "Choose a joint from the list."
        ),
        sort=choice("sort", SORTS, "Choose an order from the list."),
        still=_key(query.get("still", "")),
        kept=_key(query.get("kept", "")),
    )
    return Asked(state, typed, errors)


def read_angle(one: Coordinate, text: str) -> Angle:
    """An angle as typed: ``60``, ``-10``, ``10 extension``, ``85 ± 10``. Raises PostureError with the model's range."""
    found = _TEXT.fullmatch(text.strip())
    if found is None:
        raise PostureError(
            f"This is no angle: write degrees of {one.motion}, such as 20, -10 or “10 {one.opposite}”; "
            "“20 ± 5” says how sure it is."
        )
    value = _number(found["number"])
    word = fold(found["word"] or "")
    if word:
        value = _along(one, value, word)
    sd = None if found["sd"] is None else _number(found["sd"])
    if sd is not None and sd > _LARGEST_SD:
        raise PostureError(f"An error of {sd:g}° says nothing: write one up to {_LARGEST_SD:g}°.")
    return Angle(checked(one, value), sd)


def _along(one: Coordinate, value: float, word: str) -> float:
    if value >= 0 and any(name.startswith(word) for name in one.opposite_names):
        return -value
    if any(name.startswith(word) for name in one.motion_names):
        return value
    raise PostureError(f"“{word[:30]}” is no motion here: write {one.motion} or {one.opposite}.")


def _number(text: str) -> float:
    return float(text.replace("−", "-").replace(",", "."))


def _key(text: str) -> str:
    return text if re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", text) else ""


def number_text(value: float) -> str:
    """A number with a true minus sign."""
    return f"{value:g}".replace("-", "−")


def state_of(side: str, angles: Mapping[str, Mapping[str, Any]], asked: Mapping[str, str]) -> State:
    """A state from what is kept: ``{"hip": {"flexion": [85, 10]}}``, the error None where nobody said it.

    What today's model no longer takes is left out.
    """
    query = dict(asked) | {"side": side}
    for one in coordinates():
        pair = angles.get(one.joint, {}).get(one.motion)
        if pair is not None and one.settable:
            query[field_name(one)] = Angle(*pair).text
    return read_state(query).state
