import numpy as np
import pytest
from scipy.signal import ShortTimeFFT, get_window

from core.spectrum import RATE, hann, magnitudes, semitones, triangles


def test_the_window_is_the_general_librarys_periodic_hann():
    # scipy.signal.get_window is the reference; ours is scaled so that a sine of amplitude 1 reads 1.
    assert hann(512) == pytest.approx(get_window("hann", 512) * 4 / 512, abs=1e-9)


def test_magnitudes_are_those_of_the_general_librarys_short_time_transform():
    # scipy.signal.ShortTimeFFT is the reference.
    samples = np.random.default_rng(0).standard_normal(4000).astype(np.float32)
    reference = ShortTimeFFT(hann(256).astype(float), 64, RATE)
    first = reference.p_min
    expected = np.abs(reference.stft(samples))[:, -first : -first + 30].T
    found = magnitudes(samples, np.arange(30) * 64 - 128, hann(256))
    assert found == pytest.approx(expected, abs=1e-6)


def test_a_sine_of_amplitude_one_reads_one():
    time = np.arange(4096) / RATE
    bin_40 = np.sin(2 * np.pi * 40 * RATE / 1024 * time).astype(np.float32)
    assert magnitudes(bin_40, np.array([512]), hann(1024))[0, 40] == pytest.approx(1, abs=1e-3)


def test_outside_the_samples_is_silence():
    samples = np.ones(100, np.float32)
    assert np.all(magnitudes(samples, np.array([-5000, 100, 5000]), hann(64)) == 0)


@pytest.mark.parametrize(("pitch", "hertz"), [(69, 440.0), (60, 261.6256), (81, 880.0)])
def test_semitone_bands_lie_on_the_tempered_scale(pitch, hertz):
    # A4 = 440 Hz: ISO 16; C4 = 261.6256 Hz: common practice, no source.
    time = np.arange(16384) / RATE
    sine = np.sin(2 * np.pi * hertz * time).astype(np.float32)
    bands = magnitudes(sine, np.array([0]), hann(8192)) @ semitones(8192, 21, 108)
    assert 21 + int(np.argmax(bands)) == pitch


def test_every_bin_in_range_is_shared_out_between_neighbouring_bands():
    weights = triangles(1024, per_octave=12, lowest=100.0, highest=5000.0)
    inside = weights.sum(axis=1)[weights.argmax(axis=0)[0] : weights.argmax(axis=0)[-1] + 1]
    assert inside == pytest.approx(1)
    assert (weights >= 0).all()
