"""The vocabulary's muscle actions, each tied to the paths, the coordinate and the posture of the open model.

The tables beside this module say which paths a muscle has (``model_muscles.csv``), where to look for a motion
(``model_postures.csv``; a row with a muscle goes before the one for all) and where model and vocabulary differ for a
reason (``model_differences.csv``).
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from anatomy.vocabulary.collection import Vocabulary
from anatomy.vocabulary.entries import Action
from tests.anatomy.vocabulary.open_model import open_model

FOLDER = Path(__file__).parent / "data"
LEG = ("hip", "knee", "talocrural", "subtalar")
ARM_AND_TRUNK = ("glenohumeral", "elbow", "radioulnar", "wrist", "lumbar spine")
CROSSES = 1e-6
"""Metres; below it a path does not cross the joint at all in this model."""
Key = tuple[str, str, str]


@dataclass(frozen=True)
class Looked:
    """One action and the model's lever for it in metres, positive when the model bears it out."""

    action: Action
    lever: float

    @property
    def key(self) -> Key:
        """Muscle, joint, motion."""
        return self.action.muscle, self.action.joint, self.action.motion

    @property
    def agrees(self) -> bool:
        """Whether the model's muscle produces this motion."""
        return self.lever > 0


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """The rows of one of the tables beside this module."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


def paths_of(muscle: str, model: str, fibres: str = "") -> list[str]:
    """The model's paths of a muscle, or of some of its fibres."""
    return [
        row["path"]
        for row in table("model_muscles")
        if row["muscle"] == muscle and row["model"] == model and fibres in ("", row["fibres"])
    ]


def place_for(action: Action) -> dict[str, str] | None:
    """The row that says where to look for this action, or None where the model has no such motion."""
    rows = [
        row
        for row in table("model_postures")
        if (row["joint"], row["motion"]) == (action.joint, action.motion)
        and row["muscle"] in ("", action.muscle)
    ]
    return max(rows, key=lambda row: bool(row["muscle"]), default=None)


def look(action: Action) -> Looked | None:
    """The lever of an action's muscle, its paths weighed by their strength; None where the model can't say."""
    place = place_for(action)
    if place is None:
        return None
    paths = paths_of(action.muscle, place["model"], place["fibres"])
    if not paths:
        return None
    model = open_model(place["model"])
    posture = tuple((name, float(value)) for name, _, value in map(_parted, _listed(place["posture"])))
    levers = [model.lever(path, place["coordinate"], posture) for path in paths]
    if max(map(abs, levers)) < CROSSES:
        return None
    forces = [model.force(path) for path in paths]
    lever = sum(a * f for a, f in zip(levers, forces, strict=True)) / sum(forces)
    return Looked(action, lever if place["sign"] == "+" else -lever)


def looked_at(vocabulary: Vocabulary, joints: Iterable[str]) -> list[Looked]:
    """Every action at these joints that the model can judge."""
    wanted = set(joints)
    found = (look(action) for action in vocabulary.actions if action.joint in wanted)
    return [looked for looked in found if looked is not None]


def _listed(cell: str) -> list[str]:
    return [part.strip() for part in cell.split(";") if part.strip()]


def _parted(text: str) -> tuple[str, str, str]:
    return text.partition("=")
