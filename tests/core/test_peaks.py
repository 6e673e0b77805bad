"""The picture of a waveform, against every sample of the same file as soundfile reads it."""

import shutil
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import TakeError
from core.peaks import BASE, build
from core.read_audio import open_audio
from tests.core.take_files import write_sound

RATE = 8000
LENGTH = 601_237
"""Frames: more than two of the chunks that are worked in at once, and no multiple of anything."""


def noise(channels: int, frames: int = LENGTH, seed: int = 5) -> np.ndarray:
    random = np.random.default_rng(seed)
    swell = 0.05 + 0.9 * np.abs(np.sin(np.arange(frames) / 7000))[:, None]
    return (random.uniform(-1, 1, (frames, channels)) * swell).astype(np.float32)


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("peaks")


@pytest.fixture(scope="module")
def stereo(folder):
    path = write_sound(folder / "stereo.wav", noise(2), RATE, subtype="FLOAT")
    return build(open_audio(path)), soundfile.read(path, dtype="float32")[0].T


def brute(samples: np.ndarray, moments: np.ndarray) -> np.ndarray:
    """Extremes of the samples from each moment, in frames, up to the next: straight from what the words say."""
    out = np.full((len(samples), len(moments) - 1, 2), np.nan, dtype=np.float32)
    for i, (low, high) in enumerate(pairwise(moments)):
        inside = samples[:, max(int(np.ceil(low)), 0) : max(int(np.ceil(high)), 0)]
        if inside.shape[1]:
            out[:, i, 0], out[:, i, 1] = inside.min(axis=1), inside.max(axis=1)
    return out


def moments(start: float, end: float, width: int) -> np.ndarray:
    return start * RATE + (end - start) * RATE / width * np.arange(width + 1)


@settings(max_examples=60, deadline=None)
@given(
    first=st.floats(-2000, LENGTH),
    each=st.floats(0.05, BASE - 0.01),
    width=st.integers(1, 300),
)
def test_below_64_samples_a_column_each_sample_is_in_its_column(stereo, first, each, width):
    peaks, samples = stereo
    start, end = first / RATE, (first + each * width) / RATE
    expected = brute(samples, moments(start, end, width))
    np.testing.assert_array_equal(peaks.columns(start, end, width), expected)
    np.testing.assert_array_equal(peaks.body(start, end, width), expected)


@settings(max_examples=60, deadline=None)
@given(
    first=st.floats(-50_000, LENGTH),
    each=st.floats(BASE, 60_000),
    width=st.integers(1, 200),
)
def test_above_it_no_extreme_is_lost_and_none_is_far_from_its_column(stereo, first, each, width):
    peaks, samples = stereo
    start, end = first / RATE, (first + each * width) / RATE
    found = peaks.columns(start, end, width)
    edges = moments(start, end, width)
    # Half of the 64 samples, or half of an eighth of a column.
    off = max(BASE / 2, each / 16) + 1
    narrow = brute(samples, np.stack([edges[:-1] + off, edges[1:] - off], axis=1).ravel())[:, ::2]
    wide = brute(samples, np.stack([edges[:-1] - off, edges[1:] + off], axis=1).ravel())[:, ::2]
    present = ~np.isnan(found[..., 0])
    assert np.all(present | np.isnan(narrow[..., 0]) | (each < 2 * off))
    assert np.all(np.fmin(found[..., 0], narrow[..., 0])[present] == found[..., 0][present])
    assert np.all(np.fmax(found[..., 1], narrow[..., 1])[present] == found[..., 1][present])
    assert np.all(found[..., 0][present] >= wide[..., 0][present])
    assert np.all(found[..., 1][present] <= wide[..., 1][present])


@pytest.mark.parametrize("width", [1, 7, 400, 1600, 5000])
def test_the_columns_of_the_whole_take_hold_its_extremes(stereo, width):
    peaks, samples = stereo
    columns = peaks.columns(0.0, LENGTH / RATE, width)
    np.testing.assert_array_equal(columns[..., 0].min(axis=1), samples.min(axis=1))
    np.testing.assert_array_equal(columns[..., 1].max(axis=1), samples.max(axis=1))
    assert peaks.peak == np.abs(samples).max()


@pytest.mark.parametrize("width", [3, 400, 1600, 9000])
def test_the_body_lies_within_the_extremes(stereo, width):
    peaks, _ = stereo
    columns, body = (f(-1.0, LENGTH / RATE + 1.0, width) for f in (peaks.columns, peaks.body))
    np.testing.assert_array_equal(np.isnan(columns), np.isnan(body))
    there = ~np.isnan(columns[..., 0])
    assert np.all(columns[..., 0][there] <= body[..., 0][there] + 1e-5)
    assert np.all(columns[..., 1][there] >= body[..., 1][there] - 1e-5)


def test_one_loud_sample_shows_at_every_zoom(folder):
    sound = np.zeros(LENGTH, dtype=np.float32)
    sound[123_457] = 0.75
    peaks = build(open_audio(write_sound(folder / "click.wav", sound, RATE, subtype="FLOAT")))
    for seconds in (75.0, 20.0, 5.0, 1.0, 0.1, 0.01):
        start = 123_457 / RATE - 0.4 * seconds
        columns = peaks.columns(start, start + seconds, 500)
        loud = np.flatnonzero(columns[0, :, 1] == 0.75)
        assert len(loud) == 1
        assert abs(loud[0] - 200) <= max(1, BASE / RATE / seconds * 500)


def test_the_curve_is_the_samples_and_their_neighbours(stereo):
    peaks, samples = stereo
    times, values = peaks.curve(10.0001, 10.0019)
    np.testing.assert_allclose(times, np.arange(80_000, 80_017) / RATE)
    np.testing.assert_array_equal(values, samples[:, 80_000:80_017])
    assert peaks.curve(-3.0, -1.0)[1].shape == (2, 0)
    assert peaks.curve(-1.0, 0.001)[0][0] == 0.0
    assert peaks.curve(LENGTH / RATE - 0.001, 99.0)[0][-1] == (LENGTH - 1) / RATE


def test_one_channel_stays_one_and_of_many_two_are_kept(folder):
    mono = build(open_audio(write_sound(folder / "mono.wav", noise(1, 5000), RATE)))
    assert mono.columns(0.0, 0.5, 10).shape == (1, 10, 2)
    path = write_sound(folder / "five.wav", noise(5, 5000), RATE, subtype="FLOAT")
    samples = soundfile.read(path, dtype="float32")[0].T[:2]
    np.testing.assert_array_equal(
        build(open_audio(path)).columns(0.0, 0.5, 400), brute(samples, moments(0.0, 0.5, 400))
    )


def test_what_is_read_so_far_stays_as_it_was_shown(folder, monkeypatch):
    path = write_sound(folder / "slow.wav", noise(2), RATE, subtype="FLOAT")
    monkeypatch.setattr("core.peaks._OFTEN", -1.0)
    shown, shares = [], []

    def show(peaks):
        shown.append((peaks, peaks.columns(0.0, LENGTH / RATE, 300)))

    whole = build(open_audio(path), progress=shares.append, partial=show)
    assert [peaks.frames for peaks, _ in shown] == [262_144, 524_288, LENGTH]
    assert shares == pytest.approx([262_144 / LENGTH, 524_288 / LENGTH, 1.0])
    expected = whole.columns(0.0, LENGTH / RATE, 300)
    for peaks, columns in shown:
        np.testing.assert_array_equal(columns, peaks.columns(0.0, LENGTH / RATE, 300))
        known = ~np.isnan(columns[0, :, 0])
        assert 0 <= known.sum() - 300 * peaks.frames / LENGTH <= 1
        np.testing.assert_array_equal(columns[:, known][:, :-1], expected[:, known][:, :-1])
        assert not any(level.flags.writeable for level in peaks.levels)


def test_reading_can_be_stopped(stereo):
    peaks, _ = stereo

    def stop(_):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build(peaks.take, progress=stop)


def test_without_the_file_the_finest_extremes_stand_in(folder):
    path = write_sound(folder / "gone.wav", noise(1), RATE)
    peaks = build(open_audio(path))
    path.unlink()
    columns = peaks.columns(10.0, 10.5, 1000)
    coarse = peaks.columns(10.0, 10.0 + BASE / RATE * 65, 65)
    assert not np.isnan(columns).any()
    assert columns.min() >= coarse.min()
    assert columns.max() <= coarse.max()
    assert peaks.curve(10.0, 10.1)[1].shape == (1, 0)


def test_a_file_that_grew_since_is_refused(folder):
    path = write_sound(folder / "grows.wav", noise(1, 4000), RATE)
    take = open_audio(path)
    shutil.copy(write_sound(folder / "longer.wav", noise(1, 9000), RATE), path)
    with pytest.raises(TakeError, match="changed while it was read"):
        build(take)
