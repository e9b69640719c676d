"""When an excerpt's own sound is heard."""

from __future__ import annotations

from .piece import ExcerptPicture
from .tables import exact

__all__ = ["can_sound"]


def can_sound(picture: ExcerptPicture) -> bool:
    """Whether an excerpt's own sound is wanted and can be heard: slowed below half speed, or more than
    doubled, it is silent."""
    slow, fast = exact("sound", "slowest_with_sound"), exact("sound", "fastest_with_sound")
    return picture.original_sound and picture.source.has_audio and slow <= picture.speed <= fast
