"""How a name sounds when dictation has torn it: "glue tius" and "gluteus" have the same consonants in order.

A key of sounds in the manner of Russell's Soundex (1918), with English spellings of Latin names in mind: vowels count only at
the start, doubled consonants once, and letters that sound alike are one.
"""

from __future__ import annotations

import re
from functools import lru_cache

__all__ = ["sound_of"]

_ALIKE = (("ph", "f"), ("rh", "r"), ("gh", "g"), ("th", "t"), ("ch", "k"), ("ck", "k"), ("qu", "k"), ("ps", "s"), ("sch", "sk"),
          ("x", "ks"), ("ce", "se"), ("ci", "si"), ("cy", "si"), ("c", "k"), ("q", "k"), ("z", "s"))  # fmt: skip
_VOWELS = re.compile(r"(?<=.)[aeiouyhw]+")
_TWICE = re.compile(r"(.)\1+")


@lru_cache(maxsize=20_000)
def sound_of(word: str) -> str:
    """The consonants of a word as they sound: ``gltms`` for "gluteus maximus" written as one."""
    for spelt, said in _ALIKE:
        word = word.replace(spelt, said)
    return _TWICE.sub(r"\1", _VOWELS.sub("", word))
