from __future__ import annotations

from typing import Any

from breakdowns.excerpts.ledger import compute
from breakdowns.excerpts.management.plan_command import PlanCommand, policy_given
from breakdowns.excerpts.plan import plan_from_json
from breakdowns.excerpts.verdicts import judge


class Command(PlanCommand):
    help = (
        "Say what a timeline uses of each source, exactly, and hold it against a policy. Segments are counted "
        "from 0, in answers and in errors. A planning aid, not legal advice: no number of seconds is a safe "
        "harbour, and automatic matching by a platform is separate from the law."
    )

    def answer(self, document: dict[str, Any]) -> dict[str, Any]:
        plan = plan_from_json(document)
        ledger = compute(plan)
        answer = ledger.as_json() | {"ignored": list(plan.ignored)}
        policy = policy_given(plan.policy)
        return answer if policy is None else answer | judge(ledger, policy).as_json()
