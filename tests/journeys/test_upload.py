"""A file is sent in pieces from a real browser, is cut off in the middle, and goes on where it stopped."""

from __future__ import annotations

import pytest

from breakdowns.footage.models import Source, Upload
from breakdowns.footage.selectors import media_path
from tests.journeys.test_frame_truth import page, until  # noqa: F401  the fixture

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_an_upload_goes_on_where_it_was_cut_off(page, live_server, settings, tmp_path):  # noqa: F811
    settings.UPLOAD_CHUNK_BYTES = 1000
    data = bytes(range(256)) * 20
    clip = tmp_path / "throw.mp4"
    clip.write_bytes(data)
    sent, cut = [], []

    def pass_on(route):
        sent.append(int(route.request.headers["upload-offset"]))
        if sent[-1] == 3000 and not cut:
            cut.append(True)
            route.fulfill(status=403, json={"error": "Cut off by the test."})
        else:
            route.continue_()

    page.route(
        "**/footage/uploads/**",
        lambda route: pass_on(route) if route.request.method == "PATCH" else route.continue_(),
    )
    page.goto(f"{live_server.url}/footage/add/")
    page.set_input_files("input[type=file]", clip)
    page.click("text=Upload")
    until(page, "document.getElementById('upload-error').textContent === 'Cut off by the test.'")
    assert Upload.objects.get().received_bytes == 3000
    page.reload()
    page.set_input_files("input[type=file]", clip)
    page.click("button.first")
    page.wait_for_url("**/add/details/**")
    assert sent == [0, 1000, 2000, 3000, 3000, 4000, 5000]
    page.fill("[name=title]", "Jump throw")
    page.click("text=Add it")
    page.wait_for_selector("[data-reload-after-work]")
    assert media_path(Source.objects.get().original).read_bytes() == data
