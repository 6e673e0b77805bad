"""MIDI takes as sound files: every attack where its key went down, by other readers of notes and of sound."""

from dataclasses import replace
from functools import partial

import numpy as np
import pretty_midi
import pytest
import soundfile

from app.sound.piano_source import RATE, by_piano
from core.document import Section
from core.handover import plan, write
from core.handover_settings import Settings
from core.heard import BLOCK
from core.metre import Metre
from core.take import Message
from tests.core.free_grids import FOUR, grid_of, midi_take, rubato
from tests.core.riff import cue_points

ATTACK = 0.002
"""Seconds: what a listener hears as one moment (common practice, no source)."""


@pytest.fixture(scope="module")
def grid():
    return grid_of(Metre.steady(FOUR), rubato(32, spread=0.05), start=1.4)


@pytest.fixture(scope="module")
def take(grid):
    """Short notes on and between the beats, far enough apart for the room to be silent before each."""
    times = np.concatenate([grid.beat_times[::3], grid.beat_times[1:-1:9] + 0.11])
    take = midi_take([(time, time + 0.02, 60 + i % 20) for i, time in enumerate(np.sort(times).tolist())])
    pedal = (Message(float(grid.beat_times[-1]), bytes([0xB0, 64, 127])),)
    return replace(take, duration=float(grid.bar_times[-1]) + 0.5, messages=pedal)


def attacks(path):
    """Seconds at which sound begins after a tenth of a second of next to nothing."""
    sound, rate = soundfile.read(path)
    assert rate == RATE
    row = np.abs(sound).sum(axis=1)
    width = rate // 10
    loudest = np.max(np.lib.stride_tricks.sliding_window_view(np.pad(row, (width, 0)), width)[:-1], axis=1)
    loud = np.flatnonzero((row > 0.01 * row.max()) & (loudest[: len(row)] < 0.008 * row.max()))
    return loud[np.diff(loud, prepend=-rate) > width] / rate


@pytest.fixture(scope="module")
def written(grid, take, tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    settings = Settings(name="a", sound=True, loops=True, steady=True, played=True, steady_notes=True, intro=1)
    sections = [Section(1, "Low tide"), Section(5, "Ebb")]
    planned = plan(grid, settings, take=take, sections=sections, source=by_piano(take))
    return folder, planned, write(planned, folder)


@pytest.mark.parametrize(("sound", "notes"), [("a.take.wav", "a.take.mid"), ("a.steady.wav", "a.steady.mid")])
def test_every_note_sounds_where_the_midi_file_beside_has_it(written, take, sound, notes):
    folder, _, _ = written
    midi = pretty_midi.PrettyMIDI(str(folder / notes))
    times = np.sort([note.start for track in midi.instruments for note in track.notes])
    assert len(times) == len(take.notes)
    found = attacks(folder / sound)
    # A string struck again before its last tone has died away is no attack out of silence.
    assert len(found) > 0.6 * len(times)
    assert max(np.min(np.abs(times - attack)) for attack in found) < ATTACK


def test_levels_marks_and_lengths(written, take):
    folder, planned, made = written
    session = planned.session
    sound, _ = soundfile.read(folder / "a.take.wav")
    # No peak above -12 dBFS (common practice, no source), and no louder than it was played.
    assert np.abs(sound).max() <= 10 ** (-12 / 20) + 2**-23
    assert made.gain_db <= 0
    assert not sound[: round(session.offset * RATE)].any()
    lines = session.bar_times
    marks = [(round(lines[0] * RATE), "Low tide"), (round(lines[4] * RATE), "Ebb")]
    assert cue_points(folder / "a.take.wav") == marks
    first, _ = soundfile.read(folder / "a.section-1-Low tide.wav")
    assert len(first) == round(lines[4] * RATE) - round(lines[0] * RATE)
    played = [file.kind for file in planned.files if "played by the piano" in file.holds]
    assert played == ["sound", "loop", "loop", "steady"]


def test_the_last_note_dies_away_and_is_not_cut_off(take):
    source = by_piano(replace(take, messages=()))
    with source.open() as heard:
        ending = heard.read(source.frames - RATE // 100, source.frames)
        whole = heard.read(0, source.frames)
    # 60 dB below its peak, where a room's reverberation is taken to have ended (ISO 3382).
    assert np.abs(ending).max() < 1e-3 * np.abs(whole).max()


def test_it_is_the_same_from_any_place_and_told_as_it_goes(take):
    source, told = by_piano(take), []
    with source.open(progress=told.append) as heard:
        whole = heard.read(0, source.frames)
        parts = [heard.read(i, min(i + BLOCK // 7, source.frames)) for i in range(0, source.frames, BLOCK // 7)]
        assert not heard.read(-100, 0).any()
    np.testing.assert_array_equal(np.concatenate(parts), whole)
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_a_take_without_notes_is_silence():
    source = by_piano(midi_take([]))
    with source.open() as heard:
        assert not heard.read(0, source.frames).any()


def test_notes_at_other_moments_sound_as_they_did(take):
    moved = by_piano(take).moved(partial(np.add, 0.25))
    with by_piano(take).open() as before, moved.open() as after:
        here, there = before.read(0, 5 * RATE), after.read(RATE // 4, RATE // 4 + 5 * RATE)
    # Where a note has died away depends on blocks; that is below the last bit of 16.
    np.testing.assert_allclose(there, here, atol=2**-16)
