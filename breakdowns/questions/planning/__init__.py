"""Which questions are answered in the minutes there are, and what can be promised to those who wait."""

from breakdowns.questions.planning.choosing import Plan, Waiting, plan
from breakdowns.questions.planning.knapsack import best_subset
from breakdowns.questions.planning.promise import can_promise, reserved, sittings_at_most
from breakdowns.questions.planning.weights import Weight, Weights, usual_weights, weight_table

__all__ = [
    "Plan",
    "Waiting",
    "Weight",
    "Weights",
    "best_subset",
    "can_promise",
    "plan",
    "reserved",
    "sittings_at_most",
    "usual_weights",
    "weight_table",
]
