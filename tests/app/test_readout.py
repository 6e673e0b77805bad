"""Where the pointer is, in words."""

import pytest

from app.readout import Readout
from app.state import State
from core.document import Document
from core.grid import Beat, Grid
from core.metre import Metre, TimeSignature
from core.read_take import read_take
from tests.app.takes import play_midi


class Shown:
    """Stands for a workspace."""

    def __init__(self, state: State) -> None:
        self.state = state


@pytest.fixture
def said(qapp, tmp_path):
    take = read_take(play_midi(tmp_path / "take.mid", phrases=1).path)
    beats = tuple(Beat(1.0 + 0.5 * i, 1 + i // 4, 1 + i % 4) for i in range(9))
    grid = Grid(Metre.steady(TimeSignature(4, 4)), beats)
    words = []

    def say(seconds, grid=grid):
        readout = Readout(Shown(State(take=take, grid=grid, document=Document())))
        readout.said.connect(words.append)
        readout.show(seconds)
        return words[-1]

    return say


def test_bar_beat_and_moment(said):
    # By hand: bar 1 begins at 1 s, a beat lasts half a second.
    assert said(1.0) == "bar 1 beat 1, 0:01.000"
    assert said(3.6) == "bar 2 beat 2, 0:03.600"


def test_outside_the_bars_the_moment_alone(said):
    assert said(0.25) == "0:00.250"
    assert said(5.5) == "0:05.500"
    assert said(3.6, grid=None) == "0:03.600"


def test_nowhere(said):
    assert said(None) == ""
    assert said(-1.0) == ""
