"""The script page in a real browser: by keyboard alone, and with no typed word lost on the way."""

from __future__ import annotations

import time

import pytest
from django.db import OperationalError

from breakdowns.scripts import services
from breakdowns.scripts.models import Beat, Breakdown, SetAside
from breakdowns.scripts.selectors import beats_of, margin_of, script_view
from tests.factory import make_user

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def person(db):
    return make_user()


@pytest.fixture
def desk(live_server, client, person, chromium):
    """Opens pages signed in; what goes wrong in them is collected in ``desk.faults``."""
    client.force_login(person)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    context.add_cookies([cookie])

    def desk(path: str):
        page = context.new_page()
        page.on("pageerror", lambda fault: desk.faults.append(str(fault)))
        page.on(
            "console",
            lambda line: (
                desk.faults.append(line.text)
                if line.type == "error" and "409" not in line.text and "422" not in line.text
                else None
            ),
        )
        page.goto(live_server.url + path)
        return page

    desk.faults = []
    return desk


def until(page, true, patience: float = 15) -> None:
    def so() -> bool:
        try:
            return bool(true())
        except OperationalError:  # the page is just writing
            return False

    end = time.monotonic() + patience
    while not so():
        assert time.monotonic() < end, "Still not so."
        page.wait_for_timeout(30)


def stored(breakdown) -> list[str]:
    return list(breakdown.beats.order_by("position").values_list("words", flat=True))


def seconds(breakdown, place: int) -> int:
    return breakdown.beats.get(position=place).seconds_ms


def timing_note(breakdown) -> str:
    """The id of the note on the time that the words take, as it stands now."""
    fresh = Breakdown.objects.get(pk=breakdown.pk)
    notes = margin_of(fresh, script_view(fresh, list(beats_of(fresh)))).notes
    return next((note.id for note in notes if note.check == "timing"), "none")


def focused_beat(page) -> str:
    return page.evaluate("document.activeElement.closest('.beat')?.querySelector('.grip').textContent ?? ''")


def tab_to(page, selector: str) -> None:
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("(one) => document.activeElement.matches(one)", selector):
            return
    raise AssertionError(f"The Tab key does not reach {selector}.")


def test_from_nothing_to_a_script_by_keyboard_alone(desk):
    page = desk("/scripts/")
    tab_to(page, "#id_title")
    page.keyboard.type("Late hips")
    page.keyboard.press("Enter")
    page.wait_for_url("**/scripts/late-hips/")
    breakdown = Breakdown.objects.get(slug="late-hips")
    tab_to(page, ".beat [role=textbox]")
    page.keyboard.type("Start from the floor. The foot stops.")
    until(page, lambda: stored(breakdown) == ["Start from the floor. The foot stops."])
    for _ in range(15):
        page.keyboard.press("ArrowLeft")
    page.keyboard.press("Control+Enter")
    until(page, lambda: stored(breakdown) == ["Start from the floor. ", "The foot stops."])
    until(page, lambda: focused_beat(page) == "2")
    page.keyboard.press("Alt+Enter")
    until(page, lambda: focused_beat(page) == "3")
    page.keyboard.type("And then the pelvis.")
    page.keyboard.press("Alt+ArrowUp")
    until(
        page,
        lambda: stored(breakdown) == ["Start from the floor. ", "And then the pelvis.", "The foot stops."],
    )
    until(page, lambda: focused_beat(page) == "2")
    page.keyboard.press("Alt+z")
    until(page, lambda: stored(breakdown)[2] == "And then the pelvis.")
    until(page, lambda: page.is_enabled("[data-keys='Alt+Shift+KeyZ']") and focused_beat(page) == "3")
    page.keyboard.press("Alt+Shift+Z")
    until(page, lambda: stored(breakdown)[1] == "And then the pelvis.")
    until(page, lambda: focused_beat(page) == "2")
    # More words than the five seconds to camera hold: a note, its action, and back.
    page.keyboard.press("Control+End")
    page.keyboard.type(
        " The trunk follows a beat later, and that gap is the stretch that the arm throws with."
    )
    note = ".beat:nth-child(2) .note:has(button[data-key=Enter])"
    until(page, lambda: stored(breakdown)[1].endswith("throws with."))
    until(page, lambda: page.query_selector(f"#note-{timing_note(breakdown)}") is not None)
    before = seconds(breakdown, 1)
    page.keyboard.press("Alt+m")
    assert page.evaluate("(one) => document.activeElement.matches(one)", note)
    page.keyboard.press("Enter")
    until(page, lambda: seconds(breakdown, 1) > before)
    until(page, lambda: page.query_selector(note) is None and focused_beat(page) == "2")
    page.keyboard.press("Alt+z")
    until(page, lambda: seconds(breakdown, 1) == before)
    page.wait_for_selector(note)
    assert stored(breakdown)[1].endswith("throws with.")
    assert desk.faults == []


def test_typing_is_never_interrupted(desk, person):
    breakdown = services.breakdown_create(by=person, title="Typing")
    page = desk(breakdown.get_absolute_url())
    page.focus("textarea")
    page.evaluate("window.box = document.activeElement")
    text = "The planting foot stops, and everything above it has to go on turning. " * 3
    for word in text.split(" "):
        page.keyboard.type(f"{word} " if word else "", delay=9)
    until(page, lambda: stored(breakdown)[0].strip() == text.strip())
    assert page.evaluate("window.box === document.activeElement && window.box.isConnected")
    assert page.input_value("textarea").strip() == text.strip()
    assert not SetAside.objects.exists()
    assert page.evaluate("window.box.scrollHeight <= window.box.clientHeight + 1")
    assert desk.faults == []


def test_two_tabs_on_one_beat_lose_nothing(desk, person):
    breakdown = services.breakdown_create(by=person, title="Two tabs")
    key = breakdown.beats.get().key
    first, second = desk(breakdown.get_absolute_url()), desk(breakdown.get_absolute_url())
    first.focus("textarea")
    first.keyboard.type("Typed in the first tab.")
    until(first, lambda: stored(breakdown) == ["Typed in the first tab."])
    second.focus("textarea")
    second.keyboard.type("And this in the second.")
    second.wait_for_selector(".conflict")
    assert second.input_value("textarea") == "And this in the second."
    assert "Typed in the first tab." in second.text_content(".conflict")
    second.keyboard.press("Tab")
    tab_to(second, ".conflict button[value=both]")
    second.keyboard.press("Enter")
    until(second, lambda: stored(breakdown) == ["Typed in the first tab.\n\nAnd this in the second."])
    until(second, lambda: second.query_selector(".conflict") is None)
    assert second.input_value("textarea") == Beat.objects.get(key=key).words


def test_changes_in_different_places_meet_in_both_tabs(desk, person):
    breakdown = services.breakdown_create(by=person, title="Meeting")
    key = breakdown.beats.get().key
    services.beat_words_save(
        breakdown, key, "The foot stops and the pelvis goes on.", base_version=1, base_words="", by=person
    )
    first, second = desk(breakdown.get_absolute_url()), desk(breakdown.get_absolute_url())
    first.focus("textarea")
    first.keyboard.press("Control+Home")
    first.keyboard.type("Look: ")
    until(first, lambda: stored(breakdown)[0].startswith("Look: "))
    second.focus("textarea")
    second.keyboard.press("Control+End")
    second.keyboard.type(" And the trunk after it.")
    both = "Look: The foot stops and the pelvis goes on. And the trunk after it."
    until(second, lambda: stored(breakdown) == [both])
    until(second, lambda: second.input_value("textarea") == both)
    second.keyboard.type(" Then the arm.")
    until(second, lambda: stored(breakdown) == [f"{both} Then the arm."])
    assert not SetAside.objects.exists()
    assert desk.faults == []


def test_a_beat_can_be_dragged_and_what_is_typed_goes_with_it(desk, person):
    breakdown = services.breakdown_create(by=person, title="Dragging")
    for text in ("two", "three"):
        services.beat_insert(breakdown, by=person, words=text)
    page = desk(breakdown.get_absolute_url())
    page.locator("textarea").nth(0).focus()
    page.keyboard.type("one")
    grip, last = page.locator(".grip").nth(0).bounding_box(), page.locator(".beat").nth(2).bounding_box()
    page.mouse.move(grip["x"] + 4, grip["y"] + 4)
    page.mouse.down()
    page.mouse.move(grip["x"] + 4, last["y"] + last["height"] - 5, steps=6)
    page.mouse.up()
    until(page, lambda: stored(breakdown) == ["two", "three", "one"])
    assert desk.faults == []


@pytest.mark.parametrize("width", [360, 768, 1440])
def test_nothing_runs_over_the_edge(desk, person, width):
    breakdown = services.breakdown_create(
        by=person, title="A rather long title about late hips and an early arm"
    )
    beat = breakdown.beats.get()
    services.beat_words_save(breakdown, beat.key, "word " * 60, base_version=1, base_words="", by=person)
    for path in ("", "settings/", "prompter/", "print/", "import/", f"beats/{beat.key}/picture/"):
        page = desk(breakdown.get_absolute_url() + path)
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0, path
        page.close()
    assert desk.faults == []
