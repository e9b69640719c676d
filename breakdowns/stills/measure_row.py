"""One measure of a still, and the words that go with every measure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from anatomy.motion.foreshortening import shortening
from anatomy.motion.measure import TILTS

__all__ = [
    "CLICK_SD_PX",
    "IN_PLANE",
    "MeasureRow",
    "joined",
    "outside_words",
    "shortening_words",
    "tilt_words",
]

CLICK_SD_PX: Final = 1.5
"""Standard deviation of a click, pixels, until somebody measures their own: the preset of the measuring command."""
IN_PLANE: Final = "in the picture plane"
_TILTS_SAID = ", ".join(f"{tilt}°" for tilt in TILTS)


@dataclass(frozen=True)
class MeasureRow:
    """One measure: ``value`` and ``sd`` in ``unit``, or None and ``why``. ``where`` says how it is meant, ``caution``
    what makes it unsafe, ``normal`` the published range beside it; ``suggested``: a point of it is not confirmed."""

    key: str
    name: str
    value: float | None
    sd: float | None
    unit: str
    where: str = ""
    caution: str = ""
    why: str = ""
    normal: str = ""
    suggested: bool = False
    mark_id: str = ""


def tilt_words(errors: Iterable[float]) -> str:
    """What tilts out of the picture can do to an angle; ``errors`` in degrees, one for each of the tilts."""
    figures = ", ".join(f"{error:.0f}°" if error >= 1 else f"{error:.1f}°" for error in errors)
    return f"{IN_PLANE}; tilts of {_TILTS_SAID} out of it can change it by up to {figures}"


def shortening_words() -> str:
    """What tilts out of the picture do to a length in it."""
    shares = ", ".join(f"{100 * shortening(tilt):.0f} %" for tilt in TILTS)
    return f"tilts of {_TILTS_SAID} out of the picture plane show it {shares} short"


def outside_words(count: int) -> str:
    """A caution for measures of points that lie outside the picture."""
    if count == 0:
        return ""
    return f"{'one of its points lies' if count == 1 else f'{count} of its points lie'} outside the picture"


def joined(*cautions: str) -> str:
    """Cautions in one line."""
    return "; ".join(one for one in cautions if one)
