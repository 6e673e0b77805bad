"""The written tempo map, as three general readers understand it: mido, pretty_midi, partitura."""

import warnings

import mido
import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from core.document import Section
from core.errors import InputError
from core.fit import fit_bars, fit_beats, fit_fewest
from core.metre import Metre, TimeSignature
from core.read_back import read_back, read_bar_lines
from core.session import place
from core.take import Message
from core.write_midi import map_file
from tests.core.free_grids import FOUR, grid_of, grids, midi_take, rubato

CHANGING = Metre(
    ((1, FOUR), (9, TimeSignature(6, 8)), (17, TimeSignature(7, 8, (2, 2, 3))), (25, TimeSignature(3, 2)))
)


@pytest.fixture(scope="module")
def grid():
    return grid_of(CHANGING, rubato(110), start=3.1, bar=0, beat=4)


@pytest.fixture(scope="module")
def written(grid, tmp_path_factory):
    """A map with everything that can be in it, and its session."""
    session = place(grid, fit_bars(grid))
    path = tmp_path_factory.mktemp("map") / "map.mid"
    notes = [(time, time + 0.4, 60 + i % 12) for i, time in enumerate(np.cumsum(rubato(200, length=0.3, seed=2)))]
    take = midi_take(notes, [Message(1.0, b"\xb0\x40\x7f"), Message(2.0, b"\xb0\x40\x00")])
    sections = [Section(1, "Still water"), Section(17, "Überfahrt")]
    file = map_file(session, name="Evening", markers=sections, key="Ebm", take=take, click=True)
    path.write_bytes(file.data)
    return path, session, take, file


def test_the_file_says_what_is_in_it(written):
    path, session, _, file = written
    back = read_back(path, session)
    assert back.bars == session.last_bar
    assert back.worst < 1e-5
    assert back.worst_to_grid < 1e-5
    assert 0 < file.note_rounding < 0.001
    tempi = [message for message in mido.MidiFile(path).tracks[0] if message.type == "set_tempo"]
    assert file.tempo_events == len(tempi) >= 20
    assert file.warnings == ()


def test_mido_finds_the_bar_lines(written):
    path, session, _, _ = written
    file = mido.MidiFile(path)
    seconds, tempo, found, tick = 0.0, 500_000, {}, 0
    bars = {int(quarter * 960): bar for bar, quarter in enumerate(session.bar_quarters, 1)}
    # Merged first: seconds of one track alone would leave out the tempo of another (mido issue 595).
    for message in mido.merge_tracks(file.tracks):
        seconds += mido.tick2second(message.time, 960, tempo)
        tick += message.time
        if message.type == "set_tempo":
            tempo = message.tempo
        if tick in bars:
            found[bars[tick]] = seconds
    first = session.first_bar
    heard = [found[bar] for bar in range(first, session.last_bar + 1)]
    np.testing.assert_allclose(heard, session.bar_times, atol=1e-5, rtol=0)


def test_pretty_midi_finds_the_bar_lines_and_the_notes(written):
    pretty_midi = pytest.importorskip("pretty_midi")
    path, session, take, _ = written
    midi = pretty_midi.PrettyMIDI(str(path))
    lines = midi.get_downbeats()[session.first_bar - 1 : session.last_bar]
    np.testing.assert_allclose(lines, session.bar_times, atol=1e-5, rtol=0)
    (instrument,) = [instrument for instrument in midi.instruments if not instrument.is_drum]
    starts = sorted(note.start for note in instrument.notes)
    np.testing.assert_allclose(starts, take.notes.start, atol=0.001, rtol=0)
    assert [(change.number, change.value) for change in instrument.control_changes] == [(64, 127), (64, 0)]
    assert pretty_midi.key_number_to_key_name(midi.key_signature_changes[0].key_number) == "Eb minor"


def test_partitura_finds_the_bar_lines(written):
    partitura = pytest.importorskip("partitura")
    path, session, _, _ = written
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        performance = partitura.load_performance_midi(str(path))
    notes = [note for part in performance for note in part.notes]
    # The click's high wood block marks the bar lines.
    lines = sorted(note["note_on"] for note in notes if note["midi_pitch"] == 76 and note["channel"] == 9)
    assert len(lines) == session.last_bar
    np.testing.assert_allclose(lines[session.first_bar - 1 :], session.bar_times, atol=1e-5, rtol=0)


def test_partitura_counts_the_same_bars(grid, tmp_path):
    partitura = pytest.importorskip("partitura")
    session = place(grid, fit_bars(grid))
    (tmp_path / "map.mid").write_bytes(map_file(session, click=True).data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        (part,) = partitura.load_score_midi(str(tmp_path / "map.mid")).parts
    starts = [measure.start.t / 960 for measure in part.measures]
    assert starts == [float(quarter) for quarter in session.bar_quarters]


def test_the_first_track_holds_what_belongs_there(written):
    path, session, _, _ = written
    file = mido.MidiFile(path, charset="utf-8")
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (1, 960, 3)
    ticks = np.cumsum([message.time for message in file.tracks[0]])
    events = list(zip(ticks.tolist(), file.tracks[0], strict=True))
    bar = {bar: int(quarter * 960) for bar, quarter in enumerate(session.bar_quarters, 1)}
    assert (events[0][1].name, events[1][1].key) == ("Evening", "Ebm")
    assert [(tick, event.text) for tick, event in events if event.type == "marker"] == [
        *((bar[1 + session.shift], "Still water"), (bar[17 + session.shift], "Überfahrt")),
    ]
    signatures = [(tick, f"{e.numerator}/{e.denominator}") for tick, e in events if e.type == "time_signature"]
    assert signatures == [
        (0, "4/4"),
        *((bar[9 + session.shift], "6/8"), (bar[17 + session.shift], "7/8"), (bar[25 + session.shift], "3/2")),
    ]
    assert [message.name for track in file.tracks[1:] for message in track if message.type == "track_name"] == [
        *("Take", "Click"),
    ]
    assert not any(
        message.type in ("set_tempo", "time_signature") for track in file.tracks[1:] for message in track
    )


@given(
    grids(),
    st.sampled_from(["fill", "none", 0, 3]),
    st.sampled_from([96, 960, 15360]),
    st.floats(0, 0.05),
)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_grid_written_then_read_is_the_same(tmp_path, grid, choice, division, tolerance):
    assume(len(grid.bar_lines) > 1)
    path = tmp_path / "map.mid"
    for fit in (fit_bars(grid), fit_beats(grid, "all"), fit_fewest(grid, tolerance)):
        session = place(grid, fit, lead_in=choice)
        path.write_bytes(map_file(session, division=division).data)
        lines = read_bar_lines(path)
        assert len(lines) == session.last_bar
        lines = lines[session.first_bar - 1 :] - session.offset
        np.testing.assert_allclose(lines, grid.bar_times + fit.bar_errors, atol=1e-5, rtol=0)
        assert read_back(path, session).worst_to_grid <= np.abs(fit.bar_errors).max() + 1e-5


def test_a_marker_outside_the_map_is_refused(grid):
    session = place(grid, fit_bars(grid))
    with pytest.raises(
        InputError, match=r'marker "Coda" is at bar 99, but the map has the bars -?\d+ to \d+; move it'
    ):
        map_file(session, markers=[Section(99, "Coda")])
