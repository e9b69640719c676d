"""Real things behind the addresses of the access table, so that “open” means a page and “hidden” means this one.

``SAMPLES[name]`` makes the arguments of one address; what it makes belongs to ``person`` (a signed-in one,
or the member when nobody is). An address whose row says “own only” and that has arguments needs a line here.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

from breakdowns.people.models import Membership, User
from breakdowns.publishing.models import Release
from breakdowns.questions.models import Attachment, Question
from breakdowns.scripts.models import Breakdown
from tests.factory import make_user
from tests.questions.making import make_note, make_question

Maker = Callable[[User], dict[str, Any]]


def make_people() -> dict[str, User | None]:
    """One person of each column of the table; the lapsed member's days ended yesterday."""
    today = timezone.localdate()
    found: dict[str, User | None] = {"anonymous": None}
    for who in ("lapsed", "member", "other"):
        found[who] = make_user("reader")
        ends = today - timedelta(days=1) if who == "lapsed" else None
        Membership.objects.create(user=found[who], starts_on=today - timedelta(days=9), ends_on=ends)
    return {**found, "editor": make_user("editor"), "owner": make_user("owner")}


def make_members_release() -> Release:
    """A release to members with a video, captions and a still; the words are “Knees.”."""
    breakdown = Breakdown.objects.create(slug="landing", title="The landing (invented)")
    folder = Path(settings.MEDIA_ROOT) / "releases/landing/one"
    folder.mkdir(parents=True, exist_ok=True)
    for name in ("landing.mp4", "landing.vtt", "still-0.jpg", "secret.txt"):
        (folder / name).write_bytes(b"invented")
    (folder.parent / "beside.jpg").write_bytes(b"not of this release")
    beat = {"kind": "plate", "words": "Knees.", "start_frame": 0, "still": "still-0.jpg"}
    account = {
        "title": breakdown.title, "rate": "25", "beats": [beat], "references": [], "chapters": [], "sources": [],
        "credits": [], "cautions": [], "standfirst": "", "use_of_footage": "", "frame_count": 25,
    }  # fmt: skip
    return Release.objects.create(
        breakdown=breakdown, slug="landing", audience="members", page=account, folder="releases/landing/one"
    )


def _release() -> Release:
    return Release.objects.filter(slug="landing").first() or make_members_release()


def _own_question(person: User) -> dict[str, Any]:
    return {"key": make_question(person).key}


def _own_picture(person: User, state: str) -> dict[str, Any]:
    asked = None if state == "draft" else timezone.now()
    question = Question.objects.filter(member=person, state=state).first() or Question.objects.create(
        member=person, state=state, asked_at=asked
    )
    name = f"questions/{question.key}.jpg"
    path = Path(settings.MEDIA_ROOT) / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"invented")
    return {"key": Attachment.objects.create(question=question, kind="picture", file=name).key}


SAMPLES: dict[str, Maker] = {
    "publishing:read": lambda person: {"slug": _release().slug},
    "publishing:file": lambda person: {"slug": _release().slug, "number": 1, "name": "video"},
    "questions:question": _own_question,
    "questions:urgent": _own_question,
    "questions:thank": _own_question,
    "questions:follow_up": _own_question,
    "questions:take_back": _own_question,
    "questions:attachment": lambda person: _own_picture(person, "waiting"),
    "questions:attachment_drop": lambda person: _own_picture(person, "draft"),
    "questions:answer": lambda person: {"key": make_note("Is rest enough?").key},
}
