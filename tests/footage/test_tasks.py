"""The worker reads footage and makes its copies, or says in one sentence why not."""

from __future__ import annotations

import hashlib
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from breakdowns.footage.file_names import ServerFile
from breakdowns.footage.media.locate import find_ffmpeg
from breakdowns.footage.media.probe import probe
from breakdowns.footage.media.strip import strip_frames
from breakdowns.footage.models import Source
from breakdowns.footage.selectors import master_path, media_path, probe_of
from breakdowns.footage.services import source_create, upload_whole
from breakdowns.work.models import WorkItem
from breakdowns.work.services import work_again
from breakdowns.work.tasks import do_work
from tests.factory import make_user
from tests.numbered import write_numbered_clip

pytestmark = [pytest.mark.media, pytest.mark.django_db]


def uploaded(data: bytes, name: str = "throw.mp4") -> tuple[Source, WorkItem]:
    user = make_user()
    upload = upload_whole(owner=user, name=name, size=len(data), pieces=[data])
    source = source_create(by=user, details={"title": "Throw"}, upload=upload)
    return source, WorkItem.objects.get(subject=str(source.key))


def files_of(source: Source) -> set[str]:
    return {path.name for path in media_path(f"sources/{source.key}").iterdir()}


@pytest.fixture
def clip(tmp_path) -> Path:
    return write_numbered_clip(
        tmp_path / "clip.mp4",
        rate=Fraction(30000, 1001),
        frame_count=31,
        ffmpeg=find_ffmpeg().ffmpeg,
        audio=True,
    )


def test_footage_becomes_ready_with_its_copies(clip):
    source, work = uploaded(clip.read_bytes())
    assert do_work(work.pk) == "done"
    source.refresh_from_db()
    assert (source.state, source.rate, source.frame_count) == ("ready", Fraction(30000, 1001), 31)
    assert (source.width, source.height, source.has_audio, source.is_variable_rate) == (320, 180, True, False)
    assert source.sha256 == hashlib.sha256(clip.read_bytes()).hexdigest()
    assert source.master == source.original
    assert master_path(source) == media_path(source.original)
    assert files_of(source) == {"original.mp4", "copy.mp4", "strip.jpg", "strip.json"}
    copy = probe(media_path(source.browser_copy))
    assert (copy.frame_count, copy.rate) == (31, source.rate)
    assert source.strip_frames == strip_frames(31, 17)
    assert probe_of(source).frame_count == 31


def test_doing_it_twice_changes_nothing(clip):
    source, work = uploaded(clip.read_bytes())
    do_work(work.pk)
    before = {path: path.stat().st_mtime_ns for path in media_path(f"sources/{source.key}").iterdir()}
    assert do_work(work_again(work).pk) == "done"
    assert {path: path.stat().st_mtime_ns for path in media_path(f"sources/{source.key}").iterdir()} == before


def test_lost_copies_are_made_again(clip):
    source, work = uploaded(clip.read_bytes())
    do_work(work.pk)
    media_path(f"sources/{source.key}/copy.mp4").unlink()
    assert do_work(work_again(work).pk) == "done"
    assert "copy.mp4" in files_of(source)


def test_variable_rate_gets_a_master_that_is_cut_from(tmp_path, clip):
    uneven = tmp_path / "uneven.mkv"
    subprocess.run(
        [find_ffmpeg().ffmpeg, "-v", "error", "-i", clip, "-vf", "setpts='(N+0.8*gt(N,12)*(N-12))/30/TB'", "-fps_mode", "vfr", "-an", "-c:v", "libx264", "-preset", "ultrafast", uneven],
        check=True,
    )  # fmt: skip
    source, work = uploaded(uneven.read_bytes(), "phone.mkv")
    assert do_work(work.pk) == "done"
    source.refresh_from_db()
    assert source.is_variable_rate
    assert source.master == f"sources/{source.key}/master.mp4"
    master = probe(master_path(source))
    assert (master.frame_count, master.rate, master.is_variable_rate) == (
        source.frame_count,
        source.rate,
        False,
    )
    assert source.original.endswith("original.mkv")


@pytest.mark.parametrize(
    "data",
    [b"x", b"#EXTM3U\nhttp://example.org/a.ts\n", b"\0" * 4096],
    ids=["one byte", "play list", "zeros"],
)
def test_what_is_no_footage_is_refused_in_one_sentence(data):
    source, work = uploaded(data)
    assert do_work(work.pk) == "failed"
    source.refresh_from_db()
    work.refresh_from_db()
    assert source.state == "refused"
    assert source.refusal == work.reason
    assert source.refusal.endswith(".")
    assert files_of(source) == {"original.mp4"}


def test_a_registered_file_that_moved_out_of_the_folders_is_refused(clip, settings, tmp_path):
    settings.FOOTAGE_FOLDERS = [tmp_path / "elsewhere"]
    file = ServerFile("0:clip.mp4", "clip.mp4", clip, clip.stat().st_size)
    source = source_create(by=make_user(), details={"title": "Throw"}, file=file)
    assert do_work(WorkItem.objects.get().pk) == "failed"
    source.refresh_from_db()
    assert "no longer one of the footage folders" in source.refusal


def test_a_registered_file_is_read_in_place(clip, settings):
    settings.FOOTAGE_FOLDERS = [clip.parent]
    file = ServerFile("0:clip.mp4", "clip.mp4", clip, clip.stat().st_size)
    source = source_create(by=make_user(), details={"title": "Throw"}, file=file)
    assert do_work(WorkItem.objects.get().pk) == "done"
    source.refresh_from_db()
    assert master_path(source) == clip
    assert files_of(source) == {"copy.mp4", "strip.jpg", "strip.json"}


def test_stopping_leaves_nothing_behind(clip):
    source, work = uploaded(clip.read_bytes())
    WorkItem.objects.filter(pk=work.pk).update(stop_wanted=True)
    assert do_work(work.pk) == "stopped"
    source.refresh_from_db()
    assert source.state == "waiting"
    assert files_of(source) == {"original.mp4"}


def test_a_lost_lease_publishes_nothing(clip, monkeypatch):
    from breakdowns.footage import tasks

    source, work = uploaded(clip.read_bytes())
    real = tasks.make_strip

    def slow(*args, **kwargs):
        WorkItem.objects.filter(pk=work.pk).update(holder=None)
        return real(*args, **{**kwargs, "stopped": None})

    monkeypatch.setattr(tasks, "make_strip", slow)
    assert do_work(work.pk) == "lost"
    source.refresh_from_db()
    assert source.state == "waiting"
    assert files_of(source) == {"original.mp4"}


def test_deleted_meanwhile(clip):
    _, work = uploaded(clip.read_bytes())
    Source.objects.all().delete()
    assert do_work(work.pk) == "failed"
