"""The drawn body: a surface of small four-sided faces that follows the skeleton.

Rings round each segment (``data/body.csv``) are drawn out to a fine surface in an upright rest pose; each
point then follows one or more segments by weight (linear blend skinning; Magnenat-Thalmann et al., Graphics
Interface 1988). In the rest pose all segment axes are parallel, so a point is (forward, up, right) in metres.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from .axes import Floats
from .digits import digit_cells
from .figure import SIDES, Build, Skeleton
from .motion import data_rows, smooth_rise

__all__ = ["Surface", "body_surface", "sphere_surface"]

_FINE = 0.030  # at detail 1 a ring every 30 mm or so
_ORIGIN = {
    "pelvis": "root", "lumbar": "lumbar", "thorax": "thorax", "neck": "neck", "head": "head",
    "clavicle": "mid_shoulder", "upper_arm": "shoulder", "forearm": "elbow", "hand": "wrist",
    "thigh": "hip", "shank": "knee", "foot": "ankle", "toes": "ball",
}  # fmt: skip
_END = {"upper_arm": "elbow", "forearm": "wrist", "thigh": "knee", "shank": "ankle"}


def _bones() -> list[str]:
    middle = ["pelvis", "lumbar", "thorax", "neck", "head"]
    paired = ["clavicle", "upper_arm", "forearm", "hand", "thigh", "shank", "foot", "toes"]
    return middle + [f"{bone}_{side}" for bone in paired for side in SIDES]


def _origin(bone: str) -> str:
    name, _, side = bone.rpartition("_")
    if side not in SIDES or not name:
        return _ORIGIN[bone]
    joint = _ORIGIN[name]
    return joint if joint == "mid_shoulder" else f"{joint}_{side}"


@dataclass
class Surface:
    """Faces of one body: rest points (V, 3), the segments they follow, faces (F, 4), colours (F, 3) 0-1, bias (F,) m.

    ``follows`` (K, V) are places in ``bones``, ``shares`` (K, V) their weights, which add up to 1.

    ``bias`` brings a face nearer to the camera when faces are put in order (shirt numbers).
    """

    bones: list[str]
    points: Floats
    follows: np.ndarray
    shares: Floats
    faces: np.ndarray
    colours: Floats
    bias: Floats
    origins: Floats

    def placed(self, skeleton: Skeleton, frame: int) -> Floats:
        """Points (V, 3) on the court, metres, at one moment of the skeleton."""
        turn = np.stack([skeleton.frames[b][frame] for b in self.bones])
        move = np.stack([skeleton.joints[_origin(b)][frame] for b in self.bones])
        shift = move - np.einsum("bij,bj->bi", turn, self.origins)
        every = np.concatenate([turn.reshape(-1, 9), shift], axis=1)
        mixed = self.shares[0][:, None] * every[self.follows[0]]
        for place, share in zip(self.follows[1:], self.shares[1:], strict=True):
            some = np.flatnonzero(share)
            mixed[some] += share[some, None] * every[place[some]]
        x, y, z = self.points.T[:, :, None]
        return mixed[:, 0:9:3] * x + mixed[:, 1:9:3] * y + mixed[:, 2:9:3] * z + mixed[:, 9:]


def _rest_joints(build: Build) -> dict[str, Floats]:
    """Joints (forward, up, right) of the rest pose: upright, arms hanging, feet flat."""
    s, n = build.stature, build.length
    hip_up = n("ankle_height") + n("shank") + n("thigh")
    shoulder_up = hip_up + n("trunk")
    at: dict[str, tuple[float, float, float]] = {
        "root": (0, hip_up, 0),
        "lumbar": (0, hip_up + n("lumbar_height"), 0),
        "thorax": (0, hip_up + n("thorax_height"), 0),
        "mid_shoulder": (0, shoulder_up, 0),
        "neck": (0, shoulder_up, 0),
        "head": (0.012 * s, shoulder_up + n("neck"), 0),
    }
    for side, sign in zip(SIDES, (1, -1), strict=True):
        right, drop = sign * n("half_shoulders"), shoulder_up - 0.015 * s
        at[f"shoulder_{side}"] = (0, drop, right)
        at[f"elbow_{side}"] = (0, drop - n("upper_arm"), right)
        at[f"wrist_{side}"] = (0, drop - n("upper_arm") - n("forearm"), right)
        hip = sign * n("half_hips")
        at[f"hip_{side}"] = (0, hip_up, hip)
        at[f"knee_{side}"] = (0, hip_up - n("thigh"), hip)
        at[f"ankle_{side}"] = (0, n("ankle_height"), hip)
        at[f"ball_{side}"] = (build.sole.ball, 0, hip)
    return {name: np.array(place, float) for name, place in at.items()}


def _ring_centre(row: dict[str, str], bone: str, joints: dict[str, Floats], build: Build) -> Floats:
    name, _, side = bone.rpartition("_")
    along, origin = float(row["along"]), joints[_origin(bone)]
    if name in _END:
        return origin + along * (joints[f"{_END[name]}_{side}"] - origin)
    if name == "hand":
        return origin - np.array([0, along * build.length("hand"), 0])
    if name == "foot":
        return origin + np.array([along * build.stature, 0, 0])
    return origin + np.array([0, along * build.stature, 0])


def _weights_of(row: dict[str, str], side: str, bones: list[str]) -> Floats:
    weight = np.zeros(len(bones))
    share = float(row["share"] or 0)
    weight[bones.index(row["bone"].replace("_S", f"_{side}"))] += 1 - share
    if row["other"]:
        weight[bones.index(row["other"].replace("_S", f"_{side}"))] += share
    return weight


def _drawn_out(rings: Floats, materials: list[str], fine: float) -> tuple[Floats, list[str]]:
    """More rings between the given ones (n, k), by Catmull-Rom over the columns; materials kept by strip."""
    padded = np.concatenate([rings[:1], rings, rings[-1:]])
    rows, names = [], []
    for i in range(len(rings) - 1):
        before, one, two, after = padded[i : i + 4]
        count = max(1, round(float(np.linalg.norm(two[:3] - one[:3])) / fine))
        for step in range(count):
            s = step / count
            bend = (2 * before - 5 * one + 4 * two - after) * s**2 + (
                3 * one - before - 3 * two + after
            ) * s**3
            rows.append(one + 0.5 * ((two - before) * s + bend))
            names.append(materials[i])
    return np.array([*rows, rings[-1]]), names


def _oval(count: int, width: Floats, depth: Floats, square: Floats) -> tuple[Floats, Floats]:
    """(R, count) forward and right of superellipse rings; the first point is in front."""
    angle = 2 * np.pi * np.arange(count) / count
    power = 2 / square[:, None]
    bend = lambda wave: np.sign(wave) * np.abs(wave) ** power  # noqa: E731
    return depth[:, None] * bend(np.cos(angle)), width[:, None] * bend(np.sin(angle))


def _volume(points: Floats, faces: np.ndarray) -> float:
    """Six times the signed volume inside the faces: positive when they are counter-clockwise from outside."""
    a, b, c, d = (points[faces[:, k]] - points.mean(axis=0) for k in range(4))
    return float(np.sum(np.cross(a, b) * c) + np.sum(np.cross(a, c) * d))


@dataclass
class _Tube:
    """A grid of points (R, C, 3) with weights (R, C, B) and the material of each strip of rings."""

    name: str
    points: Floats
    weights: Floats
    materials: list[str]

    def faces(self) -> np.ndarray:
        rings, around = self.points.shape[:2]
        grid = np.arange(rings * around).reshape(rings, around)
        nxt = np.roll(grid, -1, axis=1)
        found = np.stack([grid[:-1], grid[1:], nxt[1:], nxt[:-1]], -1).reshape(-1, 4)
        return found if _volume(self.points.reshape(-1, 3), found) > 0 else found[:, ::-1]


def _tube(
    rows: list[dict[str, str]], side: str, joints: dict[str, Floats], build: Build, detail: float
) -> _Tube:
    bones = _bones()
    values = []
    for row in rows:
        bone = row["bone"].replace("_S", f"_{side}")
        centre = _ring_centre(row, bone, joints, build)
        shape = [float(row[k]) * build.stature for k in ("half_width", "half_depth", "forward")]
        values.append([*centre, *shape, float(row["square"]), *_weights_of(row, side, bones)])
    detail = detail * (1.8 if rows[0]["tube"] == "head" else 1.0)
    rings, materials = _drawn_out(np.array(values), [row["material"] for row in rows], _FINE / detail)
    around = round(int(rows[0]["around"]) * detail)
    first, second = _oval(around, np.abs(rings[:, 3]), np.abs(rings[:, 4]), rings[:, 6])
    points = np.repeat(rings[:, None, :3], around, axis=1)
    points[..., 2] += second
    if rows[0]["tube"].startswith("foot"):
        points[..., 1] += first + (np.abs(rings[:, 4]) - build.length("ankle_height"))[:, None]
    else:
        points[..., 0] += first + rings[:, 5, None]
    weights = np.clip(rings[:, 7:], 0, 1)
    weights = np.repeat((weights / weights.sum(1, keepdims=True))[:, None], around, axis=1)
    return _Tube(rows[0]["tube"].replace("_S", f"_{side}"), points, weights, materials)


def _tubes(build: Build, joints: dict[str, Floats], detail: float) -> Iterator[_Tube]:
    for name, group in groupby(data_rows("body.csv"), key=lambda row: row["tube"]):
        rows = list(group)
        for side in SIDES if name.endswith("_S") else SIDES[:1]:
            yield _tube(rows, side, joints, build, detail)


def _follow_clavicles(tube: _Tube, joints: dict[str, Floats], build: Build, bones: list[str]) -> None:
    """The shirt over the shoulders moves with the clavicles."""
    for side, sign in zip(SIDES, (1, -1), strict=True):
        out = smooth_rise((sign * tube.points[..., 2] / build.stature - 0.035) / 0.055)
        up = smooth_rise((tube.points[..., 1] - joints["thorax"][1]) / build.stature / 0.11 - 0.2)
        share = (0.85 * out * up)[..., None]
        target = np.zeros(len(bones))
        target[bones.index(f"clavicle_{side}")] = 1
        tube.weights = tube.weights * (1 - share) + target * share


def _hair(head: _Tube, joints: dict[str, Floats], build: Build) -> tuple[_Tube, Floats]:
    """A cap a little larger than the head, and how much each of its faces is hair (0 to 1, soft at its edge)."""
    centre = joints["head"] + np.array([0, 0.07 * build.stature, 0])
    cap = _Tube("hair", centre + (head.points - centre) * 1.06, head.weights, ["hair"] * len(head.materials))
    local = (cap.points.reshape(-1, 3) - joints["head"]) / build.stature
    middle = local[cap.faces()].mean(axis=1)
    behind = middle[:, 1] - (0.060 + 0.85 * middle[:, 0] + 0.25 * np.abs(middle[:, 2]))
    return cap, smooth_rise(behind / 0.008 + 0.5)


def _ball(centre: Floats, radii: tuple[float, float, float], around: int = 8, rings: int = 5) -> Floats:
    """(rings + 1, around, 3) points of an ellipsoid."""
    polar = np.pi * np.arange(rings + 1) / rings
    turn = 2 * np.pi * np.arange(around) / around
    x, z = np.sin(polar)[:, None] * np.cos(turn), np.sin(polar)[:, None] * np.sin(turn)
    y = np.repeat(-np.cos(polar)[:, None], around, axis=1)
    return centre + np.stack([x, y, z], -1) * np.array(radii)


def _features(build: Build, joints: dict[str, Floats], bones: list[str]) -> Iterator[_Tube]:
    """Nose, ears and thumbs: small ellipsoids."""
    s = build.stature
    small = [("head", (0.0475, 0.052, 0.0), (0.0085, 0.011, 0.0055), "skin")]
    for sign in (1, -1):
        small.append(("head", (-0.004, 0.056, 0.0365 * sign), (0.0085, 0.0135, 0.004), "skin"))
        small.append(("head", (0.0415, 0.067, 0.0150 * sign), (0.0045, 0.0028, 0.0060), "hair"))
    for side, sign in zip(SIDES, (1, -1), strict=True):
        small.append((f"hand_{side}", (0.014, -0.036, 0.019 * sign), (0.010, 0.022, 0.0085), "skin"))
    for bone, offset, radii, material in small:
        centre = joints[_origin(bone)] + np.array(offset) * s
        points = _ball(centre, (radii[0] * s, radii[1] * s, radii[2] * s))
        weights = np.zeros((*points.shape[:2], len(bones)))
        weights[..., bones.index(bone)] = 1
        yield _Tube("feature", points, weights, [material] * (len(points) - 1))


def _number(
    shirt: _Tube, number: str, build: Build, joints: dict[str, Floats], back: bool
) -> Iterator[tuple]:
    """The shirt number, digit by digit: points (P, 3), weights (P, B), faces (F, 4), ink (F,), on the surface."""
    rings, around = shirt.points.shape[:2]
    height, width = (0.115, 0.062) if back else (0.085, 0.046)
    top = joints["thorax"][1] + build.stature * (0.118 if back else 0.108)
    for place, digit in enumerate(number):
        cells = digit_cells(digit)
        rows, columns = cells.shape
        v = top - np.arange(rows + 1) / rows * height * build.stature
        centre = (place - (len(number) - 1) / 2) * width * 1.18
        u = (centre + (np.arange(columns + 1) / columns - 0.5) * width) / 0.0905
        ring = np.clip(np.interp(v, shirt.points[:, 0, 1], np.arange(rings)), 0, rings - 1.001)
        turn = np.arcsin(np.clip(u, -0.95, 0.95)) * 0.86
        points, weights = _on_grid(shirt, ring, ((np.pi - turn) if back else -turn) / (2 * np.pi) * around)
        outward = points[..., [0, 2]] * np.array([1.6, 1.0])
        points[..., [0, 2]] += 0.004 * outward / np.linalg.norm(outward, axis=-1, keepdims=True)
        grid = np.arange((rows + 1) * (columns + 1)).reshape(rows + 1, columns + 1)
        faces = np.stack([grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]], -1)
        inked = cells > 0.08
        yield points.reshape(-1, 3), weights.reshape(-1, weights.shape[-1]), faces[inked], cells[inked]


def _on_grid(tube: _Tube, ring: Floats, column: Floats) -> tuple[Floats, Floats]:
    """Points (N, M, 3) and weights (N, M, B) between the grid's points, bilinear."""
    rings, around = tube.points.shape[:2]
    i, j = np.floor(ring).astype(int), np.floor(column).astype(int)
    s, t = (ring - i)[:, None, None], (column - j)[None, :, None]
    i1, j0, j1 = np.minimum(i + 1, rings - 1), j % around, (j + 1) % around
    out = []
    for grid in (tube.points, tube.weights):
        low = grid[i][:, j0] * (1 - t) + grid[i][:, j1] * t
        high = grid[i1][:, j0] * (1 - t) + grid[i1][:, j1] * t
        out.append(low * (1 - s) + high * s)
    return out[0], out[1]


def _palette(figure: str) -> dict[str, Floats]:
    rows = [r for r in data_rows("palette.csv") if r["figure"] == figure]
    return {r["material"]: np.array([int(r["colour"][i : i + 2], 16) / 255 for i in (1, 3, 5)]) for r in rows}


class _Collected:
    """Points, weights, faces and colours gathered tube by tube."""

    def __init__(self) -> None:
        self.points: list[Floats] = []
        self.weights: list[Floats] = []
        self.faces: list[np.ndarray] = []
        self.colours: list[Floats] = []
        self.bias: list[Floats] = []
        self._count = 0

    def add(
        self, points: Floats, weights: Floats, faces: np.ndarray, colours: Floats, bias: float = 0.0
    ) -> None:
        self.faces.append(faces + self._count)
        self.points.append(points)
        self.weights.append(weights)
        self.colours.append(colours)
        self.bias.append(np.full(len(faces), bias))
        self._count += len(points)

    def surface(self, bones: list[str], origins: Floats) -> Surface:
        joined = [np.concatenate(p) for p in (self.points, self.weights, self.faces, self.colours, self.bias)]
        points, weights, faces, colours, bias = joined
        most = int((weights > 0).sum(axis=1).max())
        follows = np.argsort(-weights, axis=1, kind="stable")[:, :most]
        shares = np.take_along_axis(weights, follows, axis=1)
        return Surface(bones, points, follows.T.copy(), shares.T.copy(), faces, colours, bias, origins)


def _face_colours(tube: _Tube, palette: dict[str, Floats]) -> Floats:
    around = tube.points.shape[1]
    colours = np.repeat(np.array([palette[m] for m in tube.materials]), around, axis=0)
    if tube.name.startswith("foot"):
        faces = tube.points.reshape(-1, 3)[tube.faces()].mean(axis=1)
        colours[faces[:, 1] < 0.022] = palette["sole"]
    if tube.name == "shirt":
        side = np.abs(np.sin(2 * np.pi * (np.arange(around) + 0.5) / around)) > 0.985
        up = np.repeat(np.arange(len(tube.materials)), around) < len(tube.materials) * 0.62
        colours[np.tile(side, len(tube.materials)) & up] = palette["trim"]
    return colours


def body_surface(figure: str, number: str, stature: float, detail: float = 1.0) -> Surface:
    """The surface of one figure in its colours, with its number on chest and back; ``detail`` 2 is twice as fine."""
    build = Build(stature)
    bones, joints, palette = _bones(), _rest_joints(build), _palette(figure)
    made = _Collected()
    for tube in [*_tubes(build, joints, detail), *_features(build, joints, bones)]:
        if tube.name == "shirt":
            _follow_clavicles(tube, joints, build, bones)
            for back in (True, False):
                for points, weights, faces, ink in _number(tube, number, build, joints, back):
                    colours = palette["shirt"] + (palette["number"] - palette["shirt"]) * ink[:, None]
                    made.add(points, weights, faces, colours, bias=0.06)
        flat = tube.points.reshape(-1, 3), tube.weights.reshape(-1, len(bones))
        bias = 0.03 if tube.name == "shirt" else 0.0
        made.add(*flat, tube.faces(), _face_colours(tube, palette), bias)
        if tube.name == "head":
            cap, share = _hair(tube, joints, build)
            colours = palette["skin"] + (palette["hair"] - palette["skin"]) * share[:, None]
            shown = share > 0.15
            made.add(cap.points.reshape(-1, 3), flat[1], cap.faces()[shown], colours[shown])
    return made.surface(bones, np.stack([joints[_origin(b)] for b in bones]))


def sphere_surface(radius: float, first: Floats, second: Floats) -> tuple[Floats, np.ndarray, Floats]:
    """Points (V, 3), faces (F, 4) and colours (F, 3) of a two-coloured ball round the origin, metres."""
    points = _ball(np.zeros(3), (radius, radius, radius), around=20, rings=12)
    grid = _Tube("ball", points, np.zeros((*points.shape[:2], 1)), [""] * 12)
    faces = grid.faces()
    middle = points.reshape(-1, 3)[faces].mean(axis=1) / radius
    wave = np.abs(middle[:, 1] - 0.35 * np.sin(3 * np.arctan2(middle[:, 2], middle[:, 0])))
    share = smooth_rise((0.36 - wave) / 0.24)[:, None]
    return points.reshape(-1, 3), faces, first + (second - first) * share
