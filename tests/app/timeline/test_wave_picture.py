"""The waveform on the screen, pixel by pixel, against the samples of the file."""

import numpy as np
import pytest
from PySide6.QtCore import QRectF

from app.colours import DARK, LIGHT
from app.span import Span
from app.timeline.wave_picture import LOUDNESS, MARGIN, WavePicture
from core.peaks import build
from core.read_audio import open_audio
from tests.app.timeline.paper import is_colour, painted
from tests.core.take_files import write_sound

RATE = 8000
WIDTH, HEIGHT = 500, 201


@pytest.fixture(autouse=True)
def _application(qapp):
    """Painting needs an application."""


def picture(folder, sound) -> WavePicture:
    path = write_sound(folder / "take.wav", sound, RATE, subtype="FLOAT")
    return WavePicture(build(open_audio(path)))


def look(wave: WavePicture, start: float, end: float, *, ratio: float = 1.0, colours=LIGHT) -> np.ndarray:
    span = Span()
    span.set_width(WIDTH)
    span.set_duration(wave.peaks.take.duration)
    span.show(start, end)
    rect = QRectF(0, 0, WIDTH, HEIGHT)
    return painted(
        lambda painter: wave.paint(painter, rect, span, colours), WIDTH, HEIGHT, ratio=ratio, ground=colours.lane
    )


def inked(cells: np.ndarray, colours=LIGHT) -> np.ndarray:
    return is_colour(cells, colours.wave) | is_colour(cells, colours.wave_loud)


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("seconds", [40.0, 10.0, 2.0, 0.3])
def test_a_single_sample_stands_in_its_column_at_every_zoom(tmp_path, ratio, seconds):
    sound = np.zeros(40 * RATE)
    sound[:: RATE * 3] = 1e-3  # not quite silence
    sound[15 * RATE] = 1.0
    start = min(max(15.0 - 0.3 * seconds, 0.0), 40.0 - seconds)
    cells = look(picture(tmp_path, sound), start, start + seconds, ratio=ratio)
    tall = inked(cells).sum(axis=0) > 0.4 * HEIGHT * ratio
    at = (15.0 - start) / seconds * WIDTH * ratio
    assert tall.any()
    # A line to a sample and back is as wide as two samples and a pixel's stroke; 64 samples go together.
    assert np.all(np.abs(np.flatnonzero(tall) - at) <= max(2, WIDTH * ratio / seconds / RATE) + 1)


def test_heights_follow_the_loudness_that_is_heard(tmp_path):
    """Loudness as the 0.6th power of sound pressure: Stevens, "The Measurement of Loudness" (1955)."""
    assert LOUDNESS == 0.6
    levels = [1.0, 0.5, 0.25, 0.1, 0.01]
    square = np.where(np.arange(RATE) % 40 < 20, 1.0, -1.0)
    cells = look(picture(tmp_path, np.concatenate([level * square for level in levels])), 0.0, 5.0)
    half = HEIGHT / 2 * (1 - MARGIN)
    for i, level in enumerate(levels):
        rows = np.flatnonzero(inked(cells)[:, 100 * i + 50])
        assert rows[-1] - rows[0] + 1 == pytest.approx(2 * half * level**0.6, abs=2)
        assert 0.5 * (rows[0] + rows[-1]) == pytest.approx(HEIGHT / 2, abs=1)


def test_a_quiet_take_fills_the_lane_as_a_loud_one_does(tmp_path):
    sound = np.sin(np.arange(5 * RATE) / 9) * np.linspace(0.1, 1.0, 5 * RATE)
    (tmp_path / "quiet").mkdir()
    loud, quiet = look(picture(tmp_path, sound), 0, 5), look(picture(tmp_path / "quiet", 0.01 * sound), 0, 5)
    assert np.mean(inked(loud) != inked(quiet)) < 1e-3


def test_each_channel_has_a_lane_and_silence_is_a_hairline(tmp_path):
    left = 0.5 * np.sin(np.arange(4 * RATE) / 20)
    cells = look(picture(tmp_path, np.stack([left, np.zeros_like(left)], axis=1)), 0.0, 4.0)
    upper, lower = inked(cells)[: HEIGHT // 2], inked(cells)[HEIGHT // 2 + 1 :]
    assert upper.mean() > 0.8
    assert (lower.sum(axis=0) == 1).all()
    assert lower.any(axis=1).sum() == 1


def test_the_body_is_inside_and_darker_the_same_in_the_dark(tmp_path):
    sound = np.random.default_rng(1).normal(0, 0.1, 60 * RATE)
    wave = picture(tmp_path, sound)
    for colours in (LIGHT, DARK):
        cells = look(wave, 0.0, 60.0, colours=colours)
        outer, body = is_colour(cells, colours.wave), is_colour(cells, colours.wave_loud)
        for column in range(5, WIDTH, 50):
            rows = np.flatnonzero(body[:, column])
            assert len(rows) == rows[-1] - rows[0] + 1
            assert outer[: rows[0], column].any()
            assert outer[rows[-1] :, column].any()


@pytest.mark.parametrize("ratio", [1.0, 2.0])
@pytest.mark.parametrize("samples", [60, 400, 4000])
def test_close_up_the_samples_are_joined_and_at_their_heights(tmp_path, samples, ratio):
    sound = np.sin(np.arange(2 * RATE) / 25.0)
    cells = look(picture(tmp_path, sound), 0.5, 0.5 + samples / RATE, ratio=ratio)
    ink = inked(cells)
    assert ink.any(axis=0).all()
    span = max(samples / RATE, 0.05)
    first = 0.5 + 0.5 * samples / RATE - span / 2
    for sample in range(int(first * RATE) + 1, int((first + span) * RATE), 7):
        column = round((sample / RATE - first) / span * WIDTH * ratio)
        height = np.sign(sound[sample]) * abs(sound[sample]) ** 0.6 * HEIGHT / 2 * (1 - MARGIN)
        row = (HEIGHT // 2 - height) * ratio
        near = ink[:, max(column - 1, 0) : column + 2].any(axis=1)
        assert np.abs(np.flatnonzero(near) - row).min() <= 3 * ratio
    if samples == 60:
        assert ink.sum(axis=0).min() >= ratio


def test_each_sample_gets_a_dot_where_there_is_room(tmp_path):
    path = write_sound(tmp_path / "slow.wav", np.sin(np.arange(8000) / 40), 4000, subtype="FLOAT")
    wave = WavePicture(build(open_audio(path)))
    span = Span()
    span.set_width(1600)
    span.set_duration(2.0)
    span.show(1.0, 1.05)
    rect = QRectF(0, 0, 1600, 100)
    ink = inked(painted(lambda painter: wave.paint(painter, rect, span, LIGHT), 1600, 100, ground=LIGHT.lane))
    # Eight pixels a sample, near a crest where the line alone is one pixel thick.
    crest = int(np.argmin(np.abs(np.arange(4000, 4200) - np.pi / 2 * 40 - 2 * np.pi * 40 * 16)))
    assert [int(ink[:, 8 * crest + 8 * i].sum()) for i in range(-1, 2)] == [3, 3, 3]
    assert int(ink[:, 8 * crest + 4].sum()) == 1


def test_what_is_not_read_yet_stays_empty(tmp_path, monkeypatch):
    monkeypatch.setattr("core.peaks._OFTEN", -1.0)
    sound = np.random.default_rng(2).normal(0, 0.2, 60 * RATE)
    shown = []
    build(open_audio(write_sound(tmp_path / "take.wav", sound, RATE)), partial=shown.append)
    assert len(shown) == 2
    ink = inked(look(WavePicture(shown[0]), 0.0, 60.0)).sum(axis=0) > 3
    read = shown[0].frames / RATE / 60 * WIDTH
    assert ink[: int(read)].all()
    assert not ink[int(read) + 1 :].any()
