"""SVG to pixels, for the video: the very drawing that the browser shows."""

from __future__ import annotations

import io

import resvg_py
from PIL import Image

__all__ = ["raster"]


def raster(svg: str, size: tuple[int, int]) -> Image.Image:
    """The drawing as an RGBA picture of ``size`` (width, height). Raises ValueError for what is no SVG."""
    png = resvg_py.svg_to_bytes(svg_string=svg, width=size[0], height=size[1], skip_system_fonts=True)
    picture = Image.open(io.BytesIO(bytes(png))).convert("RGBA")
    if picture.size != size:  # the shape is not the drawing's own: fit it exactly
        picture = picture.resize(size, Image.Resampling.LANCZOS)
    return picture
