"""The private address of a person's feed. The stage that writes the feed says in its ``AppConfig.ready`` where it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from ..post.services import site_address
from .models import FeedAddress

if TYPE_CHECKING:
    from ..models import User

_feeds: list[Callable[[str], str]] = []


def feed_is_at(path: Callable[[str], str]) -> None:
    """Register how the path of a feed is made of a token, e.g. ``lambda token: reverse("…:feed", args=[token])``.

    What is registered last counts. Without it nobody is offered an address.
    """
    _feeds[:] = [path]


def has_feed() -> bool:
    return bool(_feeds)


def feed_make(user: User) -> str:
    """A fresh whole address, shown once; those made before stop working. Raises LookupError without a feed."""
    if not _feeds:
        raise LookupError("No stage has said where the feed is.")
    return site_address(_feeds[0](FeedAddress.make(user)))
