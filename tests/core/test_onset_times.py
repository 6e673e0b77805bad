import numpy as np
import pytest

from core.onset_times import HOP, attacks, novelty, peaks
from core.spectrum import RATE

STARTS = np.array([0.5, 0.9137, 1.25, 1.3571, 2.0, 2.0613, 3.3333])


def clicks(starts, *, seconds=4.0, seed=0):
    """Bursts of noise that decay within 5 ms, synthesised here."""
    random = np.random.default_rng(seed)
    samples = np.zeros(int(seconds * RATE))
    for start in starts:
        first = int(np.ceil(start * RATE))
        time = (first + np.arange(800)) / RATE - start
        samples[first : first + 800] += random.standard_normal(800) * np.exp(-time / 0.005)
    return samples.astype(np.float32)


def found_in(samples, level=0.1):
    frames, _ = peaks(novelty(samples, level))
    return attacks(samples, frames, level)


def test_clicks_are_found_within_a_few_milliseconds():
    found = found_in(clicks(STARTS))
    assert len(found) == len(STARTS)
    assert np.abs(found - STARTS).max() < 0.012


def test_clicks_are_found_wherever_they_fall_between_frames():
    # A whole frame is 5.8 ms: the error must not follow where in it the click falls.
    starts = 0.5 + np.arange(40) * 0.2 + np.linspace(0, HOP / RATE, 40)
    error = found_in(clicks(starts, seconds=9.0)) - starts
    assert abs(np.corrcoef(np.linspace(0, 1, 40), error)[0, 1]) < 0.6
    assert np.std(error) < 0.003


def test_times_move_with_the_sound():
    samples = clicks(STARTS)
    late = np.concatenate([np.zeros(1000, np.float32), samples])
    assert found_in(late) - 1000 / RATE == pytest.approx(found_in(samples), abs=0.003)


def test_a_steady_and_a_trembling_tone_have_no_onsets_but_their_start():
    # Vibrato of 6 Hz and half a semitone, the case of Böck and Widmer 2013.
    time = np.arange(4 * RATE) / RATE
    sound = time >= 1.0
    for depth in (0.0, 0.015):
        phase = 2 * np.pi * 440 * (time + depth / (2 * np.pi * 6) * np.sin(2 * np.pi * 6 * time))
        fade = np.clip((4.0 - time) / 0.5, 0, 1)
        tone = sum(np.sin(n * phase) / n for n in (1, 2, 3)) * sound * fade * 0.2
        found = found_in(tone.astype(np.float32))
        assert len(found) == 1
        assert found[0] == pytest.approx(1.0, abs=0.010)


def test_silence_has_no_onsets():
    silence = np.zeros(RATE, np.float32)
    assert len(found_in(silence)) == 0
    assert len(found_in(np.zeros(0, np.float32))) == 0
