"""The page of the contact map: with and without script, by keyboard, narrow and wide, light and dark."""

from __future__ import annotations

import os
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse

from anatomy.contact.at_risk import places
from breakdowns.contacts.drawing import cells
from tests.access_samples import make_members_release
from tests.factory import make_user

CHOSEN = {
    "place": "lower-ribs-back",
    "side": "left",
    "mechanism": "blow",
    "direction": "behind",
    "level": "10",
}
PICTURES = os.environ.get("CONTACT_PICTURES", "")


@pytest.fixture
def studio(client: Any, db: None) -> Any:
    client.force_login(make_user("editor"))
    return client


def page(studio: Any, status: int = 200, **query: str) -> str:
    answer = studio.get(reverse("contacts:map"), query)
    assert answer.status_code == status
    return unescape(" ".join(answer.content.decode().split()))


def test_empty_page_says_what_to_do(studio: Any) -> None:
    found = page(studio)
    assert "Nothing chosen yet" in found
    assert "skin inwards" in found


def test_every_place_stands_in_the_list_and_every_cell_is_a_link(studio: Any) -> None:
    for view in ("front", "back", "left", "right"):
        found = page(studio, view=view)
        assert found.count('class="spot"') == len(cells(view))  # type: ignore[arg-type]
        assert all(f'<option value="{place.key}"' in found for place in places())


def test_a_cells_link_leads_to_its_place_and_side(studio: Any) -> None:
    found = page(studio, view="back")
    href = re.search(r'href="([^"]*)" aria-label="left lower ribs towards the back"', found)
    assert href
    answer = unescape(studio.get(href[1].partition("#")[0]).content.decode())
    assert "spleen" in answer
    assert "Left lower ribs towards the back" in answer


def test_a_chosen_place_shows_layers_cautions_reasoning_and_sentences(studio: Any) -> None:
    found = page(studio, **CHOSEN)
    for said in (
        "From the skin inwards",
        "How this was reasoned",
        "Sentences ready to say",
        "must carry",
        "Watch for",
        "emergency",
    ):
        assert said in found
    order = [found.index(f"<h4>{layer}</h4>") for layer in ("Skin", "Muscle", "Bone", "Organ")]
    assert order == sorted(order)


def test_words_are_read_and_the_open_is_said(studio: Any) -> None:
    found = page(studio, text="elbow into the side")
    assert "Left open" in found
    assert "elbow into the side" in found


def test_words_that_name_no_place_keep_what_was_typed(studio: Any) -> None:
    assert "It was a <b>fine</b> day" in page(studio, text="It was a <b>fine</b> day")
    raw = studio.get(reverse("contacts:map"), {"text": "It was a <b>fine</b> day"}).content.decode()
    assert "<b>fine</b>" not in raw


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"place": "moon"}, "is no place of the map"),
        ({"place": "heart-front", "side": "right"}, "on the left only"),
        ({"place": "knee", "side": "up"}, "is no side"),
        ({"place": "lower-ribs-back", "level": "C3"}, "does not reach this place"),
        ({"text": "x" * 3000}, "characters"),
    ],
)
def test_what_means_nothing_is_told_beside_its_field(studio: Any, query: dict[str, str], said: str) -> None:
    assert said in page(studio, 422, **query)


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1440])
def test_in_the_browser(client: Any, live_server: Any, chromium: Any, width: int, scheme: Any) -> None:
    client.force_login(make_user("editor"))
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    context = chromium.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    context.add_cookies([cookie])
    tab = context.new_page()
    faults: list[str] = []
    tab.on("pageerror", lambda fault: faults.append(str(fault)))
    tab.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    tab.goto(f"{live_server.url}{reverse('contacts:map')}?view=front")
    # The keyboard alone: from one cell downwards with the arrows, then chosen with Enter.
    tab.locator('a.spot[aria-label="breastbone"]').focus()
    tab.keyboard.press("ArrowDown")
    assert tab.evaluate("document.activeElement.getAttribute('aria-label')") != "breastbone"
    name = tab.evaluate("document.activeElement.getAttribute('aria-label')")
    assert tab.locator("#spot-name").inner_text() == name
    tab.keyboard.press("Enter")
    tab.wait_for_url("**place=**")
    assert tab.locator("#reading-head").inner_text().lower() == name
    # A click on the drawing, on the body's left from behind, which is the viewer's left.
    tab.goto(f"{live_server.url}{reverse('contacts:map')}?view=back")
    box = tab.locator("svg.body-map").bounding_box()
    assert box
    scale = box["width"] / 400
    tab.locator("svg.body-map").click(position={"x": 150 * scale, "y": 330 * scale})
    tab.wait_for_url("**place=lower-ribs-back*")
    assert "left" in tab.locator("#reading-head").inner_text().lower()
    tab.goto(
        f"{live_server.url}{reverse('contacts:map')}?place=lower-ribs-back&side=left&mechanism=blow&direction=behind&level=10"
    )
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    assert faults == []
    if PICTURES:
        tab.screenshot(path=str(Path(PICTURES) / f"contact-{width}-{scheme}.png"), full_page=True)


@pytest.mark.django_db
def test_a_reader_sees_the_drawing_of_the_plate_and_its_words(client: Any) -> None:
    release = make_members_release()
    drawn = {
        "kind": "plate",
        "plate": "contact",
        "plate_title": "Left lower ribs",
        "plate_text": "- Organ: spleen",
        "words": "",
    }
    drawn |= {"start_frame": 5, "frame_count": 5, "still": "still-0.jpg"}
    told = {**drawn, "plate": "text", "plate_title": "In words only", "start_frame": 12}
    release.page["beats"] += [drawn, told]
    release.save(update_fields=["page"])
    client.force_login(make_user("editor"))
    page = client.get(release.get_absolute_url()).content.decode()
    (alt,) = re.findall(r'src="/read/landing/1/still-0\.jpg/" alt="([^"]+)"', page)
    assert (
        alt == "Drawing of the body with the place marked: Left lower ribs. What lies there is listed below."
    )
    assert "Organ: spleen" in page
