"""The hand-over worked out and written: all of it, or nothing."""

import builtins
import errno
import os
from dataclasses import replace
from pathlib import Path

import mido
import numpy as np
import pytest

from core import safe_write as module
from core import write_midi
from core.document import Section
from core.errors import HandoverError, InputError
from core.fit import fit_bars, fit_beats, fit_fewest
from core.handover import plan, write
from core.handover_settings import Settings
from core.metre import Metre, TimeSignature
from core.read_csv import read_bar_times
from tests.core.free_grids import FOUR, grid_of, midi_take, rubato

NAMES = ["evening.bars.csv", "evening.beats.csv", "evening.tempo-map.mid"]


@pytest.fixture(scope="module")
def grid():
    return grid_of(
        Metre(((1, FOUR), (9, TimeSignature(6, 8)))),
        rubato(80),
        start=2.2,
        bar=0,
        beat=4,
        placed=frozenset({1, 5}),
    )


@pytest.fixture(scope="module")
def take(grid):
    return midi_take((time, time + 0.3, 60) for time in grid.beat_times)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def bar_lines_by_mido(path, session):
    """Seconds of the bar lines of a written map, as mido counts them."""
    file = mido.MidiFile(path)
    ticks = {round(float(quarter) * file.ticks_per_beat): [] for quarter in session.bar_quarters}
    seconds, tempo, tick = 0.0, 500_000, 0
    # Merged first: seconds of one track alone would leave out the tempo of another (mido issue 595).
    for message in mido.merge_tracks(file.tracks):
        for bar in [bar for bar in ticks if tick < bar <= tick + message.time]:
            ticks[bar].append(seconds + mido.tick2second(bar - tick, file.ticks_per_beat, tempo))
        seconds += mido.tick2second(message.time, file.ticks_per_beat, tempo)
        tick += message.time
        if message.type == "set_tempo":
            tempo = message.tempo
    return [times[0] if times else 0.0 for times in ticks.values()]


def test_another_reader_finds_the_bar_lines_of_the_grid(grid, tmp_path):
    planned = plan(grid, Settings(name="evening"))
    written = write(planned, tmp_path)
    session = planned.session
    lines = np.array(bar_lines_by_mido(tmp_path / "evening.tempo-map.mid", session))[session.first_bar - 1 :]
    np.testing.assert_allclose(lines - session.offset, grid.bar_times, atol=1e-5, rtol=0)
    assert written.read_back.worst_to_grid < 1e-5
    assert sorted(file.path.name for file in written.files) == NAMES == names(tmp_path)
    assert [file.size for file in written.files] == [file.path.stat().st_size for file in written.files]
    bars = [time for _, time in read_bar_times(tmp_path / "evening.bars.csv")]
    np.testing.assert_allclose(bars, session.bar_times, atol=5.1e-7)


def test_the_plan_is_what_is_written(grid, tmp_path):
    planned = plan(grid, Settings(name="evening", click=True))
    assert names(tmp_path) == []
    write(planned, tmp_path)
    assert {file.name: file.data for file in planned.files} == contents(tmp_path)
    assert plan(grid, Settings(name="evening", click=True)).files == planned.files
    midi = mido.MidiFile(tmp_path / "evening.tempo-map.mid")
    assert planned.tempi == sum(message.type == "set_tempo" for message in midi.tracks[0])


@pytest.mark.parametrize(
    ("choice", "fit"),
    [
        ({"knots": "bars"}, fit_bars),
        ({"knots": "beats"}, lambda grid: fit_beats(grid, "all")),
        ({"knots": "fewest", "tolerance": 0.03}, lambda grid: fit_fewest(grid, 0.03)),
    ],
)
def test_the_map_is_fitted_as_asked(grid, choice, fit):
    planned = plan(grid, Settings(name="evening", **choice))
    wanted = fit(grid)
    np.testing.assert_array_equal(planned.fit.tempo_map.quarters, wanted.tempo_map.quarters)
    assert planned.worst == np.abs(wanted.bar_errors).max()
    line = grid.bar_lines[int(np.abs(wanted.bar_errors).argmax())]
    assert planned.worst_bar == line.bar


def test_every_file_says_what_it_holds(grid, take):
    settings = Settings(name="evening", key="Bb", click=True, notes=True)
    planned = plan(grid, settings, take=take, sections=[Section(1, "Dusk")])
    assert [file.holds for file in planned.files] == [
        f"{planned.tempi} tempi, 2 time signatures, 1 marker, key signature, notes of the take, click",
        f"{len(grid.bar_lines)} bar lines with time, tempo and how sure each is",
        f"{len(grid.beats)} beats with time, bar and beat",
    ]
    assert 0 <= planned.note_rounding < 0.001
    bare = plan(grid, replace(settings, bars=False, beats=False, notes=False))
    assert [file.name for file in bare.files] == ["evening.tempo-map.mid"] == list(bare.settings.file_names())
    assert bare.note_rounding is None


def test_cautions_name_the_bar_to_look_at(take):
    lengths = [0.5] * 8 + [3.5] * 4 + [0.5] * 8
    slow = grid_of(Metre.steady(FOUR), lengths, start=2.0)
    assert [caution.bar for caution in plan(slow, Settings(name="slow")).cautions] == [3]
    late = plan(
        slow, Settings(name="slow", lead_in="none", notes=True), take=midi_take([(0.5, 1, 60), (3, 4, 62)])
    )
    assert [caution.bar for caution in late.cautions] == [3, None]
    assert late.cautions[1].text.startswith("Notes before the start of the session are left out (1)")


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        ({"name": ""}, "cannot be a file name"),
        ({"name": "a/b"}, '"a/b" cannot be a file name'),
        ({"name": ".."}, "cannot be a file name"),
        ({"name": "two\nlines"}, "cannot be a file name"),
        ({"knots": "some"}, "choose bars, beats or fewest"),
        ({"tolerance": 0.0}, "give more than 0"),
        ({"tolerance": float("nan")}, "give more than 0"),
        ({"lead_in": -1}, "0 to 999 bars"),
        ({"lead_in": "long"}, "0 to 999 bars"),
        ({"division": 24}, "choose 96 to 15360"),
        ({"key": "H"}, '"H" is no key'),
    ],
)
def test_settings_that_cannot_be_are_one_sentence(choice, words):
    with pytest.raises(InputError, match=words):
        Settings(**{"name": "evening", **choice})


def test_what_cannot_be_planned_is_one_sentence(grid):
    with pytest.raises(InputError, match="no notes to write"):
        plan(grid, Settings(name="evening", notes=True))
    with pytest.raises(InputError, match='marker "Coda" is at bar 99'):
        plan(grid, Settings(name="evening"), sections=[Section(99, "Coda")])
    with pytest.raises(HandoverError, match="give it extra beats as a hold"):
        plan(grid_of(Metre.steady(FOUR), [0.5] * 4 + [30] * 4 + [0.5] * 4), Settings(name="evening"))


def test_existing_files_and_the_recording_are_left(grid, tmp_path):
    planned = plan(grid, Settings(name="evening"))
    (tmp_path / "evening.beats.csv").write_bytes(b"mine")
    with pytest.raises(HandoverError, match=r"evening\.beats\.csv exists already"):
        write(planned, tmp_path)
    assert contents(tmp_path) == {"evening.beats.csv": b"mine"}
    recording = tmp_path / "evening.tempo-map.mid"
    recording.write_bytes(b"played")
    with pytest.raises(HandoverError, match="never written over"):
        write(planned, tmp_path, given=[recording], overwrite=True)
    assert recording.read_bytes() == b"played"


def test_a_folder_that_has_gone_is_one_sentence(grid, tmp_path):
    with pytest.raises(HandoverError, match="its folder does not exist; make it first or choose another"):
        write(plan(grid, Settings(name="evening")), tmp_path / "gone")


def test_a_map_that_does_not_read_back_leaves_nothing(grid, tmp_path, monkeypatch):
    monkeypatch.setattr(write_midi, "tempo", lambda us: bytes.fromhex("FF5103") + (us + 3).to_bytes(3, "big"))
    with pytest.raises(HandoverError, match="does not read back"):
        write(plan(grid, Settings(name="evening")), tmp_path)
    assert names(tmp_path) == []


# The fault loop of SQLite's tests (sqlite.org/testing.html): fail the Nth step for N = 1, 2, ... until none does.
@pytest.mark.parametrize("old", [False, True])
def test_whichever_step_fails_nothing_has_changed(grid, tmp_path, monkeypatch, old):
    if old:
        write(plan(grid, Settings(name="evening", division=480)), tmp_path)
    before = contents(tmp_path)
    planned = plan(grid, Settings(name="evening"))
    for fail_at in range(1, 30):
        steps = []

        def guard(real, steps=steps, fail_at=fail_at):
            def call(*arguments, **choice):
                steps.append(real)
                if len(steps) == fail_at:
                    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
                return real(*arguments, **choice)

            return call

        with monkeypatch.context() as patch:
            patch.setattr(builtins, "open", guard(open))
            patch.setattr(Path, "open", guard(Path.open))
            patch.setattr(module.os, "fsync", guard(os.fsync))
            patch.setattr(module.os, "replace", guard(os.replace))
            try:
                write(planned, tmp_path, overwrite=True)
            except HandoverError:
                assert contents(tmp_path) == before
            else:
                break
    # Three files are opened, flushed and moved, one of them is opened again to be read back, and then their names
    # are flushed.
    assert len(steps) == 11
    assert contents(tmp_path) == {file.name: file.data for file in planned.files} != before


def test_a_full_disk_is_one_sentence(grid, tmp_path, monkeypatch):
    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(module.os, "fsync", full)
    with pytest.raises(HandoverError, match=r"tempo-map\.mid was not written: the disk is full; free some space"):
        write(plan(grid, Settings(name="evening")), tmp_path)
    assert names(tmp_path) == []


@pytest.mark.parametrize("name", ["CON", "nul", "com1.take", "Aux .2"])
def test_what_a_system_takes_for_a_device_is_no_name_there(name, monkeypatch):
    assert Settings(name=name).name == name
    monkeypatch.setattr("core.handover_settings._WINDOWS", True)
    with pytest.raises(InputError, match="cannot be a file name"):
        Settings(name=name)
    assert Settings(name="console").name == "console"
