"""The take of the speed bench sounds where it says."""

import numpy as np
import pretty_midi
import soundfile

from tests.bench.render import RATE, compose, write_audio, write_midi


def test_midi_and_sound_hold_the_notes_at_their_times(tmp_path):
    # pretty_midi and libsndfile read them back.
    notes = compose(25)
    write_midi(tmp_path / "take.mid", notes)
    write_audio(tmp_path / "take.flac", notes, 25)
    (instrument,) = pretty_midi.PrettyMIDI(str(tmp_path / "take.mid")).instruments
    read = sorted((note.start, note.pitch) for note in instrument.notes)
    np.testing.assert_allclose([start for start, _ in read], notes[0], atol=0.0006)
    assert [pitch for _, pitch in read] == notes[1].tolist()

    samples, rate = soundfile.read(tmp_path / "take.flac")
    assert (rate, samples.shape) == (RATE, (25 * RATE, 2))
    assert 0.1 < np.abs(samples).max() < 0.99
    # The first note starts out of silence.
    first = int(notes[0][0] * RATE)
    assert np.abs(samples[:first]).max() == 0
    assert np.abs(samples[first : first + RATE // 100]).max() > 0.01


def test_a_block_edge_leaves_no_trace(tmp_path):
    notes = tuple(np.array(values) for values in ([9.5], [60], [100]))
    write_audio(tmp_path / "across.wav", notes, 12)
    write_audio(tmp_path / "inside.wav", (np.array([1.5]), *notes[1:]), 12)
    across, inside = (soundfile.read(tmp_path / f"{name}.wav")[0] for name in ("across", "inside"))
    np.testing.assert_array_equal(across[9 * RATE :], inside[RATE : 4 * RATE])
