"""Text as people type it, made fit to be stored."""

from __future__ import annotations

import re

__all__ = ["clean_words"]


def clean_words(text: str) -> str:
    """One kind of line end and no characters that can't be stored; otherwise as typed."""
    return re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "", text.replace("\r\n", "\n").replace("\r", "\n"))
