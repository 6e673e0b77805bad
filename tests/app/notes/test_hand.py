"""Notes put right in a real window, by mouse and keys."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QApplication

from app.dialogs.velocity import VelocityDialog
from core.repairs import Repair, repaired
from tests.app.shell import WAIT, afresh, close_dialogs, opened, press, settled
from tests.app.takes import play_audio, play_midi

Key, Held = Qt.Key, Qt.KeyboardModifier
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return play_midi(tmp_path_factory.mktemp("takes") / "four phrases.mid", phrases=4).path


@pytest.fixture
def window(qtbot, shared, path):
    if shared.workspace.state.take is None:
        opened(qtbot, shared, path)
    afresh(qtbot, shared)
    shared.span.show(4.0, 9.0)
    if shared.notes.layer.isHidden():
        press(qtbot, shared, Key.Key_E)
    yield shared
    close_dialogs()
    if not shared.notes.layer.isHidden():
        shared.notes.edit_notes()


def repairs(window):
    return window.workspace.state.document.repairs


def on_screen(window, count=3):
    """Notes that begin on screen, well apart, with nothing else at their place."""
    layer = window.notes.layer
    places = layer.places
    found = []
    for note in np.flatnonzero((places.start > 4.3) & (places.end < 8.7)).tolist():
        at = layer.rect_of(note).center()
        if layer._note_at(at) == note:
            found.append(note)
    return found[:count]


def click(qtbot, window, note, held=Held.NoModifier):
    qtbot.mouseClick(window.notes.layer, LEFT, held, window.notes.layer.rect_of(note).center().toPoint())


def test_a_note_is_chosen_removed_and_brought_back_by_undo(qtbot, window):
    note = on_screen(window)[0]
    before = window.notes.layer.grab().toImage()
    click(qtbot, window, note)
    assert window.notes.layer.chosen == {note}
    assert "velocity" in window.notes.layer.accessibleDescription()
    qtbot.keyClick(window.notes.layer, Key.Key_Delete)
    assert repairs(window) == (Repair(note, removed=True),)
    assert not window.workspace.state.pending
    assert window.workspace.state.history[-1] == "A note removed"
    take, _ = repaired(window.workspace.state.take, repairs(window))
    assert len(take.notes) == len(window.workspace.state.take.notes) - 1
    assert window.notes.layer.grab().toImage() != before
    window.workspace.undo()
    assert repairs(window) == ()


def test_a_note_is_dragged_and_nudged(qtbot, window):
    note = on_screen(window)[0]
    layer = window.notes.layer
    at = layer.rect_of(note).center().toPoint()
    qtbot.mousePress(layer, LEFT, pos=at)
    qtbot.mouseMove(layer, at + QPoint(20, 0))
    qtbot.mouseMove(layer, at + QPoint(40, 0))
    qtbot.mouseRelease(layer, LEFT, pos=at + QPoint(40, 0))
    (repair,) = repairs(window)
    assert repair.shift == pytest.approx(40 * window.span.seconds_per_pixel, rel=0.05)
    qtbot.keyClick(layer, Key.Key_Left)
    assert repairs(window)[0].shift == pytest.approx(repair.shift - 0.005)
    assert window.workspace.state.at == 2


def test_velocities_go_up_and_down_and_are_levelled_out(qtbot, window):
    notes = on_screen(window)
    layer = window.notes.layer
    click(qtbot, window, notes[0])
    for note in notes[1:]:
        click(qtbot, window, note, Held.ControlModifier)
    assert layer.chosen == set(notes)
    played = window.workspace.state.take.notes.velocity
    qtbot.keyClick(layer, Key.Key_Up)
    assert [repair.velocity for repair in repairs(window)] == [min(int(played[note]) + 4, 127) for note in notes]
    before = [int(layer.places.velocity[note]) for note in notes]
    window.notes.level.trigger()
    after = [int(layer.places.velocity[note]) for note in notes]
    assert np.ptp(after) <= np.ptp(before) // 2 + 1
    window.notes.restore.trigger()
    assert repairs(window) == ()


def test_a_velocity_is_asked_for(qtbot, window):
    note = on_screen(window)[1]
    layer = window.notes.layer
    at = layer.rect_of(note).center().toPoint()
    QApplication.sendEvent(layer, QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, layer.mapToGlobal(at)))
    qtbot.waitUntil(window.notes.menu.isVisible, timeout=WAIT)
    assert layer.chosen == {note}
    assert not window.notes.level.isEnabled()
    window.notes.menu.close()
    window.notes.velocity.trigger()
    qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), VelocityDialog), timeout=WAIT)
    dialog = QApplication.activeModalWidget()
    dialog.field.setValue(33)
    qtbot.keyClick(dialog.field, Key.Key_Return)
    qtbot.waitUntil(lambda: bool(repairs(window)), timeout=WAIT)
    assert repairs(window) == (Repair(note, velocity=33),)


def test_a_box_chooses_what_lies_in_it_and_escape_ends_it(qtbot, window):
    layer = window.notes.layer
    notes = on_screen(window, 1)
    box = layer.rect_of(notes[0]).adjusted(-6, -6, 6, 6).toRect()
    qtbot.mousePress(layer, LEFT, pos=box.topLeft())
    qtbot.mouseMove(layer, box.center())
    qtbot.mouseMove(layer, box.bottomRight())
    qtbot.mouseRelease(layer, LEFT, pos=box.bottomRight())
    assert notes[0] in layer.chosen
    qtbot.keyClick(layer, Key.Key_Escape)
    assert not layer.chosen
    qtbot.keyClick(layer, Key.Key_Escape)
    assert layer.isHidden()
    assert not window.actions_by_id["edit_notes"].isChecked()


def test_nothing_chosen_is_said(qtbot, window):
    qtbot.keyClick(window.notes.layer, Key.Key_Delete)
    assert "No note is chosen" in window.strip.text.whole()


def test_what_is_heard_and_handed_over_has_the_notes_put_right(qtbot, window):
    note = on_screen(window)[0]
    click(qtbot, window, note)
    qtbot.keyClick(window.notes.layer, Key.Key_Delete)
    window.views.show_heard()
    heard = window.cutting.page.space.heard
    assert note not in heard.notes.tolist()
    window.views.show_timeline()


def test_sound_has_no_notes(qtbot, shared, tmp_path):
    guitar = play_audio(tmp_path / "guitar.wav").path
    shared.workspace.open(guitar)
    qtbot.waitUntil(lambda: shared.workspace.state.take.path == guitar and settled(shared), timeout=WAIT)
    shared.actions_by_id["edit_notes"].trigger()
    assert shared.notes.layer.isHidden()
    assert not shared.actions_by_id["edit_notes"].isChecked()
    assert "sound" in shared.strip.text.whole()
