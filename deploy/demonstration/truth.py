"""What is true of the drawn footage: landmarks in pixels, joints in metres, angles, moments and peaks.

Landmark names are those of the project's measuring command. All points are the figure's own, whether or not
something stands before them in the picture.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from breakdowns.footage.timebase import decimal_text, exact_json, rational_text

from .axes import Floats, along
from .event import chain_peaks, key_moments
from .figure import SIDES, Skeleton
from .scene import PLAYERS, attacker_at
from .views import View, demonstration_views, view_offset

__all__ = [
    "INVENTED",
    "chain_truth",
    "lag_seconds",
    "landmark_points",
    "moments_in",
    "true_angles",
    "view_record",
]

INVENTED = (
    "Everything here is invented: the players, the match, the movement, the blow and every number. "
    "The footage is drawn by the project from a jointed figure; it shows no real person and no real event."
)
_SIDE_NAME = {"l": "left", "r": "right"}
_FROM_JOINTS = {
    "shoulder": "shoulder", "elbow": "elbow", "wrist": "wrist", "hip": "hip", "knee": "knee", "ankle": "ankle",
    "heel": "heel", "foot_index": "toe",
}  # fmt: skip
# Forward, up and right (right side) of the head's origin, as fractions of stature: own choice, as drawn.
_ON_HEAD = {"ear": (-0.004, 0.056, 0.0405), "eye": (0.0445, 0.067, 0.0150)}
_NOSE = (0.056, 0.052, 0.0)
# The line in the picture that stands for a segment, as in the measuring command.
_LINES = {
    "pelvis": ("left_hip", "right_hip"),
    "trunk": ("left_shoulder", "right_shoulder"),
    "upper_arm": ("right_shoulder", "right_elbow"),
    "forearm": ("right_elbow", "right_wrist"),
}


def landmark_points(skeleton: Skeleton) -> dict[str, Floats]:
    """Landmarks (T, 3) on the court, metres, by name."""
    s, head, origin = skeleton.build.stature, skeleton.frames["head"], skeleton.joints["head"]
    points = {"nose": origin + along(head, *(s * c for c in _NOSE))}
    for side, sign in zip(SIDES, (1, -1), strict=True):
        for name, joint in _FROM_JOINTS.items():
            points[f"{_SIDE_NAME[side]}_{name}"] = skeleton.joints[f"{joint}_{side}"]
        for name, (forward, up, right) in _ON_HEAD.items():
            points[f"{_SIDE_NAME[side]}_{name}"] = origin + along(head, s * forward, s * up, s * sign * right)
    return points


def _between(one: Floats, two: Floats) -> Floats:
    """Angle between directions (T, 3), degrees, 0 to 180."""
    crossed = np.linalg.norm(np.cross(one, two), axis=-1)
    return np.degrees(np.arctan2(crossed, np.sum(one * two, axis=-1)))


def _heading(line: Floats) -> Floats:
    """Direction (T,) of lines (T, 3) on the floor, degrees counter-clockwise from above, unwrapped."""
    return np.degrees(np.unwrap(np.arctan2(line[:, 1], line[:, 0])))


def true_angles(skeleton: Skeleton) -> dict[str, Floats]:
    """Angles (T,) in degrees by name, in space.

    ``*_line_heading``: the line from left to right, from above, 0 along +x. ``hip_shoulder_separation``: shoulder
    line less hip line, counter-clockwise positive. Flexions as in the measuring command, but in space.
    """
    j = skeleton.joints
    hips, shoulders = _heading(j["hip_r"] - j["hip_l"]), _heading(j["shoulder_r"] - j["shoulder_l"])
    angles = {"hip_line_heading": hips, "shoulder_line_heading": shoulders}
    angles["hip_shoulder_separation"] = (shoulders - hips + 180) % 360 - 180
    trunk = (j["shoulder_r"] + j["shoulder_l"] - j["hip_r"] - j["hip_l"]) / 2
    up = np.zeros_like(trunk)
    up[:, 2] = 1.0
    angles["trunk_inclination"] = _between(trunk, up)
    for side in SIDES:
        name = _SIDE_NAME[side]
        thigh, shank = j[f"knee_{side}"] - j[f"hip_{side}"], j[f"ankle_{side}"] - j[f"knee_{side}"]
        upper, fore = j[f"elbow_{side}"] - j[f"shoulder_{side}"], j[f"wrist_{side}"] - j[f"elbow_{side}"]
        angles[f"{name}_knee_flexion"] = _between(thigh, shank)
        angles[f"{name}_elbow_flexion"] = _between(upper, fore)
        angles[f"{name}_hip_flexion"] = _between(-trunk, thigh)
        angles[f"{name}_upper_arm_heading"] = _heading(upper)
        angles[f"{name}_forearm_heading"] = _heading(fore)
    return angles


def moments_in(view: View) -> dict[str, dict]:
    """Each key moment: exact event seconds, and the nearest frame of the view."""
    return {
        name: {"event_seconds": exact_json(seconds), "frame": view.frame_at(seconds).count}
        for name, seconds in key_moments().items()
    }


def chain_truth(view: View) -> list[dict]:
    """The ground-up chain in order of time: exact event time of each peak, its place in the view, its size.

    The peak is that of the segment's own turn about the vertical axis. A view from straight above also tells
    ``seen_event_seconds``: when the line between the segment's landmarks turns fastest in the picture (to 0.1 ms).
    It differs by a few milliseconds, for perspective and for the shoulder joints that move on the trunk.
    """
    found = []
    for segment, step in sorted(chain_peaks().items(), key=lambda item: item[1].peak_time):
        in_view = step.peak_time - view.start
        peak = {
            "segment": segment,
            "event_seconds": exact_json(step.peak_time),
            "view_seconds": exact_json(in_view),
            "view_frames": decimal_text(in_view * view.rate, 3),
            "peak_deg_per_s": round(step.peak_velocity, 3),
        }
        if view.camera.rotation[2, 2] < -0.999:
            peak["seen_event_seconds"] = round(_seen_peak(view, segment, float(step.peak_time)), 4)
        found.append(peak)
    return found


def _seen_peak(view: View, segment: str, near: float) -> float:
    """When the segment's line turns fastest in the picture, within 80 ms of ``near``; event seconds."""
    times = np.arange(near - 0.08, near + 0.08, 1e-4)
    points = landmark_points(attacker_at(times))
    one, two = (view.camera.project(points[name]) for name in _LINES[segment])
    turned = np.unwrap(np.arctan2(*(two - one).T[::-1]))
    return float(times[np.argmax(np.abs(np.gradient(turned, times)))])


def _rounded(values: Floats, places: int) -> list:
    return (np.round(values, places) + 0.0).tolist()


def _landmark_frames(view: View, skeleton: Skeleton) -> list[dict]:
    points = {name: view.camera.project(place) for name, place in landmark_points(skeleton).items()}
    return [
        {"frame": n, "points": {name: _rounded(flat[n], 3) for name, flat in points.items()}}
        for n in range(view.frame_count)
    ]


def _clock(view: View, clip: str) -> dict:
    baseline = demonstration_views()["baseline"]
    return {
        "invented": INVENTED,
        "event": "cup semi-final, team handball (invented)",
        "view": view.name,
        "clip": clip,
        "rate": rational_text(view.rate),
        "frame_count": view.frame_count,
        "seconds": exact_json(view.frame_count / view.rate),
        "event_seconds_at_frame_0": exact_json(view.start),
        "offset_from_baseline": exact_json(view_offset(baseline, view)),
        "width": view.camera.size[0],
        "height": view.camera.size[1],
        "pixel_aspect": "1",
    }


def view_record(view: View, skeleton: Skeleton, clip: str) -> dict:
    """Everything that is known of a clip, ready to be written as JSON. ``skeleton`` is the attacker's."""
    camera = view.camera
    record = _clock(view, clip)
    record["camera"] = {
        "position_m": list(camera.position),
        "target_m": list(camera.target),
        "up": list(camera.up),
        "focal_px": camera.focal,
        "principal_point_px": camera.centre.tolist(),
    }
    record["players"] = [{"role": p.role, "number": p.number, "stature_m": p.stature} for p in PLAYERS]
    record["moments"] = moments_in(view)
    record["chain"] = chain_truth(view)
    record["frames"] = _landmark_frames(view, skeleton)
    record["joints_m"] = {name: _rounded(place, 5) for name, place in skeleton.joints.items()}
    record["angles_deg"] = {name: _rounded(angle, 4) for name, angle in true_angles(skeleton).items()}
    return record


def lag_seconds(one: str, other: str) -> Fraction:
    """Exact seconds from the peak of one segment of the chain to that of another."""
    peaks = chain_peaks()
    return peaks[other].peak_time - peaks[one].peak_time
