"""Every kind of page at three widths, light and dark: no sideways scroll, no barrier, no fault in the console.

Barriers are found by axe-core, whose rules follow WCAG 2.2 (W3C Recommendation, 5 October 2023); 360 pixels is
near the 320 CSS pixels of its success criterion 1.4.10, Reflow.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from anatomy.vocabulary.own import EntryGiven, TermGiven
from anatomy.vocabulary.services import add_own_entry, add_own_term
from breakdowns.assembly.models import Assembly
from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Event, Source
from breakdowns.people.importing.reading import Plan
from breakdowns.people.importing.services import import_make, import_settle
from breakdowns.people.membership.services import membership_give
from breakdowns.people.models import Letter, User
from breakdowns.people.post.services import put_letter
from breakdowns.people.webhook.services import key_trouble, service_add
from breakdowns.publishing.models import Release
from breakdowns.scripts import services
from breakdowns.scripts.models import Breakdown
from breakdowns.stills.services import still_make, still_save
from breakdowns.tracks.services import track_make
from tests.factory import make_event, make_excerpt, make_source, make_user

pytestmark = [pytest.mark.browser, pytest.mark.media, pytest.mark.django_db(transaction=True)]

AXE = Path(settings.BASE_DIR) / "static" / "vendor" / "axe" / "axe.min.js"
BARRIERS = """axe.run({resultTypes: ["violations"]}).then((found) => found.violations
  .filter((one) => ["serious", "critical"].includes(one.impact))
  .map((one) => `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 160)).join(" | ")}`))"""
OVER = "Math.max(0, document.documentElement.scrollWidth - window.innerWidth)"


def two_tied_views() -> tuple[Event, Source, Excerpt]:
    event = make_event()
    views = [
        make_source(
            title=f"Jump throw, {view}", view=view, event=event, sync_frame=frame, rights_holder="Invented TV"
        )
        for view, frame in (("baseline", 20), ("overhead", 25))
    ]
    purpose = "Only this view shows how late the hip turns."
    return event, views[0], make_excerpt(views[0], name="Plant to release", purpose=purpose)


def finished_assembly(breakdown: Breakdown) -> Assembly:
    """An assembly whose files were let go: what its page says is tried, not its video."""
    return Assembly.objects.create(
        breakdown=breakdown,
        breakdown_version=breakdown.version,
        finished_at=timezone.now(),
        frame_count=150,
        height=720,
        report={"warnings": ["Beat 1 is to camera and not recorded yet."]},
    )


def standing_release(breakdown: Breakdown, assembly: Assembly, audience: str) -> Release:
    beat = {"kind": "camera", "words": "The *foot* stops.", "heading": "Start", "start_frame": 0}
    page = {
        "title": breakdown.title,
        "standfirst": "What turned first.",
        "rate": "25",
        "cautions": ["This is no diagnosis of anyone shown."],
        "beats": [beat],
        "references": ["An invented reference."],
        "credits": [{"title": "Jump throw", "rights_holder": "Invented TV"}],
    }
    return Release.objects.create(
        breakdown=breakdown,
        assembly=assembly,
        slug=breakdown.slug,
        number=1,
        audience=audience,
        page=page,
        folder="",
    )


def glossary_pages(breakdown: Breakdown, owner: User) -> list[str]:
    """The vocabulary browser, with own words and a use, and the picture form of an anatomy plate."""
    add_own_term(TermGiven("back motor", "muscle", "gluteus maximus"))
    add_own_entry(EntryGiven("concept", "lantern drill", "a drill with an imagined lantern"))
    beat = services.plate_insert(
        breakdown,
        seconds_ms=6000,
        by=owner,
        plate="anatomy",
        plate_entry_kind="muscle",
        plate_entry="gluteus maximus",
    )
    services.beat_words_save(breakdown, beat.key, "Glute max drives.", base_version=beat.version, by=owner)
    entries = ["muscle/gluteus-maximus", "group/hamstrings", "joint/shoulder-complex", "motion/hip-flexion"]
    entries += ["nerve/axillary-nerve", "structure/spleen", "chain/throw", "muscle/gluteus-maximus/plate"]
    pages = [f"/vocabulary/{entry}/" for entry in entries]
    pages += [
        "/vocabulary/",
        "/vocabulary/?q=what+turns+the+arm+out",
        "/vocabulary/?q=qqqqq",
        "/vocabulary/own/",
    ]
    return [*pages, f"/scripts/{breakdown.slug}/beats/{beat.key}/picture/"]


def marked_pages(breakdown: Breakdown, source: Source, owner: User) -> list[str]:
    """A still with marks, the beat that shows it, and a track of the same source."""
    mark = {"id": "m1", "kind": "line", "points": [{"at": [20, 30]}, {"at": [150, 60]}], "text": "shoulders"}
    still = still_make(source=source, frame=3, by=owner, name="The shoulder line as the ball leaves the hand")
    still_save(still, {"version": 1, "landmarks": {}, "marks": [mark]}, base_version=1, what="draw", by=owner)
    track = track_make(source=source, in_frame=0, out_frame=20, by=owner)
    beat = services.beat_insert(breakdown, by=owner, kind="still", source=source, frame=3, still=still)
    picture = f"/scripts/{breakdown.slug}/beats/{beat.key}/picture/"
    return ["/stills/", still.get_absolute_url(), "/tracks/", track.get_absolute_url(), picture]


def members_pages(owner: User) -> list[str]:
    """The owner's pages about members, letters, tables and payment services, each with something on it."""
    member = make_user("reader", name="A left wing player with a rather long name")
    row = membership_give(member, gift=True, gift_from="The second team", gift_message="Get well.")
    letter = put_letter(member, "red flag", "Where to go now", "See somebody today.")
    Letter.objects.filter(pk=letter.pk).update(state="failed", trouble="550 no such mailbox here")
    key, _ = service_add("The till")
    key_trouble(key, "ends_on lies before starts_on; send both days inclusive, the first one first.")
    table = b"e-mail,name,first day\na@example.org,A,4/3/2026\nnobody,N,4/3/2026\n"
    one = import_make(table, "members of the club.csv", by=owner)
    read = import_make(table, "members.csv", by=owner)
    import_settle(read, replace(Plan.from_json(read.plan), day_order="dmy", settled=True))
    pages = [f"/members/{page}" for page in ("", "add/", "settings/", "letters/", "services/", "import/")]
    pages += [f"/members/{member.pk}/", f"/members/days/{row.pk}/"]
    pages += [f"/members/import/{one.pk}/", f"/members/import/{read.pk}/lines/"]
    return [*pages, "/account/data/", "/account/erase/", "/account/cancel/"]


@pytest.fixture
def owner() -> User:
    return make_user("owner")


@pytest.fixture
def pages(owner: User) -> dict[str, list[str]]:
    """The addresses to look at, by who looks."""
    event, source, excerpt = two_tied_views()
    waiting = Source.objects.create(title="Not read yet", state=Source.State.WAITING)
    breakdown = services.breakdown_create(by=owner, title="A rather long title about late hips and arms")
    closed = services.breakdown_create(by=owner, title="For members")
    assembly = finished_assembly(breakdown)
    standing_release(breakdown, assembly, "everybody")
    standing_release(closed, assembly, "members")
    read = f"/read/{breakdown.slug}/"
    studio = ["/footage/", "/footage/add/", f"/footage/{source.key}/", f"/footage/{source.key}/edit/"]
    studio += [f"/footage/{waiting.key}/", f"/footage/events/{event.pk}/", f"/excerpts/{excerpt.pk}/"]
    studio += ["/excerpts/policies/", "/scripts/", f"/scripts/{breakdown.slug}/settings/"]
    studio += [f"/scripts/{breakdown.slug}/", f"/scripts/{breakdown.slug}/print/"]
    studio += [f"/assembly/of/{breakdown.slug}/ledger/"]
    studio += [f"/assembly/of/{breakdown.slug}/", f"/assembly/{assembly.key}/", f"/release/{assembly.key}/"]
    studio += glossary_pages(breakdown, owner)
    studio += marked_pages(breakdown, source, owner)
    studio += ["/read/", read, "/people/", "/account/", *members_pages(owner)]
    return {"studio": studio, "stranger": ["/sign-in/", "/read/", read, f"/read/{closed.slug}/", "/nothing/"]}


def note_of(faults: list[str]) -> Callable[[Any], None]:
    """Notes a line of the console. A page or video refused (403, 404) is asked for here; a style sheet is not."""

    def note(line: Any) -> None:
        refused = "status of 40" in line.text and "/static/" not in line.location["url"]
        if line.type == "error" and not refused:
            faults.append(line.text)

    return note


def faults_of(page, address: str, end: tuple[str, int]) -> list[str]:
    """What is wrong with a page at each width in each theme, and its barriers at one of them."""
    faults: list[str] = []
    page.on("console", note_of(faults))
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(address, timeout=120_000)  # several browsers share the machine
    # The site's policy keeps foreign script out of the page; the browser's own inspector is not bound by it.
    page.evaluate(AXE.read_text())
    for scheme, width in itertools.product(("light", "dark"), (1440, 768, 360)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        page.set_viewport_size({"width": width, "height": 800})
        if over := page.evaluate(OVER):
            faults.append(f"{over} pixels over the edge at {width}, {scheme}")
        # Colours depend on the theme, names and roles on the layout: each page is read at one end of both, in turn.
        if (scheme, width) == end:
            faults += [f"{said} at {width}, {scheme}" for said in page.evaluate(BARRIERS)]
    return [f"{address}: {fault}" for fault in faults]


@pytest.mark.parametrize("who", ["studio", "stranger"])
def test_every_page_can_be_used_at_every_width(
    chromium, live_server, client: Client, owner: User, pages: dict[str, list[str]], who: str
) -> None:
    context = chromium.new_context()
    if who == "studio":
        client.force_login(owner)
        key = client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
    faults = []
    for path, end in zip(pages[who], itertools.cycle([("light", 1440), ("dark", 360)]), strict=False):
        page = context.new_page()
        faults += faults_of(page, live_server.url + path, end)
        page.close()
    assert faults == []
