from __future__ import annotations

from typing import Any

from breakdowns.excerpts.fit import fit
from breakdowns.excerpts.fit_plan import fit_plan_from_json
from breakdowns.excerpts.management.plan_command import PlanCommand


class Command(PlanCommand):
    help = (
        "Fit pictures to the time of their words, to the frame: holds at marks, then a slower or faster speed, "
        "within limits; or say how many seconds of picture or words are missing. Pictures are counted from 0."
    )

    def answer(self, document: dict[str, Any]) -> dict[str, Any]:
        plan = fit_plan_from_json(document)
        return fit(plan).as_json() | {"ignored": list(plan.ignored)}
