"""How checks write numbers and build actions."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from breakdowns.footage.timebase import decimal_text, rational_text
from breakdowns.scripts.margin import Action, Argument
from breakdowns.scripts.tables import limit

__all__ = ["act", "down_to", "exact", "seconds_text", "tenth_down", "tenth_up", "up_to"]


def seconds_text(seconds: Fraction) -> str:
    """``"11.6 s"``: one decimal, as everywhere on the page."""
    return f"{decimal_text(seconds, 1)} s"


def exact(value: Fraction) -> str:
    """An exact number as it travels in a command."""
    return rational_text(value)


def up_to(value: Fraction, step: Fraction) -> Fraction:
    """The least multiple of ``step`` that is not below ``value``."""
    return ceil(value / step) * step


def down_to(value: Fraction, step: Fraction) -> Fraction:
    """The greatest multiple of ``step`` that is not above ``value``."""
    return floor(value / step) * step


def tenth_up(seconds: Fraction) -> Fraction:
    """Up to the step of times that are offered, so that what the label says is exactly what is done."""
    return up_to(seconds, limit("hold_step"))


def tenth_down(seconds: Fraction) -> Fraction:
    """Down to the step of times that are offered."""
    return down_to(seconds, limit("hold_step"))


def act(label: str, command: str, *, key: str = "", **arguments: Argument) -> Action:
    """An action with its arguments by name."""
    return Action(label, command, tuple(arguments.items()), key)
