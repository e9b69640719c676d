"""What can be promised to somebody who asks, and the bound on waiting that it stands on.

**What can't be had.** At rho times more minutes of questions than minutes to answer them, at most 1/rho of the minutes
asked for can be answered, whatever is chosen; with rho = 3 two thirds stay. If all of it stayed in the queue, it would
grow by (rho - 1) T each sitting and the wait with it: no order of answering bounds the wait of everybody. So a bound can
only hold for those who are let into a line of limited length, and for the others only in the sense that they are
told: at once that there is no promise, and at the latest after ``promised_weeks`` that there will be no answer.

**The rule.** A sitting has T minutes, of which U go to red flags first. R = reserved_share * T minutes of it belong to
the line: those with a promise, in the order in which it was given, each taken as long as what was taken from the line in
this sitting is below R. One of at most 2R minutes that doesn't fit into what is left of the sitting ends the walk; a
longer one that doesn't fit is stepped over. (Whoever has no promise follows behind, by age.) Everything else of the
sitting goes to what helps most (the knapsack), in or out of the line.

**The bound.** Let a question of at most 2R minutes enter the line with a minutes of others ahead of it, and let L count those
ahead, and itself, that take more than R and at most 2R. Then it is answered in at most

    floor(a / R) + L + 1

sittings in which red flags take at most T - 2R minutes, however much is asked after it and whatever the knapsack chooses.

*Why.* In such a sitting T' = T - U >= 2R minutes are there. As long as the question is not taken, the walk ends before
it or at it, for one of two reasons. (1) R minutes or more were taken, all from ahead of the question. (2) One of at most 2R
minutes doesn't fit: it is longer than T' less what was taken, so longer than 2R - R = R. Whatever stands ahead of it then
was taken or takes more than 2R. So in the next such sitting it fits (at most 2R <= T') unless something ahead of it is
taken first, which is longer than 2R and makes that sitting one of the first kind; each of the L ones therefore ends at
most one sitting. Each sitting of the first kind takes R out of a, so there are at most floor(a / R) of them, of the second kind at most
L; the question is taken in the one after these. Those who come later stand behind it; what the knapsack takes out of the
line only makes a smaller. The share is at most 1/2, so 2R <= T.

A promise is given where this bound is at most ``promised_weeks`` sittings, at one sitting a week. So with a promise
nobody waits longer than that for the answer, and without one nobody waits longer to be told. It is a bound in estimated
minutes: what the desk changes by hand afterwards (longer estimates, groups taken apart, shorter or fewer sittings)
adds to what stands ahead.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from breakdowns.questions.planning.weights import Weights, exact, tenths_down

__all__ = ["can_promise", "reserved", "sittings_at_most"]


def reserved(minutes: Fraction | float, weights: Weights) -> int:
    """Tenths of a minute of a sitting that belong to the line (R)."""
    return tenths_down(exact(minutes) * weights.reserved_share)


def sittings_at_most(
    ahead: Sequence[Fraction | float], own: Fraction | float, minutes: Fraction | float, weights: Weights
) -> int | None:
    """In how many sittings of ``minutes`` a question is answered at the latest; None where nothing can be promised.

    ``ahead``: estimated minutes of each that stands in the line before it; ``own``: its own. None when the share is
    nought or the question takes more than twice the reserved minutes.
    """
    share = reserved(minutes, weights)
    costs = [weights.cost(exact(one)) for one in ahead]
    mine = weights.cost(exact(own))
    if not share or mine > 2 * share:
        return None
    may_end_early = sum(1 for cost in [*costs, mine] if share < cost <= 2 * share)
    return sum(costs) // share + may_end_early + 1


def can_promise(
    ahead: Sequence[Fraction | float], own: Fraction | float, minutes: Fraction | float, weights: Weights
) -> bool:
    """Whether an answer within ``promised_weeks`` can be promised, at one sitting of ``minutes`` a week."""
    bound = sittings_at_most(ahead, own, minutes, weights)
    return bound is not None and bound <= weights.promised_weeks
