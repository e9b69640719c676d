"""When two ways of writing are the same name, and how the parts of a motion's key are put together."""

from __future__ import annotations

import unicodedata

__all__ = ["fold", "motion_key", "split_motion"]

_SAME = str.maketrans(
    {"\u2019": "'", "\u2018": "'", "\u02bc": "'", "\u2010": "-", "\u2011": "-", "\u2013": "-"}
)


def fold(text: str) -> str:
    """The form in which names are compared: no capitals, plain apostrophes and hyphens, single spaces.

    Compatibility caseless matching of the Unicode Standard (section 3.13, D146), composed; folding twice is folding once.
    """
    if not text.isascii():
        twice = unicodedata.normalize("NFKD", unicodedata.normalize("NFD", text).casefold()).casefold()
        text = unicodedata.normalize("NFKC", twice).translate(_SAME)
    return " ".join(text.casefold().split())


def motion_key(joint: str, motion: str) -> str:
    """``hip``, ``flexion`` → ``hip: flexion``, the name by which a motion at a joint is looked up."""
    return f"{joint}: {motion}"


def split_motion(key: str) -> tuple[str, str]:
    """``hip: flexion`` → ``hip``, ``flexion``; a motion without a joint gives an empty joint."""
    joint, colon, motion = key.partition(": ")
    return (joint, motion) if colon else ("", key)
