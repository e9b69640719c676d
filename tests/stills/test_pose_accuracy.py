"""How near the suggested landmarks come to points marked by hand, and to the truth of the drawn footage.

`POSE_MODELS="lite full" pytest -s` asks both models about everybody and prints the figures that DEVELOPERS.md states;
otherwise one model is asked about every third, which is enough to see pixels mapped back wrongly. The ceilings are generous: they fail when pixels are mapped back
wrongly, not when a model is a little worse. The hand marks are our own reading (data/README.md), with no outside source.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from anatomy.motion.space import joint_angles
from deploy.demonstration.painter import ViewPainter
from deploy.demonstration.scene import attacker_at
from deploy.demonstration.truth import landmark_points
from deploy.demonstration.views import demonstration_views

from .pose_page import lay_out_pictures, marked_people, opened

pytestmark = pytest.mark.browser
PARTS = ("shoulder", "elbow", "wrist", "hip", "knee", "ankle")
SUGGEST = "return pose.suggest(await load(given.file), given.box, {model: given.model})"


def away(answer: dict, name: str, place) -> float:
    return float(np.hypot(*np.subtract(answer["landmarks"][name]["at"], place)))


def swapped_parts(answer: dict, points: dict) -> dict[str, bool]:
    """Of each pair marked on both sides, whether left and right fit better the other way round."""
    found = {}
    for part in PARTS:
        left, right = f"left_{part}", f"right_{part}"
        if left in points and right in points:
            straight = away(answer, left, points[left]) + away(answer, right, points[right])
            crossed = away(answer, left, points[right]) + away(answer, right, points[left])
            found[part] = crossed < straight
    return found


def other(name: str) -> str:
    side, _, part = name.partition("_")
    return f"{'right' if side == 'left' else 'left'}_{part}"


def test_against_points_marked_by_hand(tmp_path: Path) -> None:
    lay_out_pictures(tmp_path)
    people = marked_people()
    assert len(people) >= 10
    again = [
        np.hypot(*np.subtract(p.again[n], p.points[n])) / p.box["height"] for p in people for n in p.again
    ]
    print(f"\nmarking twice: mean {np.mean(again):.2%}, worst {np.max(again):.2%} of the box's height")
    with opened(tmp_path) as page:
        models = os.environ.get("POSE_MODELS", "").split()
        for model in models or ["full"]:
            _judge(page, model, people if models else people[::3])


def _judge(page, model: str, people: list) -> None:
    px, share, paired, times, misses = [], [], [], [], 0
    trunk: list[float] = []
    swaps = {True: [0, 0], False: [0, 0]}  # side sure or not: swapped, pairs
    for person in people:
        answer = page.run(SUGGEST, {"file": person.file, "box": person.box, "model": model})
        times.append(answer["milliseconds"])
        if answer["problem"]:
            misses += 1
            continue
        changed = swapped_parts(answer, person.points)
        for part, is_swapped in changed.items():
            sure = f"left_{part}" not in person.unsure
            swaps[sure][0] += is_swapped
            swaps[sure][1] += 1
        p = person.points
        length = None
        if {"left_hip", "right_hip", "left_shoulder", "right_shoulder"} <= set(p):
            middle = lambda part, p=p: np.add(p[f"left_{part}"], p[f"right_{part}"]) / 2  # noqa: E731
            length = float(np.hypot(*(middle("shoulder") - middle("hip"))))
        for name, place in p.items():
            error = away(answer, name, place)
            px.append(error)
            share.append(error / person.box["height"])
            taken = other(name) if changed.get(name.partition("_")[2]) else name
            paired.append(away(answer, taken, place) / person.box["height"])
            if length:
                trunk.append(error / length)
    later = np.delete(times, 0)
    print(
        f"{model}: {len(people)} people, {len(px)} points, {misses} missed; mean {np.mean(px):.1f}, median {np.median(px):.1f} px;"
        f" of the height mean {np.mean(share):.1%}, median {np.median(share):.1%}; of the trunk mean {np.mean(trunk):.0%}, median"
        f" {np.median(trunk):.0%}; swaps undone: mean {np.mean(paired):.1%}, median {np.median(paired):.1%};"
        f" pairs swapped {swaps[True][0]} of {swaps[True][1]} sure, {swaps[False][0]} of {swaps[False][1]} unsure;"
        f" first {times[0] / 1000:.1f} s, then median {np.median(later):.0f} ms"
    )
    assert misses <= 2
    assert np.median(share) < 0.05
    assert np.mean(paired) < 0.07


def test_on_the_drawn_demonstration(tmp_path: Path) -> None:
    """From the side the model sees the figure; from straight above it doesn't, and there nothing may rest on it."""
    scenes = {"baseline": [5, 159, 313, 467], "overhead": [178]}
    with opened(tmp_path) as page:
        for name, frames in scenes.items():
            view = demonstration_views()[name]
            painter = ViewPainter(view)
            places = landmark_points(attacker_at(view.event_times()))
            flat = {landmark: view.camera.project(place) for landmark, place in places.items()}
            errors, misses, wrong = [], 0, []
            for n in frames:
                painter.frame(n).convert("RGB").save(tmp_path / "drawn.png")
                truth = {landmark: place[n] for landmark, place in flat.items()}
                corners = np.array(list(truth.values()))
                low, high = corners.min(0), corners.max(0)
                (low, high), tall = (low - 8, high + 8), float(high[1] - low[1])
                box = dict(
                    zip(("x", "y", "width", "height"), [*low.tolist(), *(high - low).tolist()], strict=True)
                )
                answer = page.run(SUGGEST, {"file": f"drawn.png?{n}", "box": box, "model": "full"})
                if answer["problem"]:
                    misses += 1
                    continue
                limbs = [f"{side}_{part}" for part in PARTS for side in ("left", "right")]
                errors.append(np.mean([away(answer, limb, truth[limb]) / tall for limb in limbs]))
                told = joint_angles({k: np.array(v) for k, v in answer["world"].items()})
                known = joint_angles({k: v[n] for k, v in places.items()}, (0, 0, 1))
                wrong.append({k: (told[k].value, known[k].value) for k in told})
            print(f"\n{name}: {misses} of {len(frames)} missed; mean error by frame of the height "
                  f"{', '.join(f'{e:.1%}' for e in errors)}")  # fmt: skip
            if name == "baseline":
                assert misses <= 1
                assert np.median(errors) < 0.05
                _print_angles(wrong)


def _print_angles(wrong: list[dict]) -> None:
    for angle in wrong[0]:
        pairs = [(frame[angle]) for frame in wrong if None not in frame[angle]]
        if pairs:
            off = [(one - two + 180) % 360 - 180 for one, two in pairs]
            print(f"{angle}: {len(off)} frames, mean {np.mean(off):+.0f}°, mean size {np.mean(np.abs(off)):.0f}°, "
                  f"worst {np.max(np.abs(off)):.0f}°")  # fmt: skip
    knees = [abs(np.subtract(*frame["right_knee_flexion"])) for frame in wrong]
    assert np.median(knees) < 30
