"""The one header that keeps foreign script out."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse

__all__ = ["ContentSecurityPolicyMiddleware", "runs_webassembly"]

_OWN_SCRIPT = "script-src 'self'"


def runs_webassembly(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A view whose pages may compile WebAssembly of our own; all others may not.

    'wasm-unsafe-eval' allows that alone and no evaluated script (W3C Content Security Policy Level 3, 4.4).
    """

    @wraps(view)
    def allowed(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        response.runs_webassembly = True  # type: ignore[attr-defined]
        return response

    return allowed


class ContentSecurityPolicyMiddleware:
    """Adds the Content-Security-Policy of the settings to every answer that has none of its own."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        policy = settings.CONTENT_SECURITY_POLICY
        if getattr(response, "runs_webassembly", False):
            policy = policy.replace(_OWN_SCRIPT, f"{_OWN_SCRIPT} 'wasm-unsafe-eval'")
        response.headers.setdefault("Content-Security-Policy", policy)
        response.headers.setdefault("Permissions-Policy", "camera=(), geolocation=(), payment=()")
        return response
