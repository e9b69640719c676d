"""Only pages that ask for it may compile WebAssembly."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from .pose_page import policy


def test_a_page_that_asks_may_compile_webassembly_and_nothing_more() -> None:
    plain, asking = policy(webassembly=False), policy(webassembly=True)
    assert "unsafe" not in plain
    assert asking.count("unsafe") == 1
    # W3C Content Security Policy Level 3, 4.4: the keyword that allows WebAssembly but no eval.
    assert asking.replace(" 'wasm-unsafe-eval'", "") == plain
    assert "blob:" not in asking.split("script-src")[1].split(";")[0]
    assert "worker-src" not in asking


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["people:sign_in", "people:home", "footage:index", "glossary:index"])
def test_other_pages_may_not(client: Client, name: str) -> None:
    answer = client.get(reverse(name), follow=True)
    assert answer.status_code == 200
    assert "wasm" not in answer.headers["Content-Security-Policy"]
