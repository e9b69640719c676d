"""The vocabulary browser: what its pages hold, who may, and that they work without script."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.urls import reverse

from anatomy.vocabulary.models import OwnEntry, OwnTerm, VocabularyState
from anatomy.vocabulary.own import EntryGiven, TermGiven
from anatomy.vocabulary.packaged import packaged_vocabulary
from anatomy.vocabulary.services import add_own_entry, add_own_term
from breakdowns.glossary import urls
from breakdowns.glossary.addresses import entry_named, slug_of
from breakdowns.glossary.listing import KIND_LABELS, browse, find
from breakdowns.glossary.pages import page_of
from breakdowns.scripts import services
from breakdowns.scripts.models import Beat
from tests.factory import make_user

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}
VOCABULARY = packaged_vocabulary()


@pytest.fixture
def editor():
    return make_user()


@pytest.fixture
def studio(client, editor):
    client.force_login(editor)
    return client


def address(kind: str, name: str) -> str:
    return reverse("glossary:entry", args=[kind, slug_of(VOCABULARY, kind, name)])


def seen(answer) -> str:
    """The words of a page as a reader has them."""
    body = answer.content.decode()
    body = body.split("<main", 1)[1] if "<main" in body else body
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


# --- addresses -----------------------------------------------------------------------------------


def test_every_entry_has_an_address_and_every_address_its_entry():
    for kind in KIND_LABELS:
        slugs = {}
        for name in set(VOCABULARY.names(kind)):
            slug = slug_of(VOCABULARY, kind, name)
            assert re.fullmatch(r"[a-z0-9-]+", slug)
            assert slugs.setdefault(slug, name) == name
            assert entry_named(VOCABULARY, kind, slug) == name
    assert entry_named(VOCABULARY, "muscle", "no-such") is None
    assert entry_named(VOCABULARY, "no-kind", "hip") is None


def test_a_page_can_be_made_of_every_entry():
    for kind in KIND_LABELS:
        for name in VOCABULARY.names(kind):
            page = page_of(VOCABULARY, kind, name)
            numbers = {source.number for source in page.sources}
            cited = {number for table in page.tables for row in table.rows for number in row.sources}
            assert cited <= numbers
            assert all(len(row.cells) == len(table.heads) for table in page.tables for row in table.rows)
    with pytest.raises(LookupError):
        page_of(VOCABULARY, "muscle", "no such muscle")


# --- who may -------------------------------------------------------------------------------------


def test_every_view_carries_its_check():
    assert all(getattr(pattern.callback, "access_checked", False) for pattern in urls.urlpatterns)


@pytest.mark.parametrize("method", ["get", "post"])
def test_readers_neither_look_nor_add(client, method):
    add_own_term(TermGiven("back motor", "muscle", "gluteus maximus"))
    client.force_login(make_user("reader"))
    term = OwnTerm.objects.get()
    addresses = [
        reverse("glossary:index"), reverse("glossary:own"), reverse("glossary:own_term_add"),
        reverse("glossary:own_term", args=[term.pk]), reverse("glossary:own_term_remove", args=[term.pk]),
        reverse("glossary:own_entry_add"), reverse("glossary:own_put_back"), address("muscle", "gluteus maximus"),
    ]  # fmt: skip
    for one in addresses:
        assert getattr(client, method)(one).status_code == 403, one
    assert OwnTerm.objects.count() == 1


# --- search and lists ----------------------------------------------------------------------------


def test_a_search_works_without_script_and_is_grouped_by_kind(studio):
    answer = studio.get(reverse("glossary:index"), {"q": "what turns the arm out"})
    page = seen(answer)
    for part in ("Motions", "Muscles", "Glenohumeral external rotation", "Infraspinatus", "Teres minor"):
        assert part in page
    assert 'method="get"' in answer.content.decode()
    assert address("muscle", "infraspinatus") in answer.content.decode()


def test_a_search_says_why_it_found_what_it_found(studio):
    assert "Gluteus maximus also “glute max”" in seen(
        studio.get(reverse("glossary:index"), {"q": "glute max"})
    )
    assert "produces hip flexion" in seen(studio.get(reverse("glossary:index"), {"q": "hip flexion"}))


def test_script_gets_only_the_results(studio):
    answer = studio.get(reverse("glossary:index"), {"q": "lats"}, **HTMX)
    assert answer.content.decode().strip().startswith('<div id="results"')
    assert "Latissimus dorsi" in seen(answer)


@pytest.mark.parametrize("q", ["", "qqqqq", "<script>alert(1)</script>", "a" * 300, "\x00", "%", "'\""])
def test_no_question_breaks_the_page(studio, q):
    answer = studio.get(reverse("glossary:index"), {"q": q, "kind": q, "region": q, "joint": q})
    assert answer.status_code == 200
    assert b"<script>alert" not in answer.content


def test_nothing_found_says_what_to_do(studio):
    page = seen(studio.get(reverse("glossary:index"), {"q": "qqqqq"}))
    assert "Nothing fits “qqqqq”" in page
    assert "add it as a term of your own" in page


def test_one_browses_by_kind_region_and_joint(studio):
    page = seen(studio.get(reverse("glossary:index")))
    assert "By kind" in page
    assert "By region" in page
    of_hip = {group.kind: {one.name for one in group.found} for group in browse(VOCABULARY, region="hip")}
    assert {"gluteus maximus", "piriformis"} <= of_hip["muscle"]
    assert "biceps brachii" not in of_hip["muscle"]
    assert "hip" in of_hip["joint"]
    at_elbow = {group.kind: {one.name for one in group.found} for group in browse(VOCABULARY, joint="elbow")}
    assert "biceps brachii" in at_elbow["muscle"]
    assert "elbow: flexion" in at_elbow["motion"]
    assert "joint=elbow" in studio.get(address("joint", "elbow")).content.decode()
    planes = browse(VOCABULARY, kind="plane")
    assert [group.kind for group in planes] == ["plane"]
    narrowed = find(VOCABULARY, "flexion", kind="motion", region="hip")
    assert {one.name.split(":")[0] for group in narrowed for one in group.found} <= {"hip"}


# --- entry pages ---------------------------------------------------------------------------------


def test_a_muscle_page_tells_all_that_is_known(studio):
    """Gluteus maximus: OpenStax, Anatomy and Physiology 2e, section 11.6; nerve: Gray 1918, page 959."""
    answer = studio.get(address("muscle", "gluteus maximus"))
    page = seen(answer)
    for part in (
        "musculus gluteus maximus", "What it does", "prime mover", "sagittal", "inferior gluteal nerve", "L5, S1, S2",
        "iliotibial tract", "glute max", "Sources", "OpenStax", "Where this studio has used it", "Nowhere yet",
        "diagnoses nobody", "Make a plate",
    ):  # fmt: skip
        assert part in page, part
    assert address("joint", "hip") in answer.content.decode()
    assert address("motion", "hip: extension") in answer.content.decode()
    assert 'id="source-1"' in answer.content.decode()


def test_a_joint_page_has_motions_ranges_and_muscles(studio):
    page = seen(studio.get(address("joint", "hip")))
    for part in (
        "How it moves",
        "Published ranges",
        "Who was measured",
        "Muscles by motion",
        "gluteus maximus",
    ):
        assert part in page, part
    assert re.search(r"\d+° to \d+° \(\d+ values\)", page)


def test_a_motion_page_has_who_does_it_and_how_far(studio):
    page = seen(studio.get(address("motion", "hip: flexion")))
    for part in (
        "Muscles that do it",
        "psoas major",
        "prime mover",
        "assists",
        "Published ranges",
        "Opposite",
        "extension",
    ):
        assert part in page, part
    bare = seen(studio.get(address("motion", "flexion")))
    assert "At which joints" in bare
    assert "hip flexion" in bare


@pytest.mark.parametrize(
    ("kind", "name", "parts"),
    [
        ("group", "rotator cuff muscles", ["infraspinatus", "Prime movers"]),
        ("nerve", "axillary nerve", ["C5, C6", "teres minor", "Caution."]),
        ("structure", "spleen", ["left", "Caution.", "local medical services"]),
        ("contraction", "eccentric", ["lengthens"]),
        ("plane", "sagittal", ["mediolateral", "hip flexion"]),
        ("chain", "throw", ["pelvis", "Its phases"]),
        ("segment", "pelvis", ["throw"]),
        ("concept", "kinetic chain", ["Sources"]),
    ],
)
def test_each_kind_has_its_page(studio, kind, name, parts):
    page = seen(studio.get(address(kind, name)))
    for part in parts:
        assert part in page, part


@pytest.mark.parametrize("path", ["muscle/no-such", "no-kind/hip", "muscle/hip", "copy/copy"])
def test_what_is_no_entry_is_not_found(studio, path):
    assert studio.get(f"/vocabulary/{path}/").status_code == 404
    assert studio.get(f"/vocabulary/{path}/plate/").status_code == 404


def test_uses_are_linked(studio, editor):
    breakdown = services.breakdown_create(by=editor, title="Late <hips>")
    beat = breakdown.beats.get()
    services.beat_words_save(breakdown, beat.key, "The <b>glute max</b> drives.", base_version=1, by=editor)
    answer = studio.get(address("muscle", "gluteus maximus"))
    body = answer.content.decode()
    assert f"{breakdown.get_absolute_url()}#beat-{beat.key}" in body
    assert "<mark>glute max</mark>" in body
    assert "<b>glute" not in body
    assert "Beat 1, 0:00" in seen(answer)


def test_pages_need_no_inline_style_and_no_inline_script(studio):
    add_own_term(TermGiven("back motor", "muscle", "gluteus maximus"))
    paths = [reverse("glossary:index"), reverse("glossary:own"), address("muscle", "gluteus maximus")]
    for path in [*paths, address("muscle", "gluteus maximus") + "plate/"]:
        body = studio.get(path).content.decode()
        assert " style=" not in body
        assert not re.search(r"<script(?![^>]*src=)", body)
        assert not re.search(r"\son[a-z]+=", body)


# --- a plate out of the browser ------------------------------------------------------------------


def test_a_plate_goes_into_a_breakdown(studio, editor):
    path = address("muscle", "gluteus maximus") + "plate/"
    assert "there is none yet" in seen(studio.get(path))
    breakdown = services.breakdown_create(by=editor, title="Late hips")
    first = breakdown.beats.get()
    page = studio.get(path)
    assert "Hip extension, prime mover" in seen(page)
    sent = {"breakdown": breakdown.pk, "after": "1", "seconds": "6", "rows": ["hip: extension", "no: such"]}
    answer = studio.post(path, sent)
    made = Beat.objects.get(plate="anatomy")
    assert answer["Location"] == f"{breakdown.get_absolute_url()}#beat-{made.key}"
    assert (made.position, made.plate_entry, made.plate_rows, made.seconds_ms) == (
        1, "gluteus maximus", ["hip: extension"], 6000,
    )  # fmt: skip
    studio.post(path, {**sent, "after": "0"})
    assert breakdown.beats.order_by("position").first().plate == "anatomy"
    assert first.pk in breakdown.beats.values_list("pk", flat=True)
    assert breakdown.revisions.count() == 2


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"after": "9", "seconds": "6"}, "has 1 beats: choose one of them"),
        ({"after": "-1", "seconds": "6"}, "greater than or equal to 0"),
        ({"after": "", "seconds": ""}, "required"),
        ({"after": "", "seconds": "1000"}, "Must lie between"),
    ],
)
def test_a_faulty_order_gets_a_sentence(studio, editor, sent, says):
    breakdown = services.breakdown_create(by=editor, title="Late hips")
    answer = studio.post(address("muscle", "gluteus maximus") + "plate/", {"breakdown": breakdown.pk, **sent})
    assert answer.status_code == 422
    assert says in seen(answer)
    assert breakdown.beats.count() == 1


def test_no_plate_is_offered_where_there_is_none(studio):
    assert "Make a plate" not in seen(studio.get(address("chain", "throw")))
    assert studio.get(address("chain", "throw") + "plate/").status_code == 404


# --- own terms and entries -----------------------------------------------------------------------


def term(**more) -> dict:
    given = {"text": "back motor", "of": "glute max", "style": "own", "gloss": "", "note": "", **more}
    return {f"term-{name}": value for name, value in given.items()}


def entry(**more) -> dict:
    given = {"kind": "concept", "name": "lantern drill", "gloss": "a drill with an imagined lantern", **more}
    return {f"entry-{name}": value for name, value in given.items()}


def test_an_own_term_is_added_found_shown_apart_and_deleted_with_undo(studio, editor):
    assert "None yet" in seen(studio.get(reverse("glossary:own")))
    answer = studio.post(reverse("glossary:own_term_add"), term(gloss="what drives the stride"))
    assert answer.status_code == 302
    made = OwnTerm.objects.get()
    assert (made.kind, made.of, made.added_by) == ("muscle", "gluteus maximus", str(editor))
    assert "Gluteus maximus also “back motor”" in seen(
        studio.get(reverse("glossary:index"), {"q": "back motor"})
    )
    page = seen(studio.get(address("muscle", "gluteus maximus")))
    assert "Added by this studio back motor : what drives the stride" in page
    assert "back motor" not in page.split("Added by this studio")[0].split("Other names")[1]
    studio.post(reverse("glossary:own_term_remove", args=[made.pk]))
    assert OwnTerm.objects.count() == 0
    assert "“back motor” is deleted. Undo" in seen(studio.get(reverse("glossary:own")))
    studio.post(reverse("glossary:own_put_back"))
    back = OwnTerm.objects.get()
    assert (back.text, back.of, back.gloss, back.added_by) == (
        "back motor", "gluteus maximus", "what drives the stride", str(editor),
    )  # fmt: skip
    assert "is deleted" not in seen(studio.get(reverse("glossary:own")))
    assert "nothing to put back" in seen(studio.post(reverse("glossary:own_put_back"), follow=True))


@pytest.mark.parametrize(
    ("given", "field", "says"),
    [
        ({"text": ""}, "text", "required"),
        ({"of": "gluteus maximusss"}, "of", "Is it “gluteus maximus”"),
        ({"of": "qqqqq"}, "of", "Add it as an entry of your own first"),
        ({"of": "hip"}, "of", "write “joint / hip”"),
        ({"text": "glute max"}, "text", "already"),
        ({"text": "biceps brachii"}, "text", "choose another text"),
        ({"style": "standard"}, "style", "valid choice"),
        ({"text": "x" * 200}, "text", "at most 120"),
    ],
)
def test_faults_of_a_term_stand_beside_their_field(studio, given, field, says):
    answer = studio.post(reverse("glossary:own_term_add"), term(**given))
    assert answer.status_code == 422
    body = answer.content.decode()
    beside = body.split(f'name="term-{field}"')[1].split('class="field"')[0]
    assert says in unescape(beside)
    assert OwnTerm.objects.count() == 0


def test_an_entry_of_several_kinds_can_be_named_with_its_kind(studio):
    studio.post(reverse("glossary:own_term_add"), term(text="socket", of="joint / hip"))
    assert (OwnTerm.objects.get().kind, OwnTerm.objects.get().of) == ("joint", "hip")


def test_a_name_with_two_meanings_stays_clear_when_it_is_changed(studio):
    made = add_own_term(TermGiven("socket", "joint", "hip"))
    path = reverse("glossary:own_term", args=[made.pk])
    assert 'value="joint / hip"' in studio.get(path).content.decode()
    assert studio.post(path, {"text": "ball socket", "of": "joint / hip", "style": "own"}).status_code == 302
    assert OwnTerm.objects.get().of == "hip"


def test_an_own_term_is_changed(studio):
    made = add_own_term(TermGiven("back motor", "muscle", "gluteus maximus"))
    path = reverse("glossary:own_term", args=[made.pk])
    assert 'value="gluteus maximus"' in studio.get(path).content.decode()
    answer = studio.post(path, {"text": "side motor", "of": "gluteus medius", "style": "slang"})
    assert answer.status_code == 302
    changed = OwnTerm.objects.get()
    assert (changed.text, changed.of, changed.style) == ("side motor", "gluteus medius", "slang")
    assert studio.post(path, {"text": "", "of": "x", "style": "own"}).status_code == 422


def test_an_own_entry_is_added_changed_and_its_terms_follow(studio):
    answer = studio.post(reverse("glossary:own_entry_add"), entry())
    assert answer.status_code == 302
    page = seen(studio.get(answer["Location"]))
    assert "Lantern drill" in page
    assert "Added by this studio; no source of ours." in page
    add_own_term(TermGiven("the lantern", "concept", "lantern drill"))
    made = OwnEntry.objects.get()
    answer = studio.post(
        reverse("glossary:own_entry", args=[made.pk]),
        {"kind": "concept", "name": "lamp drill", "gloss": "a drill"},
    )
    assert answer.status_code == 302
    assert OwnTerm.objects.get().of == "lamp drill"
    assert "Lamp drill" in seen(studio.get(reverse("glossary:index"), {"q": "the lantern"}))


def test_an_own_entry_is_deleted_with_undo_and_its_terms_wait(studio):
    made = add_own_entry(EntryGiven("concept", "lantern drill", "a drill"))
    add_own_term(TermGiven("the lantern", "concept", "lantern drill"))
    studio.post(reverse("glossary:own_entry_remove", args=[made.pk]))
    page = seen(studio.get(reverse("glossary:own")))
    assert "lantern drill, which is no longer there" in page
    studio.post(reverse("glossary:own_put_back"))
    assert OwnEntry.objects.get().name == "lantern drill"
    assert "no longer there" not in seen(studio.get(reverse("glossary:own")))


@pytest.mark.parametrize(
    ("given", "field", "says"),
    [
        ({"gloss": ""}, "gloss", "required"),
        ({"name": "kinetic chain"}, "name", "already"),
        ({"kind": "motion", "name": "swirl"}, "joint", "choose the joint"),
        ({"kind": "structure", "name": "spot"}, "side", "which side"),
        ({"name": "a: b"}, "name", "colons"),
    ],
)
def test_faults_of_an_entry_stand_beside_their_field(studio, given, field, says):
    answer = studio.post(reverse("glossary:own_entry_add"), entry(**given))
    assert answer.status_code == 422
    body = answer.content.decode()
    assert '<details id="add-entry" open>' in body
    assert says in unescape(body.split(f'name="entry-{field}"')[1].split('class="field"')[0])
    assert OwnEntry.objects.count() == 0


def test_what_was_deleted_belongs_to_who_deleted_it(studio, client):
    made = add_own_term(TermGiven("back motor", "muscle", "gluteus maximus"))
    studio.post(reverse("glossary:own_term_remove", args=[made.pk]))
    client.logout()
    client.force_login(make_user())
    client.post(reverse("glossary:own_put_back"))
    assert OwnTerm.objects.count() == 0


def test_the_header_leads_to_the_vocabulary_for_the_studio_alone(client, studio):
    assert f'href="{reverse("glossary:index")}"' in studio.get(reverse("scripts:index")).content.decode()
    client.logout()
    assert "/vocabulary/" not in client.get("/read/").content.decode()


def test_a_term_that_waits_for_its_entry_can_be_deleted_and_put_back(studio):
    made = add_own_entry(EntryGiven("concept", "lantern drill", "a drill"))
    term_made = add_own_term(TermGiven("lit step", "concept", "lantern drill"))
    studio.post(reverse("glossary:own_entry_remove", args=[made.pk]))
    studio.post(reverse("glossary:own_term_remove", args=[term_made.pk]))
    studio.post(reverse("glossary:own_put_back"))
    assert OwnTerm.objects.get().text == "lit step"
    assert "lantern drill, which is no longer there" in seen(studio.get(reverse("glossary:own")))


def test_what_cannot_be_put_back_now_is_kept_until_it_can(studio):
    made = add_own_entry(EntryGiven("concept", "lantern drill", "a drill"))
    studio.post(reverse("glossary:own_entry_remove", args=[made.pk]))
    other = add_own_entry(EntryGiven("concept", "lantern drill", "another drill"))
    page = seen(studio.post(reverse("glossary:own_put_back"), follow=True))
    assert "can't be put back" in page
    assert "“lantern drill” is deleted. Undo" in page
    OwnEntry.objects.filter(pk=other.pk).delete()
    VocabularyState.objects.update(own_stamp="changed elsewhere")
    studio.post(reverse("glossary:own_put_back"))
    assert OwnEntry.objects.get().gloss == "a drill"
