"""The sound track: its length, what is heard where, its loudness and its peaks."""

from __future__ import annotations

import subprocess
import wave
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from threading import Event

import av
import ffmpeg
import numpy as np
import pyloudnorm
import pytest
from hypothesis import given
from hypothesis import strategies as st

from breakdowns.assembly import audio, scratch_voice
from breakdowns.assembly.faults import RenderFailed
from breakdowns.assembly.join import SCRATCH_NOTE
from breakdowns.assembly.limiter import amplitude, decibels, limited, true_peak
from breakdowns.assembly.loudness import Loudness, measure
from breakdowns.assembly.mix import BeatSound, write_mix
from breakdowns.assembly.piece import CameraPicture, ExcerptPicture, PieceBeat, PlatePicture, StillPicture
from breakdowns.assembly.runs import Runs
from breakdowns.assembly.sound_parts import Part
from breakdowns.footage.media.locate import find_ffmpeg
from tests.assembly.rendering import footage, heard, piece_of, rendered, seen, source_of

HZ = 48000
HALF = Fraction(1, 2)


def write_wav(path: Path, samples: np.ndarray, rate: int = HZ) -> str:
    """float (frames,) or (frames, channels) as 16 bit."""
    samples = samples if samples.ndim == 2 else samples[:, None]
    with wave.open(str(path), "wb") as file:
        file.setnchannels(samples.shape[1])
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return str(path)


def voice(seconds: float, level: float = 0.1, seed: int = 1) -> np.ndarray:
    """Buzzing bursts with pauses, speech-like in level."""
    t = np.arange(round(seconds * HZ)) / HZ
    phases = np.random.default_rng(seed).random(20) * 6.3
    buzz = sum(np.sin(2 * np.pi * 130 * k * t + phases[k]) / k for k in range(1, 20))
    return level * buzz * np.clip(np.sin(2 * np.pi * 3.7 * t), 0, 1)


def click_at(seconds: float, length: float) -> np.ndarray:
    samples = np.zeros(round(length * HZ))
    samples[round(seconds * HZ) : round(seconds * HZ) + 48] = 0.7
    return samples


def spoken(path: str | None, seconds: Fraction, words: str = "Words") -> PieceBeat:
    return PieceBeat("b", PlatePicture("text", "", "x", seconds), words, take=path)


def onset(samples: np.ndarray, share: float = 0.3) -> float:
    """Seconds of the first sample that reaches a share of the loudest."""
    level = np.abs(samples).max(axis=1)
    return float(np.flatnonzero(level > share * level.max())[0]) / HZ


# ── measuring, against published signals ────────────────────────────────────────────────────────
# EBU Tech 3341 (loudness metering), minimum requirement test signals. Levels and expected values as in
# its table; the durations of cases 1, 2 and 5 from memory.


def sine(pieces: list[tuple[float, float]], hertz: float = 1000.0) -> np.ndarray:
    """(level in dBFS, seconds) one after the other, in phase in both channels."""
    levels = np.concatenate([np.full(round(seconds * HZ), 10 ** (db / 20)) for db, seconds in pieces])
    return np.repeat((levels * np.sin(2 * np.pi * hertz * np.arange(len(levels)) / HZ))[:, None], 2, axis=1)


def measured(samples: np.ndarray, folder: Path) -> Loudness:
    path = folder / "signal.f32"
    samples.astype("<f4").tofile(path)
    node = ffmpeg.input(str(path), format="f32le", ar=HZ, ac=2)["a:0"]
    return measure(node, "The signal", Runs(find_ffmpeg(), Event(), folder))


@pytest.mark.media
@pytest.mark.parametrize(
    "pieces",
    [
        [(-23, 20)],
        [(-36, 10), (-23, 60), (-36, 10)],
        [(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)],
        [(-26, 20), (-20, 20.1), (-26, 20)],
    ],
    ids=["case 1", "case 3", "case 4", "case 5"],
)
def test_loudness_of_the_ebu_signals(tmp_path, pieces):
    assert measured(sine(pieces), tmp_path).integrated == pytest.approx(-23.0, abs=0.1)


def test_loudness_of_the_second_ebu_signal(tmp_path):
    assert measured(sine([(-33, 20)]), tmp_path).integrated == pytest.approx(-33.0, abs=0.1)


def peak_signal(parts: int, degrees: float, level: float) -> np.ndarray:
    """A sine of fs/parts with 20 ms raised-cosine fades: a hard edge would itself overshoot."""
    n = np.arange(HZ)
    tone = level * np.sin(2 * np.pi * n / parts + np.deg2rad(degrees))
    fade = np.ones(HZ)
    rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(960) / 960)
    fade[:960], fade[-960:] = rise, rise[::-1]
    return np.repeat((tone * fade)[:, None], 2, axis=1).astype(np.float32)


# EBU Tech 3341 cases 15 to 19: true peak, tolerance +0.2 / −0.4 dB.
PEAKS = [(4, 0, 0.5, -6.0), (4, 45, 0.5, -6.0), (6, 60, 0.5, -6.0), (8, 67.5, 0.5, -6.0), (4, 45, 1.41, 3.0)]


@pytest.mark.parametrize(("parts", "degrees", "level", "expected"), PEAKS)
def test_true_peak_of_the_ebu_signals(parts, degrees, level, expected):
    found = decibels(true_peak(peak_signal(parts, degrees, level)))
    assert expected - 0.4 <= found <= expected + 0.2


@pytest.mark.media
def test_the_limiter_and_the_meter_agree_on_true_peaks(tmp_path):
    for parts, degrees, level, _ in PEAKS[1:4]:
        signal = peak_signal(parts, degrees, level)
        assert measured(signal, tmp_path).true_peak == pytest.approx(decibels(true_peak(signal)), abs=0.3)


@pytest.mark.media
def test_silence_and_a_blink_of_sound_have_no_loudness(tmp_path):
    assert measured(np.zeros((2 * HZ, 2)), tmp_path) == Loudness(None, None)
    assert measured(sine([(-20, 0.2)]), tmp_path).integrated is None


# ── the limiter ─────────────────────────────────────────────────────────────────────────────────


@given(st.integers(0, 2**32 - 1), st.floats(0.1, 0.95), st.integers(1, 240))
def test_nothing_passes_the_ceiling(seed, ceiling, reach):
    random = np.random.default_rng(seed)
    samples = (random.standard_normal((2000, 2)) * random.random((2000, 1)) * 0.8).astype(np.float32)
    held = limited(samples, ceiling, reach)
    assert held.shape == samples.shape
    assert np.abs(held).max() <= ceiling * 1.0001
    if reach >= 24:  # a curve shorter than the interpolating filter moves the values between the samples
        assert true_peak(held) <= ceiling * 1.03
    assert np.all(np.abs(held) <= np.abs(samples) + 1e-6)


def test_what_is_far_from_a_peak_is_left_alone():
    samples = np.full((4000, 2), 0.1, np.float32)
    samples[2000] = 0.9
    held = limited(samples, 0.5, 240)
    assert np.array_equal(held[:1500], samples[:1500])
    assert np.array_equal(held[2500:], samples[2500:])
    assert held[2000].max() < 0.51
    quiet = samples * 0.1
    assert limited(quiet, 0.5, 240) is quiet
    assert limited(np.zeros((0, 2), np.float32), 0.5, 240).shape == (0, 2)


# ── the finished track ──────────────────────────────────────────────────────────────────────────


@pytest.mark.media
@pytest.mark.parametrize("target", [-16, -23, -14])
@pytest.mark.parametrize("level", [0.02, 0.4])
def test_the_decoded_track_has_the_target_loudness(tmp_path, target, level):
    """Measured by pyloudnorm (ITU-R BS.1770-4), a second implementation, on what a player hears."""
    take = write_wav(tmp_path / "take.wav", voice(7, level))
    piece = piece_of(spoken(take, Fraction(8)), spoken(None, Fraction(2), ""), loudness_lufs=Fraction(target))
    report = rendered(piece, tmp_path)
    sound = heard(tmp_path / "out.mp4")
    independent = pyloudnorm.Meter(HZ).integrated_loudness(sound.astype(float))
    assert independent == pytest.approx(target, abs=0.5)
    assert report.loudness_lufs == pytest.approx(independent, abs=0.2)
    assert report.true_peak_dbtp <= -1.0
    assert decibels(true_peak(sound)) <= -0.9
    assert report.warnings == ()


@pytest.mark.media
@pytest.mark.parametrize("rate", [Fraction(30), Fraction(30000, 1001)], ids=str)
def test_silence_stays_silence_and_has_the_length_of_the_picture(tmp_path, rate):
    piece = piece_of(CameraPicture(Fraction(3, 2)), StillPicture(footage(), 3, Fraction(1, 3)), rate=rate)
    report = rendered(piece, tmp_path)
    sound = heard(tmp_path / "out.mp4")
    assert not sound.any()
    assert report.loudness_lufs is None
    assert report.gain_db == 0
    with av.open(str(tmp_path / "out.mp4")) as file:
        track = file.streams.audio[0]
        assert (track.sample_rate, track.channels, track.codec_context.name) == (HZ, 2, "aac")
        length = track.duration * track.time_base
    assert abs(length - piece.timeline.seconds) <= Fraction(1, 2 * HZ)  # to the nearest sample


@pytest.mark.media
@pytest.mark.parametrize("suffix", ["wav", "m4a", "mp3", "flac", "ogg", "webm"])
def test_words_begin_with_their_beat(tmp_path, suffix):
    """A click a quarter of a second into a recording is heard there, in whatever form it was recorded."""
    plain, take = write_wav(tmp_path / "plain.wav", click_at(0.25, 0.6), 44100), tmp_path / f"take.{suffix}"
    if suffix == "wav":
        take = Path(plain)
    else:
        subprocess.run(["ffmpeg", "-v", "error", "-i", plain, "-ar", "48000", str(take)], check=True)
    piece = piece_of(
        spoken(None, Fraction(5, 4), ""), spoken(str(take), Fraction(1)), rate=Fraction(30000, 1001)
    )
    rendered(piece, tmp_path)
    start = piece.timeline.placed[1].record.start_seconds
    moment = 0.25 * HZ / 44100  # the file says 44.1 kHz
    tolerance = 0.002 if suffix in ("wav", "flac", "m4a") else 0.03  # others keep their encoder's lead-in
    assert onset(heard(tmp_path / "out.mp4")) == pytest.approx(float(start) + moment, abs=tolerance)


@pytest.mark.media
def test_words_longer_than_their_picture_are_cut_and_told(tmp_path):
    long, tail = voice(3), np.concatenate([voice(1), np.random.default_rng(1).standard_normal(HZ) * 0.0005])
    takes = [write_wav(tmp_path / "long.wav", long), write_wav(tmp_path / "tail.wav", tail)]
    piece = piece_of(
        spoken(takes[0], Fraction(2)), spoken(None, Fraction(1), ""), spoken(takes[1], Fraction(3, 2)),
        spoken(None, HALF, ""),
    )  # fmt: skip
    report = rendered(piece, tmp_path)
    assert report.warnings == ("Beat 1: its words are 1.0 s longer than its picture and are cut at its end.",)
    sound = np.abs(heard(tmp_path / "out.mp4")).max(axis=1)
    assert sound[int(1.5 * HZ) : int(1.9 * HZ)].max() > 0.1
    assert sound[int(2.03 * HZ) : int(2.95 * HZ)].max() < 0.003
    assert rendered(piece, tmp_path).warnings == report.warnings  # also when it comes out of the cache


@pytest.mark.media
def test_original_sound_stays_with_its_picture(tmp_path):
    """A click where frame 60 begins: the excerpt starts at frame 45, half a second before."""
    path = tmp_path / "click.mp4"
    sound = write_wav(tmp_path / "click.wav", click_at(2.0, 4.0))
    picture = ["-f", "lavfi", "-i", "testsrc2=s=320x180:r=30:d=4", "-i", sound]
    subprocess.run(
        ["ffmpeg", "-v", "error", *picture, "-pix_fmt", "yuv420p", "-bf", "3", str(path)], check=True
    )
    source = source_of(path, Fraction(30), 120, has_audio=True)
    cut = ExcerptPicture(source, 45, 75, hold=HALF, original_sound=True)
    rendered(piece_of(CameraPicture(Fraction(1)), cut), tmp_path)
    assert onset(heard(tmp_path / "out.mp4")) == pytest.approx(1.5, abs=0.002)


def pitch(samples: np.ndarray) -> float:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(spectrum.argmax() * HZ / len(samples))


@pytest.mark.media
@pytest.mark.parametrize(
    ("speed", "sounds"),
    [(Fraction(1), True), (HALF, True), (Fraction(2), True), (Fraction(1, 4), False), (Fraction(4), False)],
    ids=str,
)
def test_original_sound_keeps_its_pitch_and_is_silent_when_very_slow(tmp_path, speed, sounds):
    source = footage(audio=True)
    cut = ExcerptPicture(source, 0, 60, speed, Fraction(1), original_sound=True)
    piece = piece_of(cut)
    rendered(piece, tmp_path)
    sound = heard(tmp_path / "out.mp4")[:, 0]
    moving = int(piece.timeline.placed[0].moving_frames * HZ / 30)
    assert bool(np.abs(sound).max() > 0.01) is sounds
    if sounds:
        middle = sound[int(moving * 0.15) : int(moving * 0.85)]
        assert pitch(middle) == pytest.approx(440, abs=8)
        assert np.abs(middle).min() < 0.5 * np.abs(middle).max()
        assert np.abs(sound[moving + 2400 :]).max() < 0.01 * np.abs(sound).max()  # a hold is silent
    assert not heard_muted(tmp_path, cut).any()


def heard_muted(folder: Path, cut: ExcerptPicture) -> np.ndarray:
    rendered(piece_of(replace(cut, original_sound=False)), folder)
    return heard(folder / "out.mp4")


def test_original_sound_goes_down_under_words(tmp_path):
    parts = {"w": np.zeros((HZ, 2), np.float32), "o": np.ones((HZ, 2), np.float32)}

    def mixed(words: Part | None) -> np.ndarray:
        sound = BeatSound(1, 0, HZ, words, Part("o", "sound"))
        write_mix((sound,), tmp_path / "mix", lambda part: parts[part.key].copy(), lambda: False)
        return np.fromfile(tmp_path / "mix", "<f4").reshape(-1, 2)

    assert mixed(None)[HZ // 2, 0] == 1
    assert decibels(mixed(Part("w", "words"))[HZ // 2, 0]) == pytest.approx(-12, abs=0.01)
    assert mixed(None)[0, 0] == mixed(None)[-1, 0] == 0  # no click at either end


@pytest.mark.media
def test_very_faint_sound_is_raised_with_bounds(tmp_path):
    take = write_wav(tmp_path / "take.wav", voice(3, 0.003))
    report = rendered(piece_of(spoken(take, Fraction(3))), tmp_path)
    assert any("very faint" in warning for warning in report.warnings)
    assert report.gain_db == 30
    assert report.loudness_lufs < -20


@pytest.mark.media
def test_loud_peaks_are_held_under_the_ceiling_at_the_target(tmp_path):
    samples = voice(6, 0.05)
    samples[:: HZ // 3] = 0.98
    report = rendered(piece_of(spoken(write_wav(tmp_path / "t.wav", samples), Fraction(6))), tmp_path)
    assert report.loudness_lufs == pytest.approx(-16, abs=0.5)
    assert report.true_peak_dbtp <= -1.0
    assert report.warnings == ()


@pytest.mark.media
def test_pictures_and_sound_are_cached_apart(tmp_path):
    take = write_wav(tmp_path / "t.wav", voice(1))
    beat = PieceBeat("b", StillPicture(footage(), 3, Fraction(1)), "Words", take=take)
    rendered(piece_of(beat), tmp_path)
    other_picture = rendered(
        piece_of(replace(beat, picture=StillPicture(footage(), 4, Fraction(1)))), tmp_path
    )
    assert (other_picture.cached_count, other_picture.sound_was_cached) == (0, True)
    write_wav(tmp_path / "t.wav", voice(1, seed=2))
    other_sound = rendered(piece_of(beat), tmp_path)
    assert (other_sound.cached_count, other_sound.sound_was_cached) == (1, False)


@pytest.mark.media
def test_a_list_of_other_files_is_no_recording(tmp_path):
    write_wav(tmp_path / "secret.wav", voice(1))
    for text in (
        f"#EXTM3U\n#EXTINF:1,\nfile://{tmp_path}/secret.wav\n",
        "ffconcat version 1.0\nfile secret.wav\n",
    ):
        (tmp_path / "take.wav").write_text(text)
        with pytest.raises(RenderFailed, match="recording of beat 1"):
            rendered(piece_of(spoken(str(tmp_path / "take.wav"), HALF)), tmp_path)


# ── the scratch voice ───────────────────────────────────────────────────────────────────────────

needs_voice = pytest.mark.skipif(not scratch_voice.is_installed(), reason="espeak-ng is not installed")
LINE = "The planting foot stops, and the pelvis turns first."


@pytest.mark.media
@needs_voice
def test_a_scratch_voice_speaks_what_is_not_recorded_and_says_so(tmp_path):
    take = write_wav(tmp_path / "t.wav", voice(1))
    piece = piece_of(
        spoken(None, Fraction(4), LINE), spoken(take, Fraction(1), LINE), spoken(None, Fraction(1), ""),
        PieceBeat("f", StillPicture(footage(), 7, Fraction(4)), LINE), scratch_voice=True, language="zz",
    )  # fmt: skip
    report = rendered(piece, tmp_path)
    assert report.scratch_voice
    assert [beat.scratch_voice for beat in report.beats] == [True, False, False, True]
    assert report.warnings == ("A scratch voice speaks 2 of 4 beats; record them before publishing.",)
    found = seen(tmp_path / "out.mp4")
    assert found.stream["metadata"]["comment"] == SCRATCH_NOTE
    sound = np.abs(heard(tmp_path / "out.mp4")).max(axis=1)
    assert sound[: 2 * HZ].max() > 0.05
    assert sound[int(5.1 * HZ) : int(5.9 * HZ)].max() < 0.003
    marks = [found.pictures[n][6:14, 6:60].mean() for n in (10, 130, 160, 200)]
    assert [mark < 120 for mark in marks] == [True, False, False, True]  # ink in the corner


@pytest.mark.media
def test_without_the_scratch_voice_the_words_are_silent_and_it_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(audio, "is_installed", lambda: False)
    report = rendered(piece_of(spoken(None, Fraction(1), LINE), scratch_voice=True), tmp_path)
    assert not report.scratch_voice
    assert [warning for warning in report.warnings if "espeak-ng is not installed" in warning]
    assert "comment" not in seen(tmp_path / "out.mp4").stream["metadata"]


def test_decibels_and_amplitudes():
    assert amplitude(-6.0206) == pytest.approx(0.5, abs=1e-5)
    assert decibels(0.5) == pytest.approx(-6.0206, abs=1e-4)
    assert decibels(0) == float("-inf")
