"""What the engine commands of this stage share: a document in, JSON out, exit 2 with one line."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, TextIO, cast

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from breakdowns.excerpts.models import ExcerptPolicy
from breakdowns.excerpts.plan import PlanError, read_document
from breakdowns.excerpts.policies import Policy, PolicyError, UnknownPolicy, policy_from_json
from breakdowns.excerpts.selectors import policy_named, policy_of

__all__ = ["PlanCommand", "policy_given"]


class PlanCommand(BaseCommand):
    """Subclasses turn the document into an answer; PlanError becomes the fixed error document."""

    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("plan", help="a JSON file, or - for standard input")

    def answer(self, document: dict[str, Any]) -> dict[str, Any]:
        """The command's answer; each engine's command gives its own."""
        raise NotImplementedError(f"{type(self).__name__} has no answer of its own.")

    def handle(self, *args: Any, plan: str, **options: Any) -> None:
        try:
            answer = self.answer(read_document(_text(plan)))
        except PlanError as fault:
            self._print(fault.as_json())
            raise CommandError(str(fault), returncode=2) from None
        for key in answer.get("ignored", ()):
            self.stderr.write(f"Nothing reads this key: {key}.")
        self._print(answer)

    def _print(self, answer: dict[str, Any]) -> None:
        if hasattr(sys.stdout, "reconfigure"):
            cast(Any, sys.stdout).reconfigure(encoding="utf-8")
        self.stdout.write(json.dumps(answer, ensure_ascii=False, sort_keys=True, indent=1))


def _text(path: str) -> str:
    try:
        raw = _standard_input(sys.stdin) if path == "-" else Path(path).read_bytes()
        return raw.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise PlanError("not_json", f"The text is not UTF-8 at byte {fault.start}.") from None
    except (OSError, ValueError) as fault:
        why = getattr(fault, "strerror", None) or "no such path"
        raise PlanError("unreadable", f"{path[:200]!r} can't be read: {why}.") from None


def _standard_input(stream: TextIO) -> bytes:
    return stream.buffer.read() if hasattr(stream, "buffer") else stream.read().encode()


def policy_given(given: str | dict[str, Any] | None) -> Policy | None:
    """The policy that a plan names (a preset, or one of the user's own) or carries. Raises PlanError."""
    if given is None:
        return None
    try:
        return policy_from_json(given) if isinstance(given, dict) else _by_name(given)
    except PolicyError as fault:
        raise PlanError("malformed", str(fault)) from None
    except (UnknownPolicy, DatabaseError):
        sentence = f"No policy is called {str(given)[:60]!r}: see the policies page for their names."
        raise PlanError("unknown_policy", sentence) from None


def _by_name(name: str) -> Policy:
    try:
        return policy_named(name)
    except UnknownPolicy:
        # What no name can hold (NUL, half a surrogate pair) is not even asked for.
        row = ExcerptPolicy.objects.filter(name=name).first() if name.isprintable() else None
        if row is None:
            raise
        return policy_of(row)
