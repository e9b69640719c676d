"""What has to be known of a source's file before it can be cut from, read off its first frame."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

import ffmpeg

from breakdowns.footage.media.guard import opened

from .faults import RenderFailed
from .piece import PieceSource
from .runs import Runs

__all__ = ["SourceFacts", "read_source"]

_CONFIG = re.compile(r"^\[Parsed_showinfo_\d+ @ \w+\] config in time_base: (\d+)/(\d+)")
_FRAME = re.compile(r"^\[Parsed_showinfo_\d+ @ \w+\] n: *0 pts: *(-?\d+|NOPTS) .*? i:(\w) ")
_COLOUR = re.compile(r"^\[Parsed_showinfo_\d+ @ \w+\]\s+color_range:(\S+) color_space:(\S+)")
_INPUT = re.compile(r"^Input #0, (\S+), from ")
# Names of ffmpeg for the matrices of ITU-R BT.601, BT.709 and BT.2020, by what its scaler calls them.
_MATRICES = {
    "smpte170m": "bt601", "bt470bg": "bt601", "fcc": "bt601", "bt709": "bt709",
    "bt2020nc": "bt2020", "bt2020c": "bt2020", "smpte240m": "smpte240m",
}  # fmt: skip
_HIGH_DEFINITION_LINES = 720


@dataclass
class SourceFacts:
    """``start``: when frame 0 is shown, seconds of the file's own clock. ``matrix``: how its colours are
    coded, by the scaler's name. Frames of an AVI have no times of their own and must be counted."""

    container: str = ""
    start: Fraction | None = None
    matrix: str = ""
    full_range: bool = False
    is_interlaced: bool = False
    _tick: Fraction = field(default=Fraction(1), repr=False)

    @property
    def must_count(self) -> bool:
        return self.container == "avi"

    def take(self, line: str) -> bool:
        """Learn from one line of ffmpeg's; True when it told something."""
        if found := _INPUT.match(line):
            self.container = found[1]
        elif found := _CONFIG.match(line):
            self._tick = Fraction(int(found[1]), int(found[2]))
        elif found := _FRAME.match(line):
            self.start = Fraction(0) if found[1] == "NOPTS" else int(found[1]) * self._tick
            self.is_interlaced = found[2] in "TB"
        elif (found := _COLOUR.match(line)) and not self.matrix:
            self.full_range = found[1] == "pc"
            self.matrix = _MATRICES.get(found[2], "unknown")
        return bool(found)


def read_source(source: PieceSource, runs: Runs) -> SourceFacts:
    """Decode the first frame and say what it tells. Raises RenderFailed, RenderStopped.

    Where the file does not name its matrix, BT.709 is taken from 720 lines up and BT.601 below: common
    practice, no source.
    """
    facts = SourceFacts()
    node = opened(source.path, copyts=None)["V:0"].filter("showinfo", checksum=0)
    arguments = ffmpeg.get_args(node.output("-", format="null", fps_mode="passthrough", **{"frames:v": 1}))
    runs.ffmpeg(arguments, what=f"The footage “{source.title}”", on_line=facts.take)
    if facts.start is None:
        raise RenderFailed(f"No picture of “{source.title}” can be read; add the footage again.")
    if source.start is not None:
        facts.start = source.start
    if facts.matrix in ("", "unknown"):
        facts.matrix = "bt709" if min(source.width, source.height) >= _HIGH_DEFINITION_LINES else "bt601"
    return facts
