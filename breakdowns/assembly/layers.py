"""The pictures that lie over footage, made as files for one segment: marks, a curve with its cursor, labels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

from PIL import Image

from .cache import Workshop, link
from .curve_layer import box_of, curve_picture, curve_with_cursor
from .framing import Size
from .halves import credits_picture
from .marks_coming import reveal_at
from .marks_layer import MarksLayer, marks_picture, marks_svg
from .picture_filters import Layers, Look
from .piece import ExcerptPicture, FootagePicture, PlacedBeat, frame_shown_at
from .plates import scratch_mark

__all__ = ["LayerMaker"]

Shown = TypeVar("Shown")


@dataclass(frozen=True)
class LayerMaker:
    """Makes the files of one beat's layers in the work folder; ``number`` keeps their names apart."""

    shop: Workshop
    number: int
    placed: PlacedBeat
    rate: Fraction
    output: Size

    def layers(self, picture: FootagePicture, *, is_scratch: bool) -> Layers:
        """What lies over all of the picture."""
        curve = picture.curve if isinstance(picture, ExcerptPicture) else None
        made = Layers(mark=self._labels(picture, is_scratch=is_scratch))
        if curve is None:
            return made
        return replace(made, curve=self._curve(picture), curve_at=box_of(curve.place, self.output)[:2])

    def with_marks(
        self, marks: MarksLayer | None, look: Look, name: str, stands_from: int, marked_from: int
    ) -> Look:
        """The look with a still's marks over whatever lies over the footage already.

        The view stands from output frame ``stands_from`` on; its marks are not seen before ``marked_from``.
        """
        total, late = self.placed.record.frame_count, marked_from - stands_from
        if marks is None or stands_from >= total or marked_from >= total:
            return look
        if marks.starts or late > 0:
            return replace(look, coming=self._coming(marks, look, name, total - stands_from, max(0, late)))
        drawn = _drawn(marks, look)
        if look.overlay:
            with Image.open(look.overlay, formats=("PNG",)) as below:
                drawn = Image.alpha_composite(below.convert("RGBA"), drawn)
        png = self.shop.new(f"{name}.png")
        drawn.save(png, compress_level=1)
        return replace(look, overlay=png)

    def _coming(self, marks: MarksLayer, look: Look, name: str, standing: int, late: int) -> Path:
        """One picture for each output frame until every mark is whole, drawn only where something has changed."""
        bare = Image.new("RGBA", look.output)

        def drawn(parts: tuple[Fraction, ...] | None) -> Image.Image:
            return bare if parts is None else _drawn(marks, look, parts)

        def parts_at(frame: int) -> tuple[Fraction, ...] | None:
            if frame < late:
                return None
            return reveal_at(marks.starts, frame - late, self.rate)

        return self._sequence(
            name, standing, parts_at, drawn, lambda parts: parts is not None and min(parts, default=1) == 1
        )

    def _curve(self, picture: FootagePicture) -> Path:
        """The curve with its cursor on each output frame; drawn anew only where another source frame comes on."""
        assert isinstance(picture, ExcerptPicture)
        layer, placed = picture.curve, self.placed
        assert layer is not None
        bare = curve_picture(layer, self.output)
        moving = placed.moving_beside if layer.follows_beside else placed.moving_frames

        def shown_at(frame: int) -> int:
            shown = frame_shown_at(placed, frame, self.rate, beside=layer.follows_beside)
            assert shown is not None
            return shown

        def drawn(source_frame: int) -> Image.Image:
            return curve_with_cursor(bare, layer, self.output, source_frame)

        # The frame after the movement is the last that can be another one: from there on all stands.
        count = min(placed.record.frame_count, moving + 1)
        return self._sequence(f"curve{self.number}", count, shown_at, drawn, lambda shown: False)

    def _sequence(
        self,
        name: str,
        count: int,
        shown_at: Callable[[int], Shown],
        drawn: Callable[[Shown], Image.Image],
        is_last: Callable[[Shown], bool],
    ) -> Path:
        """A folder of pictures 000000.png and on, one for each frame; equal ones are one file."""
        folder = self.shop.new(name)
        folder.mkdir()
        before: Shown | None = None
        kept: Path | None = None
        for frame in range(count):
            shown, png = shown_at(frame), folder / f"{frame:06d}.png"
            if kept is not None and shown == before:
                link(kept, png)
                continue
            drawn(shown).save(png, compress_level=1)
            before, kept = shown, png
            if is_last(shown):
                break
        return folder

    def _labels(self, picture: FootagePicture, *, is_scratch: bool) -> Path | None:
        """The credits of two views and the mark of a synthetic voice, as one picture."""
        labels = credits_picture(picture, self.output) if picture.beside else None
        if is_scratch:
            mark = scratch_mark(self.output)
            labels = mark if labels is None else Image.alpha_composite(labels, mark)
        if labels is None:
            return None
        png = self.shop.new(f"mark{self.number}.png")
        labels.save(png, compress_level=1)
        return png


def _drawn(marks: MarksLayer, look: Look, parts: tuple[Fraction, ...] = ()) -> Image.Image:
    svg = marks_svg(marks, look.framing, mirrored=look.mirrored, parts=parts)
    return marks_picture(svg, look.framing, look.output)
