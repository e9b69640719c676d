"""The model's joints and motions in anatomical words, with the signs and limits that belong to them (data/coordinates.csv)."""

from __future__ import annotations

import csv
import difflib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from anatomy.muscles.faults import PostureError
from anatomy.vocabulary.naming import fold

__all__ = ["Coordinate", "coordinates", "coordinates_at", "find_joint", "find_motion", "key_of", "table"]


def table(name: str) -> tuple[dict[str, str], ...]:
    """The rows of one of the package's data files."""
    text = files("anatomy.muscles").joinpath("data", f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@dataclass(frozen=True)
class Coordinate:
    """A motion and its opposite at a joint. Degrees, positive along ``motion``.

    ``right`` and ``left`` are the model's joints for either side, several where one motion needs them together; ``signs``
    tell which way they count. ``settable``: a posture may name it; ``has_lever``: a muscle may have a lever about it.
    """

    number: int
    joint: str
    motion: str
    opposite: str
    right: tuple[str, ...]
    left: tuple[str, ...]
    signs: tuple[float, float]
    low: float
    high: float
    doer: str
    opposite_doer: str
    settable: bool
    has_lever: bool
    joint_names: frozenset[str]
    motion_names: frozenset[str]
    opposite_names: frozenset[str]

    def model_joints(self, side: str) -> tuple[str, ...]:
        """The model's joints on a side."""
        return self.right if side == "right" else self.left

    def sign(self, side: str) -> float:
        """+1 where the model counts the way the motion's name says on this side, else −1."""
        return self.signs[0] if side == "right" else self.signs[1]

    def named(self, value: float) -> str:
        """The name of the motion that a value of this sign belongs to."""
        return self.motion if value >= 0 else self.opposite


def key_of(name: str) -> str:
    """A name as JSON keys carry it: ``internal rotation`` → ``internal_rotation``."""
    return name.replace(" ", "_")


@cache
def coordinates() -> tuple[Coordinate, ...]:
    """Every coordinate, in the order of the table."""
    return tuple(_coordinate(number, row) for number, row in enumerate(table("coordinates")))


@cache
def coordinates_at(joint: str) -> tuple[Coordinate, ...]:
    """The coordinates of one joint by its name in the table."""
    return tuple(one for one in coordinates() if one.joint == joint)


def find_joint(name: str) -> str:
    """The table's name of a joint, synonyms understood. Raises PostureError."""
    wanted = _plain(name)
    for one in coordinates():
        if wanted in one.joint_names:
            return one.joint
    known = list(dict.fromkeys(one.joint for one in coordinates()))
    raise PostureError(f"The model has no joint {_quoted(name)}: {_mend(wanted, known, 'the joints')}")


def find_motion(joint: str, name: str) -> tuple[Coordinate, int]:
    """The coordinate of a motion at a joint, and +1, or −1 where the opposite is named. Raises PostureError."""
    wanted = _plain(name)
    for one in coordinates_at(joint):
        if wanted in one.motion_names:
            return one, 1
        if wanted in one.opposite_names:
            return one, -1
    if joint == "shoulder" and wanted in ("flexion", "extension", "abduction", "adduction"):
        how = {"flexion": 90, "extension": -90}.get(wanted, 0)
        raise PostureError(
            f"At the shoulder {wanted} is said by two angles here: write elevation with plane {how} "
            "(0 abduction, 90 flexion)."
        )
    known = [motion for one in coordinates_at(joint) for motion in (one.motion, one.opposite)]
    raise PostureError(
        f"The model has no motion {_quoted(name)} at the {joint}: {_mend(wanted, known, 'its motions')}"
    )


def _mend(wanted: str, known: list[str], what: str) -> str:
    near = difflib.get_close_matches(wanted[:60], known, n=1)
    if near:
        return f"did you mean {key_of(near[0])}?"
    listed = [key_of(name) for name in known if "finger" not in name and "thumb" not in name]
    return f"{what} are {', '.join(listed)}."


def _plain(name: str) -> str:
    return fold(name.replace("_", " "))


def _quoted(name: str) -> str:
    return f"“{name[:40]}”" if name.isprintable() else ascii(name[:40])


def _coordinate(number: int, row: dict[str, str]) -> Coordinate:
    def names(*columns: str) -> frozenset[str]:
        return frozenset(_plain(part) for column in columns for part in row[column].split(";") if part)

    return Coordinate(
        number,
        row["joint"],
        row["motion"],
        row["opposite"],
        tuple(row["right"].split(" + ")),
        tuple(row["left"].split(" + ")),
        (float(row["right_sign"]), float(row["left_sign"])),
        float(row["low"] or "nan"),
        float(row["high"] or "nan"),
        row["doer"],
        row["opposite_doer"],
        row["use"] in ("both", "set"),
        row["use"] in ("both", "lever"),
        names("joint", "joint_also"),
        names("motion", "motion_also"),
        names("opposite", "opposite_also"),
    )
