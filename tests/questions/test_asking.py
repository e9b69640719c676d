"""Asking through its pages: drafts, limits, screening, pictures, and what is refused kindly."""

from __future__ import annotations

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from breakdowns.questions.models import Attachment, Question, Settings
from tests.factory import make_user
from tests.questions.making import make_answer, make_member, make_question

pytestmark = pytest.mark.django_db
ASK = reverse("questions:ask")
PLAIN = "How many throws in a week are sensible before a tournament?"


@pytest.fixture
def member(client):
    person = make_member()
    client.force_login(person)
    return person


def picture(kind: str = "JPEG", size=(40, 30), **fields) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "teal").save(out, kind, **fields)
    return out.getvalue()


def attached(data: bytes, name: str = "knee.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "image/jpeg")


def test_a_plain_question_is_sent_and_waits(client, member):
    answer = client.post(ASK, {"text": PLAIN, "send": "1", "since_when": "two weeks"}, follow=True)
    row = Question.objects.get()
    assert (row.state, row.member, row.text, row.since_when) == ("waiting", member, PLAIN, "two weeks")
    assert not row.consent_to_publish
    assert answer.redirect_chain == [(row.get_absolute_url(), 302)]
    assert "It waits at the desk" in answer.content.decode()


def test_a_red_flag_gets_a_calm_page_at_once_and_stands_first(client, member):
    text = "I was knocked out for a minute after a clash of heads and have been vomiting since. Can I train?"
    answer = client.post(ASK, {"text": text, "send": "1"}, follow=True)
    row = Question.objects.get()
    assert row.urgency == "emergency now"
    assert row.urgency_rank == 3
    page = answer.content.decode()
    assert answer.redirect_chain[-1][0] == reverse("questions:urgent", args=[row.key])
    assert row.screened.first().action.replace("'", "&#x27;")[:40] in page
    assert "wait for an answer here" in page
    assert row.answer is None


def test_the_draft_is_kept_while_typing_and_comes_back(client, member):
    client.post(reverse("questions:keep"), {"text": "Half a quest", "tried": "ice"})
    assert "Half a quest" in client.get(ASK).content.decode()
    client.post(reverse("questions:keep"), {"text": "Half a question", "tried": "ice"})
    assert Question.objects.get().text == "Half a question"
    assert Question.objects.get().state == "draft"


def test_words_sent_after_the_session_ended_come_back_after_signing_in(client):
    person = make_member()
    answer = client.post(ASK, {"text": PLAIN, "send": "1"})
    assert answer["Location"].startswith(reverse("people:sign_in"))
    assert not Question.objects.exists()
    client.post(
        reverse("people:sign_in"),
        {"email": person.email, "password": "a quiet hall before the match", "next": ASK},
    )
    assert PLAIN in client.get(ASK).content.decode()
    assert Question.objects.get(member=person).text == PLAIN


def test_a_text_of_a_megabyte_is_refused_kindly_and_kept(client, member):
    text = "pain " * 200_000
    answer = client.post(ASK, {"text": text, "send": "1"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Nothing is lost" in page
    assert text in page
    assert Question.objects.get().state == "draft"


@pytest.mark.parametrize(
    "text",
    ["كتفي تؤلمني عند الرمي، ماذا أفعل؟", "My knee 🦵🏽 says ouch 🤷‍♀️ when I squat", "<script>alert(1)</script> & <b>knee</b>",
     "nul\x00 and bell\x07 in it"],
)  # fmt: skip
def test_any_script_and_sign_is_fine_and_harmless(client, member, text):
    client.post(ASK, {"text": text, "send": "1"})
    row = Question.objects.get()
    page = client.get(row.get_absolute_url()).content.decode()
    assert "<script>alert" not in page
    assert "<b>knee" not in page
    assert row.text == text.replace("\x00", "").replace("\x07", "")
    assert 'dir="auto"' in page


def test_an_empty_question_is_told_beside_the_field(client, member):
    answer = client.post(ASK, {"text": "  ", "send": "1", "tried": "rest"})
    assert answer.status_code == 422
    assert "Write your question first." in answer.content.decode()
    assert "rest</textarea>" in answer.content.decode()


def test_the_owners_limit_holds_but_never_for_a_red_flag(client, member):
    Settings.objects.create(pk=1, monthly_limit=1)
    make_question(member, asked_at=timezone.now())
    answer = client.post(ASK, {"text": PLAIN, "send": "1"})
    assert answer.status_code == 422
    assert "this month" in answer.content.decode()
    assert Question.objects.filter(state="draft").count() == 1
    text = "Since the fall I have no feeling between my legs and I cannot pass water."
    assert client.post(ASK, {"text": text, "send": "1"}).status_code == 302
    assert Question.objects.filter(state="waiting", urgency_rank__gt=0).count() == 1


def test_pictures_are_made_anew_without_metadata(client, member):
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = "Invented Maker", 6
    client.post(ASK, {"text": PLAIN, "pictures": attached(picture(exif=exif, comment=b"at home"))})
    row = Attachment.objects.get()
    answer = client.get(reverse("questions:attachment", args=[row.key]))
    data = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert b"Invented Maker" not in data
    assert b"at home" not in data
    image = Image.open(io.BytesIO(data))
    assert image.size == (30, 40)  # turned upright as its metadata asked
    assert not image.getexif()


def polyglot() -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("run.txt", "invented")
    return picture() + packed.getvalue()


REFUSED = {
    "an archive behind a picture": polyglot(),
    "a script in a comment": picture(comment=b"<script>alert(1)</script>"),
    "no picture at all": b"PK\x03\x04 not a picture",
    "a bomb": picture("PNG", size=(12_000, 9_000)),
    "cut off": picture(size=(600, 600))[:900],
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_not_plainly_a_picture_is_refused_with_one_sentence(client, member, what):
    answer = client.post(ASK, {"text": PLAIN, "send": "1", "pictures": attached(REFUSED[what])})
    assert answer.status_code == 422, what
    page = answer.content.decode()
    assert page.count("“knee.jpg” ") == 1
    assert PLAIN in page
    assert not Attachment.objects.exists()
    assert Question.objects.get().state == "draft"


def test_a_question_and_its_pictures_are_the_members_own(client, member):
    client.post(ASK, {"text": PLAIN, "send": "1", "pictures": attached(picture())})
    row, shot = Question.objects.get(), Attachment.objects.get()
    addresses = [row.get_absolute_url(), reverse("questions:attachment", args=[shot.key])]
    client.force_login(make_member())
    assert [client.get(address).status_code for address in addresses] == [404, 404]
    client.force_login(make_user("editor"))
    assert client.get(addresses[1]).status_code == 200


def test_without_a_membership_there_is_no_form(client):
    client.force_login(make_user("reader"))
    assert client.get(ASK).status_code == 403
    assert client.get(reverse("questions:index")).status_code == 200


def test_an_answer_is_read_when_it_is_out_and_not_before(client, member):
    soon = timezone.now() + timezone.timedelta(minutes=5)
    row = make_question(
        member, state="answered", answered_at=timezone.now(), answer=make_answer("**Rest** it.", goes_at=soon)
    )
    assert "Rest" not in client.get(row.get_absolute_url()).content.decode()
    row.answer.goes_at = timezone.now()
    row.answer.save()
    assert "<strong>Rest</strong>" in client.get(row.get_absolute_url()).content.decode()
    row.refresh_from_db()
    assert row.seen_at
    assert client.post(reverse("questions:thank", args=[row.key])).status_code == 302
    follow = reverse("questions:follow_up", args=[row.key])
    client.post(follow, {"text": "And how long?"})
    client.post(follow, {"text": "And once more?"})
    assert [one.text for one in Question.objects.filter(follows=row)] == ["And how long?"]


def test_a_question_that_waits_can_be_taken_back(client, member):
    row = make_question(member)
    client.post(reverse("questions:take_back", args=[row.key]))
    row.refresh_from_db()
    assert row.state == "withdrawn"
