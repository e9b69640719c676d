from __future__ import annotations

from typing import Any

from breakdowns.excerpts.management.plan_command import PlanCommand, policy_given
from breakdowns.excerpts.plan import PlanError, plan_from_json
from breakdowns.excerpts.tighten import tighten


class Command(PlanCommand):
    help = (
        "Cut a timeline until it meets every limit of its policy, keeping the most weighted seconds: in points "
        "later, out points earlier, holds shorter, segments left out, whole frames, moments to keep untouched. "
        "Segments are counted from 0 as they were given. A planning aid, not legal advice: no number of seconds "
        "is a safe harbour, and automatic matching by a platform is separate from the law."
    )

    def answer(self, document: dict[str, Any]) -> dict[str, Any]:
        plan = plan_from_json(document)
        policy = policy_given(plan.policy)
        if policy is None:
            raise PlanError("policy_missing", 'The plan names no policy to meet: give one under "policy".')
        return tighten(plan, policy).as_json() | {"ignored": list(plan.ignored)}
