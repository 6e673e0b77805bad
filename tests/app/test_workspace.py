"""The workspace with its real worker process: takes open, edits are answered, and no death takes work along."""

import os
import signal
from dataclasses import replace
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile
from PySide6.QtCore import QObject, QThread, QTimer, Slot

from app.questions import Suggested
from app.workspace import Workspace
from core.document import COMMON_TIME
from core.edits import ChangeMetre, NameSection, Nudge, Place
from core.errors import PinError
from core.find_onsets import find_onsets
from core.grid import Pin
from core.metre import TimeSignature
from core.peaks import Peaks
from core.propose import propose
from core.read_take import read_take
from core.take import AudioTake, MidiTake
from core.tracker import Tracker
from tests.app.takes import play_midi

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
FERRY, NETS, NETS_AUDIO, TIDE = (
    EXAMPLES / name for name in ("night-ferry.mid", "net-mending.mid", "net-mending.ogg", "low-tide.mid")
)


class Seen(QObject):
    """Collects what a workspace says."""

    def __init__(self, workspace):
        super().__init__()
        self.states, self.messages, self.work, self.pictures, self.selections = [], [], [], [], []
        workspace.changed.connect(self.change)
        workspace.message.connect(self.messages.append)
        workspace.working.connect(self.tell)
        workspace.picture.connect(self.pictures.append)
        workspace.selected.connect(self.selections.append)

    @Slot(object, object)
    def change(self, old, new):
        assert old is not new
        assert not self.states or self.states[-1] is old
        self.states.append(new)

    @Slot(str, float)
    def tell(self, stage, share):
        assert 0 <= share <= 1
        self.work.append(stage)

    @property
    def said(self):
        return [message.text for message in self.messages]


@pytest.fixture
def workspace(qapp):
    workspace = Workspace()
    workspace.seen = Seen(workspace)
    yield workspace
    workspace.stop()


@pytest.fixture
def waits(qtbot, workspace):
    def until(condition):
        qtbot.waitUntil(condition, timeout=20_000)

    return until


@pytest.fixture
def opened(workspace, waits):
    """Workspace with a MIDI take that has its bars."""
    workspace.open(FERRY)
    waits(lambda: workspace.state.grid is not None)
    workspace.seen.states.clear()
    workspace.seen.messages.clear()
    return workspace


def line(workspace, bar):
    return next(beat for beat in workspace.state.grid.bar_lines if beat.bar == bar)


def moved(workspace, bar, seconds):
    return Place(Pin(line(workspace, bar).time + seconds, bar))


def settled(workspace):
    return not workspace.state.pending


def expected(state):
    """Bars that the library itself suggests for a document."""
    document = state.document
    return Tracker(state.onsets, document.metre).grid(document.pins, opening=document.opening)


def test_a_midi_take_opens_in_steps_that_each_show_more(workspace, waits):
    workspace.open(FERRY)
    waits(lambda: workspace.state.grid is not None)
    first, heard, ready = workspace.seen.states
    assert isinstance(first.take, MidiTake)
    assert first.onsets is None
    assert heard.document is None
    assert not ready.pending
    proposal = propose(find_onsets(read_take(FERRY)))
    assert ready.grid == proposal.grid
    assert ready.document.metre == proposal.metre
    assert (ready.sure.metre, ready.sure.tempo) == (proposal.metre_confidence, proposal.tempo_confidence)
    assert isinstance(workspace.pictured, MidiTake)
    assert list(dict.fromkeys(workspace.seen.work)) == [
        "Reading night-ferry.mid",
        "Listening for note onsets",
        "Trying metres",
        "Finding the bars",
        "",
    ]
    assert not workspace.seen.messages


def test_an_audio_take_opens_with_its_waveform(workspace, waits):
    workspace.open(NETS_AUDIO)
    waits(lambda: workspace.state.grid is not None and workspace.pictured is not None)
    assert isinstance(workspace.state.take, AudioTake)
    assert workspace.state.onsets.source == "audio"
    assert isinstance(workspace.pictured, Peaks)


def test_an_edit_shows_at_once_and_its_suggestions_follow(opened, waits):
    edit = moved(opened, 4, 0.03)
    opened.do(edit)
    assert opened.state.pending
    assert opened.state.document.pins == (edit.pin,)
    assert line(opened, 4).time == edit.pin.time
    waits(lambda: settled(opened))
    assert opened.state.grid == expected(opened.state)
    assert line(opened, 4).placed
    assert opened.state.history == (edit.words,)


def test_undo_and_redo_show_earlier_bars_without_asking(opened, waits):
    shown = [opened.state]
    for bar, seconds in ((3, 0.02), (6, -0.03), (8, 0.04)):
        opened.do(moved(opened, bar, seconds))
        waits(lambda: settled(opened))
        shown.append(opened.state)
    for at in (2, 1, 0, 3, 1, 2):
        opened.go_to(at)
        assert not opened.state.pending
        assert (opened.state.document, opened.state.grid) == (shown[at].document, shown[at].grid)
        assert opened.state.at == at
        assert opened.state.history == shown[3].history
    opened.undo()
    opened.undo()
    opened.undo()
    assert opened.state.at == 0
    opened.redo()
    assert opened.state.at == 1
    fresh = moved(opened, 5, 0.02)
    opened.do(fresh)
    assert opened.state.history == (shown[3].history[0], fresh.words)
    assert [entry.edit for entry in opened.history.entries][-1] == fresh
    waits(lambda: settled(opened))


def test_an_undone_edit_whose_answer_never_came_is_asked_for(opened, waits):
    opened.do(moved(opened, 3, 0.02))
    opened.do(moved(opened, 5, 0.02))
    opened.undo()
    assert opened.state.pending
    waits(lambda: settled(opened))
    assert opened.state.grid == expected(opened.state)


def test_only_the_newest_of_many_quick_edits_is_shown(opened, waits):
    for step in range(1, 12):
        opened.do(moved(opened, 4, 0.002 if step % 2 else 0.003))
    shown = len(opened.seen.states)
    waits(lambda: settled(opened))
    assert len(opened.seen.states) == shown + 1
    assert opened.state.grid == expected(opened.state)
    assert len(opened.state.history) == 11


def test_an_edit_that_cannot_be_changes_nothing_and_is_said(opened):
    before = opened.state
    opened.do(Place(Pin(10_000.0, 4)))
    opened.do(Nudge((Pin(line(opened, 3).time, 3), Pin(line(opened, 4).time, 4)), -9_000.0))
    opened.attempt(lambda document, grid: (_ for _ in ()).throw(PinError("It cannot go there.")))
    assert opened.state is before
    assert len(opened.seen.messages) == 3
    assert all(message.warning for message in opened.seen.messages)
    assert opened.seen.said[-1] == "It cannot go there."


def test_an_edit_in_an_empty_window_is_said_to_be_early(workspace):
    workspace.do(NameSection(1, "Verse"))
    workspace.attempt(lambda document, grid: NameSection(1, "Verse"))
    workspace.undo()
    assert workspace.state.take is None
    assert len(workspace.seen.messages) == 2


def test_what_is_selected_is_always_in_the_grid(opened, waits):
    last = opened.state.grid.bar_lines[-1].bar
    opened.select({(3, 1), (last, 1), (999, 1)})
    assert opened.selection == {(3, 1), (last, 1)}
    opened.close_take()
    assert opened.selection == frozenset()
    assert opened.seen.selections == [{(3, 1), (last, 1)}, frozenset()]


@pytest.mark.parametrize("bad", ["missing", "damaged", "silent"])
def test_a_take_that_cannot_be_opened_leaves_the_one_before(opened, waits, tmp_path, bad):
    opened.do(moved(opened, 4, 0.03))
    waits(lambda: settled(opened))
    before = opened.state
    path = tmp_path / f"{bad}.wav"
    if bad == "damaged":
        path.write_bytes(b"RIFF\0\0\0\0WAVE")
    elif bad == "silent":
        soundfile.write(path, np.zeros(44100 * 3), 44100)
    opened.open(path)
    waits(lambda: bool(opened.seen.messages))
    waits(lambda: opened.seen.work[-1] == "")
    assert len(opened.seen.messages) == 1
    assert opened.seen.messages[0].warning
    assert opened.state is before
    assert isinstance(opened.pictured, MidiTake)
    opened.undo()
    opened.redo()
    assert opened.state.grid == before.grid


def test_a_take_with_too_little_in_it_can_still_be_worked_on(workspace, waits, tmp_path):
    track = mido.MidiTrack()
    for pitch in (60, 64, 67):
        track += [mido.Message("note_on", note=pitch, time=100), mido.Message("note_off", note=pitch, time=400)]
    mido.MidiFile(tracks=[track]).save(tmp_path / "three.mid")
    workspace.open(tmp_path / "three.mid")
    waits(lambda: workspace.state.grid is not None)
    assert workspace.state.document.metre == COMMON_TIME
    assert workspace.state.sure is None
    assert "too few" in workspace.seen.said[0]
    workspace.do(Place(Pin(float(workspace.state.onsets.time[1]), 1)))
    waits(lambda: settled(workspace))
    assert workspace.state.grid.bar_lines[0].bar <= 1


def test_cancelling_an_opening_brings_back_what_was_there(opened, waits):
    before = opened.state
    opened.open(TIDE)
    opened.cancel()
    assert opened.state is before
    opened.open(TIDE)
    waits(lambda: opened.state.onsets is not None and opened.state.take.path == TIDE)
    opened.cancel()
    assert opened.state is before
    assert opened.seen.said == ["Stopped: low-tide.mid was not opened."] * 2
    waits(lambda: opened.seen.work[-1] == "")
    opened.do(moved(opened, 4, 0.03))
    waits(lambda: settled(opened))
    assert opened.state.grid == expected(opened.state)


def test_cancelling_a_suggestion_keeps_the_edit(opened, waits):
    opened.do(moved(opened, 4, 0.03))
    shown = opened.state
    opened.cancel()
    assert opened.state.grid == shown.grid
    assert opened.state.document == shown.document
    assert not opened.state.pending
    assert opened.seen.messages
    opened.do(moved(opened, 6, 0.03))
    waits(lambda: settled(opened))
    assert opened.state.grid == expected(opened.state)


def test_a_gesture_on_bars_that_are_counted_anew_is_put_off(opened, waits):
    opened.do(ChangeMetre(3, TimeSignature.parse("3/4")))
    assert opened.state.pending
    opened.attempt(lambda document, grid: pytest.fail("made from bars that are numbered otherwise"))
    assert "try again" in opened.seen.said[-1]
    opened.cancel()
    assert not opened.state.pending
    opened.attempt(lambda document, grid: pytest.fail("made from bars that are numbered otherwise"))
    waits(lambda: settled(opened))
    opened.attempt(lambda document, grid: Place(Pin(grid.bar_lines[4].time + 0.01, grid.bar_lines[4].bar)))
    assert len(opened.state.history) == 2


def test_a_second_take_takes_over_while_the_first_is_listened_to(workspace, waits):
    workspace.open(TIDE)
    waits(lambda: workspace.state.onsets is not None)
    workspace.open(FERRY)
    waits(lambda: workspace.state.grid is not None)
    assert workspace.state.take.path == FERRY
    assert workspace.state.grid == expected(workspace.state)
    assert not workspace.seen.messages


def test_a_worker_killed_while_a_take_is_opened_is_said_and_started_again(workspace, waits):
    workspace.open(NETS)
    waits(lambda: workspace.state.onsets is not None)
    os.kill(workspace._analysis.pid, signal.SIGKILL)
    waits(lambda: workspace.state.grid is not None)
    assert len(workspace.seen.messages) == 1
    assert workspace.seen.messages[0].details
    assert workspace.state.grid == expected(workspace.state)


def test_a_worker_killed_between_edits_and_in_the_middle_of_one_loses_nothing(opened, waits):
    os.kill(opened._analysis.pid, signal.SIGKILL)
    waits(lambda: len(opened.seen.messages) == 1)
    opened.do(moved(opened, 4, 0.03))
    waits(lambda: settled(opened))
    os.kill(opened._analysis.pid, signal.SIGSTOP)
    opened.do(moved(opened, 6, 0.02))
    os.kill(opened._analysis.pid, signal.SIGKILL)
    waits(lambda: settled(opened))
    assert len(opened.state.document.pins) == 2
    assert opened.state.grid == expected(opened.state)


def test_a_worker_that_dies_at_once_again_is_given_up_until_the_next_edit(opened, waits):
    opened.do(moved(opened, 4, 0.03))
    os.kill(opened._analysis.pid, signal.SIGKILL)
    waits(lambda: len(opened.seen.messages) == 1)
    os.kill(opened._analysis.pid, signal.SIGKILL)
    waits(lambda: len(opened.seen.messages) == 2)
    assert opened._analysis.pid == 0
    assert not opened.state.pending
    assert len(opened.state.document.pins) == 1
    opened.do(moved(opened, 6, 0.03))
    waits(lambda: settled(opened))
    assert opened.state.grid == expected(opened.state)


def test_an_answer_to_an_old_question_is_dropped(opened, waits):
    opened.do(moved(opened, 4, 0.03))
    waits(lambda: settled(opened))
    shown = opened.state
    old = opened._analysis._number - 1
    opened._analysis._take(Suggested(old, shown.document, replace(shown.grid, beats=shown.grid.beats[:3])))
    assert opened.state is shown


def children():
    """Process ids of this process's children (proc(5))."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == os.getpid() and fields[0] != "Z":
            found.append(int(stat.parent.name))
    return found


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="counts processes in /proc, which this system has not")
def test_nothing_is_left_of_thirty_takes_opened_and_closed(qtbot, tmp_path):
    take = play_midi(tmp_path / "take.mid", phrases=1).path
    before, threads = children(), len(os.listdir("/proc/self/task"))
    workspace = Workspace()
    for i in range(30):
        workspace.open(take if i % 3 else NETS_AUDIO)
        if i % 5 == 0:
            qtbot.waitUntil(lambda: workspace.state.take is not None, timeout=20_000)
        if i % 10 == 4:
            qtbot.waitUntil(lambda: workspace.state.grid is not None, timeout=20_000)
        workspace.close_take()
        assert workspace.state.take is None
    workspace.stop()
    assert children() == before
    assert not any(timer.isActive() for timer in workspace.findChildren(QTimer))
    assert not workspace.findChildren(QThread)
    qtbot.waitUntil(lambda: not workspace._pictures.busy)
    assert len(os.listdir("/proc/self/task")) <= threads + 1
