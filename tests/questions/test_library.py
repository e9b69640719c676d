"""The library and its full text, the same on SQLite and PostgreSQL, and the feed at a private address."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.urls import reverse
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from breakdowns.people.keys.services import feed_make
from breakdowns.people.models import FeedAddress
from breakdowns.questions.answers.services import answer_correct
from breakdowns.questions.machine import answer_columns, compares_senses
from breakdowns.questions.models import Answer, AnswerVersion, Correction
from breakdowns.questions.search.selectors import matching
from breakdowns.questions.search.services import indexes_make
from breakdowns.questions.search.terms import asked_for, index_words, ranked, term
from breakdowns.questions.selectors import candidates, found_in_library, likely_answers
from breakdowns.questions.services import read_again
from tests.factory import make_user
from tests.questions.making import make_answer, make_member, make_note, make_question

pytestmark = pytest.mark.django_db
LIBRARY = reverse("questions:library")
ASKED = {
    "shoulder": "My shoulder hurts after throwing on two days in a row. How long should I rest it?",
    "landing": "Should both feet land at the same time after a jump throw?",
    "shoes": "Which shoes hold best on a dusty hall floor?",
    "knee": "Why does my knee click when I squat deep without any pain?",
}


@pytest.fixture
def shelf(db):
    return {
        name: make_note(asked, topic="technique" if name == "landing" else "", regions=[name], **answer_columns(asked, "It depends.", [name]))
        for name, asked in ASKED.items()
    }  # fmt: skip


@pytest.fixture
def member(client):
    person = make_member()
    client.force_login(person)
    return person


def names(found, shelf):
    back = {row.pk: name for name, row in shelf.items()}
    return [back[one.answer.pk] for one in found if one.answer.pk in back]


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("shoulder after throwing", "shoulder"),
        ("land on both feet", "landing"),
        ("shoes for a dusty floor", "shoes"),
        ("knee clicks in a squat", "knee"),
    ],
)
def test_words_find_the_answer_on_either_database(shelf, words, first):
    assert names(found_in_library(words), shelf)[0] == first


@pytest.mark.parametrize(
    ("asked", "typed"),
    [
        ("Does the latissimus dorsi turn the arm in?", "lats"),
        ("Do throwers need stronger calves?", "calf strength for a thrower"),
        ("Is the anterior cruciate ligament at risk in a landing?", "ACL"),
        ("Which muscles bend the knee?", "knee flexion"),
    ],
)
def test_other_words_for_the_same_thing_find_it_too(shelf, asked, typed):
    row = make_note(asked, **answer_columns(asked, "It depends.", []))
    assert found_in_library(typed)[0].answer == row


def test_the_index_is_in_step_with_every_write(shelf):
    """FTS5's own integrity check, or that PostgreSQL's column is what its row says; also after bulk writes and undone ones."""
    with transaction.atomic():
        make_note("never kept", **answer_columns("ankle tape never kept", "", []))
        transaction.set_rollback(True)
    Answer.objects.filter(pk=shelf["shoes"].pk).update(search_words=index_words("insoles"))
    shelf["knee"].delete()
    fresh = [make_answer(search_words=index_words(f"fresh word{place}")) for place in range(3)]
    Answer.objects.filter(pk=fresh[0].pk).delete()
    rows = Answer.objects.order_by()
    assert [one.pk for one in matching(rows, ["insoles"])] == [shelf["shoes"].pk]
    assert not matching(rows, [term("dusty")])
    assert not matching(rows, ["never"])
    assert [one.pk for one in matching(rows, ["fresh"])] == [fresh[2].pk, fresh[1].pk]
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute(
                "INSERT INTO questions_answer_words(questions_answer_words, rank) VALUES ('integrity-check', 1)"
            )


def test_an_index_that_was_lost_is_made_again(shelf):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL's index is part of the table")
    with connection.cursor() as cursor:
        for name in ("insert", "delete", "update"):
            cursor.execute(f"DROP TRIGGER questions_answer_words_{name}")
    late = make_note("Late", **answer_columns("Is tape on the ankle of use?", "", []))
    indexes_make()
    assert [one.answer for one in found_in_library("ankle tape")] == [late]


def test_filters_narrow_and_private_or_coming_ones_never_show(client, member, shelf):
    make_answer("Private shoulder words", **answer_columns("shoulder after throwing", "", []))
    soon = timezone.now() + timedelta(minutes=5)
    make_note("Coming shoulder question", goes_at=soon, **answer_columns("shoulder after throwing", "", []))
    page = client.get(LIBRARY, {"q": "shoulder after throwing"}).content.decode()
    assert "two days in a row" in page
    assert "Coming shoulder" not in page
    page = client.get(LIBRARY, {"region": "knee"}).content.decode()
    assert "click when I squat" in page
    assert "two days in a row" not in page
    page = client.get(LIBRARY, {"topic": "technique"}).content.decode()
    assert "both feet land" in page
    assert "dusty" not in page
    page = client.get(LIBRARY, {"q": "feet", "region": "shoes"}).content.decode()
    assert "Nothing in the library fits" in page


@pytest.mark.parametrize(
    "words", ["'", '"', "a' | b", "NOT *", "AND OR", "\x00", "🦵🏽", "كتفي", "(" * 400, "x" * 5000, "&!:*<->"]
)
def test_any_words_may_be_searched(client, member, shelf, words):
    assert client.get(LIBRARY, {"q": words}).status_code == 200


def test_a_search_with_signs_that_can_not_wait_says_where_to_go(client, member):
    text = "no feeling between my legs and I cannot pass water since the fall"
    assert "note over" in client.get(LIBRARY, {"q": text}).content.decode()


def test_a_correction_is_found_by_its_new_words(shelf):
    row = shelf["shoes"]
    answer_correct(
        row, text="Try gum rubber.", note="Try gum rubber.", what_changed="The sole.", by=make_user("editor")
    )
    assert names(found_in_library("gum rubber"), shelf) == ["shoes"]


def test_likely_answers_come_while_typing(client, member, shelf):
    page = client.post(
        reverse("questions:likely"), {"text": "how long to rest a shoulder after throwing"}
    ).content.decode()
    assert "two days in a row" in page
    assert likely_answers("Hi") == []


@pytest.mark.skipif(not compares_senses(), reason="the sentence encoder is not installed")
def test_the_same_is_found_without_a_word_in_common(shelf):
    """The newest are compared by their sense even where the index has nothing in common with what is typed."""
    rows = Answer.objects.order_by()
    assert not matching(rows, ["nothingofit"])
    assert {pk for pk, _ in candidates(rows, "nothingofit")} == {row.pk for row in shelf.values()}
    assert candidates(rows, "") == []


def test_going_back_gets_the_whole_page_and_typing_a_piece(client, member, shelf):
    piece = client.get(LIBRARY, {"q": "shoes"}, headers={"hx-request": "true"})
    back = {"hx-request": "true", "hx-history-restore-request": "true"}
    assert "<html" not in piece.content.decode()
    assert "HX-Request" in piece["Vary"]
    assert "<html" in client.get(LIBRARY, {"q": "shoes"}, headers=back).content.decode()


def test_everything_is_read_again_and_what_a_person_put_right_stays(shelf):
    row = make_question(text="Is the rotator cuff weak?", muscles=["put by hand"])
    Correction.objects.create(question=row, field="muscles", said=[], put=["put by hand"])
    Answer.objects.update(search_words="")
    assert found_in_library("dusty floor") == []
    call_command("read_questions_again", stdout=StringIO())
    assert names(found_in_library("dusty floor"), shelf) == ["shoes"]
    row.refresh_from_db()
    assert row.search_words
    assert row.muscles == ["put by hand"]
    assert read_again() == (0, 0)


words_ = st.lists(st.sampled_from("abcdefgh"), min_size=1, max_size=8, unique=True)


@given(words_, st.dictionaries(st.sampled_from("abcdefgh"), st.floats(0, 1)), st.integers(2001, 10**6))
@settings(deadline=None)
def test_every_clause_is_expected_to_be_short_or_asks_for_everything(terms, shares, rows):
    clauses = asked_for(terms, shares, rows, 300)
    assert clauses
    for some in clauses:
        expected = rows
        for one in some:
            expected *= shares.get(one, 0.0)
        assert expected <= 300 or set(some) == set(terms)


@given(st.text())
@settings(deadline=None)
def test_terms_are_plain_and_ranking_is_between_nothing_and_all(text):
    found = index_words(text)
    assert re.fullmatch(r"[a-z0-9 ]*", found)
    assert all(0 <= score <= 1 for _, score in ranked(found.split(), {1: found, 2: ""}))


# --- the feed: RFC 4287 ------------------------------------------------------------------------

ATOM = "{http://www.w3.org/2005/Atom}"
RFC3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")


def address_of(person) -> str:
    whole = feed_make(person)
    return "/" + whole.split("/", 3)[3]


def held_against_rfc_4287(body: bytes) -> ET.Element:
    """What RFC 4287 demands of a feed and its entries (4.1.1, 4.1.2, 4.2.6, 4.2.15, 3.3, 4.1.3.3)."""
    root = ET.fromstring(body)
    assert root.tag == f"{ATOM}feed"
    for part, least, most in (("id", 1, 1), ("title", 1, 1), ("updated", 1, 1), ("author", 1, 99)):
        assert least <= len(root.findall(ATOM + part)) <= most, part
    assert root.find(f"{ATOM}author/{ATOM}name").text
    links = [(one.get("rel"), one.get("type")) for one in root.findall(f"{ATOM}link")]
    assert len(set(links)) == len(links)
    assert ("self", "application/atom+xml") in links
    ids = []
    for entry in root.findall(f"{ATOM}entry"):
        for part in ("id", "title", "updated", "published", "content"):
            assert len(entry.findall(ATOM + part)) == 1, part
        for part in ("updated", "published"):
            assert RFC3339.fullmatch(entry.find(ATOM + part).text)
        ids.append(entry.find(f"{ATOM}id").text)
        assert re.match(r"[a-z]+:", ids[-1])
        assert entry.find(f"{ATOM}content").get("type") == "html"
        assert "<script" not in (entry.find(f"{ATOM}content").text or "")
        assert entry.find(f"{ATOM}link").get("href").startswith("http")
    assert len(set(ids)) == len(ids)
    return root


def test_the_feed_is_atom_with_the_answers_and_their_cautions(client, shelf):
    row = make_note(
        "Ugly \x0b <b>sign</b> & more",
        "<script>alert(1)</script> **Rest** \x01",
        cautions=["Be seen if it swells."],
    )
    held = held_against_rfc_4287(client.get(address_of(make_member())).content)
    entry = next(one for one in held.findall(f"{ATOM}entry") if str(row.key) in one.find(f"{ATOM}id").text)
    assert "<b>sign</b>" in entry.find(f"{ATOM}title").text
    assert "<strong>Rest</strong>" in entry.find(f"{ATOM}content").text
    assert "Be seen if it swells." in entry.find(f"{ATOM}content").text
    assert "no consultation" in entry.find(f"{ATOM}content").text


def test_an_empty_feed_is_valid_too(client):
    held_against_rfc_4287(client.get(address_of(make_member())).content)


def test_the_feed_is_sent_again_only_when_it_changed(client, shelf):
    address = address_of(make_member())
    first = client.get(address)
    assert first["Content-Type"].startswith("application/atom+xml")
    assert client.get(address, headers={"if-none-match": first["ETag"]}).status_code == 304
    assert client.get(address, headers={"if-modified-since": first["Last-Modified"]}).status_code == 304
    assert (
        client.get(
            address, headers={"if-none-match": '"other"', "if-modified-since": first["Last-Modified"]}
        ).status_code
        == 200
    )
    AnswerVersion.objects.create(answer=shelf["knee"], number=2, text="x", note="x", what_changed="More.")
    Answer.objects.filter(pk=shelf["knee"].pk).update(note="x")
    after = client.get(address, headers={"if-none-match": first["ETag"]})
    assert after.status_code == 200


def test_a_revoked_address_or_an_ended_membership_opens_nothing(client, shelf):
    person = make_member()
    address = address_of(person)
    today = timezone.localdate()
    person.memberships.update(starts_on=today - timedelta(days=99), ends_on=today - timedelta(days=90))
    assert client.get(address).status_code == 404
    person = make_member()
    address = address_of(person)
    assert client.get(address).status_code == 200
    FeedAddress.revoke_all(person)
    assert client.get(address).status_code == 404
