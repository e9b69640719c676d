"""What was measured, said in a sentence that can go into the words."""

from __future__ import annotations

import math

from anatomy.motion.sequence import Lag

__all__ = ["lag_sentence", "milliseconds"]


def milliseconds(lag_s: float, sd_s: float) -> str:
    """``"46 ± 12 ms"``: whole milliseconds, the standard deviation rounded up and never below 1."""
    return f"{round(1000 * lag_s)} ± {max(1, math.ceil(round(1000 * sd_s, 3)))} ms"


def lag_sentence(lag: Lag) -> str:
    """``"pelvis leads trunk by 46 ± 12 ms"``; an order that is not settled is not told as one."""
    first, second = (name.replace("_", " ") for name in (lag.first, lag.second))
    measured = milliseconds(lag.lag_s, lag.sd_s)
    if lag.order == "settled":
        return f"{first} leads {second} by {measured}"
    if lag.order == "likely":
        return f"{first} probably leads {second}, by {measured}; {lag.why}"
    return f"which of {first} and {second} peaks first is open: {measured} apart; {lag.why}"
