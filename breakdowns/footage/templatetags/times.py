"""How exact times are written on a page."""

from fractions import Fraction
from typing import Any

from django import template

from breakdowns.footage.timebase import clock_label, decimal_text

register = template.Library()


@register.filter
def clock(seconds: Fraction | int | None, places: int = 1) -> str:
    """Minutes and seconds: ``83.25`` → ``1:23.3``."""
    return "" if seconds is None else clock_label(Fraction(seconds), int(places))


@register.filter
def seconds(value: Fraction | int | None, places: int = 1) -> str:
    """Rounded seconds with their unit: ``14.0 s``."""
    return "" if value is None else f"{decimal_text(Fraction(value), int(places))}\u00a0s"


@register.filter
def label_at(source: Any, frame: int) -> str:
    """The timecode of a frame on its source's clock."""
    return source.timecode_at(int(frame))
