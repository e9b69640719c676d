"""Running a command of the project as a script would, without a new process."""

from __future__ import annotations

import io
from pathlib import Path

from django.core.management import call_command
from django.core.management.base import CommandError


def run_on_file(command: str, text: str, folder: Path, *options: str) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of a command that is given a file with ``text`` and ``options``."""
    path = folder / f"{command}.json"
    path.write_text(text, encoding="utf-8", errors="surrogatepass")
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command(command, str(path), *options, stdout=out, stderr=err)
    except CommandError as fault:
        return fault.returncode, out.getvalue(), str(fault)
    return 0, out.getvalue(), err.getvalue()
