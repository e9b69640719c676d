"""The whole answer to a request about a posture."""

from __future__ import annotations

from typing import Any

from anatomy.muscles.body import open_body
from anatomy.muscles.catalogue import missing_muscles
from anatomy.muscles.document import Request
from anatomy.muscles.flips import flips
from anatomy.muscles.ranking import ranking
from anatomy.muscles.records import ASSUMPTIONS, muscle_rows

__all__ = ["answer"]


def answer(request: Request) -> dict[str, Any]:
    """Muscles, and sweep, flips and ranking where they were asked for. Raises ModelNotInstalled, PostureError."""
    body = open_body()
    reading = body.read(request.posture)
    found: dict[str, Any] = {
        "side": request.posture.side,
        "angles": request.posture.angles(),
        "muscles": muscle_rows(reading, request.bases),
        "assumptions": list(ASSUMPTIONS),
        "not_in_model": missing_muscles(),
    }
    if request.sweep is not None:
        one = request.sweep.coordinate
        readings = [body.read(request.posture.moved(one, degrees)) for degrees in request.sweep.degrees]
        found["sweep"] = [
            {"value": value, "muscles": muscle_rows(step, request.bases)}
            for value, step in zip(request.sweep.values, readings, strict=True)
        ]
        found["flips"] = flips(body, one, readings, request.bases)
    if request.rank is not None:
        found["ranking"] = ranking(body, reading, *request.rank)
    return found
