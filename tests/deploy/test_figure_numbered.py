"""The numbered clip that other tests lean on: every number comes back, at any rate and size."""

from fractions import Fraction

import numpy as np
import pytest
from PIL import Image

from tests.numbered import NumberNotReadable, numbered_frame, read_frame_number, write_numbered_clip

av = pytest.importorskip("av")


def decoded(path, size=None):
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            picture = frame.to_image()
            yield np.asarray(picture.resize(size) if size else picture)


@pytest.mark.media
@pytest.mark.parametrize("rate", [Fraction(25), Fraction(30000, 1001), Fraction(60)])
def test_every_frame_comes_back_in_order(tmp_path, rate):
    path = write_numbered_clip(tmp_path / "clip.mp4", rate=rate, frame_count=70, size=(256, 144))
    assert [read_frame_number(frame) for frame in decoded(path)] == list(range(70))
    with av.open(str(path)) as container:
        assert container.streams.video[0].average_rate == rate


@pytest.mark.media
@pytest.mark.parametrize("size", [(160, 90), (400, 300), (1280, 720)])
def test_scaling_does_no_harm(tmp_path, size):
    path = write_numbered_clip(tmp_path / "clip.mp4", rate=Fraction(25), frame_count=9, first=4090)
    assert [read_frame_number(frame) for frame in decoded(path, size)] == list(range(4090, 4099))


@pytest.mark.media
def test_sound_is_there_when_asked_for(tmp_path):
    path = write_numbered_clip(tmp_path / "clip.mp4", rate=Fraction(25), frame_count=25, audio=True)
    with av.open(str(path)) as container:
        (sound,) = container.streams.audio
        assert (sound.codec_context.name, sound.rate, sound.channels) == ("aac", 48000, 2)
    silent = write_numbered_clip(tmp_path / "silent.mp4", rate=Fraction(25), frame_count=5)
    with av.open(str(silent)) as container:
        assert not container.streams.audio


def test_all_numbers_differ_in_at_least_two_cells():
    # Two cells apart: one cell misread is refused, never taken for another number.
    from tests.numbered import _cells

    rng = np.random.default_rng(1)
    for number in rng.integers(0, 2**16, 400):
        for bit in range(16):
            other = int(number) ^ (1 << bit)
            assert np.sum(_cells(int(number)) != _cells(other)) >= 2


def test_a_blend_of_two_frames_and_another_picture_are_refused():
    one, two = numbered_frame(7, (320, 180)), numbered_frame(8, (320, 180))
    blend = ((one.astype(int) + two) // 2).astype(np.uint8)
    with pytest.raises(NumberNotReadable):
        read_frame_number(blend)
    with pytest.raises(NumberNotReadable):
        read_frame_number(np.asarray(Image.new("RGB", (320, 180), (90, 120, 90))))


def test_the_encoder_s_words_come_back_and_no_file_is_left(tmp_path):
    with pytest.raises(RuntimeError, match="could not be written"):
        write_numbered_clip(tmp_path / "clip.nosuchformat", rate=Fraction(25), frame_count=2)
    assert not list(tmp_path.iterdir())
