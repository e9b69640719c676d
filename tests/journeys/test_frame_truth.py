"""The source page shows exactly the frame asked for: read back from the picture itself, in a real browser.

Every frame of the clip carries its own number as black and white cells (tests/numbered.py); the pixels are
taken from the page's own video through a canvas, so neither the player nor the server is believed.
"""

from __future__ import annotations

import base64
import random
import time
from fractions import Fraction

import numpy as np
import pytest

from breakdowns.footage.timebase import timecode
from breakdowns.footage.views_offset import TiedView, frame_beside
from tests.factory import make_event, make_source, make_user
from tests.numbered import read_frame_number

pytestmark = [pytest.mark.browser, pytest.mark.media, pytest.mark.django_db(transaction=True)]

PIXELS = """(index) => {
  const video = document.querySelectorAll("video")[index];
  const canvas = document.createElement("canvas");
  canvas.width = 320; canvas.height = 180;
  const pen = canvas.getContext("2d");
  pen.drawImage(video, 0, 0, 320, 180);
  const rgba = pen.getImageData(0, 0, 320, 180).data;
  let grey = "";
  for (let place = 0; place < rgba.length; place += 4) grey += String.fromCharCode(rgba[place + 1]);
  return btoa(grey);
}"""


@pytest.fixture
def page(live_server, client, chromium):
    client.force_login(make_user())
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    context.add_cookies([cookie])
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda fault: page.faults.append(str(fault)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
    return page


def until(page, condition: str, patience: float = 15) -> None:
    """Wait for a condition in the page. Asked from here, because the page's policy forbids polling by eval."""
    end = time.monotonic() + patience
    while not page.evaluate(condition):
        assert time.monotonic() < end, f"Still not so: {condition}"
        page.wait_for_timeout(20)


def number_on_screen(page, index: int = 0) -> int:
    grey = np.frombuffer(base64.b64decode(page.evaluate(PIXELS, index)), np.uint8).reshape(180, 320)
    return read_frame_number(grey)


@pytest.mark.parametrize("rate", [Fraction(25), Fraction(30000, 1001), Fraction(60)], ids=str)
def test_many_steps_and_seeks_show_the_frame_asked_for(page, live_server, rate):
    source = make_source(rate=rate, frame_count=240)
    page.goto(live_server.url + source.get_absolute_url())
    until(page, "window.player && player.shown === 0")
    chance, at, wrong = random.Random(7), 0, []
    for turn in range(200 if rate.denominator > 1 else 60):  # the uneven rate is the one that could drift
        if turn % 2:
            at = chance.randrange(240)
            told = page.evaluate("(frame) => player.show(frame)", at)
        else:
            by = chance.choice([-10, -3, -1, 1, 1, 1, 2, 10])
            at = max(0, min(239, at + by))
            told = page.evaluate("(by) => player.step(by)", by)
        label = page.text_content("[data-timecode-now]")
        seen = number_on_screen(page)
        if (seen, told, label) != (at, at, timecode(at, rate)):
            wrong.append((turn, at, seen, told, label))
    assert wrong == []
    assert page.faults == []


def test_keys_held_down_add_up_and_the_number_belongs_to_the_picture(page, live_server):
    source = make_source(rate=Fraction(30000, 1001), frame_count=240)
    page.goto(live_server.url + source.get_absolute_url())
    until(page, "window.player && player.shown === 0")
    # Beside each number that the page tells, the picture of that very moment.
    page.evaluate(f"() => {{ window.seen = []; window.pixels = {PIXELS}; }}")
    page.evaluate(
        """() => player.addEventListener("frame", () => {
          if (player.shown !== null) seen.push([player.shown, pixels(0)]);
        })"""
    )
    for _ in range(37):
        page.keyboard.press("ArrowRight")
    for _ in range(4):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowLeft")
    until(page, "player.shown === 76")
    told = page.evaluate("seen")
    pairs = [
        (frame, read_frame_number(np.frombuffer(base64.b64decode(grey), np.uint8).reshape(180, 320)))
        for frame, grey in told
    ]
    assert pairs
    assert [pair for pair in pairs if pair[0] != pair[1]] == []
    assert number_on_screen(page) == 76


def test_play_stop_reverse_and_loop_end_on_the_frame_that_is_told(page, live_server):
    source = make_source(rate=Fraction(25), frame_count=240)
    page.goto(live_server.url + source.get_absolute_url() + "?frame=100")
    until(page, "window.player && player.shown === 100")
    page.keyboard.press("l")
    until(page, "player.shown > 105")
    page.keyboard.press("k")
    until(page, "player.direction === 0 && player.shown !== null && !player.busy")
    stopped = page.evaluate("player.shown")
    assert stopped > 105
    assert number_on_screen(page) == stopped == int(page.text_content("[data-frame-now]"))
    page.keyboard.press("j")
    until(page, f"player.shown !== null && player.shown < {stopped} - 3")
    page.keyboard.press("k")
    until(page, "player.direction === 0 && player.shown !== null && !player.busy")
    assert number_on_screen(page) == page.evaluate("player.shown") < stopped
    page.evaluate("player.show(50)")
    page.keyboard.press("i")
    page.evaluate("player.show(59)")
    page.keyboard.press("o")
    assert page.evaluate("[id_in_frame.value, id_out_frame.value]") == ["00:00:02:00", "00:00:02:10"]
    page.evaluate(
        "window.furthest = 0; player.addEventListener('frame', () => { furthest = Math.max(furthest, player.shown ?? 0); })"
    )
    page.keyboard.press("/")
    page.keyboard.press("l")
    until(page, "player.direction === 1 && furthest >= 58")
    until(page, "player.shown !== null && player.shown < 56")
    page.keyboard.press("k")
    until(page, "player.direction === 0 && player.shown !== null && !player.busy")
    assert 50 <= page.evaluate("player.shown") < 62
    assert page.faults == []


def test_an_excerpt_is_made_by_keys_alone_and_stands_in_the_list(page, live_server):
    source = make_source(frame_count=50)
    page.goto(live_server.url + source.get_absolute_url())
    until(page, "window.player && player.shown === 0")
    page.keyboard.press("e")
    assert "Mark an in point" in page.text_content("[data-said]")
    page.keyboard.press("Shift+ArrowRight")
    until(page, "player.shown === 10")
    page.keyboard.press("i")
    page.keyboard.press("Shift+ArrowRight")
    until(page, "player.shown === 20")
    page.keyboard.press("o")
    page.keyboard.press("e")
    page.wait_for_selector("[data-go='10'][data-out='21']")
    excerpt = source.excerpts.get()
    assert (excerpt.in_frame, excerpt.out_frame) == (10, 21)
    assert page.locator(".excerpt-mark").count() == 1
    page.evaluate("player.show(0)")
    page.click("[data-go='10']")
    until(page, "player.shown === 10")
    assert number_on_screen(page) == 10
    assert page.faults == []


def test_views_side_by_side_follow_to_the_nearest_frame(page, live_server):
    event = make_event()
    rates, ties = (Fraction(30000, 1001), Fraction(25)), (30, 12)
    sources = [
        make_source(rate=rate, frame_count=120, event=event, sync_frame=tie)
        for rate, tie in zip(rates, ties, strict=True)
    ]
    lead, other = (TiedView(tie, rate) for tie, rate in zip(ties, rates, strict=True))
    page.goto(f"{live_server.url}/footage/events/{event.pk}/")
    until(page, "window.together && players.every((one) => one.shown !== null)")
    assert (number_on_screen(page, 0), number_on_screen(page, 1)) == (30, 12)
    for frame in (31, 47, 118, 29, 20, 16):
        page.evaluate("(frame) => together.go(frame)", frame)
        assert number_on_screen(page, 0) == frame
        assert number_on_screen(page, 1) == max(0, min(119, frame_beside(frame, lead, other)))
    data = "[players[0].data, players[1].data]"
    asked = list(range(-50, 400, 7))
    told = page.evaluate(f"(asked) => asked.map((frame) => together.beside(frame, ...{data}))", asked)
    assert told == [frame_beside(frame, lead, other) for frame in asked]
    assert page.faults == []
    assert sources[0].event == event


def test_speeds_and_jumps_by_keys(page, live_server):
    source = make_source(frame_count=240)
    page.goto(live_server.url + source.get_absolute_url())
    until(page, "window.player && player.shown === 0")
    for typed, frame in [("00:00:03:05", 80), ("17", 17), ("4 s", 100)]:
        page.keyboard.press("g")
        page.keyboard.type(typed)
        page.keyboard.press("Enter")
        until(page, f"player.shown === {frame}")
        assert number_on_screen(page) == frame
    page.keyboard.press("g")
    page.keyboard.type("240")
    page.keyboard.press("Enter")
    assert "Frame 240 lies past the end" in page.text_content("#jump-error")
    page.evaluate("jump.blur()")
    page.keyboard.press("4")
    page.keyboard.press("l")
    until(page, "player.direction === 1 && player.video.playbackRate === 0.25")
    page.keyboard.press("l")
    until(page, "player.direction === 1 && player.video.playbackRate === 0.5")
    page.keyboard.press("k")
    until(page, "player.direction === 0 && !player.busy")
    for key, frame in [("End", 239), ("ArrowRight", 239), ("Home", 0), ("ArrowLeft", 0)]:
        page.keyboard.press(key)
        until(page, f"player.shown === {frame} && !player.busy")
        assert number_on_screen(page) == frame
    assert page.faults == []


def test_without_script_an_excerpt_is_made_from_stills_of_the_server(page, live_server):
    source = make_source(frame_count=240)
    context = page.context.browser.new_context(java_script_enabled=False)
    context.add_cookies(page.context.cookies())
    plain = context.new_page()
    plain.goto(live_server.url + source.get_absolute_url())
    plain.fill("#look-in", "50")
    plain.fill("#look-out", "00:00:04:00")
    plain.click("#look-out + button")
    shown = [image.get_attribute("src") for image in plain.query_selector_all("#edges img")]
    assert [address.split("/")[-2] for address in shown] == ["50", "99"]
    plain.click("#new-excerpt button")
    plain.wait_for_selector(".excerpt-name")
    excerpt = source.excerpts.get()
    assert (excerpt.in_frame, excerpt.out_frame) == (50, 100)
