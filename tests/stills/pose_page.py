"""A page that offers the suggestion of landmarks, in a real browser whose every request is logged."""

from __future__ import annotations

import csv
import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse

from breakdowns.people.middleware import ContentSecurityPolicyMiddleware, runs_webassembly
from tests.conftest import FLAGS

STATIC = Path(__file__).parents[2] / "static"
DATA = Path(__file__).parent / "data"
PICTURES = Path("/usr/share/doc/opencv-doc/examples/data")


def policy(*, webassembly: bool = True) -> str:
    """The Content-Security-Policy that a page of the site gets, with or without asking for WebAssembly."""

    def page(request: HttpRequest) -> HttpResponse:
        return HttpResponse()

    view = runs_webassembly(page) if webassembly else page
    return ContentSecurityPolicyMiddleware(view)(HttpRequest()).headers["Content-Security-Policy"]


class _Handler(SimpleHTTPRequestHandler):
    """/static/ from the project, /pictures/ from a folder of the test, two pages with and without permission."""

    def __init__(self, *args: Any, pictures: Path, missing: set[str], **kwargs: Any) -> None:
        self.pictures, self.missing = pictures, missing
        super().__init__(*args, **kwargs)

    def translate_path(self, path: str) -> str:
        top, _, rest = path.partition("?")[0].lstrip("/").partition("/")
        base = {"static": STATIC, "pictures": self.pictures}.get(top)
        found = None if base is None or ".." in rest else base / rest
        return str(found) if found and found.name not in self.missing else "/nonexistent"

    def do_GET(self) -> None:
        if self.path not in ("/pose", "/plain"):
            return super().do_GET()
        body = b'<!doctype html><meta charset="utf-8"><title>Pose</title><script src="/static/stills/pose.js"></script>'
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.send_header("Content-Security-Policy", policy(webassembly=self.path == "/pose"))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *args: Any) -> None:
        """Quiet."""


@dataclass
class PosePage:
    page: Any
    origin: str
    asked: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def run(self, script: str, argument: Any = None) -> Any:
        """What an async function answers, with ``pose`` and ``load(name)`` (a picture) at hand."""
        head = (
            "async (given) => { const pose = window.Stancewright.pose;"
            "const load = (name) => new Promise((done, failed) => { const picture = new Image();"
            "picture.onload = () => done(picture); picture.onerror = failed; picture.src = `/pictures/${name}`; });"
        )
        return self.page.evaluate(head + script + "}", argument)


@contextmanager
def opened(
    pictures: Path, missing: tuple[str, ...] = (), path: str = "/pose", flags: tuple[str, ...] = ()
) -> Iterator[PosePage]:
    """The page, in Chromium, with every request logged and all but the own origin refused."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if not chromium:
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    handler = partial(_Handler, pictures=pictures, missing=set(missing))
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    origin = f"http://127.0.0.1:{server.server_port}"
    try:
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=chromium, args=[*FLAGS, *flags])
            context = browser.new_context()
            shown = PosePage(context.new_page(), origin)

            def decide(route: Any) -> None:
                url = route.request.url
                own = url.startswith((origin + "/", f"blob:{origin}/", "data:"))
                (shown.asked if own else shown.refused).append(url)
                route.continue_() if own else route.abort()

            context.route("**/*", decide)
            shown.page.on("pageerror", lambda fault: shown.faults.append(str(fault)))
            shown.page.set_default_timeout(180_000)
            shown.page.goto(origin + path)
            yield shown
            browser.close()
    finally:
        server.shutdown()
        server.server_close()


@dataclass
class Marked:
    """A person marked by hand. ``points`` by landmark, pixels; ``unsure``: landmarks whose side can't be told."""

    name: str
    file: str
    box: dict[str, float]
    points: dict[str, tuple[float, float]] = field(default_factory=dict)
    again: dict[str, tuple[float, float]] = field(default_factory=dict)
    unsure: set[str] = field(default_factory=set)

    @property
    def job(self) -> dict[str, Any]:
        """What a script needs to know: the picture and the box round the person."""
        return {"file": self.file, "box": self.box}


def marked_people() -> list[Marked]:
    people: dict[str, Marked] = {}
    with (DATA / "pose_points.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            left, top, right, bottom = map(float, row["box"].split())
            file = f"vtest{row['frame']}.png" if row["frame"] else row["source"]
            box = {"x": left, "y": top, "width": right - left, "height": bottom - top}
            person = people.setdefault(row["picture"], Marked(row["picture"], file, box))
            place = (float(row["x"]), float(row["y"]))
            (person.points if row["marking"] == "1" else person.again)[row["landmark"]] = place
            if row["side_sure"] == "no":
                person.unsure.add(row["landmark"])
    return list(people.values())


def lay_out_pictures(folder: Path) -> None:
    """The marked pictures as PNG. Skips the test when their package is not installed."""
    if not (PICTURES / "vtest.avi").exists():
        pytest.skip("the pictures come from the Debian package opencv-doc, which is not installed")
    for file in {person.file for person in marked_people()}:
        if not file.startswith("vtest"):
            shutil.copy(PICTURES / file, folder / file)
            continue
        choose = f"select=eq(n\\,{file[5:-4]})"
        line = ["ffmpeg", "-v", "error", "-i", str(PICTURES / "vtest.avi"), "-vf", choose]
        subprocess.run([*line, "-frames:v", "1", "-y", str(folder / file)], check=True, timeout=120)
