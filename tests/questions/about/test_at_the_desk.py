"""A question sent gets its breakdown and moment proposed; the desk shows, corrects and inserts them."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from breakdowns.publishing.models import Release
from breakdowns.questions.asking.services import question_send
from breakdowns.questions.models import Correction, Passage, Question
from breakdowns.questions.services import read_again
from breakdowns.scripts.models import Breakdown
from tests.factory import make_user
from tests.questions.about.measuring import breakdowns
from tests.questions.making import make_member

pytestmark = pytest.mark.django_db
ADDUCTOR = "Where exactly does adductor longus tear?"


@pytest.fixture
def released() -> dict[str, Release]:
    found = {}
    for page in breakdowns():
        piece = Breakdown.objects.create(title=page["title"], slug=page["slug"])
        found[page["slug"]] = Release.objects.create(
            breakdown=piece,
            slug=page["slug"],
            audience="everybody",
            page={**page, "cautions": []},
            folder="x",
        )
    return found


def sent(text: str, **fields) -> Question:
    question = Question.objects.create(member=make_member(), text=text, **fields)
    return question_send(question, tell=False)


def desk(client, question: Question) -> str:
    client.force_login(make_user("editor"))
    client.post(reverse("questions:desk"), {"minutes": 20})
    return client.get(reverse("questions:sitting")).content.decode()


def test_it_is_proposed_with_its_reason_and_can_be_put_right_by_one_key(client, released):
    question = sent(ADDUCTOR)
    assert (question.release, question.moment_frame) == (released["split-save"], 480)
    page = desk(client, question)
    assert "likely about" in page
    assert "adductor longus" in page.split('class="hint">It shares')[1]
    link = "[The split save: a goalkeeper&#x27;s groin, 0:19](/read/split-save/#at-480)"
    assert f'data-insert="{link}"' in page
    form = {"key": str(question.key), "drop_moment": "1"}
    client.post(reverse("questions:put_right", args=[question.key]), form)
    question.refresh_from_db()
    assert (question.release, question.moment_frame) == (None, None)
    kept = Correction.objects.get(field="moment")
    assert (kept.said, kept.put) == ({"release": "split-save", "frame": 480}, None)
    assert "likely about" not in client.get(reverse("questions:sitting")).content.decode()


def test_who_asked_is_not_told_a_guess(client, released):
    question = sent(ADDUCTOR)
    client.force_login(question.member)
    page = client.get(question.get_absolute_url()).content.decode()
    assert "split save" not in page
    own = sent("Is this so?", release=released["split-save"])
    client.force_login(own.member)
    assert "split save" in client.get(own.get_absolute_url()).content.decode()


def test_what_the_member_came_from_stays_and_gets_its_moment(released):
    question = sent("What does the towel do for the warm-up?", release=released["split-save"])
    assert (question.release, question.moment_frame) == (released["split-save"], 700)
    said = sent(ADDUCTOR, release=released["late-hips"], moment_frame=3)
    assert (said.release, said.moment_frame, said.about_is_proposed) == (released["late-hips"], 3, False)


def test_a_withdrawn_breakdown_and_a_stranger_get_nothing(released):
    Release.objects.filter(slug="split-save").update(withdrawn_at=timezone.now())
    question = sent(ADDUCTOR)
    assert question.release != released["split-save"]
    assert sent("How do I change the card that my membership is paid with?").release is None


def test_without_any_breakdown_nothing_is_proposed():
    assert sent(ADDUCTOR).release is None


def test_words_are_kept_once_and_made_anew_with_the_rest(released):
    sent(ADDUCTOR)
    count = Passage.objects.count()
    sent(ADDUCTOR)
    assert Passage.objects.count() == count == sum(len(page["beats"]) + 1 for page in breakdowns())
    Passage.objects.update(fingerprint={})
    waiting = Question.objects.first()
    read_again()
    assert Passage.objects.count() == count
    assert not Passage.objects.filter(fingerprint={}).exists()
    waiting.refresh_from_db()
    assert waiting.sorted["moment_because"], "what was proposed is not lost"
