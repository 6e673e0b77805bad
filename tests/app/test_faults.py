"""Faults of our own: written down and told, in slots and in threads; nothing ends."""

import sys
import threading

import pytest
from PySide6.QtCore import qWarning

from app.faults import Faults


@pytest.fixture
def faults(tmp_path):
    made = Faults(tmp_path / "data" / "fault.log")
    made.install()
    yield made
    made.remove()


def raised():
    try:
        raise RuntimeError("a loose string")
    except RuntimeError:
        return sys.exc_info()


def test_a_fault_is_written_down_and_told(faults, qtbot):
    with qtbot.waitSignal(faults.happened) as told:
        sys.excepthook(*raised())
    message = told.args[0]
    assert message.warning
    assert "you can go on" in message.text
    assert "a loose string" in message.details
    assert "a loose string" in faults.log.read_text(encoding="utf-8")


def test_a_fault_in_a_thread_too(faults, qtbot):
    with qtbot.waitSignal(faults.happened) as told:
        thread = threading.Thread(target=lambda: 1 // 0)
        thread.start()
        thread.join()
    assert "ZeroDivisionError" in told.args[0].details


def test_what_qt_says_is_written_down(faults):
    qWarning("a lane without a width")
    assert "a lane without a width" in faults.log.read_text(encoding="utf-8")


def test_a_log_that_cannot_be_written_is_no_fault(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    Faults(tmp_path / "file" / "fault.log")


def test_the_hooks_before_come_back(tmp_path):
    before = sys.excepthook, threading.excepthook
    faults = Faults(tmp_path / "fault.log")
    faults.install()
    assert sys.excepthook is not before[0]
    faults.remove()
    assert (sys.excepthook, threading.excepthook) == before
