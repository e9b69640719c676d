"""What the page found, in sentences: hedged as a model's estimate, and one that can go into the words of a script."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from anatomy.muscles.coordinates import Coordinate

from .examining import Examined, MuscleRow, Turned
from .state import Angle

__all__ = ["angles_said", "joined", "joint_words", "sentence_for_words", "summary"]

_MODEL = "by a model of one average adult"
_MOST_NAMED = 3
_WORTH_NAMING = 0.05
_JOINTS = {
    "talocrural": "ankle",
    "subtalar": "foot",
    "metatarsophalangeal": "toes",
    "radioulnar": "forearm",
    "lumbar": "low back",
}


def joined(texts: Sequence[str]) -> str:
    """ "a, b and c"."""
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}"


def joint_words(joint: str) -> str:
    """A joint as it is said: "ankle"."""
    return _JOINTS.get(joint, joint)


def angle_said(one: Coordinate, angle: Angle) -> str:
    """ "hip flexion 85 ± 10°"; "knee straight" for 0."""
    if one.motion == "plane":
        return f"the arm’s plane at {angle.degrees:.0f}°"
    value = f"{abs(angle.degrees):g}" + (f" ± {angle.sd:g}" if angle.sd is not None else "")
    return f"{joint_words(one.joint)} {one.named(angle.degrees)} {value}°"


def angles_said(told: Sequence[tuple[Coordinate, Angle]]) -> str:
    """The posture in a phrase; "the anatomical position" where every angle is 0."""
    said = [angle_said(one, angle) for one, angle in told if angle.degrees]
    return joined(said) if said else "every joint at 0°"


def _share(value: float) -> str:
    return f"about {max(5, 5 * round(20 * value))} %" if value >= 0.025 else "little"


def _muscles(rows: Sequence[dict[str, Any]]) -> list[str]:
    return [f"{row['muscle']} ({_share(row['share'])})" for row in rows]


def summary(found: Examined) -> list[str]:
    """Sentences for the page."""
    said = []
    ranked, why = found.ranked
    motion = found.state.motion_words
    if motion and ranked:
        said.append(_ranking(found, ranked, motion))
        low = [row["muscle"] for row in ranked[:6] if row["trust"] == "low"]
        if low:
            said.append(f"The model is not to be trusted here for {joined(low)}: the table says why.")
    elif motion and why:
        said.append(why)
    said += _turned(found.turned, motion)
    row = found.muscle_row
    if row.fibre is not None and row.active is not None:
        said.append(_length(row))
    return said


def _ranking(found: Examined, ranked: Sequence[dict[str, Any]], motion: str) -> str:
    best = [row for row in ranked[:_MOST_NAMED] if row["share"] >= _WORTH_NAMING] or ranked[:1]
    where = angles_said(found.state.told())
    return (
        f"With {where}, {_MODEL}, most of the torque available for {motion} could come from "
        f"{joined(_muscles(best))}."
    )


def _turned(turned: Sequence[Turned], motion: str) -> list[str]:
    names: dict[str, Turned] = {}
    for row in turned:
        if row.makes and row.trust == "high":
            names.setdefault(row.muscle, row)
    if not names:
        return []
    told = [f"{one.muscle}{_where(one)}" for one in names.values()]
    usual = next(iter(names.values())).usual
    article = "an" if usual[0] in "aeiou" else "a"
    if len(told) == 1:
        return [
            f"{_capital(told[0])} is {article} {usual} in the anatomical position, but could help {motion} here."
        ]
    return [
        f"{_capital(joined(told))} are {usual}s in the anatomical position, but could help {motion} here."
    ]


def _where(one: Turned) -> str:
    return f" (turns over at about {abs(round(one.at))}° of {one.swept})" if one.at is not None else ""


def _length(row: MuscleRow) -> str:
    assert row.fibre is not None
    assert row.active is not None
    return (
        f"{_capital(row.name)} is {row.fibre_says} here ({row.fibre:.2f} of it) and could give about "
        f"{100 * row.active:.0f} % of its greatest active force."
    )


def sentence_for_words(found: Examined) -> str:
    """One hedged sentence that can be spoken; "" where there is nothing that the model may be trusted with."""
    motion = found.state.motion_words
    ranked = [row for row in found.ranked[0] if row["trust"] == "high" and row["share"] >= _WORTH_NAMING]
    if motion and ranked:
        names = joined([row["muscle"] for row in ranked[:_MOST_NAMED]])
        said = f"In this position, by a model’s estimate, {names} are best placed for {motion}"
        if len(ranked) == 1:
            said = said.replace(" are best placed", " is best placed")
        turned = [row for row in found.turned if row.makes and row.trust == "high"]
        if turned:
            one = turned[0]
            article = "an" if one.usual[0] in "aeiou" else "a"
            said += f"; {one.muscle}, {article} {one.usual} when you stand upright, could help with it here"
        return said + "."
    row = found.muscle_row
    if not motion and row.fibre is not None and row.trust == "high":
        return f"In this position, by a model’s estimate, {row.muscle} is {row.fibre_says}."
    return ""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
