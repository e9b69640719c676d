"""Drawing on a still in a real browser: by mouse, by keyboard alone and by touch; saved, taken back, had again.

Barriers are found by axe-core, whose rules follow WCAG 2.2 (W3C Recommendation, 5 October 2023); 360 pixels is
near the 320 CSS pixels of its success criterion 1.4.10, Reflow.
"""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from breakdowns.stills import services
from breakdowns.stills.models import Still
from tests.factory import make_event, make_source
from tests.stills.conftest import document, line, until

pytestmark = [pytest.mark.browser, pytest.mark.media, pytest.mark.django_db(transaction=True)]

AXE = Path(settings.BASE_DIR) / "static" / "vendor" / "axe" / "axe.min.js"
BARRIERS = """axe.run({resultTypes: ["violations"]}).then((found) => found.violations
  .map((one) => `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 160)).join(" | ")}`))"""
OVER = "Math.max(0, document.documentElement.scrollWidth - window.innerWidth)"
SIZE = (640, 360)


@pytest.fixture
def clip(editor):
    return make_source(size=SIZE, event=make_event(), sync_frame=20)


@pytest.fixture
def still(clip, editor):
    return services.still_make(source=clip, frame=12, by=editor)


def stored(still: Still) -> dict:
    return Still.objects.get(pk=still.pk).document


def marks(still: Still) -> list[dict]:
    return stored(still)["marks"]


def on_screen(page, *places: tuple[float, float]) -> list[tuple[float, float]]:
    """Where places of the source lie in the window."""
    page.locator("[data-stage]").scroll_into_view_if_needed()
    box = page.evaluate(
        "(() => { const r = document.querySelector('[data-stage]').getBoundingClientRect(); return [r.x, r.y, r.width, r.height] })()"
    )
    return [(box[0] + x / SIZE[0] * box[2], box[1] + y / SIZE[1] * box[3]) for x, y in places]


def press(page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def drag(page, start, end) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, steps=3)
    page.mouse.move(*end, steps=3)
    page.mouse.up()


def near(point: dict, x: float, y: float, within: float = 1.0) -> bool:
    return abs(point["at"][0] - x) <= within and abs(point["at"][1] - y) <= within


def test_the_frame_on_screen_is_kept_with_s(desk, clip):
    page = desk.open(f"/footage/{clip.key}/?frame=17")
    until(page, "window.player && window.player.shown === 17")
    page.keyboard.press("s")
    page.wait_for_url("**/stills/**")
    kept = Still.objects.get()
    assert (kept.source, kept.frame) == (clip, 17)
    page.goto(page.url.split("/stills/")[0] + f"/footage/{clip.key}/")
    assert page.locator(".still-rows li").count() == 1
    assert desk.faults == []


def test_shoulders_and_hips_as_a_pair_by_mouse(desk, still):
    page = desk.open(still.get_absolute_url())
    page.click("[data-tool=pair]")
    shoulders, hips = ((200, 100), (420, 130)), ((230, 220), (400, 210))
    drag(page, *on_screen(page, *shoulders))
    first, second = on_screen(page, *hips)
    page.mouse.click(*first)
    page.mouse.click(*second)
    until(page, lambda: len(marks(still)) == 1)
    mark = marks(still)[0]
    assert mark["kind"] == "pair"
    assert [near(p, *at) for p, at in zip(mark["points"], (*shoulders, *hips), strict=True)] == [True] * 4
    until(page, "document.querySelectorAll('[data-overlay] [data-mark]').length === 1")
    until(page, "document.querySelector('[data-measures]').textContent.includes('±')")
    # The value is spoken once the hand rests.
    until(page, "document.querySelector('[data-aloud]').textContent.includes('plus or minus')")
    # One end is taken hold of and moved.
    page.keyboard.press("Escape")
    drag(page, *on_screen(page, (420, 130), (420, 90)))
    until(page, lambda: near(marks(still)[0]["points"][1], 420, 90))
    # The whole mark, by its line.
    page.keyboard.press("Escape")
    drag(page, *on_screen(page, (310, 95), (310, 125)))
    until(page, lambda: near(marks(still)[0]["points"][0], 200, 130))
    page.reload()
    assert page.locator("[data-overlay] [data-mark]").count() == 1
    assert desk.faults == []


def test_the_same_by_keyboard_alone(desk, still):
    page = desk.open(still.get_absolute_url())
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('[data-stage]')"):
            break
    press(page, "r", *["Control+ArrowLeft"] * 1, *["Shift+ArrowUp"] * 5, "Enter")
    press(page, *["Control+ArrowRight"] * 2, *["ArrowDown"] * 7, "Alt+ArrowDown", "Enter")
    press(
        page, *["Control+ArrowLeft"] * 2, "Control+ArrowDown", "Enter", *["Control+ArrowRight"] * 2, "Enter"
    )
    until(page, lambda: len(marks(still)) == 1)
    points = [point["at"] for point in marks(still)[0]["points"]]
    assert points == [[220, 130], [420, 137.1], [220, 237.1], [420, 237.1]]
    # Words, tone and value; then from point to point with Tab, and a nudge.
    press(page, "Escape")
    page.keyboard.press("Tab")
    press(page, "2", "v", "x")
    page.keyboard.type("hips and shoulders")
    press(page, "Enter", "Tab", "Shift+ArrowRight")
    until(page, lambda: marks(still)[0]["points"][1]["at"] == [430, 137.1])
    mark = marks(still)[0]
    assert (mark["tone"], mark["value"], mark["text"]) == (2, False, "hips and shoulders")
    # Tab is no trap: past the last point it goes on to the page.
    press(page, "Tab", "Tab", "Tab")
    assert not page.evaluate("document.activeElement.matches('[data-stage]')")
    assert desk.faults == []


def test_by_touch_at_360_pixels(desk, still):
    context = desk.context(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
    page = desk.open(still.get_absolute_url(), context)
    page.tap("[data-tool=line]")
    client = context.new_cdp_session(page)

    def finger(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": x, "y": y} for x, y in at]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    for goal in ((160, 90), (480, 180)):
        (x, y), (begin_x, begin_y) = on_screen(page, goal, (goal[0] - 60, goal[1] + 60))
        finger("touchStart", (begin_x, begin_y))
        until(page, "!document.querySelector('[data-loupe]').hidden")
        finger("touchMove", (x, y))
        finger("touchEnd")
    until(page, lambda: len(marks(still)) == 1)
    # One pixel of the screen is almost two of the source here.
    assert near(marks(still)[0]["points"][0], 160, 90, 2)
    assert near(marks(still)[0]["points"][1], 480, 180, 2)
    assert page.evaluate("document.querySelector('[data-loupe]').hidden")
    # Two fingers enlarge.
    a, b = on_screen(page, (280, 180), (360, 180))
    finger("touchStart", a, b)
    finger("touchMove", (a[0] - 60, a[1]), (b[0] + 60, b[1]))
    finger("touchEnd")
    until(page, "window.still.stage.zoom > 2")
    assert page.evaluate(OVER) == 0
    assert desk.faults == []


def test_landmarks_are_walked_snapped_to_and_swapped(desk, still):
    page = desk.open(still.get_absolute_url())
    page.keyboard.press("m")
    for at in on_screen(page, (220, 120), (420, 120)):
        page.mouse.click(*at)
    until(page, lambda: set(stored(still)["landmarks"]) == {"left_shoulder", "right_shoulder"})
    assert page.input_value("[data-walk-name]") == "left_elbow"
    press(page, "l")
    drag(page, *on_screen(page, (222, 121), (418, 118)))
    until(page, lambda: len(marks(still)) == 1)
    assert marks(still)[0]["points"] == [{"landmark": "left_shoulder"}, {"landmark": "right_shoulder"}]
    press(page, "Escape", "s")
    until(page, lambda: stored(still)["landmarks"]["left_shoulder"]["at"][0] > 400)
    assert desk.faults == []


def test_suggested_landmarks_are_told_confirmed_and_refused(desk, still, editor):
    rows = document(left_hip=(200, 200), right_hip=(300, 200), nose=(250, 60))
    for row in rows["landmarks"].values():
        row["state"] = "suggested"
    services.still_save(still, rows, base_version=1, what="suggest", by=editor)
    page = desk.open(still.get_absolute_url())
    assert page.locator("[data-landmarks] li").filter(has_text="suggested").count() == 3
    page.locator("[data-stage]").focus()
    press(page, "Tab", "Enter")
    until(page, lambda: stored(still)["landmarks"]["left_hip"]["state"] == "confirmed")
    press(page, "ArrowRight")
    until(page, lambda: stored(still)["landmarks"]["right_hip"] == {"at": [301, 200], "state": "placed"})
    press(page, "Tab", "Delete")
    until(page, lambda: "nose" not in stored(still)["landmarks"])
    assert page.locator("[data-do=confirm-all]").is_hidden()
    assert desk.faults == []


def test_undo_and_redo_here_and_from_an_earlier_visit(desk, still):
    page = desk.open(still.get_absolute_url())
    for places in (((100, 100), (300, 100)), ((100, 200), (300, 220))):
        press(page, "l")
        drag(page, *on_screen(page, *places))
    until(page, lambda: len(marks(still)) == 2)
    press(page, "Escape", "Control+z")
    until(page, lambda: len(marks(still)) == 1)
    press(page, "Control+Shift+Z")
    until(page, lambda: len(marks(still)) == 2)
    until(page, "document.querySelector('[data-state]').textContent === 'saved'")
    page.reload()
    press(page, "Control+z")
    until(page, lambda: len(marks(still)) == 1)
    press(page, "Control+Shift+Z")
    until(page, lambda: len(marks(still)) == 2)
    assert desk.faults == []


def test_every_kind_of_mark_can_be_drawn(desk, still):
    page = desk.open(still.get_absolute_url())
    kinds = [("p", 1), ("l", 2), ("y", 3), ("a", 3), ("r", 4), ("w", 2), ("t", 3), ("b", 1), ("z", 3)]
    for row, (key, count) in enumerate(kinds):
        press(page, key)
        places = [(60 + 130 * n, 30 + 32 * row + 9 * (n % 2)) for n in range(count)]
        screen = on_screen(page, *places)
        for at in screen:
            page.mouse.click(*at)
        if key in "yz":
            page.mouse.click(*screen[-1])
        if key == "b":
            page.keyboard.type("late")
            press(page, "Enter")
    press(page, "f")
    path = on_screen(page, *((500 + n, 40 + 2 * n) for n in range(0, 90, 10)))
    page.mouse.move(*path[0])
    page.mouse.down()
    for at in path:
        page.mouse.move(*at)
    page.mouse.up()
    until(page, lambda: len(marks(still)) == 10)
    counts = {mark["kind"]: len(mark["points"]) for mark in marks(still)}
    assert {k: n for k, n in counts.items() if k != "freehand"} == {
        "point": 1, "line": 2, "polyline": 3, "angle": 3, "pair": 4, "arrow": 2, "turn": 3, "label": 1, "zone": 3,
    }  # fmt: skip
    assert counts["freehand"] >= 8
    assert [mark["text"] for mark in marks(still) if mark["kind"] == "label"] == ["late"]
    # Order, hiding, deleting.
    press(page, "Escape")
    page.locator("[data-marks] button").first.click()
    press(page, "]", "h")
    until(page, lambda: marks(still)[1]["kind"] == "point" and marks(still)[1]["shown"] is False)
    press(page, "Delete")
    until(page, lambda: len(marks(still)) == 9)
    assert desk.faults == []


def test_without_a_connection_nothing_is_lost(desk, still):
    context = desk.context()
    page = desk.open(still.get_absolute_url(), context)
    context.set_offline(True)
    press(page, "l")
    drag(page, *on_screen(page, (100, 100), (300, 100)))
    until(page, "document.querySelector('[data-state]').textContent.startsWith('not saved: no connection')")
    assert page.locator("[data-do=save-now]").is_visible()
    assert marks(still) == []
    context.set_offline(False)
    until(page, lambda: len(marks(still)) == 1)
    # A page that was closed before it could save puts the marks back when it is opened again.
    context.set_offline(True)
    drag(page, *on_screen(page, (100, 200), (300, 200)))
    until(page, "document.querySelector('[data-state]').textContent.startsWith('not saved')")
    page.close(run_before_unload=False)
    context.set_offline(False)
    again = desk.open(still.get_absolute_url(), context)
    until(again, lambda: len(marks(still)) == 2)
    assert [fault for fault in desk.faults if "ERR_INTERNET_DISCONNECTED" not in fault] == []


def test_two_people_at_once_are_joined_or_both_kept(desk, still, editor, other):
    page = desk.open(still.get_absolute_url())
    theirs = document(line("theirs", (400, 50), (600, 60)))
    services.still_save(still, theirs, base_version=1, what="draw", by=other)
    press(page, "l")
    drag(page, *on_screen(page, (100, 100), (300, 100)))
    until(page, lambda: len(marks(still)) == 2)
    until(page, "window.still.history.doc.marks.length === 2")
    # Now the same mark, by both.
    moved = {**stored(still)}
    moved["marks"] = [line("theirs", (400, 300), (600, 300)), moved["marks"][1]]
    fresh = Still.objects.get(pk=still.pk)
    services.still_save(fresh, moved, base_version=fresh.version, what="move", by=other)
    press(page, "Escape")
    drag(page, *on_screen(page, (600, 60), (600, 100)))
    page.wait_for_selector(".aside-marks")
    page.click("text=Keep both")
    until(page, lambda: len(marks(still)) == 3)
    assert [fault for fault in desk.faults if "409" not in fault] == []


def test_stepping_and_copying_to_the_next_frame(desk, still, editor):
    services.still_save(still, document(line(), left_hip=(5, 5)), base_version=1, what="draw", by=editor)
    page = desk.open(still.get_absolute_url())
    page.keyboard.press("ArrowRight")
    until(page, "document.querySelector('[data-frame-now]').textContent === '13'")
    assert page.locator("[data-overlay]").is_hidden()
    press(page, ",")
    until(page, "document.querySelector('[data-frame-now]').textContent === '12'")
    press(page, ".", ".", "c")
    page.wait_for_url(lambda url: str(still.key) not in url)
    copied = Still.objects.get(frame=14)
    assert len(copied.document["marks"]) == 1
    assert copied.document["landmarks"]["left_hip"]["state"] == "suggested"
    assert desk.faults == []


def test_two_views_of_one_instant_stand_side_by_side(desk, still, clip):
    make_source(size=SIZE, event=clip.event, view="overhead", sync_frame=10)
    page = desk.open(still.get_absolute_url())
    page.click("text=put beside")
    page.wait_for_selector(".picture-two img")
    found = Still.objects.get(pk=still.pk).beside
    assert found.frame == 2
    assert page.locator(".picture-two figcaption").inner_text().startswith(str(found.source))
    page.click("text=draw on this view")
    page.wait_for_url(f"**{found.get_absolute_url()}")
    assert desk.faults == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_barrier_and_no_sideways_scroll(desk, still, editor, clip, scheme):
    rows = document(line(text="shoulders"), line("m2", (100, 250), (300, 260), tone=2), left_hip=(200, 200))
    rows["landmarks"]["left_hip"]["state"] = "suggested"
    services.still_save(still, rows, base_version=1, what="draw", by=editor)
    make_source(size=SIZE, event=clip.event, view="overhead", sync_frame=10)
    for path in (still.get_absolute_url(), reverse("stills:index"), clip.get_absolute_url()):
        page = desk.open(path)
        page.evaluate(AXE.read_text())
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        for width in (1440, 768, 360):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate(OVER) == 0, (path, width)
            assert page.evaluate(BARRIERS) == [], (path, width)
        if path == still.get_absolute_url():
            page.locator("[data-marks] button").first.click()
            assert page.evaluate(BARRIERS) == []
        page.close()
    assert desk.faults == []


def test_readable_and_changeable_without_script(desk, still):
    page = desk.open(still.get_absolute_url(), java_script_enabled=False)
    page.fill("#by-hand [name=points]", "100 100\n300.5 120")
    page.fill("#by-hand [name=text]", "shoulders")
    page.click("#by-hand button.first")
    assert page.locator("[data-marks] li").count() == 1
    assert page.locator("[data-overlay] [data-mark]").count() == 1
    assert "±" in page.inner_text("[data-measures]")
    page.click("[data-marks] a")
    assert page.input_value("#by-hand [name=points]").split() == ["100", "100", "300.5", "120"]
    page.fill("#by-hand [name=points]", "100 100\nleft somewhere")
    page.click("#by-hand button.first")
    assert "Line 2" in page.text_content("#by-hand")
    assert page.input_value("#by-hand [name=points]") == "100 100\nleft somewhere"
    for width, scheme in itertools.product((360, 1440), ("light", "dark")):
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size({"width": width, "height": 800})
    page.goto(page.url.split("/change/")[0] + "/")
    page.click("[data-marks] >> text=delete")
    assert marks(still) == []
