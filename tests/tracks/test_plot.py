"""The plot as one SVG for the browser and the rasteriser."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree

import numpy as np
import pytest

from breakdowns.stills.raster import raster
from breakdowns.tracks.plot import Curve, Plot, plot_svg, residual_plot, speed_plot
from breakdowns.tracks.reckoning import Reckoned, TrackFacts
from tests.anatomy.motion.made import turn

ALLOWED = {"svg", "path", "circle", "g", "title"}


def done(skip: tuple[int, ...] = ()) -> Reckoned:
    points = {}
    for n in range(60):
        row = {}
        for part, middle in (("hip", 0.5), ("shoulder", 0.6)):
            angle = np.radians(turn(np.array([n / 50]), middle, 0.4, 90)[0])
            for side, sign in (("left", -1), ("right", 1)):
                row[f"{side}_{part}"] = [
                    300 + sign * 80 * np.cos(angle),
                    200 - sign * 80 * np.sin(angle),
                    "placed",
                ]
        if n not in skip:
            points[str(n)] = row
    return Reckoned(TrackFacts(Fraction(50), (640, 480), 1.0, points))


def elements(svg: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(svg).iter())


def test_only_shapes_that_browser_and_rasteriser_share() -> None:
    for svg in (
        plot_svg(speed_plot(done()), (640, 280), 0.5),
        plot_svg(residual_plot("pelvis", done().residuals["pelvis"]), (300, 240)),
    ):
        assert {one.tag.rpartition("}")[2] for one in elements(svg)} <= ALLOWED
        assert not {name for one in elements(svg) for name in one.attrib} & {"style", "class", "href"}
        assert "nan" not in svg


def test_each_curve_has_dashes_of_its_own() -> None:
    across = np.linspace(0, 1, 9)
    curves = tuple(Curve(f"c{tone}", tone, across, across * tone) for tone in range(4))
    svg = plot_svg(Plot("t", "°", "s", curves), (640, 280))
    dashes = [re.findall(r'stroke-dasharray="([^"]+)"', part) for part in re.findall(r"<g>.*?</g>", svg)]
    assert len({tuple(one) for one in dashes}) == 4


def test_a_gap_parts_the_line_and_the_band() -> None:
    line = re.compile(r'<g><title>pelvis</title><path d="([^"]*)".*?<path d="([^"]*)"')
    whole, parted = (line.search(plot_svg(speed_plot(done(skip)), (640, 280))) for skip in ((), (20, 21, 22)))
    assert whole
    assert parted
    assert [part.count("M") for part in whole.groups()] == [1, 1]
    assert [part.count("M") for part in parted.groups()] == [2, 2]


def test_the_cursor_runs_and_the_curve_grows() -> None:
    size, plot = (640, 280), speed_plot(done())
    bare, at, until = plot_svg(plot, size), plot_svg(plot, size, 0.4), plot_svg(plot, size, 0.4, 0.4)
    assert len({bare, at, until}) == 3
    assert plot_svg(plot, size, 99.0) == bare
    pictures = [np.asarray(raster(svg, size), int) for svg in (bare, at, until)]
    columns = np.flatnonzero(np.abs(pictures[0] - pictures[1]).sum(axis=(0, 2)))
    assert len(columns) < 30
    assert columns.min() > 150
    # What is left out lies right of the cursor, and nothing moved at its left.
    left = np.abs(pictures[1] - pictures[2]).sum(axis=2)[:, : columns.min() - 2]
    assert left.sum() == 0


def test_the_raster_has_all_curves_and_a_ground() -> None:
    svg = plot_svg(speed_plot(done()), (640, 280), backing=0.8)
    picture = np.asarray(raster(svg, (640, 280)))
    assert picture[3, 320, 3] == pytest.approx(204, abs=2)
    for colour in ((255, 217, 122), (255, 255, 255)):
        assert (np.abs(picture[..., :3].astype(int) - colour).sum(axis=2) < 12).sum() > 50


@pytest.mark.parametrize("size", [(120, 80), (380, 300), (1920, 400)])
def test_any_size_and_nothing_at_all(size: tuple[int, int]) -> None:
    for plot in (
        speed_plot(done()),
        Plot("nothing", "°/s", "s", ()),
        Plot("one", "°", "s", (Curve("a", 0, np.zeros(1), np.zeros(1)),)),
    ):
        assert "nan" not in plot_svg(plot, size, 0.5)
