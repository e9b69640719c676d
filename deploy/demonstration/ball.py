"""The course of the ball: bounced, caught, carried, thrown, and stopped by the net."""

from __future__ import annotations

from functools import cache

import numpy as np

from .axes import Floats, along
from .court import measure_of
from .event import key_moments
from .figure import Skeleton
from .motion import data_rows, smooth_rise
from .scene import attacker_at

__all__ = ["ball_course", "bounce_times", "net_time"]

_G = 9.81  # m/s2


@cache
def _given(name: str) -> float:
    return {row["name"]: float(row["value"]) for row in data_rows("ball.csv")}[name]


def bounce_times() -> list[float]:
    """When the ball meets the floor before it is caught, seconds."""
    return [_given("bounce_first") + k * _given("bounce_every") for k in range(int(_given("bounce_count")))]


def _bounced(times: Floats) -> Floats:
    """Positions (T, 3) while it is bounced: free flight, and a soft push of the hand in between."""
    radius, top = measure_of("ball_radius"), _given("hand_height")
    rise, push, fall = (_given(n) for n in ("rise", "push", "fall"))
    up = (top - radius + 0.5 * _G * rise**2) / rise
    down = (top - radius - 0.5 * _G * fall**2) / fall
    since = (times - _given("bounce_first")) % _given("bounce_every")
    in_hand, falling = since - rise, since - rise - push
    share = np.clip(in_hand / push, 0, 1)
    arriving = (up - _G * rise) * push
    hermite = arriving * share * (1 - share) ** 2 + down * push * share**2 * (1 - share)
    height = np.where(in_hand < 0, radius + up * since - 0.5 * _G * since**2, top + hermite)
    height = np.where(falling > 0, top - down * falling - 0.5 * _G * falling**2, height)
    return np.stack([np.full_like(times, _given("x")), np.full_like(times, _given("y")), height], -1)


def _in_hands(attacker: Skeleton) -> tuple[Floats, Floats]:
    """Middle of the ball (T, 3) between both hands, and on the palm of the right hand."""
    both = (attacker.joints["hand_r"] + attacker.joints["hand_l"]) / 2
    held = both + along(attacker.frames["thorax"], 0.03, 0.02, 0.0)
    gap = measure_of("ball_radius") + 0.022
    palm = attacker.joints["hand_r"] + gap * attacker.frames["hand_r"][..., :, 0]
    return held, palm - 0.02 * attacker.frames["hand_r"][..., :, 1]


def net_time(start_y: float) -> float:
    """When it crosses the goal line, seconds, thrown from ``start_y`` metres before it."""
    return float(key_moments()["release"]) + start_y / _given("speed")


def _thrown(times: Floats, start: Floats) -> Floats:
    """Positions (T, 3) after release at ``start``: free flight into the goal, caught by the net."""
    flight = start[1] / _given("speed")
    since = times - float(key_moments()["release"])
    goal = np.array([_given("goal_x"), 0.0, _given("goal_z")])
    share = since / flight
    place = start + (goal - start) * share[:, None]
    place[:, 2] += 0.5 * _G * since * (flight - since)
    late = np.maximum(since - flight, 0.0)
    netted = goal + (goal - start) / flight * (0.035 * (1 - np.exp(-late / 0.035)))[:, None]
    netted[:, 2] = np.maximum(measure_of("ball_radius"), goal[2] - 0.5 * _G * late**2)
    return np.where((since > flight)[:, None], netted, place)


def ball_course(attacker: Skeleton) -> Floats:
    """Middle of the ball (T, 3), metres, at the times of the attacker's skeleton.

    The moment of release has to be among what the skeleton can tell: the throw starts from the palm then.
    """
    times = attacker.times
    held, palm = _in_hands(attacker)
    caught = smooth_rise((times - _given("caught_from")) / (_given("caught_until") - _given("caught_from")))
    alone = smooth_rise(
        (times - _given("one_hand_from")) / (_given("one_hand_until") - _given("one_hand_from"))
    )
    carried = held + (palm - held) * alone[:, None]
    # The last bounce is not pushed down again: it rises into the hands.
    last = np.minimum(times, _given("caught_from") + 0.12)
    place = _bounced(last) + (carried - _bounced(last)) * caught[:, None]
    free = times >= float(key_moments()["release"])
    if free.any():
        place = np.where(free[:, None], _thrown(times, release_point()), place)
    return place


@cache
def release_point() -> Floats:
    """Middle of the ball (3,) at the moment of release, metres."""
    return _in_hands(attacker_at(np.array([float(key_moments()["release"])])))[1][0]
