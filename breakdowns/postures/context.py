"""What the posture pages are filled with."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any
from urllib.parse import parse_qsl

import numpy as np
from django.urls import reverse

from anatomy.muscles.body import open_body
from anatomy.muscles.catalogue import missing_muscles, paths_on
from anatomy.muscles.coordinates import Coordinate, coordinates
from anatomy.muscles.faults import ModelNotInstalled
from anatomy.muscles.lengths import MID_RANGE, NEAR_BEST, PeakTorque, peak_torques, sarcomere_landmarks
from anatomy.muscles.records import ASSUMPTIONS
from anatomy.muscles.simulator import is_installed, model_version
from anatomy.muscles.skeleton import joint_places
from breakdowns.tracks.plot import Plot, plot_svg

from .curves import HERE, force_plot, lever_plot, sarcomere_plot, torque_plot
from .examining import Examined
from .figure import Tones, View, figure_svg
from .state import SORTS, Asked, State, field_name, motion_choices
from .words import angles_said, joint_words, sentence_for_words, summary

__all__ = ["answer", "form_page", "length_page"]

WIDE, NARROW = (720, 270), (360, 250)
_PAGE_TONES = Tones(muscle="var(--link)")
_NOT_SHOWN = ("metacarpophalangeal", "interphalangeal", "proximal interphalangeal", "distal interphalangeal")
_FIRST_RANKED = 8


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _joint_title(joint: str) -> str:
    said = joint_words(joint)
    return _capital(said if said == joint else f"{said} ({joint})")


def _is_finger(one: Coordinate) -> bool:
    return "(" in one.joint


def _field(one: Coordinate, asked: Asked) -> dict[str, Any]:
    name = field_name(one)
    given = dict(asked.state.angles).get(one.number)
    value = asked.typed.get(name, "") if name in asked.errors else (given.text if given else "")
    return {
        "name": name,
        "slot": name.replace(".", "-"),
        "motion": _capital(one.motion),
        "opposite": one.opposite,
        "range": f"{one.low:g} to {one.high:g}".replace("-", "−"),
        "value": value,
        "error": asked.errors.get(name, ""),
    }


def _groups(asked: Asked) -> list[dict[str, Any]]:
    groups: dict[str, dict[str, Any]] = {}
    for one in coordinates():
        if one.settable:
            row = groups.setdefault(
                one.joint, {"title": _joint_title(one.joint), "fields": [], "finger": _is_finger(one)}
            )
            row["fields"].append(_field(one, asked))
    return list(groups.values())


@lru_cache(maxsize=1)
def _muscle_options() -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    groups: dict[str, list[tuple[str, str]]] = {}
    for path in paths_on("right"):
        name = f"{path.muscle}, {path.part}" if path.part else path.muscle
        groups.setdefault(_capital(path.region), []).append((path.base, name))
    return tuple((region, tuple(sorted(rows, key=lambda row: row[1]))) for region, rows in groups.items())


def form_page(asked: Asked) -> dict[str, Any]:
    """The form's fields and choices, with what was typed and what is wrong with it."""
    state = asked.state
    groups = _groups(asked)
    motion = field_name(coordinates()[state.motion[0]], state.motion[1]) if state.motion else ""
    return {
        "state": state,
        "asked": asked,
        "errors": asked.errors,
        "groups": [group for group in groups if not group["finger"]],
        "finger_groups": [group for group in groups if group["finger"]],
        "finger_open": any(f["value"] or f["error"] for g in groups if g["finger"] for f in g["fields"]),
        "motions": [(_joint_title(joint), rows) for joint, rows in motion_choices() if "(" not in joint],
        "motion": motion,
        "muscle_options": _muscle_options(),
        "sweeps": [
            (field_name(one), f"{joint_words(one.joint)} {one.motion}")
            for one in coordinates()
            if one.settable and not _is_finger(one)
        ],
        "sweep": "" if state.swept is None else field_name(coordinates()[state.swept]),
        "joints": [
            (joint, joint_words(joint))
            for joint in dict.fromkeys(one.joint for one in coordinates())
            if "(" not in joint
        ],
        "sorts": list(SORTS.items()),
        "query": state.query(),
        "address": f"{reverse('postures:look')}?{state.query()}",
        "installed": is_installed(),
        "model": model_version(),
    }


def _plots(plot: Plot, here: float | None) -> dict[str, str]:
    says = HERE if here is not None else ""
    return {
        "wide": plot_svg(plot, WIDE, here, cursor_says=says),
        "narrow": plot_svg(plot, NARROW, here, cursor_says=says),
        "title": plot.title,
    }


def _figures(found: Examined, base: str) -> list[dict[str, str]]:
    views: tuple[tuple[View, str], ...] = (
        ("side", f"from the {found.state.side}"),
        ("front", "from the front"),
    )
    places = joint_places(found.posture)
    name = next(path.name for path in paths_on(found.state.side) if path.base == base)
    points = list(found.body.path_points(found.posture, name))
    where = angles_said(found.state.told())
    return [
        {
            "svg": figure_svg(
                places, found.state.side, view, f"Figure {words}: {where}", muscle=points, tones=_PAGE_TONES,
                ground="var(--paper)", height=300,
            ),
            "words": words,
        }
        for view, words in views
    ]  # fmt: skip


def answer(asked: Asked) -> dict[str, Any]:
    """What the model says of the state; ``why_not`` alone where it can't say anything."""
    try:
        found = Examined(asked.state)
    except ModelNotInstalled as fault:
        return {"why_not": str(fault)}
    swept, (about, sign) = found.swept, found.about
    here = found.posture.degrees[swept.number]
    row = found.muscle_row
    force = force_plot(found.sweep, swept, here)
    ranked, why = found.ranked
    bases = {path.name: path.base for path in paths_on(asked.state.side)}
    for one in ranked:
        one["base"] = bases[one["parts"][0]["model_name"]]
    return {
        "found": found,
        "where": angles_said(asked.state.told()),
        "summary": summary(found),
        "sentence": sentence_for_words(found),
        "figures": _figures(found, row.base),
        "motion_words": asked.state.motion_words,
        "ranked": ranked[:_FIRST_RANKED],
        "ranked_more": ranked[_FIRST_RANKED:],
        "no_ranking": why,
        "turned": found.turned,
        "rows": found.rows,
        "row_joints": ", ".join(joint_words(joint) for joint in found.joints) or "every joint",
        "order": SORTS[found.order],
        "row": row,
        "swept_words": f"{joint_words(swept.joint)} {swept.motion}",
        "swept_range": f"{swept.low:g} to {swept.high:g}°".replace("-", "−"),
        "here": f"{here:g}".replace("-", "−"),
        "force": _plots(force, here) if force else None,
        "lever": _plots(lever_plot(found.sweep, about, sign, swept, here), here),
        "assumptions": ASSUMPTIONS,
        "missing": sorted(missing_muscles()),
    }


# --- length and tension ---------------------------------------------------------------------------


@lru_cache(maxsize=4)
def _peaks(side: str) -> tuple[tuple[PeakTorque, float, Any, Any], ...]:
    body = open_body()
    return tuple((row, *row.model(body, side)) for row in peak_torques())


def _peak_line(row: PeakTorque, model: float) -> dict[str, Any]:
    published = f"{row.low:g}" if row.low == row.high else f"{row.low:g} to {row.high:g}"
    inside = row.low - 10 <= model <= row.high + 10
    return {
        "motion": _capital(row.motion),
        "swept": f"{row.swept.joint} {row.swept.motion}",
        "published": f"{published}°".replace("-", "−"),
        "model": f"{model:.0f}°".replace("-", "−"),
        "agrees": inside,
        "row": row,
    }


def _run(found: Examined) -> Mapping[str, Any] | None:
    """Over which lengths the muscle's fibres run along the sweep."""
    fibres = found.sweep.fibres
    if not np.isfinite(fibres).all():
        return None
    best = found.sweep.degrees[int(np.argmin(np.abs(fibres - 1)))]
    middle = (found.swept.low + found.swept.high) / 2
    return {
        "least": float(fibres.min()),
        "most": float(fibres.max()),
        "best": f"{best:.0f}".replace("-", "−"),
        "reaches": bool(np.abs(fibres - 1).min() <= NEAR_BEST),
        "middle": f"{middle:.0f}".replace("-", "−"),
        "middle_active": 100 * float(np.interp(middle, found.sweep.degrees, found.sweep.active)),
    }


def length_page(state: State) -> dict[str, Any]:
    """The classical curve, the rule of thumb, this muscle by the model, and the published angles of greatest torque."""
    page: dict[str, Any] = {
        "state": state,
        "query": state.query(),
        "classical": _plots(sarcomere_plot(), None),
        "landmarks": [*sarcomere_landmarks("frog"), *sarcomere_landmarks("human")],
        "mid_range": MID_RANGE,
        "muscle_options": _muscle_options(),
        "carried": [(name, value) for name, value in parse_qsl(state.query(muscle=None)) if name != "side"],
        "published": [{"row": row} for row in peak_torques()],
    }
    try:
        found = Examined(state)
    except ModelNotInstalled as fault:
        return page | {"why_not": str(fault)}
    here = found.posture.degrees[found.swept.number]
    force = force_plot(found.sweep, found.swept, here)
    wanted = (
        (found.state.about.number, found.state.motion[1])
        if found.state.about and found.state.motion
        else None
    )
    lines, plots = [], []
    for row, model, degrees, torque in _peaks(state.side):
        line = _peak_line(row, model)
        line["asked"] = wanted == (row.about.number, row.sign)
        lines.append(line)
        if line["asked"]:
            at = found.posture.degrees[row.swept.number]
            plots.append(_plots(torque_plot(row, degrees, torque), at) | {"source": row.source})
    return page | {
        "found": found,
        "row": found.muscle_row,
        "force": _plots(force, here) if force else None,
        "run": _run(found),
        "swept_words": f"{joint_words(found.swept.joint)} {found.swept.motion}",
        "published": sorted(lines, key=lambda one: not one["asked"]),
        "torques": plots,
    }
