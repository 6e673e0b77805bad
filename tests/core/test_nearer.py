"""Notes moved towards the grid by a part of the way, and the take's notes as other readers find them."""

import io
from dataclasses import replace

import mido
import numpy as np
import pretty_midi
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fit import fit_bars
from core.metre import Metre, TimeSignature
from core.nearer import EXACT, UNITS, Timing, shifts
from core.session import place
from core.take import Message
from core.units import us_per_quarter
from core.write_midi import map_file
from tests.core.free_grids import FOUR, grid_of, midi_take, rubato

STEADY = grid_of(Metre.steady(FOUR), [0.5] * 32)
SESSION = place(STEADY, fit_bars(STEADY))


def moved(quarters, timing, pitches=None):
    """Where notes at quarters of a session at 120 go."""
    take = midi_take(
        (quarter / 2, quarter / 2 + 0.1, pitch)
        for quarter, pitch in zip(quarters, pitches or range(40, 40 + len(quarters)), strict=True)
    )
    at = take.notes.start * 2
    return at + shifts(take.notes, at, SESSION, timing)


def test_a_note_goes_a_part_of_the_way_to_the_nearest_place():
    np.testing.assert_allclose(moved([0.05, 0.2, 0.99], Timing(1.0, "1/16")), [0, 0.25, 1])
    np.testing.assert_allclose(moved([0.05, 0.2, 0.99], Timing(0.5, "1/16")), [0.025, 0.225, 0.995])
    np.testing.assert_allclose(moved([0.05, 0.3, 0.99], Timing(1.0, "1/8t")), [0, 1 / 3, 1])
    np.testing.assert_allclose(moved([0.05, 0.3], EXACT), [0.05, 0.3])


def test_repeated_notes_stay_apart():
    # Two strokes of one key nearest to one place: the nearer goes there, the other stays as played.
    np.testing.assert_allclose(moved([0.95, 1.04, 1.12], Timing(1.0, "1/4"), [60, 60, 60]), [0.95, 1.0, 1.12])
    np.testing.assert_allclose(moved([0.95, 1.04], Timing(1.0, "1/4"), [60, 61]), [1.0, 1.0])


def test_the_grid_begins_anew_at_every_bar_line():
    grid = grid_of(Metre.steady(TimeSignature(7, 8, (2, 2, 3))), [0.5, 0.5, 0.75] * 4)
    session = place(grid, fit_bars(grid))
    # 120 quarters a minute; the second bar begins at quarter 3.5.
    take = midi_take([(1.7, 1.8, 60), (1.99, 2.1, 62)])
    at = take.notes.start * 2
    places = at + shifts(take.notes, at, session, Timing(1.0, "1/4"))
    np.testing.assert_allclose(places, [3.5, 3.5])


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 15), st.integers(60, 62)), min_size=1, max_size=30),
    st.floats(0, 1),
    st.sampled_from(sorted(UNITS)),
)
def test_no_note_goes_farther_than_half_a_unit_nor_past_another_of_its_pitch(notes, strength, unit):
    take = midi_take((start, start + 0.1, pitch) for start, pitch in notes)
    at = take.notes.start * 2
    shift = shifts(take.notes, at, SESSION, Timing(strength, unit))
    assert np.abs(shift).max() <= float(UNITS[unit]) / 2 * strength + 1e-9
    for pitch in (60, 61, 62):
        mine = take.notes.pitch == pitch
        assert (np.diff((at + shift)[mine]) >= -1e-9).all()


def read(data, tmp_path):
    path = tmp_path / "a.mid"
    path.write_bytes(data)
    return pretty_midi.PrettyMIDI(str(path))


def test_another_reader_finds_the_notes_where_they_were_played(tmp_path):
    grid = grid_of(Metre(((1, FOUR), (5, TimeSignature(3, 4)))), rubato(60, spread=0.12), start=2.345)
    rng = np.random.default_rng(8)
    starts = np.sort(rng.uniform(0.5, grid.bar_times[-1], 400))
    take = midi_take(
        (start, start + length, int(pitch))
        for start, length, pitch in zip(
            starts, rng.uniform(0.06, 0.09, 400), np.arange(400) % 60 + 30, strict=True
        )
    )
    session = place(grid, fit_bars(grid))
    made = map_file(session, take=take)
    found = sorted(read(made.data, tmp_path).instruments[0].notes, key=lambda note: (note.start, note.pitch))
    slowest = 60 / session.tempo_map.tempi.min()
    half_a_tick = slowest / 960 / 2 + 1e-6
    assert len(found) == 400
    starts = np.array([note.start for note in found]) - session.offset
    ends = np.array([note.end for note in found]) - session.offset
    assert np.abs(starts - take.notes.start).max() <= half_a_tick
    assert np.abs(ends - take.notes.end).max() <= half_a_tick
    assert made.note_rounding <= half_a_tick


def test_a_steady_version_has_every_note_at_its_place_in_the_bar(tmp_path):
    grid = grid_of(Metre.steady(FOUR), rubato(64, spread=0.12), start=1.0)
    take = midi_take((time, time + 0.2, 60) for time in grid.beat_times)
    fit = fit_bars(grid)
    session = place(grid, fit)
    us = round(us_per_quarter(100))
    made = map_file(session, take=take, steady_us=us)
    midi = read(made.data, tmp_path)
    _, tempi = midi.get_tempo_changes()
    assert made.tempo_events == len(tempi) == 1
    assert tempi[0] == pytest.approx(100, abs=1e-4)
    starts = np.array([note.start for note in midi.instruments[0].notes])
    wanted = session.tempo_map.quarters_at(grid.beat_times + session.offset) * us / 1e6
    np.testing.assert_allclose(starts, wanted, atol=us / 1e6 / 960 / 2 + 1e-9)
    np.testing.assert_allclose(starts[::4], np.arange(len(starts[::4])) * 2.4 + starts[0], atol=1e-3)


def test_a_moved_note_keeps_its_length_and_the_pedal_goes_along():
    take = replace(
        midi_take([(0.52, 0.72, 60), (1.03, 1.23, 60)]),
        messages=(Message(0.52, b"\xb0\x40\x7f"), Message(0.775, b"\xb0\x40\x00")),
    )
    made = map_file(SESSION, take=take, timing=Timing(1.0, "1/8"), division=480)
    exact = map_file(SESSION, take=take, division=480)
    # At 120 and 480 ticks a quarter a second has 960 ticks: 499 goes to 480, 989 to 960; a length of 0.2 s is 192.
    assert made.note_rounding == pytest.approx(0.03, abs=0.001)
    assert exact.note_rounding < 0.0006

    def events(data):
        now, found = 0, []
        for message in mido.MidiFile(file=io.BytesIO(data)).tracks[1]:
            now += message.time
            if not message.is_meta:
                found.append((now, message.type, getattr(message, "velocity", getattr(message, "value", 0))))
        return found

    assert events(made.data) == [
        (480, "control_change", 127),
        (480, "note_on", 80),
        (672, "note_on", 0),
        (720, "control_change", 0),
        (960, "note_on", 80),
        (1152, "note_on", 0),
    ]
