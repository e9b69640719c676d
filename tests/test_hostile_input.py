"""Hostile and broken input at every form and command: a sentence, never a 500, never something lost."""

from __future__ import annotations

import io
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import NoReverseMatch, get_resolver, reverse

from breakdowns.excerpts.models import Excerpt, ExcerptPolicy
from breakdowns.footage.models import Event, Source
from breakdowns.people.models import User
from breakdowns.publishing.models import Release
from breakdowns.publishing.reading import safe_html
from breakdowns.scripts import services
from breakdowns.scripts.models import AnsweredNote, Beat, Breakdown, SetAside
from breakdowns.work.models import WorkItem
from tests.factory import make_user

pytestmark = pytest.mark.django_db

# OWASP Cross Site Scripting Prevention Cheat Sheet: each context that text can break out of.
SCRIPTS = [
    "<script>alert(1)</script>", "</script><script>alert(1)</script>", "</textarea><script>alert(1)</script>",
    '" onmouseover="alert(1)', "' autofocus onfocus='alert(1)", "<img src=x onerror=alert(1)>",
    "<svg/onload=alert(1)>", "</title><script>alert(1)</script>", "<!--<script>alert(1)</script>",
    "<iframe srcdoc='<script>alert(1)</script>'>", "{{ 7|add:7 }}{% load x %}",
]  # fmt: skip
LINKS = ["[a](javascript:alert(1))", "[a](JaVaScRiPt:alert(1))", "[a](data:text/html,x)", "<javascript:alert(1)>",
         '[a](https://x.example "onclick=alert(1)")', "[a]( java\nscript:alert(1))", "![a](x)"]  # fmt: skip
# One of each place where text could begin to run; what Markdown makes of the others is tried on Markdown alone.
EVERYWHERE = [
    SCRIPTS[1],
    SCRIPTS[2],
    SCRIPTS[3],
    SCRIPTS[4],
    SCRIPTS[5],
    SCRIPTS[8],
    SCRIPTS[10],
    LINKS[1],
    LINKS[4],
]
# Unicode Standard: U+0000, bidirectional controls (UAX #9), a non-character, beyond the BMP, combining marks.
TEXTS = ["a\x00b", "\u202egnp.mp4\u202c", "\ufffe\uffff", "🤾🏽‍♀️" * 30, "z" + "\u0301" * 60, "مرحبا بالعالم", "\x1b[2J", " ", "-1",
         "9" * 5000, str(2**63), str(2**31), "-" + "9" * 30, "1e400", "nan", "NaN:00", "1/0", "٣", "²", "0x10",
         "999999999999999999/999999999999999998"]  # fmt: skip
ALONE = [
    "a\x00b9" + "9" * 5000,
    "999999999999999999/999999999999999998",
]  # one field bad, its neighbours good


class Watch(HTMLParser):
    """Fails on a script without an address, a handler in an attribute, or an address that runs."""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = dict(attrs)
        assert tag not in ("iframe", "object", "embed", "base"), tag
        if tag == "script":
            assert "src" in names or names.get("type") in ("application/json",), attrs
        for name, value in attrs:
            assert not name.startswith("on"), attrs
            assert name != "style", attrs
            if name in ("href", "src", "action", "formaction"):
                assert not re.match(r"\s*(javascript|data|vbscript):", value or "", re.I), attrs


def is_clean(html: str) -> None:
    Watch(convert_charrefs=True).feed(html)


@pytest.fixture
def owner() -> User:
    return make_user("owner")


@pytest.fixture
def studio(client, owner):
    client.force_login(owner)
    return client


@pytest.fixture
def source() -> Source:
    return Source.objects.create(
        event=Event.objects.create(name="Cup semi-final (invented)"), title="Semi-final", view="baseline",
        state="ready", rate_num=30000, rate_den=1001, frame_count=9000, width=1280, height=720,
        original="invented.mp4", original_name="invented.mp4",
    )  # fmt: skip


@pytest.fixture
def excerpt(source) -> Excerpt:
    return Excerpt.objects.create(source=source, name="planting step", in_frame=300, out_frame=420)


@pytest.fixture
def breakdown(owner) -> Breakdown:
    return services.breakdown_create(by=owner, title="Late hips")


@pytest.fixture
def policy(studio) -> ExcerptPolicy:
    studio.post(reverse("excerpts:policy_make"), {"preset": "quotation"})
    return ExcerptPolicy.objects.get()


def picture_address(breakdown: Breakdown) -> str:
    return reverse("scripts:beat_picture", args=[breakdown.slug, breakdown.beats.first().key])


@pytest.fixture
def forms(studio, owner, source, excerpt, breakdown, policy) -> dict[str, dict[str, str]]:
    """Each address that takes a form, with a form that it would accept."""
    beat = breakdown.beats.first()
    on, at = [breakdown.slug], [breakdown.slug, beat.key]
    words = {"words": "Knees.", "base_version": "1", "base_words": "", "at": "1", "to": "1", "by": ""}
    picture = {
        "heading": "",
        "phase": "",
        "seconds": "5",
        "plate": "text",
        "plate_title": "",
        "plate_text": "",
    }
    shown = {
        "kind": "excerpt",
        "excerpt": str(excerpt.pk),
        "in_point": "",
        "out_point": "",
        "speed": "1",
        "hold": "0",
    }
    still = {"kind": "still", "source": str(source.pk), "frame": "5"}
    entry = SetAside.objects.create(breakdown=breakdown, beat_key=beat.key, words="Old.", base_version=1)
    front = {"title": "Late hips", "standfirst": "", "policy": breakdown.policy, "wished_seconds": "", "shape": "16:9",
             "rate": "30", "focus_x": "50", "focus_y": "50", "cautions": "", "references": "", "voice": ""}  # fmt: skip
    details = {"title": "Semi-final", "view": "baseline", "event": "", "new_event": "", "new_event_ended": "",
               "terms": source.terms, "rights_holder": "", "attribution": "", "notes": ""}  # fmt: skip
    span = {"name": "", "in_frame": "10", "out_frame": "20", "purpose": ""}
    limits = {f"limit-{one.rule}-{one.scope}-{one.sense}": "1" for one in _limits(policy)}
    return {
        reverse("scripts:create"): {"title": "New"},
        reverse("scripts:settings", args=on): front,
        reverse("scripts:import", args=on): {"text": "WEBVTT\n\n00:01.000 --> 00:02.000\nOne.\n", "pause": "1", "kept": ""},
        reverse("scripts:note_action", args=on): {"note": "x", "action": "0"},
        reverse("scripts:note_answer", args=on): {"note_id": "x", "says": "x", "reason": "x"},
        reverse("scripts:undo", args=on): {"beat": str(beat.key)},
        reverse("scripts:settle", args=[*on, entry.pk]): {"choice": "both", "seen_version": "1"},
        reverse("scripts:beat_save", args=at): words,
        reverse("scripts:beat_split", args=at): words,
        reverse("scripts:beat_move", args=at): words,
        reverse("scripts:beat_insert", args=at): words,
        picture_address(breakdown): picture | shown,
        picture_address(breakdown) + "?still": picture | still,
        picture_address(breakdown) + "?plate": picture | {"kind": "plate"},
        reverse("excerpts:create", args=[source.key]): span,
        reverse("excerpts:edit", args=[excerpt.pk]): span | {"version": "1"},
        reverse("excerpts:policy_make"): {"preset": "quotation"},
        reverse("excerpts:policy", args=[policy.pk]): {"name": "Own", "note": ""} | limits,
        reverse("footage:begin"): {"name": "a.mp4", "size": "10"},
        reverse("footage:add"): {"registered": "0:a.mp4"},
        reverse("footage:edit", args=[source.key]): details,
        reverse("footage:sync", args=[source.key]): {"frame": "3"},
        reverse("assembly:assemble", args=on): {"height": "720"},
        reverse("people:people"): {"name": "A", "email": "a@example.org", "role": "reader"},
        reverse("people:account"): {"password": "short"},
        reverse("people:sign_in"): {"email": "a@example.org", "password": "x", "next": "/"},
        reverse("people:send_link"): {"link-email": "a@example.org"},
    }  # fmt: skip


def _limits(policy: ExcerptPolicy) -> list:
    from breakdowns.excerpts.selectors import own_policy

    return own_policy(policy).policy.limits[:2]


def stored_numbers_fit() -> None:
    """Every number fits the column that PostgreSQL would give it (documentation, table 8.2, Numeric Types)."""
    for model in (Beat, Breakdown, SetAside, Excerpt, Source):
        for row in model.objects.all():
            for field in model._meta.concrete_fields:
                value = getattr(row, field.attname)
                if field.name == "wished_seconds":
                    continue  # held by the form itself, to what the database in use can store
                if field.get_internal_type() == "PositiveIntegerField" and value is not None:
                    assert 0 <= value < 2**31, (model, field.name, value)


def test_one_faulty_field_of_a_beat_is_answered(studio, forms):
    for address, good in forms.items():
        if not {"base_picture", "speed", "base_version", "seen_version"} & good.keys():
            continue
        for name in good:
            for text in ALONE:
                answer = studio.post(address, good | {name: text})
                assert answer.status_code < 500, (address, name, text[:40])
    stored_numbers_fit()
    for page in ("scripts:index", "footage:index", "excerpts:policies", "publishing:index", "people:people"):
        assert studio.get(reverse(page)).status_code == 200, page
    for breakdown in Breakdown.objects.all():
        for page in ("script", "settings", "prompter", "print", "import"):
            assert studio.get(reverse(f"scripts:{page}", args=[breakdown.slug])).status_code == 200, page


def test_a_megabyte_in_every_field_is_answered_once(studio, forms):
    for address, good in forms.items():
        answer = studio.post(address, dict.fromkeys(good, "x" * 100_000))
        assert answer.status_code < 500, address


def test_an_empty_form_is_answered_with_a_sentence(studio, forms):
    for address in forms:
        assert studio.post(address).status_code < 500, address
        assert studio.post(address, {"bytes": b"\xff\xfe\x00"}).status_code < 500, address


def test_addresses_with_faulty_values_are_not_found(studio, source, breakdown):
    huge = ["9" * 5000, str(2**63), str(2**64), "0"]
    names = ["excerpts:edit", "excerpts:policy", "footage:together", "work:progress"]
    for number in huge:
        for name in names:
            address = reverse(name, args=[1]).replace("/1/", f"/{number}/")
            assert studio.get(address).status_code == 404, (name, number[:30])
        for name in ("people:person_switch", "work:stop", "publishing:withdraw", "excerpts:delete"):
            address = reverse(name, args=[1]).replace("/1/", f"/{number}/")
            assert studio.post(address).status_code == 404, (name, number[:30])
        if number != "0":
            still = reverse("footage:still", args=[source.key, 1]).replace("/1/", f"/{number}/")
            assert studio.get(still).status_code == 404
        assert studio.get(f"/read/late-hips/{number}/video/").status_code == 404
    for key in ("0" * 31, "x", "%00", "..%2f..", "\ud800".encode("utf-8", "surrogatepass").hex()):
        assert studio.get(f"/footage/{key}/").status_code == 404
        assert studio.get(f"/scripts/{key}/").status_code == 404


@pytest.mark.parametrize("text", TEXTS)
def test_queries_with_faulty_values_are_answered(studio, source, breakdown, text):
    for name, args, keys in (
        ("footage:source", [source.key], ("frame", "in", "out", "name", "purpose")),
        ("footage:together", [source.event_id], ("frame",)),
        ("footage:details", [], ("upload", "registered")),
        ("scripts:here", [breakdown.slug], ("seen",)),
        ("people:sign_in", [], ("next",)),
    ):
        for key in keys:
            assert studio.get(reverse(name, args=args), {key: text}).status_code < 500, (name, key)


def test_a_note_with_characters_that_cannot_be_stored_is_answered(studio, breakdown):
    address = reverse("scripts:note_answer", args=[breakdown.slug])
    assert studio.post(address, {"again": "1", "note_id": "a\x00b"}).status_code < 500
    assert not AnsweredNote.objects.exists()


def test_kept_transcript_that_is_no_base64_is_refused(studio, breakdown):
    address = reverse("scripts:import", args=[breakdown.slug])
    for kept in ("é", "@", "QQ=", "QUJD\u202e"):
        answer = studio.post(address, {"kept": kept, "pause": "1", "take": "1"})
        assert answer.status_code == 422
        assert b"choose it again" in answer.content


@pytest.mark.parametrize(
    "text",
    ["99:59:59.000 --> 99:59:59.999\nx", "9999999:00:00.000 --> 99999999:00:00.000\nx",
     "00:00:00.000 --> 99999999:00:00.000\nx", "00:05.000 --> 00:01.000\nx", "-00:01.000 --> 00:02.000\nx",
     "00:01.000 --> 00:02.000\na\x00b", "00:01.000 --> 00:02.000\n" + SCRIPTS[0]],
)  # fmt: skip
def test_a_transcript_is_taken_or_refused_but_never_breaks(studio, breakdown, text):
    address = reverse("scripts:import", args=[breakdown.slug])
    for body in (f"WEBVTT\n\n{text}\n", f"1\n{text}\n".replace(".", ",")):
        for more in ({}, {"take": "1"}):
            answer = studio.post(address, {"text": body, "pause": "1"} | more)
            assert answer.status_code < 500
            is_clean(answer.content.decode())
    stored_numbers_fit()
    assert studio.get(breakdown.get_absolute_url()).status_code == 200


# --- text that would be a program ----------------------------------------------------------------


@pytest.mark.once
@pytest.mark.parametrize("evil", EVERYWHERE)
def test_stored_text_stays_text_on_every_page(studio, forms, source, excerpt, breakdown, policy, evil):
    Event.objects.update(name=evil)
    Source.objects.update(
        title=evil, original_name=evil, rights_holder=evil, attribution=evil, notes=evil, view=evil[:20]
    )
    Excerpt.objects.update(name=evil, purpose=evil)
    ExcerptPolicy.objects.update(name=evil, note=evil)
    Breakdown.objects.update(title=evil, standfirst=evil, cautions=evil, references=evil)
    User.objects.update(name=evil)
    first = breakdown.beats.first()
    Beat.objects.update(
        words=evil, heading=evil, phase=evil[:60], plate_title=evil, plate_text=evil, kind="plate"
    )
    more = {"breakdown": breakdown, "words": evil, "heading": evil}
    Beat.objects.create(position=1, kind="excerpt", excerpt=excerpt, **more)
    Beat.objects.create(position=2, kind="still", source=source, frame=5, **more)
    WorkItem.objects.create(kind="x", subject="1", doing=evil, reason=evil, state="failed")
    AnsweredNote.objects.create(breakdown=breakdown, note_id="x", says=evil, reason=evil)
    beat = {
        "kind": "plate",
        "plate": "text",
        "words": evil,
        "plate_title": evil,
        "plate_text": evil,
        "heading": evil,
        "start_frame": 0,
    }
    page = {"title": evil, "rate": "25", "beats": [beat], "references": [evil], "cautions": [evil], "standfirst": evil,
            "chapters": [{"title": evil, "frame": 0}], "credits": [{"line": evil, "title": evil, "own_terms": ""}],
            "sources": [{"title": evil}], "use_of_footage": evil, "frame_count": 25}  # fmt: skip
    Release.objects.create(breakdown=breakdown, slug="evil", audience="everybody", page=page, folder="x")
    values = {"slug": breakdown.slug, "key": source.key, "pk": None}
    seen = 0
    for name, kwargs in pages(values, {"scripts": first.key}):
        for headers in ({}, {"HX-Request": "true"}):
            answer = studio.get(reverse(name, kwargs=kwargs), headers=headers)
            assert answer.status_code < 500, name
            if answer.status_code == 200 and "html" in answer["Content-Type"]:
                is_clean(answer.content.decode())
                seen += 1
    answer = studio.get(reverse("publishing:read", args=["evil"]))
    assert answer.status_code == 200
    is_clean(answer.content.decode())
    assert seen > 30


def pages(values: dict, beats: dict):
    """Each address that GET may reach, filled with what there is."""
    primary = {
        "excerpts:edit": Excerpt,
        "excerpts:policy": ExcerptPolicy,
        "footage:together": Event,
        "work:progress": WorkItem,
    }
    for resolver in get_resolver().url_patterns:
        for pattern in resolver.url_patterns:
            name = f"{resolver.namespace}:{pattern.name}"
            kwargs = {part: values.get(part) for part in pattern.pattern.converters}
            if resolver.namespace in beats and "key" in kwargs:
                kwargs["key"] = beats[resolver.namespace]
            if "pk" in kwargs:
                kwargs["pk"] = primary[name].objects.first().pk if name in primary else 1
            if name == "excerpts:policy":
                kwargs["pk"] = ExcerptPolicy.objects.first().pk
            try:
                reverse(name, kwargs=kwargs)
            except NoReverseMatch:
                continue
            yield name, kwargs


@pytest.mark.parametrize("text", [*SCRIPTS, *LINKS])
def test_markdown_becomes_plain_elements(text):
    is_clean(safe_html(text))
    is_clean(safe_html(text, keep_lines=True))


@pytest.mark.parametrize(
    "text", ["> " * 5000, "- " * 5000, "[" * 20000, "*" * 20000, "`" * 20000, "<" * 20000, "![" * 9000, "_a" * 9000,
             "\n".join(" " * 4 * n + "- a" for n in range(150)), "<div>" * 4000, "&#" * 9000, "a\x02b\x03 klzzwxh:0001"]
)  # fmt: skip
def test_markdown_made_to_break_the_reader_is_read(text):
    is_clean(safe_html(text[:500]))


# --- what is in use, and twice the same click ----------------------------------------------------


def test_what_is_in_use_is_not_deleted(studio, source, excerpt, breakdown, policy):
    Beat.objects.update(kind="excerpt", excerpt=excerpt)
    Breakdown.objects.update(policy=f"own:{policy.pk}")
    studio.post(reverse("footage:delete", args=[source.key]))
    studio.post(reverse("excerpts:delete", args=[excerpt.pk]))
    assert Source.objects.count() == Excerpt.objects.count() == 1
    Beat.objects.update(kind="still", excerpt=None, source=source, frame=5)
    studio.post(reverse("excerpts:delete", args=[excerpt.pk]))
    studio.post(reverse("footage:delete", args=[source.key]))
    assert Source.objects.count() == 1


def test_clicking_twice_does_a_thing_once_or_says_why_not(studio, breakdown, source, excerpt):
    beat = breakdown.beats.first()
    services.beat_insert(breakdown, after=beat.key, by=None)
    delete = reverse("scripts:beat_delete", args=[breakdown.slug, beat.key])
    form = {"words": "", "base_version": "1", "base_words": ""}
    assert {studio.post(delete, form).status_code for _ in range(2)} <= {200, 302, 404, 409, 422}
    assert breakdown.beats.count() == 1
    assert [studio.post(reverse("excerpts:delete", args=[excerpt.pk])).status_code for _ in range(2)][1] in (
        302,
        404,
    )
    for _ in range(3):
        assert studio.post(reverse("scripts:undo", args=[breakdown.slug])).status_code == 302


# --- commands ------------------------------------------------------------------------------------


def refused(*words: str, **options: object) -> str:
    with pytest.raises(CommandError) as fault:
        call_command(*words, stdout=io.StringIO(), stderr=io.StringIO(), **options)
    assert fault.value.returncode == 2
    assert "\n" not in str(fault.value)
    return str(fault.value)


STRANGE = ["nobody", "", "\udcff", "a\x00b", "' OR 1=1 --", "x" * 5000]


@pytest.mark.parametrize("name", STRANGE)
def test_commands_refuse_names_that_nothing_has(name, tmp_path):
    refused("assemble", name, out=tmp_path / "a.mp4")
    refused("sign_in_link", name)


@pytest.mark.parametrize(
    "raw",
    [b"", b"[]", b"null", b"\xff\xfe", b"{", b"[" * 100_000, b'{"a":' * 5000, b'{"policy": "\\ud800"}', b'{"\\u0000": 1}',
     b'{"sources": {"a": {"rate": "1/0"}}}', b'{"sources": 1e400}', b"NaN", b'{"a": ' + b"9" * 6000 + b"}"],
)  # fmt: skip
@pytest.mark.parametrize("command", ["ledger"])
def test_documents_that_are_no_plan_are_refused(command, raw, tmp_path):
    path = tmp_path / "plan.json"
    path.write_bytes(raw)
    refused(command, str(path))


@pytest.mark.parametrize("name", ["\\ud800", "a\\u0000b", "' OR 1=1 --", "😀" * 9])
def test_a_plan_may_name_no_policy_that_is_not_there(name, tmp_path):
    path = Path(tmp_path / "plan.json")
    path.write_text('{"sources": [], "segments": [], "rate": "25", "policy": "' + name + '"}')
    refused("ledger", str(path))


def test_the_database_is_whole_after_all(studio, forms):
    for address, good in forms.items():
        studio.post(address, good)
    connection.check_constraints()
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            assert cursor.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert json.dumps(list(Beat.objects.values_list("words", flat=True)))
