"""The file as other programs take it: by dragging, or from the clipboard."""

import pytest
from PySide6.QtCore import QPoint, Qt, QUrl
from PySide6.QtGui import QDrag, QGuiApplication

from app.handover.handle import FileHandle


@pytest.fixture
def handle(qtbot, tmp_path):
    path = tmp_path / "low tide #2.tempo-map.mid"
    path.write_bytes(b"MThd")
    made = FileHandle()
    qtbot.addWidget(made)
    made.hold(path)
    made.show()
    return made


@pytest.fixture
def drags(monkeypatch):
    """What is dragged, and how, instead of waiting for somebody to drop it."""
    begun = []

    def begin(drag, actions):
        begun.append((drag.mimeData().urls(), actions))
        return Qt.DropAction.IgnoreAction

    monkeypatch.setattr(QDrag, "exec", begin)
    return begun


def pull(qtbot, handle, pixels):
    qtbot.mousePress(handle, Qt.MouseButton.LeftButton, pos=QPoint(30, 20))
    qtbot.mouseMove(handle, QPoint(30 + pixels, 20))
    qtbot.mouseRelease(handle, Qt.MouseButton.LeftButton, pos=QPoint(30 + pixels, 20))


def test_dragging_it_drags_a_copy_of_the_file(handle, drags, qtbot):
    pull(qtbot, handle, 40)
    # RFC 8089: the space and the hash of the name are encoded in a file URL.
    (urls, actions) = drags[0]
    assert [url.toEncoded().data().decode() for url in urls] == [handle.path.as_uri()]
    assert urls[0].toLocalFile() == str(handle.path)
    assert actions == Qt.DropAction.CopyAction
    assert len(drags) == 1


def test_a_trembling_hand_drags_nothing(handle, drags, qtbot):
    pull(qtbot, handle, 3)
    pull(qtbot, handle, -2)
    assert drags == []
    qtbot.mouseMove(handle, QPoint(200, 30))
    assert drags == []


def test_a_file_that_has_gone_is_said(handle, drags, qtbot):
    handle.path.unlink()
    with qtbot.waitSignal(handle.gone) as told:
        pull(qtbot, handle, 40)
    assert told.args == [handle.path]
    assert drags == []


def test_copying_puts_the_file_on_the_clipboard(handle, qtbot):
    handle.setFocus()
    qtbot.keyClick(handle, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().mimeData().urls() == [QUrl.fromLocalFile(str(handle.path))]


def test_it_has_a_name_for_those_who_do_not_see_it(handle):
    assert handle.accessibleName() == "Drag low tide #2.tempo-map.mid into another program"
    assert handle.focusPolicy() & Qt.FocusPolicy.TabFocus
