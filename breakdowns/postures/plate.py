"""What a posture's plate says and draws: one muscle in a posture, its force and its lever along a sweep.

A plate keeps the state of the page, as ``name=value`` texts, and is reckoned afresh each time, so that it follows the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from urllib.parse import parse_qsl

import numpy as np

from anatomy.muscles.faults import PostureError
from anatomy.muscles.flips import flips
from anatomy.muscles.skeleton import joint_places
from anatomy.muscles.sweeping import steps_of, sweep_readings
from anatomy.vocabulary.packaged import packaged_vocabulary
from breakdowns.tracks.plot import Curve, Plot
from breakdowns.tracks.plot_palette import PAPER

from .examining import Examined
from .figure import Tones, figure_svg
from .state import State, read_state
from .words import angles_said, joint_words

__all__ = ["CurvePanel", "PlateCurve", "PosturePlate", "posture_plate", "state_rows"]

CAVEAT = "A model’s estimate: one average adult, never a figure for a person on film."
_MOST_ROWS = 60
_SOURCES = {"leg": "rajagopal-2016", "arm": "holzbaur-2005"}
_ARM_JOINTS = ("shoulder", "elbow", "radioulnar", "wrist")
_TONES = Tones("#1b2326", "#56615f", 0.8, 0.35, 0.5, "#9b3222")


@dataclass(frozen=True)
class PlateCurve:
    """One curve: ``values`` over ``across``, rounded so that equal plates have equal pixels."""

    label: str
    tone: int
    across: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True)
class CurvePanel:
    """Curves with what stands over them, and in words what they say at ``here``."""

    heading: str
    unit: str
    says: str
    here: float
    curves: tuple[PlateCurve, ...]

    def plot(self) -> Plot:
        """The panel as the one routine for curves draws it."""
        made = tuple(
            Curve(one.label, one.tone, np.array(one.across), np.array(one.values)) for one in self.curves
        )
        return Plot(f"{self.heading}. {self.says}", self.unit, "°", made, from_zero=True)

    def shortened(self) -> CurvePanel:
        """For a narrow place: without names at the curves, the second told in the heading, the unit's first words."""
        named = [one.label for one in self.curves[1:]]
        heading = f"{self.heading} (dashed: {named[0]})" if named else self.heading
        curves = tuple(replace(one, label="") for one in self.curves)
        return replace(
            self,
            heading=heading,
            unit=self.unit.partition(";")[0].removesuffix(" active force"),
            curves=curves,
        )


@dataclass(frozen=True)
class PosturePlate:
    """Everything that the plate shows. ``force`` None: ``why_no_force`` says why; ``turns`` tells where the muscle's action
    turns over along the sweep; ``distrust`` is empty where the model is trusted; ``figure`` is an SVG of the posture."""

    heading: str
    where: str
    force: CurvePanel | None
    why_no_force: str
    lever: CurvePanel
    turns: str
    distrust: str
    figure: str
    sources: tuple[str, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """What it says below the curves."""
        told = (self.why_no_force, self.turns, self.distrust and f"Not to be trusted here: {self.distrust}")
        return tuple(line for line in told if line)

    @property
    def text(self) -> str:
        """The same in words, as Markdown, for what shows no picture."""
        panels = [f"- {panel.says}" for panel in (self.force, self.lever) if panel]
        sources = f"Sources: {'; '.join(self.sources)}"
        return "\n\n".join([f"{self.where}:", "\n".join(panels), *self.lines, CAVEAT, sources])

    @property
    def reading(self) -> str:
        """What a viewer takes in of it."""
        panels = [panel.says for panel in (self.force, self.lever) if panel]
        return " ".join([self.heading, self.where, *panels])


def state_rows(state: State) -> list[str]:
    """A state as a plate keeps it: angles, motion, muscle and sweep, each as the address has it."""
    given = dict(parse_qsl(state.query(joint=None, sort=None, still=None, kept=None)))
    return [f"{name}={value}" for name, value in given.items()]


def _state(rows: Sequence[str]) -> State:
    given = dict(row.partition("=")[::2] for row in rows[:_MOST_ROWS])
    asked = read_state(given)
    if not rows:
        raise PostureError(
            "No posture is chosen for the plate yet: choose a kept one, or make the plate on a posture’s page."
        )
    if asked.errors:
        name, sentence = next(iter(asked.errors.items()))
        raise PostureError(f"The posture of the plate can’t be read any more ({name}): {sentence}")
    return asked.state


def posture_plate(rows: Sequence[str]) -> PosturePlate:
    """The plate of a state kept as ``state_rows``. Raises PostureError with one sentence, ModelNotInstalled without the extra."""
    found = Examined(_state(rows))
    row, sweep, swept = found.muscle_row, found.sweep, found.swept
    here = found.posture.degrees[swept.number]
    about, sign = found.about
    along = f"along {joint_words(swept.joint)} {swept.motion}"
    lever = float(np.interp(here, sweep.degrees, sweep.levers))
    motion, other = (about.motion, about.opposite) if sign > 0 else (about.opposite, about.motion)
    across = _rounded(sweep.degrees)
    return PosturePlate(
        heading=row.name[:1].upper() + row.name[1:],
        where=_capital(f"{angles_said(found.state.told())}, {found.state.side} side"),
        force=_force(found, across, here, along),
        why_no_force="" if np.isfinite(sweep.active).all() else row.why_no_curve,
        lever=CurvePanel(
            f"Lever at the {joint_words(about.joint)} {along}",
            f"mm; above 0 {motion}, below {other}",
            f"Here about {abs(lever):.0f} mm for {joint_words(about.joint)} {motion if lever >= 0 else other}.",
            here,
            (PlateCurve("", 0, across, _rounded(sweep.levers)),),
        ),
        turns=_turns(found),
        distrust=row.why_low,
        figure=_figure(found),
        sources=_sources(found),
    )


def _force(found: Examined, across: tuple[float, ...], here: float, along: str) -> CurvePanel | None:
    sweep = found.sweep
    if not np.isfinite(sweep.active).all():
        return None
    active, passive = (float(np.interp(here, sweep.degrees, one)) for one in (sweep.active, sweep.passive))
    more = f", and {100 * passive:.0f}\u00a0% by its stretch" if passive >= 0.005 else ""
    return CurvePanel(
        f"Force {along}",
        "% of greatest active force",
        f"Here about {100 * active:.0f}\u00a0% of its greatest active force{more}.",
        here,
        (
            PlateCurve("active", 0, across, _rounded(100 * sweep.active)),
            PlateCurve("passive", 1, across, _rounded(100 * np.minimum(sweep.passive, 1.5))),
        ),
    )


def _turns(found: Examined) -> str:
    """Where the lever drawn changes its sign along the sweep; empty where it does not."""
    about, swept = found.about[0], found.swept
    readings = sweep_readings(found.body, found.posture, swept, steps_of(swept))
    for row in flips(found.body, swept, readings, frozenset({found.muscle})):
        names = {about.motion.replace(" ", "_"), about.opposite.replace(" ", "_")}
        if row["joint"] == about.joint and row["flipped"] in names and row["at"] is not None:
            return _capital(row["sentence"])
    return ""


def _figure(found: Examined) -> str:
    name = found.sweep.path.name
    points = list(found.body.path_points(found.posture, name))
    return figure_svg(
        joint_places(found.posture), found.state.side, "side", "The posture from the side",
        muscle=points, tones=_TONES, ground=PAPER.ground, height=600,
    )  # fmt: skip


def _sources(found: Examined) -> tuple[str, ...]:
    arm = found.about[0].joint.startswith(_ARM_JOINTS)
    return tuple(packaged_vocabulary().cite([_SOURCES["arm" if arm else "leg"]]))


def _rounded(values: np.ndarray) -> tuple[float, ...]:  # type: ignore[type-arg]
    return tuple(round(float(value), 2) for value in values)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
