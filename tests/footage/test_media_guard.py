"""Children are held to their bounds, ended and waited for; names can mean nothing but files."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from breakdowns.footage.media import child, guard
from breakdowns.footage.media.child import run
from breakdowns.footage.media.errors import MediaRefused, MediaStopped, TookTooLong
from breakdowns.footage.media.guard import Bounds, file_name
from breakdowns.footage.media.header import read_header
from breakdowns.footage.media.locate import find_ffmpeg
from breakdowns.footage.media.probe import probe
from tests.footage.media_files import card, make, with_each_tool

pytestmark = pytest.mark.media
LOOSE = Bounds(60, 60, 60, 4_000_000_000, 10_000_000)


@pytest.fixture(params=["prlimit", "setrlimit"])
def way(request, monkeypatch):
    """Both ways of setting limits."""
    if request.param == "setrlimit":
        monkeypatch.setattr(guard, "_prlimit", lambda: None)
    elif not guard._prlimit():
        pytest.skip("prlimit(1) is not installed (Debian package util-linux)")


@pytest.fixture
def children(monkeypatch):
    """Every process that was started."""
    started = []

    class Watched(subprocess.Popen):
        def __init__(self, *arguments, **named):
            super().__init__(*arguments, **named)
            started.append(self)

    monkeypatch.setattr(child.subprocess, "Popen", Watched)
    return started


def assert_gone(process: subprocess.Popen) -> None:
    assert process.returncode is not None, "the child was not waited for"
    with pytest.raises(ProcessLookupError):
        os.kill(process.pid, 0)


@pytest.mark.usefixtures("way")
def test_the_bounds_reach_the_child():
    ended = run(
        ["/bin/sh", "-c", "ulimit -v; ulimit -t; ulimit -f; ulimit -c"], Bounds(7, 60, 60, 2**31, 51200)
    )
    assert ended.code == 0
    memory, cpu, file, core = ended.output.split()
    # POSIX sh: -f counts blocks of 512 bytes; -v kilobytes.
    assert (int(memory), int(cpu), int(file) * 512, core) == (2**21, 7, 51200, b"0")


@pytest.mark.usefixtures("way")
@pytest.mark.parametrize(
    ("work", "bounds"),
    [
        ("b = bytearray(1 << 31)", Bounds(60, 60, 60, 1 << 30, 0)),
        ("while True: pass", Bounds(1, 60, 60, 1 << 32, 0)),
        ("import sys; open(sys.argv[1], 'wb').write(bytes(100000))", Bounds(60, 60, 60, 1 << 32, 1000)),
    ],
    ids=["memory", "processor", "file size"],
)
def test_a_greedy_child_is_ended(work, bounds, tmp_path):
    ended = run([sys.executable, "-S", "-c", work, str(tmp_path / "big")], bounds)
    assert ended.code != 0
    assert not (tmp_path / "big").exists() or (tmp_path / "big").stat().st_size <= 1000


def test_a_lower_limit_that_already_holds_is_kept(monkeypatch):
    resource = pytest.importorskip("resource")
    real = resource.getrlimit
    monkeypatch.setattr(
        resource, "getrlimit", lambda kind: (5, 5) if kind == resource.RLIMIT_CPU else real(kind)
    )
    assert guard._ceilings(LOOSE)["cpu"] == 5


@pytest.mark.parametrize("bounds", [Bounds(60, 1, 60, 1 << 32, 0), Bounds(60, 60, 1, 1 << 32, 0)])
def test_a_silent_child_is_ended_and_waited_for(bounds, children):
    with pytest.raises(TookTooLong, match="without getting on"):
        run(["/bin/sleep", "60"], bounds)
    assert_gone(children[0])


def test_a_stop_ends_the_child_and_waits_for_it(children):
    answers = iter([False, True])
    with pytest.raises(MediaStopped):
        run(["/bin/sleep", "60"], LOOSE, stopped=lambda: next(answers))
    assert_gone(children[0])


def test_whatever_a_handler_raises_ends_the_child(children):
    def handler(line: str) -> bool:
        raise KeyError(line)

    with pytest.raises(KeyError, match="hello"):
        run(["/bin/sh", "-c", "echo hello >&2; exec sleep 60"], LOOSE, on_line=handler)
    assert_gone(children[0])


def test_floods_on_both_pipes_do_not_lock_up():
    lines: list[str] = []

    def keep(line: str) -> bool:
        lines.append(line)
        return True

    work = (
        "import sys; [(sys.stderr.write('e' * 99 + '\\n'), sys.stdout.write('o' * 99)) for _ in range(5000)]"
    )
    ended = run([sys.executable, "-S", "-c", work], LOOSE, on_line=keep)
    assert (ended.code, len(lines), len(ended.output)) == (0, 5000, 495000)


def test_the_child_sees_little_of_the_environment(monkeypatch):
    monkeypatch.setenv("FFREPORT", "file=report.txt")
    monkeypatch.setenv("http_proxy", "http://example.org")
    seen = run(["/usr/bin/env"], LOOSE).output.decode()
    assert "FFREPORT" not in seen
    assert "proxy" not in seen


NAMES = [
    "-i.mp4",
    "-y",
    "http:clip.mp4",
    "concat:a.mp4|b.mp4",
    "pipe:0",
    "data:video,x",
    "clip %d 03.mp4",
    "a'b\"c;$(touch pwned)`touch pwned`.mp4",
    "two\nlines.mp4",
    "[0:v],scale=1:1.mp4",
    "ümläut ⛹.mp4",
]


@with_each_tool
def test_a_name_is_only_ever_a_name(tools, tmp_path, monkeypatch):
    clip = make(tmp_path / "clip.mp4", *card("0.12"))
    monkeypatch.chdir(tmp_path)
    for name in NAMES:
        clip = clip.rename(tmp_path / name)
        assert probe(name, tools).frame_count == 3
        assert os.listdir(tmp_path) == [name]


def test_file_names_are_absolute_files():
    assert file_name("-x.mp4").startswith("file:/")
    assert file_name("http://example.org/a.mp4").startswith("file:/")


@pytest.fixture
def secret(tmp_path) -> Path:
    """A video that no upload may reach."""
    return make(tmp_path / "secret.ts", *card(), "-c:v", "mpeg2video")


def playlist(secret: Path, noise: bytes = b"") -> bytes:
    # RFC 8216: a play list of one segment; the noise is a comment that no reader of the list minds.
    return b"#EXTM3U\n#%s\n#EXT-X-TARGETDURATION:9\n#EXTINF:0.4,\nfile://%s\n#EXT-X-ENDLIST\n" % (
        noise,
        bytes(secret),
    )


def script(secret: Path) -> bytes:
    return b"ffconcat version 1.0\nfile " + secret.name.encode() + b"\n"


def manifest(secret: Path) -> bytes:
    # ISO/IEC 23009-1: a static manifest of one representation.
    return (
        '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static" '
        'mediaPresentationDuration="PT0.4S" profiles="urn:mpeg:dash:profile:isoff-on-demand:2011">'
        '<Period><AdaptationSet mimeType="video/mp2t"><Representation id="1" bandwidth="1">'
        f"<BaseURL>file://{secret}</BaseURL></Representation></AdaptationSet></Period></MPD>"
    ).encode()


def session(secret: Path) -> bytes:
    # RFC 8866: a session of one video stream.
    return b"v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video 5004 RTP/AVP 33\n"


def drawing(secret: Path) -> bytes:
    return b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><image href="secret.ts"/></svg>'


POINTERS = [playlist, script, manifest, session, drawing]


@with_each_tool
@pytest.mark.parametrize("kind", POINTERS, ids=lambda kind: kind.__name__)
def test_files_that_point_elsewhere_do_not_pass_the_guard_alone(kind, tools, secret, tmp_path):
    """Without the first look: the whitelists by themselves keep other files closed."""
    for name in ("clip.mp4", "clip.avi", "clip.m3u8"):
        upload = tmp_path / name
        upload.write_bytes(kind(secret))
        with pytest.raises(MediaRefused) as refused:
            read_header(upload, tools)
        assert refused.value.code in ("unknown_container", "unreadable")


@pytest.mark.parametrize("kind", POINTERS, ids=lambda kind: kind.__name__)
def test_and_the_first_look_says_what_they_are(kind, secret, tmp_path):
    upload = tmp_path / "clip.mp4"
    upload.write_bytes(kind(secret))
    with pytest.raises(MediaRefused) as refused:
        probe(upload)
    assert refused.value.code == ("not_video" if kind is drawing else "points_elsewhere")
    assert "Upload the video itself" in str(refused.value)


@with_each_tool
def test_a_play_list_that_hides_from_the_first_look_is_refused_too(tools, secret, tmp_path):
    upload = tmp_path / "clip.mp4"
    upload.write_bytes(playlist(secret, noise=b"\x00\x01\xff" * 40))
    with pytest.raises(MediaRefused, match=r"container|can't be read"):
        probe(upload, tools)


def test_these_pointers_do_work_without_the_guard(secret, tmp_path):
    """The danger is real: unguarded, the play list and the script open the other file."""
    for kind, name in ((playlist, "list.m3u8"), (script, "script.ffconcat")):
        upload = tmp_path / name
        upload.write_bytes(kind(secret))
        command = [find_ffmpeg().ffmpeg, "-v", "error", "-allowed_extensions", "ALL", "-i", upload]
        if kind is script:
            command = [find_ffmpeg().ffmpeg, "-v", "error", "-i", upload]
        done = subprocess.run([*command, "-f", "null", "-"], capture_output=True)
        assert done.returncode == 0, done.stderr
