"""Pictures that members attach: made anew from their pixels, so that nothing else of the file is kept.

What is not plainly one picture is refused with one sentence (OWASP File Upload Cheat Sheet: limit size, check
the content rather than its name, rewrite images).
"""

from __future__ import annotations

import io
import warnings
import zipfile
from dataclasses import dataclass

from PIL import Image, ImageOps, UnidentifiedImageError

from breakdowns.questions.choices import choice

__all__ = ["Picture", "PictureRefused", "remade"]

FORMATS = ("JPEG", "PNG", "WEBP")
_SCRIPTS = (b"<script", b"<?php", b"<html", b"<svg", b"<!doctype")


class PictureRefused(ValueError):
    """Why a file is not taken: one sentence with the mend."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A JPEG without metadata; sizes in pixels."""

    data: bytes
    width: int
    height: int


def _is_something_else_too(data: bytes) -> bool:
    """Whether other programs would read the file as an archive, a document or a script."""
    if zipfile.is_zipfile(io.BytesIO(data)) or b"%PDF-" in data[:1024]:
        return True
    low = data.lower()
    return any(mark in low for mark in _SCRIPTS)


def _opened(data: bytes, name: str) -> Image.Image:
    try:
        image = Image.open(io.BytesIO(data), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_large(name) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, MemoryError, OverflowError):
        raise PictureRefused(
            f"“{name}” can't be read as a picture; save it as JPEG, PNG or WebP and attach it again."
        ) from None
    width, height = image.size
    if width * height > choice("most_pixels"):
        raise _too_large(name)
    return image


def _too_large(name: str) -> PictureRefused:
    most = choice("most_pixels") // 1_000_000
    return PictureRefused(
        f"“{name}” has more than {most} million pixels; make it smaller and attach it again."
    )


def remade(data: bytes, name: str) -> Picture:
    """One picture out of a file's bytes: upright, at most ``picture_side`` pixels, no metadata.

    Raises PictureRefused for files that are too large, unreadable, or something else besides.
    """
    name = name[-80:].replace("\n", " ")
    if len(data) > choice("most_picture_bytes"):
        most = choice("most_picture_bytes") // 1_000_000
        raise PictureRefused(f"“{name}” is larger than {most} MB; make it smaller and attach it again.")
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        image = _opened(data, name)
        if _is_something_else_too(data):
            raise PictureRefused(
                f"“{name}” is a picture and something else in one file; take a screenshot of it and attach that."
            )
        side = choice("picture_side")
        try:
            if image.format == "JPEG":
                image.draft("RGB", (side, side))
            plain = _flat(ImageOps.exif_transpose(image))
        except (Image.DecompressionBombError, Image.DecompressionBombWarning):
            raise _too_large(name) from None
        except (OSError, ValueError, SyntaxError, MemoryError, OverflowError, EOFError, KeyError, TypeError):
            raise PictureRefused(
                f"“{name}” is damaged; open it, save it as JPEG and attach it again."
            ) from None
    plain.thumbnail((side, side), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=85, optimize=True)
    return Picture(out.getvalue(), *plain.size)


def _flat(image: Image.Image) -> Image.Image:
    """The pixels alone, on white where the picture is see-through."""
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        seen = image.convert("RGBA")
        ground = Image.new("RGB", seen.size, "white")
        ground.paste(seen, mask=seen.getchannel("A"))
        return ground
    return Image.frombytes("RGB", image.size, image.convert("RGB").tobytes())
