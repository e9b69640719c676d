"""What a note asks a person to do: each of its links leads to where it is done, with and without script."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from breakdowns.scripts import services
from breakdowns.scripts.commands import BY_HAND
from breakdowns.scripts.margin import Action, Note
from breakdowns.scripts.page.selectors import NoteAction, _note_row, script_of

from .conftest import write


@pytest.fixture
def shown(breakdown, editor, excerpt):
    """A script of one excerpt beat with words."""
    (beat,) = write(breakdown, "The foot stops.", by=editor)
    services.beat_picture_save(breakdown, beat.key, by=editor, kind="excerpt", excerpt_id=excerpt.pk)
    return breakdown


def link(breakdown, command: str, **arguments) -> NoteAction:
    """The link that the page makes of such an action of a note."""
    action = Action("Do it", command, tuple(arguments.items()))
    note = Note("id", "check", "near", "", None, "", "says", "", "", "", (action,))
    (made,) = _note_row(note, script_of(breakdown, notes=False)).actions
    return made


def every_link(breakdown, source) -> dict[str, NoteAction]:
    beat = str(breakdown.beats.get().key)
    return {
        "write_words": link(breakdown, "write_words", beat=beat, start=4, end=8),
        "write_title": link(breakdown, "write_title"),
        "choose_picture": link(breakdown, "choose_picture", beat=beat),
        "state_purpose": link(breakdown, "state_purpose", beat=beat),
        "open_two_views": link(breakdown, "open_two_views", beat=beat),
        "open_source": link(breakdown, "open_source", source=str(source.key)),
        "open_settings": link(breakdown, "open_settings", field="wished_seconds"),
    }


@pytest.mark.django_db
def test_every_command_for_a_person_leads_to_a_page_and_a_place_on_it(studio, shown, source):
    links = every_link(shown, source)
    assert set(links) == BY_HAND
    for command, made in links.items():
        path, _, place = made.href.partition("#")
        answer = studio.get(path or shown.get_absolute_url())
        assert answer.status_code == 200, command
        assert not place or f'id="{place}"' in answer.content.decode(), command


@pytest.mark.django_db
def test_each_leads_where_its_name_says(shown, source, excerpt):
    beat, links = shown.beats.get(), every_link(shown, source)
    settings = reverse("scripts:settings", args=[shown.slug])
    assert links["write_words"].href == f"#words-{beat.key}"
    assert links["write_words"].select == "4 8"
    assert links["write_title"].href == f"{settings}#id_title"
    assert links["open_settings"].href == f"{settings}#id_wished_seconds"
    assert links["choose_picture"].href == reverse("scripts:beat_picture", args=[shown.slug, beat.key])
    assert links["choose_picture"].panel == f"panel-{beat.key}"
    assert links["state_purpose"].href == reverse("excerpts:edit", args=[excerpt.pk]) + "#id_purpose"
    assert links["open_source"].href == reverse("footage:source", args=[source.key])


@pytest.mark.django_db
def test_words_without_a_place_are_gone_on_with_at_their_end(shown):
    beat = shown.beats.get()
    assert link(shown, "write_words", beat=str(beat.key)).select == "15 15"  # "The foot stops."


@pytest.mark.django_db
def test_a_beat_without_an_excerpt_gets_its_picture_chosen_and_a_nameless_source_its_settings(
    breakdown, editor
):
    (beat,) = write(breakdown, "x", by=editor)
    picture = reverse("scripts:beat_picture", args=[breakdown.slug, beat.key])
    assert link(breakdown, "state_purpose", beat=str(beat.key)).href == picture
    settings = reverse("scripts:settings", args=[breakdown.slug])
    assert link(breakdown, "open_source", source="").href == settings


@pytest.fixture
def browser(live_server, client, editor, chromium):
    """Opens a page, signed in, with or without script."""
    client.force_login(editor)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}

    def page(path: str, script: bool):
        context = chromium.new_context(java_script_enabled=script)
        context.add_cookies([cookie])
        made = context.new_page()
        made.goto(live_server.url + path)
        return made

    return page


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("script", [True, False])
def test_the_words_and_the_picture_are_reached_by_the_button(browser, breakdown, editor, script):
    one, two = write(breakdown, "The foot stops.", "", by=editor)
    services.beat_picture_save(breakdown, one.key, by=editor, kind="excerpt")
    page = browser(breakdown.get_absolute_url(), script)
    page.click(f"#margin-{two.key} a.button:has-text('Write words')")
    box = page.locator(f"#words-{two.key}")
    assert box.evaluate("box => box.parentElement.contains(document.activeElement)")
    page.click(f"#margin-{one.key} a.button[href$='/picture/']")
    page.wait_for_selector("input[name=kind]")
    at = reverse("scripts:script" if script else "scripts:beat_picture", args=_args(breakdown, one, script))
    assert re.sub(r"#.*", "", page.url).endswith(at)


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("script", [True, False])
def test_a_link_to_another_page_puts_the_cursor_into_the_field(browser, shown, source, script):
    for command in ("write_title", "open_settings", "state_purpose"):
        href = every_link(shown, source)[command].href
        page = browser(href, script)
        assert page.locator(f"#{href.partition('#')[2]}").evaluate("box => box.matches(':focus')"), command


def _args(breakdown, beat, script: bool) -> list:
    return [breakdown.slug] if script else [breakdown.slug, beat.key]
