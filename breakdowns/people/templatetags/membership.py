"""What non-members are told, on any stage's page: {% load membership %}{% how_to_join %}."""

from __future__ import annotations

from typing import Any

from django import template

from ..models import MemberSettings

register = template.Library()


@register.inclusion_tag("people/_how_to_join.html", takes_context=True)
def how_to_join(context: Any) -> dict[str, Any]:
    """The owner's words about what members get and how to become one."""
    return {"house": MemberSettings.now(), "user": context.get("user"), "request": context.get("request")}


@register.filter
def is_dict(value: object) -> bool:
    return isinstance(value, dict)


@register.filter
def is_list(value: object) -> bool:
    return isinstance(value, (list, tuple))
