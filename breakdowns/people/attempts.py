"""How often somebody may guess: a sliding count, pure so that it can be tested without a clock."""

from __future__ import annotations

from collections.abc import Sequence

WINDOW_SECONDS = 15 * 60  # own choice
MOST_FAILURES = 8  # own choice


def still_counting(failures: Sequence[float], now: float) -> list[float]:
    """The moments (seconds) of failures that lie inside the window before ``now``."""
    return [moment for moment in failures if 0 <= now - moment < WINDOW_SECONDS]


def must_wait(failures: Sequence[float], now: float) -> int:
    """Whole seconds until another guess is allowed; 0 when it is allowed now."""
    recent = still_counting(failures, now)
    if len(recent) < MOST_FAILURES:
        return 0
    return max(1, int(sorted(recent)[-MOST_FAILURES] + WINDOW_SECONDS - now) + 1)
