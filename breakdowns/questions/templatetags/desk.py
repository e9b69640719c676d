"""How the desk writes times."""

from __future__ import annotations

from django import template

register = template.Library()


@register.filter
def clock(seconds: int) -> str:
    """``820`` → ``13:40``; what is over has a minus before it."""
    minutes, rest = divmod(abs(int(seconds)), 60)
    return f"{'−' if seconds < 0 else ''}{minutes}:{rest:02d}"


@register.filter
def upto_comma(text: str) -> str:
    """The largest unit alone: ``2 weeks, 3 days`` → ``2 weeks``."""
    return text.split(",")[0]
