import numpy as np
import pytest

from core.onset_pitches import HIGHEST, LOWEST, struck
from core.spectrum import RATE


def tones(chords, *, seconds):
    """Plucked tones of ten partials, synthesised here."""
    samples = np.zeros(int(seconds * RATE))
    for start, pitches in chords:
        first = round(start * RATE)
        time = np.arange(len(samples) - first) / RATE
        for pitch in pitches:
            hertz = 440 * 2 ** ((pitch - 69) / 12)
            for n in range(1, min(10, int(10_000 / hertz)) + 1):
                samples[first:] += 0.1 / n * np.sin(2 * np.pi * n * hertz * time) * np.exp(-time * (1.5 + n / 2))
    return samples.astype(np.float32)


@pytest.mark.parametrize(
    "pitches", [(40,), (45, 52), (48, 64, 67), (52, 59, 64, 68), (43, 62), (76,), (60, 64)], ids=str
)
def test_the_lowest_note_of_a_chord_is_heard(pitches):
    probability = struck(tones([(0.5, pitches)], seconds=1.5), np.array([0.5]))
    heard = LOWEST + np.flatnonzero(probability[0] > 0.4)
    assert heard.min() == min(pitches)
    assert len(set(heard) & set(pitches)) >= len(pitches) - 1


def test_what_rings_on_is_not_struck_again():
    samples = tones([(0.5, (43, 50)), (1.2, (71,))], seconds=2.5)
    probability = struck(samples, np.array([1.2]))[0]
    assert LOWEST + int(np.argmax(probability)) == 71
    assert probability[43 - LOWEST] < 0.3
    assert probability[50 - LOWEST] < 0.3


def test_level_does_not_matter():
    samples = tones([(0.5, (48, 64))], seconds=1.5)
    loud, soft = (struck(samples * np.float32(gain), np.array([0.5])) for gain in (1, 0.01))
    assert soft == pytest.approx(loud, abs=1e-3)


def test_no_attacks_and_attacks_at_the_edges():
    samples = tones([(0.0, (60,))], seconds=0.2)
    assert struck(samples, np.zeros(0)).shape == (0, HIGHEST - LOWEST + 1)
    assert np.isfinite(struck(samples, np.array([0.0, 0.2]))).all()
