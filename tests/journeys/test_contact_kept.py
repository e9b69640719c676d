"""From a place on the contact map to a piece that carries its cautions, in a real browser and by keyboard."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from django.urls import reverse

from breakdowns.assembly.account import account_of
from breakdowns.assembly.selectors import piece_of
from breakdowns.publishing.services import CannotRelease, _check_cautions
from breakdowns.scripts import services
from tests.factory import make_user

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PICTURES = os.environ.get("KEPT_PICTURES", "")
FOOT = {
    "change": "Plant the foot further out",
    "effect": "more time for the hips to turn",
    "joint": "knee",
    "mechanism": "falls inwards under load",
    "source": "own judgement",
}
ROWS = ["place=lower-ribs-back", "side=left"]


@pytest.fixture
def opened(live_server, client, chromium):
    """Opens pages signed in, in a window of a width and scheme; faults of a page end the test."""
    person = make_user()
    client.force_login(person)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    faults: list[str] = []

    def opened(path: str, width: int = 1280, scheme: str = "light", script: bool = True):
        context = chromium.new_context(
            viewport={"width": width, "height": 900}, color_scheme=scheme, java_script_enabled=script
        )
        context.add_cookies([cookie])
        page = context.new_page()
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.goto(live_server.url + path)
        return page

    opened.person = person
    yield opened
    assert faults == []


def breakdown_of(person):
    made = services.breakdown_create(by=person, title="Late hips")
    beat, words = made.beats.get(), "The collision at the ninth second."
    services.beat_words_save(made, beat.key, words, base_version=beat.version, by=person)
    return made


def owes(breakdown) -> bool:
    try:
        _check_cautions(account_of(piece_of(breakdown)))
    except CannotRelease:
        return True
    return False


@pytest.mark.parametrize("script", [True, False])
def test_from_the_map_to_a_piece_that_may_be_released(opened, script):
    from playwright.sync_api import expect

    breakdown = breakdown_of(opened.person)
    beat = breakdown.beats.get()
    page = opened(breakdown.get_absolute_url(), script=script)
    if script:
        page.locator("[role=textbox]").click()
        page.keyboard.press("Alt+k")
    else:
        page.get_by_role("group").get_by_role("link", name="Contact", exact=True).click()
    page.wait_for_url("**/contact/")
    page.get_by_role("link", name="Choose it on the contact map").press("Enter")
    page.wait_for_url("**/contact/**")
    page.get_by_label("Place", exact=True).select_option("lower-ribs-back")
    page.get_by_label("left", exact=True).check()
    page.get_by_role("button", name="Look", exact=True).press("Enter")
    page.get_by_role("link", name="Keep it in a piece, or make a plate").press("Enter")
    page.wait_for_url("**/put/contact/**")
    assert page.get_by_label("Beat", exact=True).input_value() == "1"
    page.get_by_role("button", name="Put it in").press("Enter")
    page.wait_for_url(f"**/late-hips/#beat-{beat.key}")
    assert page.locator(".kept").inner_text().startswith("Contact")
    notes = page.locator(".note.over", has_text="the piece cannot be released")
    expect(notes).to_have_count(2)
    assert "The contact of this beat brings the caution" in notes.first.inner_text()
    assert owes(breakdown)
    if PICTURES:
        page.screenshot(path=str(Path(PICTURES) / f"margin-{script}.png"))
    for left in (1, 0):
        notes.first.get_by_role("button", name="Put it in the words").press("Enter")
        expect(notes).to_have_count(left)
    assert not owes(breakdown)


@pytest.mark.parametrize(
    ("width", "scheme"), [(360, "light"), (360, "dark"), (1440, "light"), (1440, "dark")]
)
def test_the_pages_are_read_narrow_and_wide(opened, width, scheme):
    breakdown = breakdown_of(opened.person)
    beat = breakdown.beats.get()
    services.beat_note_save(
        breakdown, beat.key, "all", by=opened.person, contact_rows=ROWS, tradeoffs=[FOOT, FOOT | {"change": "Land on both feet", "joint": "none known", "mechanism": ""}],
    )  # fmt: skip
    services.beat_insert(breakdown, by=opened.person, words="Then the trunk follows.")
    empty = breakdown.beats.get(position=1)
    pages = {
        "script": breakdown.get_absolute_url(),
        "contact": reverse("scripts:contact", args=[breakdown.slug, beat.key]),
        "contact-empty": reverse("scripts:contact", args=[breakdown.slug, empty.key]),
        "tradeoffs": reverse("scripts:tradeoffs", args=[breakdown.slug, beat.key]) + "?change=0",
        "tradeoffs-empty": reverse("scripts:tradeoffs", args=[breakdown.slug, empty.key]),
        "put": f"{reverse('scripts:put_contact')}?place=lower-ribs-back&side=left",
    }
    for name, path in pages.items():
        page = opened(path, width, scheme)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        unnamed = "[...document.querySelectorAll('main input:not([type=hidden]), main select, main textarea')].filter((one) => !one.labels?.length && !one.getAttribute('aria-label')).length"
        assert page.evaluate(unnamed) == 0, name
        assert page.locator("h1").count() == 1
        if name == "tradeoffs-empty":
            page.get_by_role("button", name="Keep", exact=True).press("Enter")
            assert page.locator(":invalid").count() > 0 or page.locator(".errorlist").count() > 0
        if PICTURES:
            page.screenshot(path=str(Path(PICTURES) / f"{name}-{width}-{scheme}.png"), full_page=True)
