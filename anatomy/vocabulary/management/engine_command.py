"""What the commands of anatomy share: text in, JSON out, exit 2 with one line when the input is wrong."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, cast

from django.core.management.base import BaseCommand, CommandError

__all__ = ["EngineCommand"]


class EngineCommand(BaseCommand):
    """Reads text exactly as given, prints JSON as UTF-8; messages belong on standard error."""

    requires_system_checks = ()
    requires_migrations_checks = False

    def read_text(self, path: str) -> str:
        """The text of a file, or of standard input for ``-``, nothing added or taken away. Exits 2 with one line."""
        try:
            raw = sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
            return raw.decode("utf-8")
        except UnicodeDecodeError as error:
            raise refused(f"{_named(path)} is not UTF-8 at byte {error.start}: save it as UTF-8.") from None
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or "no such path"
            raise refused(f"{_named(path)} can't be read ({why}): check its name and place.") from None

    def print_json(self, answer: Any) -> None:
        """Writes the answer to standard output."""
        if hasattr(sys.stdout, "reconfigure"):
            cast(Any, sys.stdout).reconfigure(encoding="utf-8")
        self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=1))


def refused(sentence: str) -> CommandError:
    """The error that ends a command with exit 2."""
    return CommandError(sentence, returncode=2)


def _named(path: str) -> str:
    return "Standard input" if path == "-" else repr(path[:200])
