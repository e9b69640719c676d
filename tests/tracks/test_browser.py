"""The track page in a real browser: placing by pointer and by keyboard, no barrier, no sideways scroll."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection

from breakdowns.tracks import services
from breakdowns.tracks.models import Track
from tests.factory import make_source, make_user
from tests.journeys.test_screens import AXE, BARRIERS, OVER

from .test_pages import throw

pytestmark = [pytest.mark.browser, pytest.mark.media, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def track(client) -> Track:
    user = make_user("editor")
    client.force_login(user)
    made = services.track_make(source=make_source(view="overhead"), in_frame=5, out_frame=45, by=user)
    return services.track_points_set(made, throw(range(8, 40)), what="x", by=user).track


def opened(chromium, live_server, client, track: Track, width: int, **more):
    context = chromium.new_context(viewport={"width": width, "height": 800}, **more)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    context.add_cookies([cookie])
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda fault: page.faults.append(str(fault)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
    page.goto(f"{live_server.url}{track.get_absolute_url()}?frame=20")
    return page


def until(page, true) -> None:
    for _ in range(300):
        if true():
            return
        page.wait_for_timeout(50)
    raise AssertionError("Still not so.")


def stored(track: Track, frame: int, name: str) -> Any:
    connection.close()
    return Track.objects.get(pk=track.pk).landmarks.get(str(frame), {}).get(name)


@pytest.mark.parametrize(
    ("width", "scheme"), [(360, "light"), (360, "dark"), (1440, "light"), (1440, "dark")]
)
def test_no_barrier_and_no_sideways_scroll(chromium, live_server, client, track, width, scheme):
    page = opened(chromium, live_server, client, track, width, color_scheme=scheme)
    until(page, lambda: page.evaluate("window.player?.shown === 20"))
    assert page.evaluate(OVER) == 0
    page.evaluate(AXE.read_text())
    assert page.evaluate(BARRIERS) == []
    assert page.faults == []


def test_pointer_and_keyboard_place_and_undo(chromium, live_server, client, track):
    page = opened(chromium, live_server, client, track, 1280)
    until(page, lambda: page.evaluate("window.player?.shown === 20"))
    page.locator(".landmark[data-name=right_elbow]").click()
    area = page.locator(".track-overlay").bounding_box()
    page.mouse.click(area["x"] + area["width"] / 4, area["y"] + area["height"] / 2)
    until(page, lambda: stored(track, 20, "right_elbow"))
    x, y, state = stored(track, 20, "right_elbow")
    assert (x, y) == (pytest.approx(80, abs=0.6), pytest.approx(90, abs=0.6))
    assert state == "placed"
    # The walk goes on to the wrist, which the keyboard places and moves.
    assert page.locator(".landmark[aria-pressed=true]").get_attribute("data-name") == "right_wrist"
    page.keyboard.press("p")
    until(page, lambda: stored(track, 20, "right_wrist"))
    before = stored(track, 20, "right_wrist")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowUp")
    goal = [before[0] + 1, before[1] - 10, "placed"]
    until(page, lambda: stored(track, 20, "right_wrist") == goal)
    page.keyboard.press("z")
    until(page, lambda: stored(track, 20, "right_wrist") == before)
    page.keyboard.press(".")
    until(page, lambda: page.evaluate("window.player.shown === 21"))
    assert page.faults == []


def test_without_script_the_frame_its_points_and_the_order_are_there(chromium, live_server, client, track):
    page = opened(chromium, live_server, client, track, 1000, java_script_enabled=False)
    assert page.locator(".framed svg .dot").count() == 4
    assert not page.locator("video").is_visible()
    assert "leads trunk" in page.locator("#panel").inner_text()
    page.locator("select[name=landmark]").select_option("nose")
    page.locator("input[name=x]").fill("12")
    page.locator("input[name=y]").fill("34")
    page.get_by_role("button", name="Place it").click()
    assert stored(track, 20, "nose") == [12, 34, "placed"]


LOUPE = """at => {
  const video = document.querySelector(".track-picture video"), loupe = document.querySelector(".track-picture .loupe");
  const plain = Object.assign(document.createElement("canvas"), { width: video.videoWidth, height: video.videoHeight });
  const pen = plain.getContext("2d");
  pen.drawImage(video, 0, 0);
  const [x, y] = [at[0] * video.videoWidth, at[1] * video.videoHeight].map(Math.round);
  const seen = [...loupe.getContext("2d").getImageData(144, 144, 1, 1).data];
  const near = [];
  for (let i = x - 2; i < x + 3; i += 1) for (let j = y - 2; j < y + 3; j += 1) near.push([...pen.getImageData(i, j, 1, 1).data]);
  return Math.min(...near.map((one) => Math.max(...one.map((value, k) => Math.abs(value - seen[k])))));
}"""


def test_while_a_landmark_is_placed_or_moved_the_loupe_shows_what_lies_there(
    chromium, live_server, client, track
):
    page = opened(chromium, live_server, client, track, 1280)
    until(page, lambda: page.evaluate("window.player?.shown === 20"))
    loupe = page.locator(".track-picture .loupe")
    area = page.locator(".track-overlay").bounding_box()
    assert not loupe.is_visible()
    for share in ((0.3, 0.6), (0.97, 0.5), (0.5, 0.05)):
        page.mouse.move(area["x"] + area["width"] * share[0], area["y"] + area["height"] * share[1])
        page.mouse.down()
        assert loupe.is_visible()
        assert page.evaluate(LOUPE, list(share)) <= 12
        shown = loupe.bounding_box()
        assert shown["x"] >= 0
        assert shown["x"] + shown["width"] <= area["x"] + area["width"] + 4
        assert shown["y"] + shown["height"] >= area["y"]
        page.mouse.up()
        assert not loupe.is_visible()
        page.wait_for_timeout(200)
    page.locator(".track-overlay").focus()
    page.keyboard.press("ArrowRight")
    assert loupe.is_visible()
    page.keyboard.press(".")
    until(page, lambda: not loupe.is_visible())
    assert page.faults == []
