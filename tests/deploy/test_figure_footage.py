"""Painting and writing the demonstration's clips: true to the geometry, the same every time, whole or absent."""

from __future__ import annotations

import json
import shutil
from fractions import Fraction

import grimp
import numpy as np
import pytest
from PIL import Image

from deploy.demonstration import footage
from deploy.demonstration.body import sphere_surface
from deploy.demonstration.draw import Solid, paint, seen_by, set_apart
from deploy.demonstration.footage import EncodingFailed, draw_footage
from deploy.demonstration.scene import attacker_at
from deploy.demonstration.sound import SAMPLE_RATE, event_sounds, hall_sound
from deploy.demonstration.truth import landmark_points
from deploy.demonstration.views import demonstration_views

av = pytest.importorskip("av")
FFMPEG = shutil.which("ffmpeg") or "ffmpeg"
needs_ffmpeg = pytest.mark.skipif(not shutil.which("ffmpeg"), reason="ffmpeg is not installed")
VIEWS = demonstration_views()


def small_views(frames: int = 6):
    """Both views at a quarter of their size, a few frames round the release."""
    return {name: view.reduced(0.25, Fraction(51, 10), frames) for name, view in VIEWS.items()}


def sphere(centre, radius, colour) -> Solid:
    points, faces, _ = sphere_surface(radius, np.ones(3), np.ones(3))
    return Solid(points + centre, faces, np.tile(colour, (len(faces), 1)), np.zeros(len(faces)))


def painted(camera, *solids) -> np.ndarray:
    picture = Image.new("RGB", camera.size)
    for group in set_apart([part for solid in solids if (part := seen_by(camera, solid))]):
        paint(picture, group)
    return np.asarray(picture).astype(float)


@pytest.mark.parametrize("name", ["baseline", "overhead"])
def test_a_thing_is_painted_where_it_projects(name):
    camera = VIEWS[name].camera
    for centre in ([0.3, 8.2, 1.5], [-0.7, 7.1, 0.4]):
        light = painted(camera, sphere(np.array(centre), 0.12, (0.8, 0.8, 0.8))).sum(axis=2) > 0
        rows, columns = np.nonzero(light)
        # Pixel n covers n to n + 1, so its middle is half a pixel on.
        middle = np.array([columns.mean() + 0.5, rows.mean() + 0.5])
        assert middle == pytest.approx(camera.project(np.array(centre)), abs=0.5)
        across = np.ptp(columns) + 1
        distance = np.linalg.norm(np.array(centre) - camera.position)
        assert across == pytest.approx(2 * 0.12 * camera.focal / distance, rel=0.06)


def test_the_nearer_hides_the_farther_and_colours_stay_theirs():
    camera = VIEWS["overhead"].camera
    low, high = (
        sphere(np.array([0, 8.8, 0.5]), 0.2, (0, 0, 1)),
        sphere(np.array([0, 8.8, 1.5]), 0.2, (1, 0, 0)),
    )
    for order in ((low, high), (high, low)):
        red, green, blue = painted(camera, *order)[360, 640]
        assert red > 100
        assert green == blue == 0


def test_what_is_out_of_sight_is_left_out():
    camera = VIEWS["overhead"].camera
    assert seen_by(camera, sphere(np.array([0, 30.0, 0.5]), 0.2, (1, 1, 1))) is None


def test_sounds_lie_where_the_record_says():
    sound = hall_sound(0.0, 2.0)
    assert sound.shape == (2, 2 * SAMPLE_RATE)
    assert np.abs(sound).max() < 0.9
    bounce = next(one for one in event_sounds() if one.what == "bounce")
    first = round(bounce.seconds * SAMPLE_RATE)
    before, after = sound[:, first - 2400 : first], sound[:, first : first + 2400]
    assert np.sqrt((after**2).mean()) > 4 * np.sqrt((before**2).mean())
    assert np.array_equal(sound, hall_sound(0.0, 2.0))


def test_the_drawing_mark_covers_every_module_that_draws():
    graph = grimp.build_graph("deploy", cache_dir=None)
    home = "deploy.demonstration."
    used = {m.removeprefix(home) for m in graph.find_upstream_modules(home + "footage") if m.startswith(home)}
    assert used <= set(footage._CODE)
    assert not {m for m in graph.find_upstream_modules(home + "footage") if m.startswith("django")}


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("footage")
    counted = []
    result = draw_footage(
        folder, FFMPEG, lambda done, total: counted.append((done, total)), views=small_views(), workers=0
    )
    return folder, result, counted


@needs_ffmpeg
@pytest.mark.media
class TestDrawnFootage:
    def test_clips_have_their_rate_size_and_sound(self, drawn):
        _, result, counted = drawn
        assert counted == [(n, 12) for n in range(1, 13)]
        for name, clip in result.clips.items():
            with av.open(str(clip.path)) as container:
                video = container.streams.video[0]
                assert video.average_rate == VIEWS[name].rate
                assert sum(1 for _ in container.decode(video=0)) == clip.frame_count == 6
                assert (video.width, video.height) == (320, 180)
            with av.open(str(clip.path)) as container:
                heard = [(s.codec_context.name, s.rate, s.channels) for s in container.streams.audio]
            assert heard == ([("aac", 48000, 2)] if name == "baseline" else [])

    def test_a_record_says_what_is_true_and_that_it_is_invented(self, drawn):
        _, result, _ = drawn
        clip = result.clips["overhead"]
        record = clip.record()
        assert "invented" in record["invented"].lower()
        assert (record["rate"], record["frame_count"]) == ("30000/1001", 6)
        assert record["event_seconds_at_frame_0"]["exact"] == "51/10"
        assert set(record["moments"]) == {"plant", "take_off", "release", "contact", "landing"}
        # Release at 5.19 s, 0.09 s after the first frame: 0.09 * 30000/1001 = 2.697, so frame 3.
        assert record["moments"]["release"]["frame"] == 3
        assert [peak["segment"] for peak in record["chain"]] == ["pelvis", "trunk", "upper_arm", "forearm"]
        view = small_views()["overhead"]
        truth = landmark_points(attacker_at(view.event_times()))
        assert len(truth) == 21
        for n, frame in enumerate(record["frames"]):
            assert frame["frame"] == n
            assert set(frame["points"]) == set(truth)
            for name, place in truth.items():
                assert frame["points"][name] == pytest.approx(view.camera.project(place[n]), abs=0.001)

    def test_a_second_run_does_nothing(self, drawn):
        folder, _, _ = drawn
        before = {path: path.stat().st_mtime_ns for path in folder.iterdir()}
        again = draw_footage(
            folder, "no-such-encoder", lambda *_: pytest.fail("drew again"), views=small_views(), workers=0
        )
        assert again.drawn == ()
        assert {path: path.stat().st_mtime_ns for path in folder.iterdir()} == before

    def test_two_runs_give_the_same_files(self, drawn, tmp_path):
        folder, _, _ = drawn
        draw_footage(tmp_path, FFMPEG, lambda *_: None, views=small_views(), workers=0)
        for path in folder.iterdir():
            assert (tmp_path / path.name).read_bytes() == path.read_bytes(), path.name

    def test_worker_processes_paint_the_same_frames(self, drawn, tmp_path):
        folder, _, _ = drawn
        view = {"overhead": small_views()["overhead"]}
        draw_footage(tmp_path, FFMPEG, lambda *_: None, views=view, workers=1)
        assert (tmp_path / "overhead.mp4").read_bytes() == (folder / "overhead.mp4").read_bytes()

    def test_a_damaged_clip_is_drawn_again(self, drawn, tmp_path):
        folder, _, _ = drawn
        for path in folder.iterdir():
            shutil.copy(path, tmp_path)
        whole = (tmp_path / "overhead.mp4").read_bytes()
        (tmp_path / "overhead.mp4").write_bytes(whole[:500])
        again = draw_footage(tmp_path, FFMPEG, lambda *_: None, views=small_views(), workers=0)
        assert again.drawn == ("overhead",)
        assert (tmp_path / "overhead.mp4").read_bytes() == whole

    def test_the_offset_is_between_the_starts(self, tmp_path, drawn):
        _, result, _ = drawn
        assert result.offset("baseline", "overhead") == 0  # the small views start together
        records = {name: json.loads(clip.record_path.read_text()) for name, clip in result.clips.items()}
        assert records["overhead"]["offset_from_baseline"]["exact"] == "51/10"

    def test_an_interrupted_run_leaves_no_half_file(self, tmp_path):
        def stop(done, total):
            if done == 3:
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            draw_footage(tmp_path, FFMPEG, stop, views=small_views(), workers=0)
        assert list(tmp_path.iterdir()) == []


def test_an_encoder_that_is_not_there_is_told_in_one_sentence(tmp_path):
    with pytest.raises(EncodingFailed, match="could not be started"):
        draw_footage(tmp_path, str(tmp_path / "nothing"), lambda *_: None, views=small_views(2), workers=0)
    assert list(tmp_path.iterdir()) == []


def test_an_encoder_that_fails_leaves_nothing(tmp_path):
    false = shutil.which("false")
    if not false:
        pytest.skip("no program that always fails")
    with pytest.raises(EncodingFailed, match="could not be encoded"):
        draw_footage(tmp_path, false, lambda *_: None, views=small_views(2), workers=0)
    assert list(tmp_path.iterdir()) == []
