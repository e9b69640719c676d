"""Where the pages of entries are."""

from __future__ import annotations

from django import template
from django.urls import reverse

from anatomy.vocabulary.collection import Vocabulary
from breakdowns.glossary.addresses import slug_of
from breakdowns.glossary.forms import STYLE_CHOICES

register = template.Library()


@register.simple_tag
def entry_url(vocabulary: Vocabulary, kind: str, name: str) -> str:
    """The address of an entry's page; "" for what the vocabulary does not have."""
    if not vocabulary.has(kind, name):
        return ""
    return reverse("glossary:entry", args=[kind, slug_of(vocabulary, kind, name)])


@register.filter
def sort_label(style: str) -> str:
    """What sort of word a term is, as the form says it."""
    return dict(STYLE_CHOICES).get(style, style)


@register.filter
def head(table: object, place: int) -> str:
    """The head of a table's column, counted from 0."""
    return table.heads[place]  # type: ignore[attr-defined, no-any-return]
