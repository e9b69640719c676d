"""The body that the contact map is drawn on: outlines, ribs, levels and where each place of the engine lies on them.

Own drawing from proportions: the head is an eighth of the height (a rule of figure drawing, common practice, no source).
Units are those of the drawing, 400 wide and 1000 high. From the front and behind, x of ``spots.csv`` counts from the
midline; from the side the left side is given, which looks to the viewer's left, and the right side is its mirror image.
Left and right are always the body's own. No Django here.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

from anatomy.contact.loading import packaged_facts

__all__ = [
    "HEIGHT",
    "MIDLINE",
    "VIEWS",
    "WIDTH",
    "Point",
    "Spot",
    "View",
    "outlines",
    "rib_lines",
    "spots",
    "vertebra_y",
]

View = Literal["front", "back", "left", "right"]
VIEWS: tuple[View, ...] = ("front", "back", "left", "right")
WIDTH, HEIGHT, MIDLINE = 400, 1000, 200
Point = tuple[float, float]

# The viewer's right half, from the crown down to the crotch.
_HALF: tuple[Point, ...] = (
    (0, 20), (26, 23), (42, 42), (48, 72), (46, 98), (39, 120), (27, 137), (22, 146), (23, 164), (38, 175), (64, 184),
    (88, 195), (100, 215), (94, 255), (90, 300), (83, 340), (77, 372), (79, 400), (90, 440), (97, 480), (98, 530), (91, 600),
    (80, 655), (72, 695), (74, 735), (73, 780), (60, 850), (50, 897), (54, 928), (68, 956), (60, 973), (34, 973), (27, 950),
    (30, 915), (32, 892), (30, 850), (20, 780), (24, 735), (26, 695), (18, 650), (9, 570), (4, 512), (0, 510),
)  # fmt: skip
_ARM: tuple[Point, ...] = (
    (80, 196), (100, 202), (113, 222), (119, 270), (128, 325), (140, 368), (153, 415), (162, 465), (164, 490), (178, 507),
    (191, 528), (188, 541), (178, 534), (177, 562), (171, 590), (161, 597), (150, 588), (143, 555), (138, 520), (141, 490),
    (131, 445), (120, 395), (111, 350), (99, 300), (92, 258), (84, 225),
)  # fmt: skip
_PROFILE: tuple[Point, ...] = (
    (240, 20), (208, 26), (188, 50), (183, 72), (182, 84), (168, 101), (180, 108), (177, 116), (180, 124), (180, 139),
    (196, 145), (208, 150), (211, 168), (200, 190), (182, 220), (171, 258), (174, 300), (182, 340), (180, 380), (178, 420),
    (184, 460), (190, 492), (184, 525), (188, 600), (196, 660), (197, 690), (202, 716), (206, 760), (212, 830), (216, 895),
    (198, 925), (158, 948), (150, 962), (166, 972), (262, 972), (274, 950), (264, 912), (258, 880), (266, 825), (279, 765),
    (270, 716), (262, 692), (268, 650), (285, 585), (292, 530), (304, 488), (300, 445), (283, 410), (274, 375), (279, 330),
    (295, 270), (294, 220), (280, 188), (266, 168), (264, 146), (284, 122), (296, 86), (288, 46), (268, 26),
)  # fmt: skip
_SIDE_ARM: tuple[Point, ...] = (
    (232, 196), (258, 198), (272, 218), (268, 245), (246, 268), (200, 294), (150, 314), (122, 314), (107, 292), (92, 255),
    (70, 218), (56, 194), (42, 172), (34, 150), (42, 142), (52, 152), (50, 118), (58, 104), (70, 106), (78, 136), (82, 165),
    (88, 192), (108, 224), (132, 262), (146, 266), (190, 240), (222, 212),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Spot:
    """A point of one view that stands for a place. ``side``: left, right, or "" on the midline; ``part``: what it lies on."""

    place: str
    side: str
    view: View
    part: str
    x: float
    y: float


def vertebra_y(level: str) -> float:
    """How far down a vertebra ("C7", "T10", "L4", "S2") lies in every view, by equal steps within each group."""
    group, number = level[:1], int(level.lstrip("CTLSo"))
    first, step = {"C": (132.0, 7.0), "T": (184.0, 14.2), "L": (357.0, 14.0), "S": (427.0, 7.0)}[group]
    return first + (number - 1) * step


def outlines(view: View) -> dict[str, tuple[Point, ...]]:
    """The closed outlines of a view by part, corners to be rounded off: body, and the arms (from the side one)."""
    if view in ("left", "right"):
        found = {"body": _PROFILE, f"{view} arm": _SIDE_ARM}
        return found if view == "left" else {name: _mirrored(line) for name, line in found.items()}
    right_hand = tuple((MIDLINE + x, y) for x, y in _ARM)
    half = tuple((MIDLINE + x, y) for x, y in _HALF)
    seen_left = "left" if view == "front" else "right"
    other = "right" if seen_left == "left" else "left"
    body = half + tuple(reversed(_mirrored(half)[1:-1]))
    return {"body": body, f"{seen_left} arm": right_hand, f"{other} arm": _mirrored(right_hand)}


def _mirrored(line: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple((WIDTH - x, y) for x, y in line)


@cache
def spots(view: View) -> tuple[Spot, ...]:
    """Every spot of a view with its side, in the order of the table. A place may have several."""
    return tuple(spot for row in _rows() for spot in _placed(row, view))


@cache
def _rows() -> tuple[dict[str, str], ...]:
    text = files("breakdowns.contacts").joinpath("data", "spots.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines(), strict=True))


def _placed(row: dict[str, str], view: View) -> list[Spot]:
    if row["view"] != ("side" if view in ("left", "right") else view):
        return []
    x, y, place = float(row["x"]), float(row["y"]), row["place"]
    parity = packaged_facts().places[place].parity
    if view in ("left", "right"):
        part = "body" if row["part"] == "body" else f"{view} arm"
        sided: str = view if parity in ("paired", "left") else ""
        return [Spot(place, sided, view, part, x if view == "left" else WIDTH - x, y)]
    found: list[Spot] = []
    for sign in (1, -1) if x else (1,):
        side = "left" if (sign > 0) == (view == "front") else "right"
        if parity == "left" and side != "left":
            continue
        part = "body" if row["part"] == "body" else f"{side} arm"
        named = side if parity in ("paired", "left") else ""
        found.append(Spot(place, named, view, part, MIDLINE + sign * x, y))
    return found


def rib_lines(view: View) -> tuple[tuple[int, Point, Point, Point], ...]:
    """(rib, start, bend, end) of each rib that a view shows, as quadratic curves."""
    found: list[tuple[int, Point, Point, Point]] = []
    for rib in range(1, 13):
        back = vertebra_y(f"T{rib}")
        if view == "front" and rib <= 10:
            end = (12.0, 200 + 13.5 * rib) if rib <= 7 else (12.0 + 11 * (rib - 7), 296 + 12.0 * (rib - 7))
            lines = ((86.0, 190 + 14.0 * rib), (52.0, 214 + 14.0 * rib), end)
            found += [_across(rib, lines, sign) for sign in (1, -1)]
        elif view == "back":
            reach = {11: 58.0, 12: 42.0}.get(rib, 92.0)
            lines = ((7.0, back), (reach * 0.55, back - 3), (reach, back + reach * 0.26))
            found += [_across(rib, lines, sign) for sign in (1, -1)]
        elif view in ("left", "right"):
            reach = {11: 226.0, 12: 252.0}.get(rib, 178.0)
            fall = 0.5 * (286 - reach)
            line = ((286.0, back), (250.0, back + 4), (reach, back + fall))
            ends = line if view == "left" else _mirrored(line)
            found.append((rib, ends[0], ends[1], ends[2]))
    return tuple(found)


def _across(rib: int, line: tuple[Point, Point, Point], sign: int) -> tuple[int, Point, Point, Point]:
    start, bend, end = ((MIDLINE + sign * x, y) for x, y in line)
    return rib, start, bend, end
