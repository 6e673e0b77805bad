"""Bar and beat times as CSV, against RFC 4180."""

import csv

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from core.document import Section
from core.errors import HandoverError
from core.fit import fit_bars, fit_fewest
from core.metre import Metre, TimeSignature
from core.read_csv import read_bar_times, read_pins
from core.session import place
from core.write_csv import bars_csv, beats_csv, write_beats
from tests.core.free_grids import FOUR, grid_of, grids

IN_PLACE = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def test_the_file_of_bars_is_written_out():
    additive = TimeSignature(7, 8, (2, 2, 3))
    grid = grid_of(
        Metre(((1, FOUR), (2, additive))), [0.5] * 4 + [0.4, 0.4, 0.6], start=2.0, placed=frozenset({0})
    )
    fit = fit_bars(grid)
    sections = [Section(2, '=HYPERLINK("x"), then'), Section(1, "Still water")]
    page = bars_csv(grid, fit, place(grid, fit), sections=sections)
    # RFC 4180: lines end in CRLF (2.1), a header (2.3), commas and quotes are quoted (2.6, 2.7).
    assert page.decode() == (
        "time_s,bar,origin,time_signature,tempo_qpm,section,confidence,error_ms,session_bar,session_time_s\r\n"
        "2.000000,1,placed,4/4,120.0000,Still water,1.000,0.000,2,2.000000\r\n"
        '4.000000,2,suggested,2+2+3/8,150.0000,"\'=HYPERLINK(""x""), then",1.000,0.000,3,4.000000\r\n'
        '5.400000,3,suggested,2+2+3/8,,"\'=HYPERLINK(""x""), then",1.000,0.000,4,5.400000\r\n'
    )


def test_the_file_of_beats_is_written_out():
    grid = grid_of(Metre.steady(TimeSignature(6, 8)), [0.9, 0.9, 1.0], start=0.25, bar=0, beat=2)
    assert beats_csv(grid).decode() == (
        "time_s,bar,beat,origin,time_signature,confidence\r\n"
        "0.250000,0,2,suggested,6/8,1.000\r\n"
        "1.150000,1,1,suggested,6/8,1.000\r\n"
        "2.050000,1,2,suggested,6/8,1.000\r\n"
        "3.050000,2,1,suggested,6/8,1.000\r\n"
    )


def test_an_existing_file_is_left(tmp_path):
    grid = grid_of(Metre.steady(FOUR), [0.5] * 8)
    write_beats(tmp_path / "beats.csv", grid)
    with pytest.raises(HandoverError, match="exists already"):
        write_beats(tmp_path / "beats.csv", grid)
    write_beats(tmp_path / "beats.csv", grid, overwrite=True)


@given(grids(), st.floats(0, 0.1))
@IN_PLACE
def test_bars_written_then_read_are_the_same(tmp_path, grid, tolerance):
    assume(len(grid.bar_lines) > 1)
    fit = fit_fewest(grid, tolerance)
    session = place(grid, fit)
    path = tmp_path / "bars.csv"
    path.write_bytes(bars_csv(grid, fit, session))
    assert [(pin.time, pin.bar) for pin in read_pins(path)] == [
        (round(line.time, 6), line.bar) for line in grid.bar_lines if line.placed
    ]
    bars, times = zip(*read_bar_times(path), strict=True)
    assert bars == tuple(range(session.first_bar, session.last_bar + 1))
    np.testing.assert_allclose(times, session.bar_times, atol=5.1e-7)


@given(grids())
@IN_PLACE
def test_beats_written_then_read_are_the_same(tmp_path, grid):
    path = tmp_path / "beats.csv"
    write_beats(path, grid, overwrite=True)
    pins = [(pin.time, pin.bar, pin.beat) for pin in read_pins(path)]
    assert pins == [(round(beat.time, 6), beat.bar, beat.beat) for beat in grid.beats if beat.placed]
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row, beat in zip(rows, grid.beats, strict=True):
        assert (int(row["bar"]), int(row["beat"])) == (beat.bar, beat.beat)
        assert float(row["time_s"]) == pytest.approx(beat.time, abs=5.1e-7)
        assert TimeSignature.parse(row["time_signature"]) == grid.metre.at(beat.bar)
