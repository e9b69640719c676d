"""The drawing of the contact map as SVG: one body, cells that can be chosen, ribs, levels, quadrants, a marker.

Each place owns what lies nearest to its spots on the same part of the body, so that every point of the body means
something. Colours come from classes: the page's style sheet, or ``PLATE_STYLE`` where there is none. No Django here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from html import escape
from typing import Final

from anatomy.contact.hits import named
from anatomy.contact.loading import packaged_facts
from breakdowns.contacts.body import (
    HEIGHT,
    MIDLINE,
    WIDTH,
    Point,
    Spot,
    View,
    outlines,
    rib_lines,
    spots,
    vertebra_y,
)

__all__ = ["CLOSER", "PLATE_STYLE", "best_view", "body_svg", "cells"]

CLOSER: Final[dict[str, tuple[str, dict[str, tuple[int, int, int, int]]]]] = {
    "head": ("head and neck", {"front": (100, 8, 200, 200), "back": (100, 8, 200, 200), "left": (140, 8, 200, 200), "right": (60, 8, 200, 200)}),
    "trunk": ("trunk", {"front": (80, 170, 240, 360), "back": (80, 170, 240, 360), "left": (110, 170, 240, 360), "right": (50, 170, 240, 360)}),
    "left-hand": ("left hand", {"front": (300, 460, 110, 150), "back": (-10, 460, 110, 150), "left": (20, 95, 130, 130)}),
    "right-hand": ("right hand", {"front": (-10, 460, 110, 150), "back": (300, 460, 110, 150), "right": (250, 95, 130, 130)}),
    "legs": ("knees to feet", {"front": (90, 650, 220, 335), "back": (90, 650, 220, 335), "left": (120, 650, 220, 335), "right": (60, 650, 220, 335)}),
}  # fmt: skip
"""Parts that can be drawn larger: their words, and the window (x, y, width, height) in each view that shows them."""
_LEVELS: Final = {"front": ("T4", "T9", "L3"), "back": ("C7", "T4", "T8", "T12", "L4", "S2"), "side": ("C7", "T4", "T8", "T12", "L4")}  # fmt: skip
_RIBS_NAMED: Final = (5, 8, 10, 12)
PLATE_STYLE: Final = (
    ".skin{fill:#fcfaf4;stroke:#1b2326;stroke-width:2.2;stroke-linejoin:round}.bone,.level,.quadrant{fill:none;stroke:#b9b09c;stroke-width:1.4}"
    ".quadrant{stroke-dasharray:5 5}.chosen{fill:#9b3222;fill-opacity:.18;stroke:#9b3222;stroke-width:1.4}.marker{fill:none;stroke:#9b3222;stroke-width:4}"
    ".marker-dot{fill:#9b3222}.label{display:none}"
)


@cache
def cells(view: View) -> dict[tuple[str, str], tuple[tuple[str, tuple[Point, ...]], ...]]:
    """(place, side) → its polygons as (part, corners); to be clipped by the outline of the part."""
    found: dict[tuple[str, str], list[tuple[str, tuple[Point, ...]]]] = defaultdict(list)
    seeds = spots(view)
    for seed in seeds:
        box: Sequence[Point] = ((-20, 0), (WIDTH + 20, 0), (WIDTH + 20, HEIGHT), (-20, HEIGHT))
        for other in seeds:
            if other is not seed and other.part == seed.part:
                box = _nearer(box, seed, other)
        found[seed.place, seed.side].append((seed.part, tuple(box)))
    return {key: tuple(value) for key, value in found.items()}


def _nearer(corners: Sequence[Point], seed: Spot, other: Spot) -> list[Point]:
    """What of a convex polygon lies nearer to ``seed`` than to ``other`` (Sutherland & Hodgman 1974, one edge)."""
    dx, dy = other.x - seed.x, other.y - seed.y
    middle = (dx * (seed.x + other.x) + dy * (seed.y + other.y)) / 2
    beyond = [dx * x + dy * y - middle for x, y in corners]
    kept: list[Point] = []
    for place, (x, y) in enumerate(corners):
        after = (place + 1) % len(corners)
        if beyond[place] <= 0:
            kept.append((x, y))
        if (beyond[place] < 0) != (beyond[after] < 0) and beyond[place] != beyond[after]:
            share = beyond[place] / (beyond[place] - beyond[after])
            kept.append((x + share * (corners[after][0] - x), y + share * (corners[after][1] - y)))
    return kept


def best_view(place: str, side: str, wanted: View | None = None) -> View | None:
    """The view that shows a place on a side: the wanted one where it does. None where only parts of it are drawn."""
    order: tuple[View, ...] = ("front", "back", "left", "right")
    for view in (*([wanted] if wanted else []), *order):
        if any(one.place in _family(place) and _agrees(one.side, side) for one in spots(view)):
            return view
    return None


def _family(place: str) -> frozenset[str]:
    return frozenset((place, *packaged_facts().below(place)))


def _agrees(drawn: str, side: str) -> bool:
    return not drawn or side not in ("left", "right") or drawn == side


def body_svg(
    view: View,
    *,
    place: str = "",
    side: str = "",
    closer: str = "",
    address: Callable[[str, str], str] | None = None,
    title: str = "",
) -> str:
    """The drawing, with what is chosen marked. With ``address`` (place, side → URL) each cell is a link named after it."""
    window = CLOSER[closer][1].get(view, (0, 0, WIDTH, HEIGHT)) if closer else (0, 0, WIDTH, HEIGHT)
    name = f"body-{view}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="body-map" viewBox="{" ".join(map(str, window))}" '
        + (
            f'role="group" aria-label="{escape(title)}">'
            if address
            else f'role="img" aria-label="{escape(title)}">'
        ),
        *_clips(view, name),
        *(
            f'<path class="skin" d="{_smooth(line)}"/>'
            for part, line in outlines(view).items()
            if part == "body"
        ),
        *_scaffold(view, name),
        *(
            f'<path class="skin" d="{_smooth(line)}"/>'
            for part, line in outlines(view).items()
            if part != "body"
        ),
        *_cells(view, name, place, side, address),
        *_marker(view, place, side),
        "</svg>",
    ]
    return "".join(parts)


def _clips(view: View, name: str) -> Iterator[str]:
    yield "<defs>"
    for part, line in outlines(view).items():
        yield f'<clipPath id="{name}-{part.replace(" ", "-")}"><path d="{_smooth(line)}"/></clipPath>'
    yield "</defs>"


def _cells(
    view: View, name: str, place: str, side: str, address: Callable[[str, str], str] | None
) -> Iterator[str]:
    facts, chosen = packaged_facts(), _family(place) if place else frozenset()
    for (key, drawn), polygons in cells(view).items():
        is_chosen = key in chosen and _agrees(drawn, side)
        shapes = "".join(
            f'<g clip-path="url(#{name}-{part.replace(" ", "-")})"><polygon class="{"chosen" if is_chosen else "cell"}" '
            f'points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in corners)}"/></g>'
            for part, corners in polygons
        )
        if address is None:
            yield shapes if is_chosen else ""
            continue
        said = escape(named(facts.places[key].name, drawn))
        here = ' aria-current="true"' if key == place and _agrees(drawn, side) else ""
        middle = next(one for one in spots(view) if one.place == key and one.side == drawn)
        yield (
            f'<a class="spot" href="{escape(address(key, drawn))}" aria-label="{said}"{here} data-x="{middle.x:g}" '
            f'data-y="{middle.y:g}"><title>{said}</title>{shapes}<circle class="dot" cx="{middle.x:g}" cy="{middle.y:g}" r="2.2"/></a>'
        )


def _scaffold(view: View, name: str) -> Iterator[str]:
    """Ribs, levels and quadrants: to find one's way by, nothing to choose."""
    yield f'<g class="scaffold" aria-hidden="true"><g clip-path="url(#{name}-body)">'
    for _, start, bend, end in rib_lines(view):
        yield f'<path class="bone" d="M{start[0]:.1f} {start[1]:.1f}Q{bend[0]:.1f} {bend[1]:.1f} {end[0]:.1f} {end[1]:.1f}"/>'
    if view == "back":
        for group, count in (("T", 12), ("L", 5)):
            for number in range(1, count + 1):
                y = vertebra_y(f"{group}{number}")
                yield f'<path class="bone" d="M{MIDLINE - 6} {y:.1f}H{MIDLINE + 6}"/>'
    if view == "front":
        yield f'<path class="bone" d="M{MIDLINE - 9} 202V298L{MIDLINE} 312L{MIDLINE + 9} 298V202Z"/>'
        y = vertebra_y("L3") + 4
        yield f'<path class="quadrant" d="M{MIDLINE} 318V470M{MIDLINE - 78} {y:g}H{MIDLINE + 78}"/>'
    yield "</g>"
    edge = 62 if view in ("front", "back") else (330 if view == "left" else 70)
    anchor = "end" if edge < MIDLINE else "start"
    away = -1 if edge < MIDLINE else 1
    for level in _LEVELS["side" if view in ("left", "right") else view]:
        y = vertebra_y(level)
        beside = edge + away * (26 if view in ("front", "back") else 0)
        yield f'<text class="label" x="{beside}" y="{y + 4:.1f}" text-anchor="{anchor}">{level}</text>'
    if view in ("front", "back"):
        seen = ("right", "left") if view == "front" else ("left", "right")
        yield f'<text class="label side-label" x="8" y="150">{seen[0]}</text>'
        yield f'<text class="label side-label" x="392" y="150" text-anchor="end">{seen[1]}</text>'
    for rib, _, _, end in rib_lines(view):
        if rib in _RIBS_NAMED and view == "back" and end[0] > MIDLINE:
            yield f'<text class="label rib-label" x="{end[0] + 4:.1f}" y="{end[1] + 3:.1f}">{rib}</text>'
    yield "</g>"


def _marker(view: View, place: str, side: str) -> Iterator[str]:
    """A ring and a dot on the first spot of the place on each side that is meant."""
    if not place:
        return
    family, done = _family(place), set()
    own = [one for one in spots(view) if one.place == place] or [
        one for one in spots(view) if one.place in family
    ]
    for one in own:
        if not _agrees(one.side, side) or one.side in done:
            continue
        done.add(one.side)
        yield f'<g class="mark" aria-hidden="true"><circle class="marker" cx="{one.x:g}" cy="{one.y:g}" r="14"/>'
        yield f'<circle class="marker-dot" cx="{one.x:g}" cy="{one.y:g}" r="4"/></g>'


def _smooth(corners: Sequence[Point]) -> str:
    """A closed curve through all corners (Catmull–Rom, written as cubic Béziers)."""
    count = len(corners)
    found = [f"M{corners[0][0]:g} {corners[0][1]:g}"]
    for place in range(count):
        a, b, c, d = (corners[(place + step) % count] for step in (-1, 0, 1, 2))
        first = (b[0] + (c[0] - a[0]) / 6, b[1] + (c[1] - a[1]) / 6)
        second = (c[0] - (d[0] - b[0]) / 6, c[1] - (d[1] - b[1]) / 6)
        found.append("C" + " ".join(f"{x:.1f} {y:.1f}" for x, y in (first, second, c)))
    return "".join(found) + "Z"
