"""The shape of a sentence: one letter for each item, so that grammar can be written as regular expressions.

A position in a shape is the number of an item. Which letter an item gets is settled by the first of an alphabet's rules
that fits it: rules on the very word come before rules on its classes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from anatomy.claims.items import Item

OTHER = "x"
COMMON: tuple[tuple[str, str], ...] = (
    ("NEG", "n"),
    ("COMMA", ","),
    ("COLON", ":"),
    ("DASH", ":"),
    ("OPEN", "("),
    ("CLOSE", ")"),
    ("AUX", "b"),
    ("COP", "b"),
    ("DET", "d"),
    ("AND", "&"),
    ("OR", "&"),
    ("REL", "r"),
    ("BUT", "B"),
    ("PERSON", "h"),
    ("IT", "i"),
    ("PREP", "p"),
    ("BY", "p"),
    ("WITH", "p"),
    ("SUB", "s"),
    ("MODAL", "m"),
    ("DO", "m"),
    ("ADV", "a"),
    ("ADJ", "a"),
    ("QUOTE", "a"),
)
"""Letters of the little words; every alphabet may put its own rules before them."""


class Alphabet:
    """Rules that give each item its letter: ``words`` by its text, ``classes`` in order of precedence."""

    def __init__(self, words: Mapping[str, str], classes: Sequence[tuple[str, str]]) -> None:
        self.words = dict(words)
        self.classes = (*classes, *COMMON)

    def shape(self, items: Sequence[Item]) -> str:
        """The letters of ``items`` in order."""
        return "".join(self._letters(items))

    def _letters(self, items: Sequence[Item]) -> Iterator[str]:
        words, classes = self.words, self.classes
        for item in items:
            letter = words.get(item.text)
            if letter is None:
                held = item.c
                letter = OTHER
                if held:
                    for name, given in classes:
                        if name in held:
                            letter = given
                            break
            yield letter


def several(unit: str, between: str = "[,&]+") -> str:
    """A pattern for one or more of ``unit``, joined as in a list."""
    return f"{unit}(?:{between}{unit})*"
