from typing import Any

from django.core.management.base import BaseCommand

from breakdowns.work.services import work_sweep


class Command(BaseCommand):
    help = "Wake work whose worker was killed. Run it each minute when run_workers is not used."

    def handle(self, *args: Any, **options: Any) -> None:
        woken, given_up = work_sweep()
        self.stderr.write(f"woken {woken}, given up {given_up}")
