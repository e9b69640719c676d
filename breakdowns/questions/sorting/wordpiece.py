"""Cutting a text into the pieces of a published vocabulary, greedily, the longest piece first.

WordPiece as published with BERT (Devlin, Chang, Lee and Toutanova, NAACL 2019): lower case, accents taken off, signs of
punctuation and ideographs alone, and each word cut from its front into the longest pieces that the vocabulary has.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping

__all__ = ["pieces"]

BEGIN, END, UNKNOWN, INSIDE = "[CLS]", "[SEP]", "[UNK]", "##"
LONGEST_WORD = 100
_IDEOGRAPHS = ((0x4E00, 0x9FFF), (0x3400, 0x4DBF), (0x20000, 0x2A6DF), (0x2A700, 0x2B73F), (0x2B740, 0x2B81F),
               (0x2B820, 0x2CEAF), (0xF900, 0xFAFF), (0x2F800, 0x2FA1F))  # fmt: skip
_ASCII_SIGNS = frozenset("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~")


def pieces(text: str, place: Mapping[str, int], most: int) -> list[int]:
    """Places in the vocabulary of at most ``most`` pieces of ``text``, the marks of begin and end among them."""
    found = [place[BEGIN]]
    for word in _words(text):
        found += _cut(word, place)
        if len(found) >= most:
            break
    return [*found[: most - 1], place[END]]


def _words(text: str) -> Iterator[str]:
    said: list[str] = []
    for sign in _plain(text):
        alone = _stands_alone(sign)
        if (alone or sign.isspace()) and said:
            yield "".join(said)
            said = []
        if alone:
            yield sign
        elif not sign.isspace():
            said.append(sign)
    if said:
        yield "".join(said)


def _plain(text: str) -> str:
    """Control signs out, lower case, accents off."""
    kept = "".join(
        " " if sign in "\t\n\r" else sign
        for sign in text
        if sign in "\t\n\r" or not (sign in "\x00\ufffd" or unicodedata.category(sign).startswith("C"))
    )
    apart = unicodedata.normalize("NFD", kept)
    return "".join(sign for sign in apart if unicodedata.category(sign) != "Mn").lower()


def _stands_alone(sign: str) -> bool:
    if sign in _ASCII_SIGNS or unicodedata.category(sign).startswith("P"):
        return True
    return any(first <= ord(sign) <= last for first, last in _IDEOGRAPHS)


def _cut(word: str, place: Mapping[str, int]) -> list[int]:
    if len(word) > LONGEST_WORD:
        return [place[UNKNOWN]]
    found: list[int] = []
    start = 0
    while start < len(word):
        inside = INSIDE if start else ""
        for end in range(len(word), start, -1):
            at = place.get(inside + word[start:end])
            if at is not None:
                break
        else:
            return [place[UNKNOWN]]
        found.append(at)
        start = end
    return found
