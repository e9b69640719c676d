"""Numbered test clips: every frame carries its own number, readable by eye and from pixels.

Along the bottom run two rows of twelve black or white cells::

    upper row   white black | number bits 15 … 8 | check bits 3 2
    lower row   black white | number bits  7 … 0 | check bits 1 0

The two marker cells at the left of each row give the levels of white and black, so that a change of
grade, a scaling (also an uneven one) and H.264 compression do no harm. Four check bits refuse a frame
that is not readable instead of guessing. Above the code stand large seven-bar digits for people.

    >>> write_numbered_clip(path, rate=Fraction(30000, 1001), frame_count=60, ffmpeg="ffmpeg")
    >>> read_frame_number(frame)          # uint8 array (height, width, 3)
    17
"""

from __future__ import annotations

import subprocess
from fractions import Fraction
from pathlib import Path

import numpy as np

__all__ = ["NumberNotReadable", "numbered_frame", "read_frame_number", "write_numbered_clip"]

HIGHEST = 2**16 - 1
_COLUMNS = 12
_BAND = 5  # the code takes the lowest 1/5 of the height, a tenth for each row
_PAPER, _INK = 176, 24
# Bars of a digit: top, upper right, lower right, bottom, lower left, upper left, middle.
_BARS = {
    "0": "1111110", "1": "0110000", "2": "1101101", "3": "1111001", "4": "0110011",
    "5": "1011011", "6": "1011111", "7": "1110000", "8": "1111111", "9": "1111011",
}  # fmt: skip


class NumberNotReadable(ValueError):
    """The picture holds no frame number that can be trusted."""


def _check_bits(number: int) -> int:
    """Four check bits: the number's hexadecimal digits, weighted 1 3 5 7, summed, plus 5, modulo 16."""
    digits = [number >> shift & 15 for shift in (0, 4, 8, 12)]
    return (sum(weight * digit for weight, digit in zip((1, 3, 5, 7), digits, strict=True)) + 5) % 16


def _cells(number: int) -> np.ndarray:
    """(2, 12) cells, True is white: markers, then eight number bits and two check bits in each row."""
    check = _check_bits(number)
    bits = [bool(number >> place & 1) for place in range(15, -1, -1)]
    checks = [bool(check >> place & 1) for place in range(3, -1, -1)]
    upper = [True, False, *bits[:8], *checks[:2]]
    lower = [False, True, *bits[8:], *checks[2:]]
    return np.array([upper, lower])


def _rows(height: int) -> tuple[int, int, int]:
    """Pixel rows where the upper row begins, where the lower begins, and where the picture ends."""
    return height - 2 * (height // (2 * _BAND)), height - height // (2 * _BAND), height


def _draw_digit(canvas: np.ndarray, digit: str, left: int, top: int, width: int, height: int) -> None:
    thick = max(1, width // 5)
    middle = top + height // 2
    bars = [
        (top, top + thick, left, left + width),
        (top, middle, left + width - thick, left + width),
        (middle, top + height, left + width - thick, left + width),
        (top + height - thick, top + height, left, left + width),
        (middle, top + height, left, left + thick),
        (top, middle, left, left + thick),
        (middle - thick // 2, middle - thick // 2 + thick, left, left + width),
    ]
    for on, (y0, y1, x0, x1) in zip(_BARS[digit], bars, strict=True):
        if on == "1":
            canvas[y0:y1, x0:x1] = _INK


def numbered_frame(number: int, size: tuple[int, int]) -> np.ndarray:
    """One picture, uint8 (height, width, 3), with ``number`` (0 to 65535) in digits and cells.

    Raises ValueError for a number out of range or a picture too small to carry the cells.
    """
    width, height = size
    if not 0 <= number <= HIGHEST:
        raise ValueError(f"Frame number {number} can't be drawn: it must lie between 0 and {HIGHEST}.")
    if width < 96 or height < 54:
        raise ValueError(f"A numbered picture needs at least 96x54 pixels, not {width}x{height}.")
    grey = np.full((height, width), _PAPER, np.uint8)
    text = f"{number:05d}"
    digit_width, digit_height = width // 9, height * 2 // 5
    for place, digit in enumerate(text):
        _draw_digit(grey, digit, width // 9 + place * width * 3 // 20, height // 5, digit_width, digit_height)
    first, second, end = _rows(height)
    edges = [round(column * width / _COLUMNS) for column in range(_COLUMNS + 1)]
    for row, (y0, y1) in zip(_cells(number), ((first, second), (second, end)), strict=True):
        for column, white in enumerate(row):
            grey[y0:y1, edges[column] : edges[column + 1]] = 235 if white else 16
    return np.repeat(grey[:, :, None], 3, axis=2)


def read_frame_number(rgb: np.ndarray) -> int:
    """The number in a picture: ``rgb`` is uint8 (height, width, 3), or grey (height, width), any size.

    Raises NumberNotReadable when markers or check bits do not agree (another picture, a blend of two
    frames, a crop).
    """
    grey = rgb.mean(axis=2) if rgb.ndim == 3 else rgb.astype(float)
    height, width = grey.shape
    row_height, cell_width = height / (2 * _BAND), width / _COLUMNS
    levels = np.empty((2, _COLUMNS))
    for row in range(2):
        y = height - (2 - row) * row_height
        for column in range(_COLUMNS):
            x = column * cell_width
            window = grey[
                round(y + 0.3 * row_height) : max(
                    round(y + 0.7 * row_height), round(y + 0.3 * row_height) + 1
                ),
                round(x + 0.3 * cell_width) : max(
                    round(x + 0.7 * cell_width), round(x + 0.3 * cell_width) + 1
                ),
            ]
            levels[row, column] = window.mean()
    white, black = (levels[0, 0] + levels[1, 1]) / 2, (levels[0, 1] + levels[1, 0]) / 2
    relative = (levels - black) / max(white - black, 1e-9)
    if white - black < 40 or np.any(np.abs(relative - 0.5) < 0.2):
        raise NumberNotReadable("No frame number can be read: the cells along the bottom are not clear.")
    cells = relative > 0.5
    number = int("".join("1" if bit else "0" for bit in [*cells[0, 2:10], *cells[1, 2:10]]), 2)
    if not np.array_equal(cells, _cells(number)):
        raise NumberNotReadable(f"The check bits of frame number {number} do not agree.")
    return number


def write_numbered_clip(
    path: Path,
    *,
    rate: Fraction,
    frame_count: int,
    size: tuple[int, int] = (320, 180),
    ffmpeg: str = "ffmpeg",
    audio: bool = False,
    first: int = 0,
) -> Path:
    """Write an H.264 clip whose frame ``n`` carries the number ``first + n``; answer its path.

    ``rate`` is exact (frames a second), ``size`` is (width, height), both even. With ``audio`` a quiet
    440 Hz tone of the same length is added (AAC, 48 kHz, stereo). The container follows the suffix
    (.mp4, .mov, .mkv …). Raises ValueError for sizes or counts that cannot be, RuntimeError with the
    encoder's own words when it fails; then no file is left.
    """
    path, rate = Path(path), Fraction(rate)
    width, height = size
    if width % 2 or height % 2:
        raise ValueError(f"Width and height must be even, not {width}x{height}.")
    if frame_count < 1 or rate <= 0:
        raise ValueError(
            f"A clip needs at least one frame and a rate above zero, not {frame_count} at {rate}."
        )
    part = path.with_name(f".{path.stem}.part{path.suffix}")
    picture = ["-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{width}x{height}"]
    picture += ["-r", f"{rate.numerator}/{rate.denominator}", "-i", "pipe:0"]
    tone = f"sine=frequency=440:sample_rate=48000:duration={float(frame_count / rate):.6f}"
    sound_in = ["-f", "lavfi", "-i", tone] if audio else []
    sound_out = ["-c:a", "aac", "-ac", "2", "-b:a", "96k"] if audio else ["-an"]
    command = [ffmpeg, "-v", "error", "-y", *picture, *sound_in]
    command += [
        "-c:v",
        "libx264",
        "-preset",
        "ultrafast",
        "-crf",
        "18",
        "-pix_fmt",
        "yuv420p",
        *sound_out,
        str(part),
    ]
    try:
        _pipe(command, (numbered_frame(first + n, size) for n in range(frame_count)))
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return path


def _pipe(command: list[str], frames) -> None:
    with subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE) as encoder:
        try:
            for frame in frames:
                encoder.stdin.write(frame.tobytes())
        except BrokenPipeError:
            pass
        _, words = encoder.communicate()
    if encoder.returncode:
        raise RuntimeError(
            f"The numbered clip could not be written: {words.decode(errors='replace').strip()}"
        )
