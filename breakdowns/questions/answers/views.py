"""The library that members search, and the feed at their private address."""

from __future__ import annotations

import hashlib
import uuid
from datetime import datetime
from typing import Any

from django.conf import settings
from django.db.models import DateTimeField, Max, Q
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import patch_vary_headers
from django.utils.http import http_date, parse_http_date_safe
from django.views.decorators.http import require_GET, require_safe

from breakdowns.people.access import member_required
from breakdowns.people.models import FeedAddress
from breakdowns.people.post.services import site_address
from breakdowns.publishing.models import Release
from breakdowns.publishing.reading import safe_html
from breakdowns.questions.machine import screen_text, topics
from breakdowns.questions.models import Answer
from breakdowns.questions.screening import advice
from breakdowns.questions.selectors import found_in_library, library_regions, newest_in_library

from .atom import Entry, feed
from .services import NOT_A_CONSULTATION, tell_due

PAGE = 20
MOST_TYPED = 1000


@member_required
@require_GET
def library(request: HttpRequest) -> HttpResponse:
    """Answers by words, topic and region; the newest where nothing is asked for."""
    tell_due()
    words = " ".join(request.GET.get("q", "").split())[:MOST_TYPED]
    topic = request.GET.get("topic", "") if request.GET.get("topic") in topics() else ""
    # Going back asks by script too, and wants the whole page.
    piece = request.htmx and not request.htmx.boosted and not request.htmx.history_restore_request
    regions = [] if piece else library_regions()
    region = request.GET.get("region", "")[:80]
    after = min(int(request.GET["after"][:4]), 500) if request.GET.get("after", "").isdecimal() else 0
    if words:
        found = found_in_library(words, topic=topic, region=region, start=after, count=PAGE + 1)
        page: list[Any] = [one.answer for one in found]
    else:
        page = list(newest_in_library(topic=topic, region=region)[after : after + PAGE + 1])
    urgent = screen_text(words) if words else None
    context = {
        "words": words,
        "topic": topic,
        "region": region,
        "topics": topics(),
        "regions": sorted({*regions, region} - {""}),
        "answers": page[:PAGE],
        "more": after + PAGE if len(page) > PAGE else None,
        "after": after,
        "advice": advice(urgent.urgency) if urgent and urgent.flags else None,
    }
    template = "questions/_library.html" if piece else "questions/library.html"
    response = render(request, template, context)
    patch_vary_headers(response, ["HX-Request", "HX-History-Restore-Request"])
    return response


# --- the feed ------------------------------------------------------------------------------------


def _entries() -> list[Entry]:
    corrected = Max("versions__made_at", filter=Q(versions__number__gt=1), output_field=DateTimeField())
    rows = newest_in_library().annotate(corrected=corrected)[:30]
    answers = [_of_answer(answer, answer.corrected) for answer in rows]
    releases = [_of_release(release) for release in Release.objects.standing()[:15]]
    return sorted([*answers, *releases], key=lambda one: one.published, reverse=True)[:40]


def _of_answer(answer: Answer, corrected: datetime | None) -> Entry:
    cautions = "".join(f"\n\n> {line}" for line in answer.cautions)
    html = str(safe_html(f"{answer.note}{cautions}\n\n*{NOT_A_CONSULTATION}*"))
    return Entry(
        f"urn:uuid:{answer.key}", answer.asked[:200], site_address(answer.get_absolute_url()),
        answer.goes_at, max(answer.goes_at, corrected or answer.goes_at), html, answer.topic,
    )  # fmt: skip


def _of_release(release: Release) -> Entry:
    link = site_address(release.get_absolute_url())
    key = uuid.uuid5(uuid.NAMESPACE_URL, f"release:{release.slug}:{release.number}")
    html = str(safe_html(str(release.page.get("standfirst", ""))))
    title = str(release.page.get("title", ""))
    return Entry(f"urn:uuid:{key}", title, link, release.released_at, release.released_at, html, "breakdown")


@require_safe
def feed_read(request: HttpRequest, token: str) -> HttpResponse:
    """New answers and breakdowns for who holds the address, while they are a member. Conditional (RFC 9110, 13)."""
    person = FeedAddress.user_for(token)
    if person is None or not person.is_member:
        raise Http404
    tell_due()
    home = site_address(reverse("questions:library"))
    entries = _entries()
    body = feed(
        key=f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, home)}",
        title="Answers and breakdowns for members",
        own_link=site_address(request.path),
        link=home,
        author=getattr(settings, "HOUSE_NAME", "Stancewright"),
        rights="For the member whose address this is. General information and no consultation.",
        entries=entries,
        empty_since=person.date_joined,
    )
    latest = int(max((one.updated for one in entries), default=person.date_joined).timestamp())
    tag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    response: HttpResponse = HttpResponse(body, content_type="application/atom+xml; charset=utf-8")
    if _is_known(request, tag, latest):
        response = HttpResponseNotModified()
    response["ETag"], response["Last-Modified"] = tag, http_date(latest)
    response["Cache-Control"] = "private, no-cache"
    response["Referrer-Policy"] = "no-referrer"
    return response


def _is_known(request: HttpRequest, tag: str, latest: int) -> bool:
    """If-None-Match counts alone where it is sent (RFC 9110, 13.1.3)."""
    if known := request.headers.get("If-None-Match"):
        return known.strip() == "*" or tag in [one.strip().removeprefix("W/") for one in known.split(",")]
    since = parse_http_date_safe(request.headers.get("If-Modified-Since", ""))
    return since is not None and latest <= since
