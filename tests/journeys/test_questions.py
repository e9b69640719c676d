"""Questions in a real browser: asking, the page that says where to go, and the desk by keyboard alone."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from breakdowns.questions.models import Group, Question, Settings, Sitting
from tests.factory import make_user
from tests.journeys.test_script_page import until
from tests.questions.making import make_member, make_question

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def browse(live_server, client, chromium):
    """Opens a page as somebody; what goes wrong in it is collected in ``browse.faults``."""

    def browse(person, path: str):
        client.force_login(person)
        cookie = {
            "name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url
        }  # fmt: skip
        context = chromium.new_context(viewport={"width": 1280, "height": 900})
        context.add_cookies([cookie])
        page = context.new_page()
        page.on("pageerror", lambda fault: browse.faults.append(str(fault)))
        page.goto(live_server.url + path)
        return page

    browse.faults = []
    return browse


def test_typing_is_kept_and_a_sign_that_cannot_wait_leads_to_the_calm_page(browse):
    member = make_member()
    page = browse(member, reverse("questions:ask"))
    page.fill("#id_text", "I blacked out after a knock to the head and have been sick twice since.")
    page.wait_for_selector("#kept:has-text('Draft kept')")
    assert Question.objects.get().state == "draft"
    page.reload()
    assert page.input_value("#id_text").startswith("I blacked out")
    page.click("text=Send the question")
    page.wait_for_url("**/now/")
    assert "emergency now" in page.inner_text("main")
    assert Question.objects.get().urgency == "emergency now"
    assert browse.faults == []


def test_the_desk_by_keyboard_answers_a_group_and_takes_it_back(browse):
    Settings.objects.create(pk=1, minutes_preset=15)
    group = Group.objects.create(waiting=2)
    first = make_question(group=group, text="Is a loose shoulder bad for throwing?")
    other = make_question(group=group, text="My shoulder is loose when I throw, is that bad?")
    last = make_question(text="Which shoes for the hall?", asked_at=timezone.now() - timedelta(minutes=1))
    page = browse(make_user("editor"), reverse("questions:desk"))
    page.focus("#id_minutes")
    page.keyboard.press("Enter")
    page.wait_for_selector("html.js #work")
    page.keyboard.press("t")
    page.keyboard.press("4")
    until(page, lambda: Question.objects.get(pk=first.pk).topic == "training load")
    page.wait_for_selector(".sorting:not([open])")
    page.keyboard.press("a")
    page.keyboard.type("It depends on how often.")
    page.keyboard.press("Control+Enter")
    until(page, lambda: Question.objects.filter(state="answered").count() == 2)
    page.wait_for_selector(".asked:has-text('Which shoes')")
    assert "1 answered, 2 people reached" in page.inner_text(".clock")
    page.keyboard.press("z")
    until(page, lambda: Question.objects.filter(state="answered").count() == 0)
    page.wait_for_selector(".asked:has-text('loose shoulder')")
    assert page.input_value("#answer") == "It depends on how often."
    page.reload()
    assert page.input_value("#answer") == "It depends on how often."
    page.keyboard.press("o")
    until(page, lambda: Sitting.objects.get().paused_at is not None)
    page.wait_for_selector("text=left, stopped")
    page.keyboard.press("s")
    page.keyboard.type("Asked twice.")
    page.keyboard.press("Enter")
    until(page, lambda: Question.objects.get(pk=first.pk).state == "aside")
    assert {one.state for one in Question.objects.filter(pk__in=[other.pk, last.pk])} == {"waiting"}
    assert browse.faults == []
