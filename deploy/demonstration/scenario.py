"""The invented scenario: moments of the drawn event turned into whole frames of each view."""

from __future__ import annotations

import json
from fractions import Fraction
from functools import cache
from importlib.resources import files
from typing import Any

from breakdowns.footage.timebase import frames_nearest


@cache
def scenario() -> dict[str, Any]:
    """The scenario's data file: event, sources, excerpts, breakdown, beats."""
    return json.loads(
        files("deploy.demonstration").joinpath("data/scenario.json").read_text(encoding="utf-8")
    )


def frame_of(moment: list[Any], events: dict[str, int], rate: Fraction, frame_count: int) -> int:
    """The frame of ``[event name, seconds after it]`` in a view, kept inside the clip.

    ``events`` maps names to that view's frames; the seconds are turned into whole frames at ``rate``.
    """
    name, after = moment
    frame = events[name] + frames_nearest(Fraction(str(after)), rate).count
    return max(0, min(frame, frame_count - 1))
