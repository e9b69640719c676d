"""The few pieces of SVG that drawings are made of."""

from __future__ import annotations

from collections.abc import Sequence

from .pen import CASING

__all__ = ["line_svg", "number", "path_data"]

Point = tuple[float, float]


def number(value: float) -> str:
    """A number for SVG, to a hundredth of a pixel."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_data(chain: Sequence[Point], closed: bool = False) -> str:
    """Straight lines along a chain of points; a closed one may end at its first point or not."""
    points = chain[:-1] if closed and len(chain) > 1 and chain[0] == chain[-1] else chain
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")


def line_svg(
    chain: Sequence[Point],
    colour: str,
    width: float,
    case: float,
    *,
    dashes: Sequence[float] = (),
    closed: bool = False,
) -> str:
    """A coloured core of ``width`` on a casing that is ``case`` wider on each side; ``dashes`` in widths."""
    path = path_data(chain, closed)
    shape = f'd="{path}" fill="none" stroke-linejoin="round"'
    dashed = f' stroke-dasharray="{" ".join(number(part * width) for part in dashes)}"' if dashes else ""
    cap = "butt" if dashes else "round"
    return (
        f'<path {shape} stroke="{CASING}" stroke-width="{number(width + 2 * case)}" stroke-linecap="round"/>'
        f'<path {shape} stroke="{colour}" stroke-width="{number(width)}" stroke-linecap="{cap}"{dashed}/>'
    )
