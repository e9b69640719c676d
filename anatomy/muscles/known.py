"""What a muscle does in a posture that was measured, with its error, and of which only some angles are known.

The answer is given only where it is the same for everything that the measurement leaves open: each measured angle two
standard deviations to either side, each unmeasured turn of a measured joint up to ``UNMEASURED`` degrees from neutral, every
other joint anywhere in its range. It is a model's estimate all the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from typing import Literal

from anatomy.muscles.body import Body, open_body
from anatomy.muscles.catalogue import Path, paths_on
from anatomy.muscles.coordinates import Coordinate, coordinates, find_joint, find_motion
from anatomy.muscles.doubts import doubts_in, doubts_of
from anatomy.muscles.faults import ModelNotInstalled, PostureError
from anatomy.muscles.flips import WORTH_TELLING
from anatomy.muscles.position import ANATOMICAL, Posture, checked

__all__ = ["MODEL_SOURCE", "Here", "KnownAngle", "KnownPosture", "known_posture", "muscle_here"]

MODEL_SOURCE = "Rajagopal et al. 2016; Holzbaur et al. 2005 (open model of one adult, own calculation)"
UNMEASURED = 25.0
"""Degrees about neutral that an unmeasured turn of a measured joint may have; own choice, no source."""
_SPREADS = 2.0
_AT_ONCE = 3
"""Measured angles that are taken to their ends together; further ones one at a time."""
_CROSSES = 0.0005
"""Metres of lever from which a path counts as crossing a joint's axis."""


@dataclass(frozen=True)
class KnownAngle:
    """A measured angle in degrees with its standard deviation; ``motion`` is the coordinate's own, so signs are settled."""

    joint: str
    motion: str
    degrees: float
    sd: float

    @property
    def says(self) -> str:
        """ "hip flexion 85 ± 10°"."""
        one, _ = find_motion(self.joint, self.motion)
        return f"{self.joint} {one.named(self.degrees)} {abs(self.degrees):.0f} ± {max(1.0, self.sd):.0f}°"


@dataclass(frozen=True)
class KnownPosture:
    """The measured angles of one side."""

    side: str
    angles: tuple[KnownAngle, ...]


def known_posture(side: str, angles: Mapping[str, Mapping[str, tuple[float, float]]]) -> KnownPosture:
    """From (degrees, standard deviation) by joint and motion. Raises PostureError for strangers and beyond the model's range."""
    if side not in ("right", "left"):
        raise PostureError('The side must be "right" or "left".')
    found: dict[int, KnownAngle] = {}
    for joint, motions in angles.items():
        for motion, (degrees, sd) in motions.items():
            one, sign = find_motion(find_joint(joint), motion)
            if one.number in found:
                raise PostureError(f"The {one.joint} has {one.motion} (or its opposite) twice: write one.")
            if not 0 <= sd <= 180:
                raise PostureError(f"The error of {one.joint} {one.motion} must be 0 to 180 degrees.")
            found[one.number] = KnownAngle(one.joint, one.motion, checked(one, sign * degrees), float(sd))
    return KnownPosture(side, tuple(found[number] for number in sorted(found)))


@dataclass(frozen=True)
class Here:
    """``makes`` or ``opposes`` the motion, the same for all that is left open; else ``open`` with the reason in ``why``.

    ``standing``: what it does in the anatomical position (metres, positive makes the motion, the greatest of its paths);
    ``least`` and ``most`` the levers found here in millimetres; ``turns_at`` where the action turns over, in words;
    ``angles`` the measured angles that bear on it.
    """

    answer: Literal["makes", "opposes", "open"]
    why: str = ""
    standing: float = 0.0
    least: float = 0.0
    most: float = 0.0
    turns_at: str = ""
    angles: tuple[KnownAngle, ...] = ()

    @property
    def has_turned(self) -> bool:
        """Whether it does the opposite of what it does in the anatomical position."""
        way = {"makes": 1.0, "opposes": -1.0}.get(self.answer, 0.0)
        return way * self.standing < -WORTH_TELLING


def muscle_here(muscles: Iterable[str], joint: str, motion: str, posture: KnownPosture) -> Here:
    """What muscles (by their standard names) do there: the answer of all of them, open where they differ. Raises nothing."""
    return _muscle_here(frozenset(muscles), joint, motion, posture)


@lru_cache(maxsize=512)
def _muscle_here(muscles: frozenset[str], joint: str, motion: str, known: KnownPosture) -> Here:
    try:
        one, sign = find_motion(find_joint(joint), motion)
        body = open_body()
    except PostureError as fault:
        return Here("open", str(fault))
    except ModelNotInstalled as fault:
        return Here("open", str(fault))
    if not one.has_lever or not one.settable:
        return Here("open", "no lever is told for this motion")
    wanted = [(n, p) for n, p in enumerate(paths_on(known.side)) if p.vocabulary in muscles]
    if {path.vocabulary for _, path in wanted} != muscles:
        return Here("open", "the model lacks the muscle")
    return _judged(body, one, sign, wanted, known)


def _judged(
    body: Body, one: Coordinate, sign: int, wanted: list[tuple[int, Path]], known: KnownPosture
) -> Here:
    measured = {find_motion(angle.joint, angle.motion)[0].number: angle for angle in known.angles}
    middle = list(ANATOMICAL)
    for number, angle in measured.items():
        middle[number] = angle.degrees
    centre, standing = Posture(known.side, tuple(middle)), Posture(known.side, ANATOMICAL)
    places = [place for place, _ in wanted]
    crossed = _crossed(body, places, (centre, standing))
    bearing = tuple(angle for number, angle in measured.items() if number in crossed)
    if not any(angle.joint == one.joint for angle in bearing):
        return Here("open", f"no angle of the {one.joint} is known", angles=bearing)
    readings = [body.read(posture) for posture in _left_open(centre, crossed, measured)]
    levers = [sign * float(row.levers[place, one.number]) for row in readings for place in places]
    usual = max((sign * float(body.read(standing).levers[p, one.number]) for p in places), key=abs)
    found = Here("open", "", usual, 1000 * min(levers), 1000 * max(levers), "", bearing)
    doubts = {
        doubt.why
        for row in readings
        for _, path in wanted
        for doubt in doubts_of(path.base, frozenset({one.number}), doubts_in(row.posture))
        if doubt.lowers
    }
    if doubts:
        return replace(found, why=" ".join(sorted(doubts)))
    if min(levers) < WORTH_TELLING and max(levers) > -WORTH_TELLING:
        return replace(found, why="its action may turn over within what the measurement leaves open")
    turns = _turns_at(body, one, sign, places, centre, bearing)
    return replace(found, answer="makes" if min(levers) > 0 else "opposes", turns_at=turns)


def _crossed(body: Body, places: list[int], postures: Iterable[Posture]) -> frozenset[int]:
    """Coordinates about which any of the paths has a lever in any of the postures."""
    rows = [body.read(posture).levers[places] for posture in postures]
    return frozenset(
        one.number
        for one in coordinates()
        if one.settable and any(abs(row[:, one.number]).max() > _CROSSES for row in rows)
    )


def _left_open(
    centre: Posture, crossed: frozenset[int], measured: Mapping[int, KnownAngle]
) -> Iterator[Posture]:
    """Postures that the measurement can't tell from the one measured."""
    known = sorted((n for n in measured if n in crossed), key=lambda n: -measured[n].sd)
    joints = {coordinates()[n].joint for n in known}
    together, alone = known[:_AT_ONCE], known[_AT_ONCE:]
    spans = [_ends(n, measured[n]) for n in together]
    for values in product(*spans):
        held = centre
        for number, value in zip(together, values, strict=True):
            held = held.moved(coordinates()[number], value)
        yield held
        for number in alone:
            yield from (held.moved(coordinates()[number], v) for v in _ends(number, measured[number]))
        for number in crossed - set(known):
            one = coordinates()[number]
            near = one.joint in joints
            low, high = (
                (max(one.low, -UNMEASURED), min(one.high, UNMEASURED)) if near else (one.low, one.high)
            )
            yield from (held.moved(one, v) for v in ((low, high) if near else (low, (low + high) / 2, high)))


def _ends(number: int, angle: KnownAngle) -> tuple[float, ...]:
    one, off = coordinates()[number], _SPREADS * angle.sd
    values = (angle.degrees - off, angle.degrees, angle.degrees + off)
    return tuple(dict.fromkeys(min(max(v, one.low), one.high) for v in values))


def _turns_at(
    body: Body,
    one: Coordinate,
    sign: int,
    places: list[int],
    centre: Posture,
    bearing: tuple[KnownAngle, ...],
) -> str:
    """ "about 72° of hip flexion": where the strongest path's lever changes sign between neutral and here; "" if nowhere."""
    strongest = max(places, key=lambda p: abs(float(body.read(centre).levers[p, one.number])))
    for angle in sorted(bearing, key=lambda a: (a.joint != one.joint, -abs(a.degrees))):
        swept, _ = find_motion(angle.joint, angle.motion)
        start = ANATOMICAL[swept.number]
        count = max(2, int(abs(angle.degrees - start) / 5) + 1)
        steps = [start + (angle.degrees - start) * n / count for n in range(count + 1)]
        levers = [
            sign * float(body.read(centre.moved(swept, v)).levers[strongest, one.number]) for v in steps
        ]
        for n in range(len(levers) - 1, 0, -1):
            before, after = levers[n - 1], levers[n]
            if before * after < 0:
                at = steps[n - 1] + (steps[n] - steps[n - 1]) * before / (before - after)
                return f"about {abs(round(at))}° of {swept.joint} {swept.named(at)}"
    return ""
