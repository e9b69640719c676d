"""What the checker finds: a statement with its place in the text, a verdict, and what to say instead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "muscle_action", "plane", "rom", "side", "level", "chain", "contraction", "innervation", "order"
]
Verdict = Literal["right", "wrong", "depends", "unknown"]


@dataclass(frozen=True, slots=True)
class Claim:
    """One anatomical statement, ``text[start:end]`` of what was checked.

    ``why`` is one sentence; ``instead`` the words to say (wrong only). Where the smallest change that mends it is
    known, ``replacement`` stands for ``text[replace_start:replace_end]``. ``terms`` are the (kind, name) pairs of the
    vocabulary's entries that it is about; ``sources`` are citation keys. ``estimate``: the measured angles of the picture
    where the verdict is a model's estimate for that posture, else empty.
    """

    start: int
    end: int
    text: str
    kind: Kind
    verdict: Verdict
    why: str
    instead: str = ""
    sources: tuple[str, ...] = ()
    terms: tuple[tuple[str, str], ...] = ()
    replace_start: int = -1
    replace_end: int = -1
    replacement: str = ""
    estimate: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """A judgement without its place: what a judge says of a reading. ``estimate`` as in a Claim."""

    verdict: Verdict
    why: str
    instead: str = ""
    sources: tuple[str, ...] = ()
    terms: tuple[tuple[str, str], ...] = ()
    estimate: str = ""
