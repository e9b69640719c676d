"""What every test shares: data below a folder of its own, and a mark on what touches the database."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

# A busy machine is slow, not wrong.
hypothesis_settings.register_profile("house", deadline=None, suppress_health_check=[HealthCheck.too_slow])
hypothesis_settings.load_profile("house")

# Playwright runs an event loop in the test's thread; the database is still used by one thread alone.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
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
