"""What has to be known of a picture to draw and measure on it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["PictureFacts"]


@dataclass(frozen=True)
class PictureFacts:
    """``size`` in source pixels, upright; ``pixel_aspect`` is the width of a pixel over its height."""

    size: tuple[int, int]
    pixel_aspect: float = 1.0

    @property
    def stretch(self) -> tuple[float, float]:
        """By how much x and y grow to make pixels square; nothing is ever made smaller."""
        return (self.pixel_aspect, 1.0) if self.pixel_aspect >= 1 else (1.0, 1 / self.pixel_aspect)

    @property
    def display_size(self) -> tuple[int, int]:
        """Width and height with square pixels, as its frames are shown."""
        across, down = self.stretch
        return round(self.size[0] * across), round(self.size[1] * down)
