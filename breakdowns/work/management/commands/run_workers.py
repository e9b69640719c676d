"""Keeps one worker for each queue alive and sweeps lapsed work; ends them all together."""

from __future__ import annotations

import signal
import subprocess
import sys
import threading
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.db import connection

from breakdowns.work.services import work_sweep


class Command(BaseCommand):
    help = (
        "Run a worker for short work and one for video work, restart them when they end, sweep lapsed work."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--sweep-seconds", type=float, default=settings.WORK_LEASE_SECONDS / 2)

    def handle(self, *args: Any, sweep_seconds: float, **options: Any) -> None:
        self.wanted: dict[str, subprocess.Popen[bytes] | None] = {"default": None, "media": None}
        self.leaving = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: self.leaving.set())
        since_sweep = sweep_seconds
        while not self.leaving.is_set():
            self._keep_alive()
            if since_sweep >= sweep_seconds:
                self._sweep()
                since_sweep = 0.0
            self.leaving.wait(1)
            since_sweep += 1
        self._end_all()

    def _keep_alive(self) -> None:
        for queue, process in self.wanted.items():
            if process is None or process.poll() is not None:
                if process is not None:
                    self.stderr.write(
                        f"The worker for {queue} ended ({process.returncode}); starting it again."
                    )
                command = [sys.executable, sys.argv[0], "db_worker", "--queue-name", queue, "--no-reload"]
                self.wanted[queue] = subprocess.Popen(command, start_new_session=True)

    def _sweep(self) -> None:
        try:
            work_sweep()
        except Exception as error:
            self.stderr.write(f"Sweep put off: {error}")
        finally:
            connection.close()

    def _end_all(self) -> None:
        """Workers get a moment; work that is cut off is taken up again through its lease."""
        processes = [process for process in self.wanted.values() if process]
        for process in processes:
            process.send_signal(signal.SIGTERM)
        for process in processes:
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
