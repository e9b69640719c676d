from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from breakdowns.assembly.make import make_all
from breakdowns.assembly.render import RenderFailed
from breakdowns.assembly.selectors import NotReady, files_beside, lines, piece_of
from breakdowns.assembly.tables import rows
from breakdowns.footage.media.locate import MediaToolMissing, find_ffmpeg
from breakdowns.scripts.models import Breakdown


class Command(BaseCommand):
    help = (
        "Render a breakdown to FILE.mp4, with captions, chapters, interchange files and its ledger beside it."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("slug")
        parser.add_argument("--out", required=True, type=Path)
        parser.add_argument("--height", type=int, choices=[720, 1080], default=720, help="the shorter side")
        targets = [int(row["lufs"]) for row in rows("loudness_targets")]
        parser.add_argument(
            "--loudness", type=int, choices=targets, default=-16, help="LUFS of the finished sound"
        )
        parser.add_argument(
            "--scratch-voice", action="store_true", help="speak the words with espeak-ng, marked as scratch"
        )

    def handle(
        self,
        *args: Any,
        slug: str,
        out: Path,
        height: int,
        loudness: int,
        scratch_voice: bool,
        **options: Any,
    ) -> None:
        breakdown = Breakdown.objects.filter(slug=slug).first() if slug.isprintable() else None
        if breakdown is None:
            raise CommandError(
                f"No breakdown is called {slug!r}: the scripts page shows each one's name.", returncode=2
            )
        if out.suffix != ".mp4":
            raise CommandError(f"--out must end in .mp4, not {out.name!r}.", returncode=2)
        try:
            make_all(
                piece_of(breakdown, height=height, loudness=loudness, scratch_voice=scratch_voice),
                out.absolute(),
                cache_dir=Path(settings.MEDIA_ROOT) / "segments",
                tools=find_ffmpeg(),
                progress=self._progress,
                stopped=lambda: False,
                summary=breakdown.standfirst,
                cautions=lines(breakdown.cautions),
                references=lines(breakdown.references),
            )
        except (NotReady, RenderFailed, MediaToolMissing, OSError) as fault:
            raise CommandError(str(fault), returncode=2) from fault
        for path in files_beside(out).values():
            if path.exists():
                self.stderr.write(str(path))

    def _progress(self, done: int, total: int, doing: str) -> None:
        self.stderr.write(f"\r{doing}: {100 * done // max(1, total)} %", ending="")
        if done >= total:
            self.stderr.write("")
