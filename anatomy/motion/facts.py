"""What was measured on a picture, as plain facts that words can be held against.

Angles are in degrees, speeds in degrees a second, times in seconds; ``sd`` is a standard deviation from the error of
clicks alone. The names are those of ``catalogue`` and of its segments; ``where`` says where it was measured. Everything
is hashable and equal when what was measured is.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from anatomy.motion.sequence import Lag, Order, Peak

__all__ = [
    "Measured",
    "MeasuredAngle",
    "MeasuredOrder",
    "MeasuredSpeed",
    "measure_words",
    "order_fact",
    "speed_fact",
]

_OF_A_SIDE = frozenset({"upper_arm", "forearm", "thigh", "shank", "foot"})


@dataclass(frozen=True, slots=True)
class MeasuredAngle:
    """An angle of the picture at ``frame`` of its source, signed as in the catalogue.

    ``caution``: why nothing may be held against it, empty where it may. ``suggested``: from landmarks that nobody has
    confirmed.
    """

    name: str
    words: str
    value: float
    sd: float
    unit: str = "deg"
    frame: int = 0
    caution: str = ""
    suggested: bool = False
    where: str = ""


@dataclass(frozen=True, slots=True)
class MeasuredOrder:
    """``first`` turned fastest ``lag_s`` seconds before ``second``; ``order`` as in ``sequence.Lag``.

    ``side`` is that of the limb which was tracked, empty where no limb is part of the pair.
    """

    first: str
    second: str
    lag_s: float
    sd_s: float
    order: Order
    side: str = ""
    where: str = ""


@dataclass(frozen=True, slots=True)
class MeasuredSpeed:
    """The fastest turn of a segment's line, without sign. ``caution``: why another moment could be the fastest."""

    segment: str
    value: float
    sd: float
    unit: str = "deg/s"
    side: str = ""
    caution: str = ""
    where: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """Everything measured on one picture. ``rate``: frames a second of its source, None where that is not known.

    ``moves``: the picture moves, so that an angle is that of one moment of it. ``mirrored``: it is shown mirrored, so that
    nobody knows which left is meant.
    """

    angles: tuple[MeasuredAngle, ...] = ()
    orders: tuple[MeasuredOrder, ...] = ()
    speeds: tuple[MeasuredSpeed, ...] = ()
    rate: Fraction | None = None
    moves: bool = False
    mirrored: bool = False

    def __bool__(self) -> bool:
        return bool(self.angles or self.orders or self.speeds)


def measure_words(name: str) -> str:
    """``right_knee_flexion`` → right knee flexion; ``hip_shoulder_separation`` → hip–shoulder separation."""
    return name.replace("hip_shoulder", "hip–shoulder").replace("_", " ")


def order_fact(lag: Lag, side: str = "", where: str = "") -> MeasuredOrder:
    """A lag as a fact; ``side`` is kept where a limb is part of it."""
    sided = side if {lag.first, lag.second} & _OF_A_SIDE else ""
    return MeasuredOrder(lag.first, lag.second, lag.lag_s, lag.sd_s, lag.order, sided, where)


def speed_fact(peak: Peak, side: str = "", where: str = "") -> MeasuredSpeed:
    """A peak as a fact."""
    sided = side if peak.segment in _OF_A_SIDE else ""
    return MeasuredSpeed(
        peak.segment, abs(peak.deg_per_s), peak.sd_deg_per_s, "deg/s", sided, peak.unclear, where
    )
