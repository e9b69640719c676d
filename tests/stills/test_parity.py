"""The browser's picture and the video's are the same: structural similarity over ten stills with all kinds of marks."""

from __future__ import annotations

import base64
import io

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import gaussian_filter

from breakdowns.stills.drawing import draw
from breakdowns.stills.measures import measures_of
from breakdowns.stills.picture import PictureFacts
from breakdowns.stills.raster import raster
from tests.stills.marks_examples import SIZE, backdrops, documents

FACTS = PictureFacts(SIZE)


def similarity(one: Image.Image, other: Image.Image) -> float:
    """Mean SSIM of two pictures in grey: Wang, Bovik, Sheikh and Simoncelli (2004), Gaussian window of 1.5 pixels."""
    x, y = (np.asarray(picture.convert("L"), float) for picture in (one, other))
    c1, c2 = (0.01 * 255) ** 2, (0.03 * 255) ** 2

    def blurred(a: np.ndarray) -> np.ndarray:
        return gaussian_filter(a, 1.5, truncate=3.5)

    mx, my = blurred(x), blurred(y)
    vx, vy, both = blurred(x * x) - mx**2, blurred(y * y) - my**2, blurred(x * y) - mx * my
    found = ((2 * mx * my + c1) * (2 * both + c2)) / ((mx**2 + my**2 + c1) * (vx + vy + c2))
    return float(found.mean())


def test_similarity_knows_the_same_from_another() -> None:
    plain, other = backdrops(5)[3], backdrops(5)[4]
    assert similarity(plain, plain) == pytest.approx(1)
    assert similarity(plain, other) < 0.9


@pytest.mark.browser
def test_browser_and_video_draw_the_same(chromium) -> None:
    figures = []
    page = chromium.new_page(viewport={"width": SIZE[0], "height": SIZE[1]})
    for document, backdrop in zip(documents(10), backdrops(10), strict=True):
        svg = draw(document, FACTS, width_px=SIZE[0], measures=measures_of(document, FACTS))
        ours = backdrop.convert("RGBA")
        ours.alpha_composite(raster(svg, SIZE))
        file = io.BytesIO()
        backdrop.save(file, "PNG")
        page.set_content(
            '<body style="margin:0"><div style="position:relative"><img><div id="d" style="position:absolute;inset:0"></div></div>'
        )
        page.evaluate(
            "async ([png, svg]) => { const i = document.querySelector('img');"
            "i.src = 'data:image/png;base64,' + png; await i.decode();"
            "document.getElementById('d').innerHTML = svg; }",
            [base64.b64encode(file.getvalue()).decode(), svg],
        )
        theirs = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        figures.append((similarity(ours, theirs), similarity(ours, backdrop)))
    print("similarity of ten stills:", ", ".join(f"{same:.4f}" for same, _ in figures))
    assert min(same for same, _ in figures) >= 0.98
    # The marks are seen by this measure at all: without them the pictures differ.
    assert all(bare < 0.97 for _, bare in figures)
