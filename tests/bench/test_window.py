"""The bench of the window measures what it says: a short take goes all the way through it."""

import numpy as np
import pytest
import soundfile

from tests.bench import render, window, window_session
from tests.bench.window_reference import reference


def test_the_take_has_forty_bars_a_minute():
    starts, _, _ = window_session.compose(600)
    assert len(starts) // 8 == pytest.approx(400, rel=0.05)
    assert starts[-1] < 600


def test_the_summary_is_in_milliseconds():
    # By hand: of 1 to 101 ms the median is 51 and 95 of 100 steps lie below 96.
    found = window_session.summary([i / 1000 for i in range(1, 102)])
    assert found == {"median": pytest.approx(51.0), "p95": pytest.approx(96.0), "n": 101}
    assert np.isnan(window_session.summary([])["median"])


@pytest.mark.parametrize("arguments", [["--minutes", "1"], ["--hours", "-1"], ["--minutes", "nan"]])
def test_what_cannot_be_measured_is_refused(arguments, capsys):
    with pytest.raises(SystemExit) as refused:
        window.main(arguments)
    assert refused.value.code == 2
    assert "at least" in capsys.readouterr().err


def test_a_short_take_is_opened_painted_and_put_right(qapp, tmp_path, monkeypatch, capsys):
    for name, value in {"FRAMES": 3, "MOVES": 4, "RELEASES": 2, "OPENS": 1, "REST": 0.0}.items():
        monkeypatch.setattr(window_session, name, value)
    notes, path = window_session.compose(40), tmp_path / "take.mid"
    render.write_midi(path, notes)
    with window_session.shown(tmp_path) as shown:
        session = window_session.Session(shown, path, notes)
        found = window.measure_take(session, {"full view": None, "10 s": 10.0})
        assert (session.timeline.width(), session.timeline.height()) == window_session.SIZE
    assert found["bars"] > 20
    assert found["release to new bars"]["n"] == 2
    assert all(cell["median"] > 0 for cell in (*found["repaint"].values(), found["open to first picture"]))
    window.show({"minutes": 0.7, "MIDI": found, "WAV": found, "reference": {}})
    assert "release to new bars" in capsys.readouterr().out


def test_the_reference_paints_the_same_sound(qapp, tmp_path):
    audio = tmp_path / "take.wav"
    soundfile.write(audio, np.random.default_rng(1).normal(0, 0.1, (44100, 2)), 44100)
    found = reference(audio, size=(300, 200), spans={"full view": None, "10 s": 0.2}, lines=5, frames=5)
    assert set(found) == {"fill", "pyqtgraph"}
    assert all(cell["median"] > 0 for cells in found.values() for cell in cells.values())
