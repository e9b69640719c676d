"""What every test shares: data below a folder of its own, and a mark on what touches the database."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

# A busy machine is slow, not wrong.
hypothesis_settings.register_profile("house", deadline=None, suppress_health_check=[HealthCheck.too_slow])
hypothesis_settings.load_profile("house")

# Playwright runs an event loop in the test's thread; the database is still used by one thread alone.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


# Files that wait for clocks or take minutes begin first, so that no process is left with one of them at the end.
LONGEST = (
    "work/test_leases.py",
    "people/test_killed.py",
    "journeys/test_screens.py",
    "stills/test_pose_accuracy.py",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: not item.path.as_posix().endswith(LONGEST))
    wanted = {"db", "transactional_db", "live_server", "client", "admin_client"}
    for item in items:
        if item.get_closest_marker("django_db") or wanted & set(getattr(item, "fixturenames", ())):
            item.add_marker(pytest.mark.database)


@pytest.fixture(autouse=True)
def _own_media_folder(settings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"


@pytest.fixture(autouse=True)
def _empty_cache() -> None:
    from django.core.cache import cache

    cache.clear()


FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="module")
def _chromium() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api")
    path = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if not path:
        pytest.skip("No Chromium on this machine.")
    with playwright.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield opened
        opened.close()


@pytest.fixture
def chromium(_chromium: Any) -> Iterator[Any]:
    """A real browser, started once for a file of tests; what a test opened in it is closed at the test's end."""
    yield _chromium
    for context in list(_chromium.contexts):
        context.close()
