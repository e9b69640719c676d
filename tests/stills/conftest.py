"""People, footage and a still to draw on. All of it is invented."""

from __future__ import annotations

import time
from collections.abc import Callable
from types import SimpleNamespace

import pytest

from breakdowns.footage.models import Event, Source
from breakdowns.stills import services
from tests.factory import make_user


def line(mark_id: str = "m1", *points: tuple[float, float], **values) -> dict:
    """A line of a marks document, from (100, 200) to (300, 200) unless told otherwise."""
    places = points or ((100, 200), (300, 200))
    mark = {"id": mark_id, "kind": "line", "points": [{"at": list(at)} for at in places]}
    return {**mark, "tone": 1, "text": "", "shown": True, "value": True, **values}


def document(*marks: dict, **landmarks: tuple[float, float]) -> dict:
    """A marks document with these marks and landmarks placed by hand."""
    rows = {name: {"at": list(at), "state": "placed"} for name, at in landmarks.items()}
    return {"version": 1, "landmarks": rows, "marks": list(marks)}


@pytest.fixture
def editor(db):
    return make_user("editor")


@pytest.fixture
def other(db):
    return make_user("editor")


@pytest.fixture
def studio(client, editor):
    client.force_login(editor)
    return client


@pytest.fixture
def event(db):
    return Event.objects.create(name="Cup semi-final (invented)")


def bare_source(event: Event, **fields) -> Source:
    """A ready source whose file was never there."""
    values = {
        "title": "Semi-final",
        "view": "baseline",
        "state": "ready",
        "rate_num": 30000,
        "rate_den": 1001,
    }
    values |= {"frame_count": 9000, "width": 1280, "height": 720}
    values |= {"original": "invented.mp4", "original_name": "invented.mp4", "master": "invented.mp4"}
    return Source.objects.create(event=event, **(values | fields))


@pytest.fixture
def source(event):
    return bare_source(event, sync_frame=100)


@pytest.fixture
def still(source, editor):
    return services.still_make(source=source, frame=120, by=editor)


@pytest.fixture
def desk(live_server, client, editor, chromium):
    """Opens pages signed in, in a context of one's own; what goes wrong in them is collected in ``faults``."""
    client.force_login(editor)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    found = SimpleNamespace(faults=[], asked_for=set())

    def context(**options):
        made = chromium.new_context(**{"viewport": {"width": 1280, "height": 900}, **options})
        made.add_cookies([cookie])
        return made

    def open_page(path: str, made=None, **options):
        page = (made or context(**options)).new_page()
        page.on("pageerror", lambda fault: found.faults.append(str(fault)))
        page.on("console", lambda said: said.type == "error" and found.faults.append(said.text))
        page.goto(live_server.url + path)
        return page

    found.context, found.open = context, open_page
    return found


def until(page, true: Callable[[], bool] | str, patience: float = 20) -> None:
    end = time.monotonic() + patience
    while not (page.evaluate(true) if isinstance(true, str) else true()):
        assert time.monotonic() < end, f"Still not so: {true}"
        page.wait_for_timeout(30)
