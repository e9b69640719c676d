"""A small figure in the posture, from the front and from the side looked at, with the path of one muscle.

Tapered limbs about the model's joint places. The SVG has only path, circle, g and title elements, so that a browser and a
rasteriser show the same; colours are given, ``currentColor`` on a page.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Literal

import numpy as np

from anatomy.muscles.body import Floats

__all__ = ["Tones", "View", "figure_svg"]

View = Literal["side", "front"]
Spot = tuple[float, float]

# From, to, and the radius at either end, in metres; own choice, no source.
_LIMBS = (
    ("shoulder", "elbow", 0.046, 0.036),
    ("elbow", "wrist", 0.036, 0.026),
    ("wrist", "knuckles", 0.027, 0.03),
    ("knuckles", "fingertips", 0.028, 0.016),
    ("hip", "knee", 0.078, 0.052),
    ("knee", "ankle", 0.052, 0.034),
    ("ankle", "heel", 0.034, 0.034),
    ("heel", "toes", 0.034, 0.022),
)
_HEAD = 0.098
_MARGIN = 0.06
_STANDING = {"side": (-0.36, 0.46), "front": (-0.36, 0.36)}
_HEIGHTS = (0.0, 1.72)


@dataclass(frozen=True)
class Tones:
    """What the figure is drawn in: the side looked at, the rest of the body, the line between, the muscle."""

    near: str = "currentColor"
    far: str = "currentColor"
    near_opacity: float = 0.78
    far_opacity: float = 0.28
    trunk_opacity: float = 0.42
    muscle: str = "currentColor"


class _Flat:
    """Places in space laid onto the picture: metres, y down."""

    def __init__(self, places: Mapping[str, Floats], side: str, view: View) -> None:
        self._places, self._side, self._view = places, side, view
        # The soles of the standing leg stand on 0, the pelvis over it.
        self._origin = np.array([places["pelvis"][0], 0.04, places["pelvis"][2]])

    def spot(self, place: Floats) -> Spot:
        forward, up, right = (float(value) for value in place - self._origin)
        if self._view == "front":
            return -right, -up
        return (forward if self._side == "right" else -forward), -up

    def at(self, name: str) -> Spot:
        return self.spot(self._places[name])

    def of(self, side: str, name: str) -> Spot:
        if name == "toes":  # the ball and a bit beyond it
            heel, ball = (np.array(self._places[f"{side} {part}"]) for part in ("heel", "ball of the foot"))
            return self.spot(ball + 0.35 * (ball - heel))
        return self.at(f"{side} {name}")


def _capsule(a: Spot, b: Spot, ra: float, rb: float) -> str:
    """A limb: two round ends and straight sides."""
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    if length < 1e-4:
        return _disc(a, max(ra, rb))
    nx, ny = -(b[1] - a[1]) / length, (b[0] - a[0]) / length
    return (
        f"M{a[0] + nx * ra:.4f} {a[1] + ny * ra:.4f}L{b[0] + nx * rb:.4f} {b[1] + ny * rb:.4f}"
        f"A{rb:.4f} {rb:.4f} 0 0 0 {b[0] - nx * rb:.4f} {b[1] - ny * rb:.4f}"
        f"L{a[0] - nx * ra:.4f} {a[1] - ny * ra:.4f}A{ra:.4f} {ra:.4f} 0 0 0 {a[0] + nx * ra:.4f} {a[1] + ny * ra:.4f}Z"
    )


def _disc(at: Spot, radius: float) -> str:
    return (
        f"M{at[0] - radius:.4f} {at[1]:.4f}a{radius:.4f} {radius:.4f} 0 1 0 {2 * radius:.4f} 0"
        f"a{radius:.4f} {radius:.4f} 0 1 0 {-2 * radius:.4f} 0Z"
    )


def _group(parts: Sequence[str], tone: str, opacity: float, ground: str) -> str:
    """Parts of one opacity: they don't shine through each other, a line of the ground parts them."""
    drawn = "".join(
        f'<path d="{data}" fill="{tone}" stroke="{ground}" stroke-width="0.012"/>' for data in parts
    )
    return f'<g opacity="{opacity:.2f}">{drawn}</g>'


def _limbs(flat: _Flat, side: str) -> list[str]:
    return [_capsule(flat.of(side, a), flat.of(side, b), ra, rb) for a, b, ra, rb in _LIMBS]


def _trunk(flat: _Flat, view: View) -> list[str]:
    back, neck, head = (flat.at(name) for name in ("low back", "neck", "head"))
    # The middle of the skull lies above the joint that the model names the head by.
    crown = head[0] + 0.05 * (head[0] - neck[0]), head[1] + 0.05 * (head[1] - neck[1])
    parts = [_capsule(neck, crown, 0.055, 0.05)]
    if view == "side":
        parts += [
            _capsule(back, _mid(flat, "shoulder"), 0.1, 0.115),
            _capsule(_mid(flat, "hip"), back, 0.11, 0.1),
        ]
    else:
        shoulders, hips = (
            [flat.of(side, part) for side in ("right", "left")] for part in ("shoulder", "hip")
        )
        corners = [*shoulders, *reversed(hips)]
        parts += [
            _capsule(shoulders[0], shoulders[1], 0.06, 0.06),
            "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in corners) + "Z",
            _capsule(hips[0], hips[1], 0.09, 0.09),
        ]
    return [*parts, _disc(crown, _HEAD)]


def _mid(flat: _Flat, part: str) -> Spot:
    a, b = flat.of("right", part), flat.of("left", part)
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def figure_svg(
    places: Mapping[str, Floats],
    side: str,
    view: View,
    title: str,
    *,
    muscle: Sequence[Floats] = (),
    tones: Tones | None = None,
    ground: str = "none",
    height: int = 320,
) -> str:
    """The figure as SVG text, ``height`` pixels tall. ``places`` as ``joint_places`` gives them; ``muscle`` are the points
    of a path in the same axes; ``ground`` parts the limbs from what lies behind them."""
    tones, flat = tones or Tones(), _Flat(places, side, view)
    other = "left" if side == "right" else "right"
    line = [flat.spot(point) for point in muscle]
    toes = [flat.of(one, "toes") for one in ("right", "left")]
    spots = [flat.spot(place) for place in places.values()] + line + toes
    left = min(_STANDING[view][0], *(x for x, _ in spots)) - _MARGIN
    right = max(_STANDING[view][1], *(x for x, _ in spots)) + _MARGIN
    top = min(-_HEIGHTS[1] - _HEAD, *(y for _, y in spots)) - _MARGIN
    bottom = max(-_HEIGHTS[0], *(y for _, y in spots)) + _MARGIN
    width = height * (right - left) / (bottom - top)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:.3f} {top:.3f} {right - left:.3f} {bottom - top:.3f}" '
        f'width="{width:.0f}" height="{height}" role="img" aria-label="{escape(title)}"><title>{escape(title)}</title>',
        _group(_limbs(flat, other), tones.far, tones.far_opacity, ground),
        _group(_trunk(flat, view), tones.far, tones.trunk_opacity, ground),
        _group(_limbs(flat, side), tones.near, tones.near_opacity, ground),
    ]
    if len(line) > 1:
        data = "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in line)
        parts.append(
            f'<path d="{data}" fill="none" stroke="{ground}" stroke-width="0.034" stroke-linejoin="round"/>'
        )
        parts.append(
            f'<path d="{data}" fill="none" stroke="{tones.muscle}" stroke-width="0.018" stroke-linejoin="round" stroke-linecap="round"/>'
        )
    return "".join(parts) + "</svg>"
