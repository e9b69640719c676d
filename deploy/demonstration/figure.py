"""A jointed figure: lengths from stature, and where every joint and segment is at each moment.

Lengths are fractions of stature from ``data/proportions.csv`` (source beside each). Segments and joints
are named for what they are; sides are ``l`` and ``r``. Distances in metres, angles in degrees.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np

from .axes import Floats, along, cross, direction, dot, frame_from, turned_segment, unit
from .footfalls import FootPath, SoleShape, foot_path, footfalls_of
from .motion import Tracks, data_rows, load_tracks, smooth_rise

__all__ = ["SIDES", "Build", "Skeleton", "bend_limb", "pose_defaults", "posed"]

SIDES = ("r", "l")
_SIGN = {"r": 1.0, "l": -1.0}


@cache
def _fractions() -> dict[str, float]:
    return {row["name"]: float(row["fraction"]) for row in data_rows("proportions.csv")}


@dataclass(frozen=True, slots=True)
class Build:
    """A body of ``stature`` metres; ``length(name)`` is one of its measures in metres."""

    stature: float

    def length(self, name: str) -> float:
        return _fractions()[name] * self.stature

    @property
    def sole(self) -> SoleShape:
        heel = self.length("heel_behind_ankle")
        toe = self.length("foot") - heel
        return SoleShape(self.length("ankle_height"), heel, self.length("ball_ahead_of_ankle"), toe)


@dataclass
class Skeleton:
    """Joint positions ``joints[name]`` (T, 3) and segment axes ``frames[name]`` (T, 3, 3) over time."""

    build: Build
    times: Floats
    joints: dict[str, Floats] = field(default_factory=dict)
    frames: dict[str, Floats] = field(default_factory=dict)
    planted: dict[str, np.ndarray] = field(default_factory=dict)


def pose_defaults() -> dict[str, float]:
    """Every track a figure may have, with its value where none is given (standing at ease)."""
    middle = ["root_x", "root_y", "pelvis_heading", "pelvis_tilt", "pelvis_lean", "trunk_heading"]
    middle += ["trunk_tilt", "trunk_lean", "head_heading", "head_tilt", "head_lean"]
    values = dict.fromkeys(middle, 0.0) | {"root_z": 0.98}
    for side in SIDES:
        arm = {"forward": 0.10, "up": -0.52, "out": 0.10, "swivel": 25.0, "free": 0.0, "upper_az": 0.0}
        arm |= {"upper_el": -80.0, "fore_az": 0.0, "fore_el": -80.0, "wrist": 0.0, "protraction": 0.0}
        arm |= {"palm": 0.0, "reach": 0.0}
        leg = {
            "free": 0.0,
            "flexion": 0.0,
            "abduction": 0.0,
            "knee": 0.0,
            "ankle": 0.0,
            "out": 8.0,
            "heel": 0.0,
        }
        values |= {f"arm_{side}_{name}": value for name, value in arm.items()}
        values |= {f"leg_{side}_{name}": value for name, value in leg.items()}
    return values


def bend_limb(
    root: Floats, target: Floats, first: float, second: float, pole: Floats
) -> tuple[Floats, Floats]:
    """Middle and end (T, 3) of a two-segment limb from ``root`` towards ``target``, bent towards ``pole``.

    A target out of reach is approached along the straight limb. Law of cosines.
    """
    gap = target - root
    reach = np.linalg.norm(gap, axis=-1, keepdims=True)
    span = np.clip(reach, abs(first - second) * 1.02, (first + second) * 0.9995)
    ahead = gap / np.maximum(reach, 1e-9)
    side = unit(pole - dot(pole, ahead) * ahead)
    share = (first**2 + span**2 - second**2) / (2 * span)
    middle = root + ahead * share + side * np.sqrt(np.maximum(first**2 - share**2, 0.0))
    return middle, root + ahead * span


def _mixed(one: Floats, two: Floats, weight: Floats) -> Floats:
    return one + (two - one) * weight[..., None]


def _spine(skeleton: Skeleton, track) -> None:
    """Pelvis, lumbar segment, thorax, neck and head."""
    build, joints, frames = skeleton.build, skeleton.joints, skeleton.frames
    root = np.stack([track("root_x"), track("root_y"), track("root_z")], -1)
    frames["pelvis"] = turned_segment(track("pelvis_heading"), track("pelvis_tilt"), track("pelvis_lean"))
    frames["thorax"] = turned_segment(track("trunk_heading"), track("trunk_tilt"), track("trunk_lean"))
    half_way = [(track(f"pelvis_{a}") + track(f"trunk_{a}")) / 2 for a in ("heading", "tilt", "lean")]
    frames["lumbar"] = turned_segment(*half_way)
    frames["head"] = turned_segment(track("head_heading"), track("head_tilt"), track("head_lean"))
    neck = [0.5 * (track(f"trunk_{a}") + track(f"head_{a}")) for a in ("heading", "tilt", "lean")]
    frames["neck"] = turned_segment(*neck)
    low, high, trunk = (build.length(n) for n in ("lumbar_height", "thorax_height", "trunk"))
    joints["root"] = root
    joints["lumbar"] = root + along(frames["pelvis"], 0.0, low, 0.0)
    joints["thorax"] = joints["lumbar"] + along(frames["lumbar"], 0.0, high - low, 0.0)
    joints["mid_shoulder"] = joints["thorax"] + along(frames["thorax"], 0.0, trunk - high, 0.0)
    joints["neck"] = joints["mid_shoulder"]
    joints["head"] = joints["neck"] + along(frames["neck"], 0.012 * build.stature, build.length("neck"), 0.0)


def _shoulder(skeleton: Skeleton, side: str, track, raised: Floats) -> None:
    """Clavicle and shoulder joint: it rises with the arm and slides forward with protraction.

    The girdle takes part in raising the arm; here up to 20 degrees of clavicle elevation (own choice).
    """
    sign, thorax = _SIGN[side], skeleton.frames["thorax"]
    inner = skeleton.joints["mid_shoulder"] + along(thorax, 0.0, -0.015 * skeleton.build.stature, 0.0)
    length = skeleton.build.length("half_shoulders")
    lift, slide = (
        np.radians(20 * smooth_rise((raised + 60) / 140)),
        np.radians(track(f"arm_{side}_protraction")),
    )
    out = np.cos(lift) * np.cos(slide)
    skeleton.joints[f"shoulder_{side}"] = inner + length * along(
        thorax, np.cos(lift) * np.sin(slide), np.sin(lift), sign * out
    )
    y = (
        along(thorax, 0.0, 1.0, 0.0) * np.cos(lift)[:, None]
        - sign * along(thorax, 0.0, 0.0, 1.0) * np.sin(lift)[:, None]
    )
    skeleton.frames[f"clavicle_{side}"] = frame_from(y, along(thorax, 1.0, 0.0, 0.0))


def _arm(skeleton: Skeleton, side: str, track, aim: Floats | None) -> None:
    """Elbow, wrist and hand: by the hand's place in thorax axes, by free directions, or by an aimed elbow."""
    build, sign, thorax = skeleton.build, _SIGN[side], skeleton.frames["thorax"]
    upper, fore = build.length("upper_arm"), build.length("forearm")
    get = lambda name: track(f"arm_{side}_{name}")  # noqa: E731
    rest = skeleton.joints["mid_shoulder"] + along(thorax, 0.0, 0.0, sign * build.length("half_shoulders"))
    target = skeleton.joints["mid_shoulder"] + along(thorax, get("forward"), get("up"), sign * get("out"))
    free = get("free")
    by_hand = np.degrees(np.arcsin(np.clip(unit(target - rest)[:, 2], -1, 1)))
    _shoulder(skeleton, side, track, by_hand * (1 - free) + get("upper_el") * free)
    shoulder = skeleton.joints[f"shoulder_{side}"]
    swivel = np.radians(get("swivel"))
    pole = along(thorax, -0.35, -np.cos(swivel), sign * np.sin(swivel))
    elbow, wrist = bend_limb(shoulder, target, upper, fore, pole)
    upper_way, fore_way = unit(elbow - shoulder), unit(wrist - elbow)
    upper_way = unit(_mixed(upper_way, direction(get("upper_az"), get("upper_el")), free))
    fore_way = unit(_mixed(fore_way, direction(get("fore_az"), get("fore_el")), free))
    if aim is not None:
        upper_way = unit(_mixed(upper_way, unit(aim - shoulder), get("reach")))
    elbow = shoulder + upper * upper_way
    skeleton.joints[f"elbow_{side}"], skeleton.joints[f"wrist_{side}"] = elbow, elbow + fore * fore_way
    _arm_frames(skeleton, side, upper_way, fore_way, get)


def _arm_frames(skeleton: Skeleton, side: str, upper_way: Floats, fore_way: Floats, get) -> None:
    sign, thorax = _SIGN[side], skeleton.frames["thorax"]
    bend = unit(fore_way - dot(fore_way, upper_way) * upper_way + 1e-4 * along(thorax, 1.0, 0.0, 0.0))
    skeleton.frames[f"upper_arm_{side}"] = frame_from(-upper_way, bend)
    skeleton.frames[f"forearm_{side}"] = frame_from(-fore_way, unit(bend - dot(bend, fore_way) * fore_way))
    inward = along(thorax, 0.0, 0.0, -sign)
    swing = direction(get("fore_az") + 90)
    palm = _mixed(inward, swing * sign, get("free"))
    palm = unit(palm - dot(palm, fore_way) * fore_way)
    turn = np.radians(get("palm"))[:, None]
    palm = palm * np.cos(turn) + sign * cross(fore_way, palm) * np.sin(turn)
    bent = np.radians(get("wrist"))[:, None]
    hand_way = fore_way * np.cos(bent) + palm * np.sin(bent)
    skeleton.frames[f"hand_{side}"] = frame_from(-hand_way, palm)
    wrist = skeleton.joints[f"wrist_{side}"]
    skeleton.joints[f"hand_{side}"] = wrist + 0.5 * skeleton.build.length("hand") * hand_way


def _leg(skeleton: Skeleton, side: str, track, path: FootPath) -> None:
    """Hip, knee, ankle and foot: planted or swung by its path, free in the air by joint angles."""
    build, sign, pelvis = skeleton.build, _SIGN[side], skeleton.frames["pelvis"]
    thigh, shank = build.length("thigh"), build.length("shank")
    get = lambda name: track(f"leg_{side}_{name}")  # noqa: E731
    hip = skeleton.joints["root"] + along(pelvis, 0.0, 0.0, sign * build.length("half_hips"))
    f, a, k, free = (np.radians(get(n)) for n in ("flexion", "abduction", "knee", "ankle"))
    weight = get("free")
    thigh_way = along(pelvis, np.sin(f) * np.cos(a), -np.cos(f) * np.cos(a), sign * np.sin(a))
    ahead = unit(along(pelvis, np.cos(f), np.sin(f), 0.0))
    shank_way = thigh_way * np.cos(k)[:, None] - ahead * np.sin(k)[:, None]
    toes_way = ahead * np.cos(k)[:, None] + thigh_way * np.sin(k)[:, None]
    foot_free = toes_way * np.cos(free)[:, None] + shank_way * np.sin(free)[:, None]
    ankle_free = hip + thigh * thigh_way + shank * shank_way
    out = np.radians(get("out"))
    ground_pole = unit(_mixed(path.forward, along(pelvis, 1.0, 0.0, 0.0), np.full(out.shape, 0.4)))
    ground_pole = (
        ground_pole * np.cos(out)[:, None] + sign * along(pelvis, 0.0, 0.0, 1.0) * np.sin(out)[:, None]
    )
    pole = _mixed(ground_pole, ahead, weight)
    target = _mixed(path.ankle, ankle_free, weight)
    forward = unit(_mixed(path.forward, foot_free, weight))
    for _ in range(3):
        knee, ankle = bend_limb(hip, target, thigh, shank, pole)
        _leg_frames(skeleton, side, (hip, knee, ankle), pole)
        lowest = _foot(skeleton, side, path, forward, weight)
        # A foot swung through the air by joint angles is lifted where it would pass below the floor.
        target = target + np.array([0.0, 0.0, 1.0]) * (np.maximum(0.002 - lowest, 0) * (weight > 0))[:, None]


def _leg_frames(skeleton: Skeleton, side: str, chain: tuple[Floats, Floats, Floats], pole: Floats) -> None:
    hip, knee, ankle = chain
    for name, point in zip(("hip", "knee", "ankle"), chain, strict=True):
        skeleton.joints[f"{name}_{side}"] = point
    line = unit(ankle - hip)
    front = unit(pole - dot(pole, line) * line)
    skeleton.frames[f"thigh_{side}"] = frame_from(hip - knee, front)
    skeleton.frames[f"shank_{side}"] = frame_from(knee - ankle, front)


def _foot(skeleton: Skeleton, side: str, path: FootPath, forward: Floats, weight: Floats) -> Floats:
    """Foot and toes; answers the height (T,) of the lowest point of the sole."""
    sole, ankle = skeleton.build.sole, skeleton.joints[f"ankle_{side}"]
    shank_up = along(skeleton.frames[f"shank_{side}"], 0.0, 1.0, 0.0)
    up = unit(_mixed(path.up, shank_up, weight))
    z = unit(cross(forward, up))
    up = cross(z, forward)
    toes = unit(_mixed(path.toes, forward, weight))
    base = ankle - up * sole.ankle
    ball = base + forward * sole.ball
    skeleton.frames[f"foot_{side}"] = np.stack([forward, up, z], -1)
    toes_right = unit(cross(toes, up))
    skeleton.frames[f"toes_{side}"] = np.stack([toes, cross(toes_right, toes), toes_right], -1)
    skeleton.joints[f"heel_{side}"] = base - forward * sole.heel
    skeleton.joints[f"ball_{side}"] = ball
    skeleton.joints[f"toe_{side}"] = ball + toes * (sole.toe - sole.ball)
    skeleton.planted[side] = path.planted & (weight < 1e-9)
    return np.min([skeleton.joints[f"{point}_{side}"][:, 2] for point in ("heel", "ball", "toe")], axis=0)


def posed(figure: str, stature: float, times: Floats, aims: dict[str, Floats] | None = None) -> Skeleton:
    """The figure of that name over ``times`` (T,) in seconds, from its data files.

    ``aims`` gives points (T, 3) for an elbow to reach towards, by side, as far as ``arm_SIDE_reach`` says.
    """
    times = np.asarray(times, float)
    tracks: Tracks = load_tracks(figure, pose_defaults())
    skeleton = Skeleton(Build(stature), times)

    def track(name: str) -> Floats:
        return tracks.at(name, times)

    _spine(skeleton, track)
    for side in SIDES:
        _arm(skeleton, side, track, (aims or {}).get(side))
        path = foot_path(footfalls_of(figure, side), skeleton.build.sole, times, track(f"leg_{side}_heel"))
        _leg(skeleton, side, track, path)
    return skeleton
