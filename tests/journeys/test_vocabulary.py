"""The vocabulary in a real browser: looked up by keyboard, made into a plate, added to, also without script."""

from __future__ import annotations

import re

import pytest

from anatomy.vocabulary.models import OwnTerm
from breakdowns.scripts import services
from breakdowns.scripts.models import Beat
from tests.journeys.test_script_page import desk, person  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_from_a_question_to_a_plate_by_keyboard(desk, person):  # noqa: F811
    breakdown = services.breakdown_create(by=person, title="Late hips")
    page = desk("/vocabulary/")
    page.get_by_label("Search", exact=True).focus()
    page.keyboard.type("what turns the arm out")
    page.wait_for_selector("#found-muscle")
    assert re.search(r"q=what\+turns|q=what%20turns", page.url)
    page.get_by_role("link", name="Infraspinatus", exact=True).first.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/muscle/infraspinatus/")
    shown = page.locator(".plate-shown").first
    shown.scroll_into_view_if_needed()
    assert shown.evaluate("(image) => image.decode().then(() => image.naturalWidth)") == 960
    page.get_by_role("link", name="Make a plate").press("Enter")
    page.get_by_label("Behind beat").fill("0")
    page.get_by_label(re.compile("external rotation, prime mover", re.IGNORECASE)).first.check()
    page.get_by_role("button", name="Put it in").press("Enter")
    page.wait_for_url(f"**/scripts/{breakdown.slug}/**")
    made = Beat.objects.get(plate="anatomy")
    assert (made.position, made.plate_entry) == (0, "infraspinatus")
    assert made.plate_rows
    assert all("external rotation" in key for key in made.plate_rows)
    assert desk.faults == []


def test_a_plate_is_shown_before_it_is_kept(desk, person):  # noqa: F811
    breakdown = services.breakdown_create(by=person, title="Late hips")
    page = desk(breakdown.get_absolute_url())
    page.get_by_role("link", name="Change picture").first.click(force=True)
    form = page.locator(".picture-form")
    form.get_by_label("plate", exact=True).check()
    form.get_by_label("Kind of plate").select_option("anatomy")
    form.get_by_label("Seconds on screen").fill("6")
    form.get_by_label("Muscle, or another entry").fill("glute max")
    form.get_by_role("button", name="Show the plate").click()
    page.wait_for_selector(".plate-shown")
    assert breakdown.beats.get().kind == "camera"
    page.get_by_label("Hip extension, prime mover").check()
    page.get_by_role("button", name="Keep this picture").click()
    page.wait_for_selector(".still.plate")
    kept = breakdown.beats.get()
    assert (kept.plate_entry, kept.plate_rows) == ("gluteus maximus", ["hip: extension"])
    assert desk.faults == []


def test_an_own_word_is_added_used_deleted_and_put_back(desk):  # noqa: F811
    page = desk("/vocabulary/muscle/gluteus-maximus/")
    page.get_by_role("link", name="Add a name of your own").click()
    assert page.get_by_label("Means").input_value() == "gluteus maximus"
    page.get_by_label("Word or words").fill("back motor")
    page.get_by_role("button", name="Add the name").click()
    page.wait_for_selector("text=back motor")
    page.goto(page.url.split("/vocabulary/")[0] + "/vocabulary/?q=back+motor")
    assert page.locator("#found-muscle").is_visible()
    page.goto(page.url.split("/vocabulary/")[0] + "/vocabulary/own/")
    page.get_by_role("button", name="Delete “back motor”").click()
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Delete “back motor”").wait_for()
    assert OwnTerm.objects.count() == 1
    assert desk.faults == []


def test_everything_works_without_script(live_server, client, person, desk):  # noqa: F811
    breakdown = services.breakdown_create(by=person, title="Late hips")
    first = desk("/vocabulary/")
    context = first.context.browser.new_context(java_script_enabled=False)
    context.add_cookies(first.context.cookies())
    page = context.new_page()
    page.goto(live_server.url + "/vocabulary/")
    page.get_by_label("Search", exact=True).fill("glutius maximus")
    page.get_by_role("button", name="Search").click()
    page.get_by_role("link", name="Gluteus maximus", exact=True).first.click()
    assert not page.get_by_role("button", name="Copy the plain words").is_visible()
    beat = breakdown.beats.get()
    page.goto(f"{live_server.url}/scripts/{breakdown.slug}/beats/{beat.key}/picture/")
    page.get_by_label("plate", exact=True).check()
    page.get_by_label("Kind of plate").select_option("anatomy")
    page.get_by_label("Muscle, or another entry").fill("hamstrings")
    page.get_by_label("Seconds on screen").fill("6")
    page.get_by_role("button", name="Show the plate").click()
    assert page.locator(".plate-shown").is_visible()
    assert breakdown.beats.get().kind == "camera"
    page.get_by_role("button", name="Keep this picture").click()
    assert breakdown.beats.get().plate_entry == "hamstrings"


def test_an_entry_prints_without_what_is_only_for_the_screen(desk):  # noqa: F811
    page = desk("/vocabulary/muscle/gluteus-maximus/")
    page.emulate_media(media="print")
    assert page.locator("h1").is_visible()
    assert page.get_by_text("OpenStax").first.is_visible()
    assert not page.locator(".bar").is_visible()
    assert not page.get_by_role("link", name="Make a plate").is_visible()
    page.set_viewport_size({"width": 720, "height": 1000})
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
