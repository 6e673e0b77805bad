"""Rendered notes: in tune, and not a sample late."""

import numpy as np
import pytest

from core.take import Notes
from examples.synth import guitar, piano

RATE = 22_050


def one_note(pitch, *, start=0.5, length=2.0, velocity=90):
    return Notes(
        start=np.array([start]),
        end=np.array([start + length]),
        pitch=np.array([pitch]),
        velocity=np.array([velocity]),
        channel=np.zeros(1, dtype=np.int64),
    )


def sounds(pitch, **changes):
    never = np.zeros(0)
    notes = one_note(pitch, **changes)
    return guitar(notes, rate=RATE, seed=1), piano(notes, pedal=(never, never), rate=RATE)


@pytest.mark.parametrize("pitch", [40, 52, 64, 69, 76])
def test_a_note_has_its_pitch(pitch):
    # ISO 16: A4 = 440 Hz; equal temperament. 5 cents are hardly heard (common practice, no source).
    expected = 440 * 2 ** ((pitch - 69) / 12)
    for sound in sounds(pitch):
        part = sound[int(0.6 * RATE) : int(2.2 * RATE)]
        spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 2**19))
        frequencies = np.fft.rfftfreq(2**19, 1 / RATE)
        near = np.abs(frequencies / expected - 1) < 0.03
        heard = frequencies[near][np.argmax(spectrum[near])]
        assert abs(1200 * np.log2(heard / expected)) < 5


def test_silence_before_and_sound_from_the_very_sample():
    for sound in sounds(57, start=0.5):
        first = int(np.flatnonzero(np.abs(sound) > 1e-6)[0])
        assert 0 <= first - RATE // 2 <= 1
        assert np.abs(sound).max() == pytest.approx(0.25)


def test_a_released_note_dies_and_the_pedal_holds_it():
    notes = one_note(57, length=0.5)
    dry = piano(notes, pedal=(np.zeros(0), np.zeros(0)), rate=RATE)
    held = piano(notes, pedal=(np.array([0.6]), np.array([2.0])), rate=RATE)
    at = int(1.6 * RATE)
    assert np.abs(dry[at : at + 2000]).max() < 1e-4
    assert np.abs(held[at : at + 2000]).max() > 0.01
