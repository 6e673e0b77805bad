"""Chords of a MIDI take."""

from pathlib import Path

import numpy as np
import pytest

from core.errors import TakeError
from core.find_onsets import find_onsets
from core.onsets_midi import midi_onsets
from core.take import Message, MidiTake, Notes


def _take(start, pitch, velocity, messages=()):
    notes = Notes(
        start=np.array(start, float),
        end=np.array(start, float) + 0.5,
        pitch=np.array(pitch),
        velocity=np.array(velocity),
        channel=np.zeros(len(start), int),
    )
    return MidiTake(path=Path("take.mid"), duration=5.0, notes=notes, messages=messages)


def test_chords():
    pedal = (Message(0.5, b"\xb0\x40\x7f"), Message(1.5, b"\xb0\x40\x00"))
    onsets = midi_onsets(_take([1.0, 1.02, 2.0], [60, 64, 72], [127, 127, 64], pedal))
    np.testing.assert_allclose(onsets.time, [1.01, 2.0])
    assert (onsets.count.tolist(), onsets.low.tolist(), onsets.high.tolist()) == ([2, 1], [60, 72], [64, 72])
    # General MIDI Level 2: 40 log10(velocity / 127) dB; the powers of two equal sounds add to 3.01 dB.
    np.testing.assert_allclose(onsets.strength, [10 * np.log10(2), 40 * np.log10(64 / 127)])
    np.testing.assert_allclose(onsets.chroma.sum(axis=1), 1)
    np.testing.assert_allclose(onsets.pedal_lift, [np.inf, 0.5])


def test_one_onset_is_too_few():
    with pytest.raises(TakeError, match="one onset, too few"):
        find_onsets(_take([1.0], [60], [80]))
