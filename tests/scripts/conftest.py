"""People, footage and a script to work on. All of it is invented."""

from __future__ import annotations

import pytest

from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Event, Source
from breakdowns.people.models import User
from breakdowns.scripts import services
from breakdowns.scripts.models import Breakdown


@pytest.fixture
def editor(db):
    return User.objects.create_user("editor@example.org", "a long password", name="Editor", role="editor")


@pytest.fixture
def other(db):
    return User.objects.create_user("other@example.org", "a long password", name="Other", role="editor")


@pytest.fixture
def studio(client, editor):
    client.force_login(editor)
    return client


@pytest.fixture
def source(db):
    event = Event.objects.create(name="Cup semi-final (invented)")
    return Source.objects.create(
        event=event,
        title="Semi-final",
        view="baseline",
        state="ready",
        rate_num=30000,
        rate_den=1001,
        frame_count=9000,
        width=1280,
        height=720,
        original="invented.mp4",
        original_name="invented.mp4",
        rights_holder="an invented league",
    )


@pytest.fixture
def excerpt(source):
    return Excerpt.objects.create(source=source, name="planting step", in_frame=300, out_frame=420)


@pytest.fixture
def breakdown(editor):
    return services.breakdown_create(by=editor, title="Late hips, early arm")


def write(breakdown: Breakdown, *texts: str, by: User) -> list:
    """The breakdown with exactly these beats, one for each text."""
    for text in texts:
        services.beat_insert(breakdown, by=by, words=text)
    services.beat_delete(breakdown, breakdown.beats.order_by("position").first().key, by=by)
    return list(breakdown.beats.order_by("position"))
