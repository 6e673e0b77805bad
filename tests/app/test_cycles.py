"""A take opened and closed 80 times, and the window again and again: nothing grows, nothing stays behind."""

import gc
import os
import threading

import pytest
from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication

from tests.app.shell import opened, window_of
from tests.app.tally import children, memory
from tests.app.test_worker import TAKE

CYCLES = 80
WINDOWS = 6


def counted(window) -> dict[str, int]:
    """How many of each kind of object hang on the window."""
    kinds = {"objects": QObject, "timers": QTimer}
    return {name: len(window.findChildren(kind)) for name, kind in kinds.items()}


@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="memory is read from /proc")
def test_eighty_takes_opened_and_closed_leave_nothing_behind(qtbot, tmp_path):
    with window_of(tmp_path) as window:
        for cycle in range(CYCLES):
            opened(qtbot, window, TAKE)
            window.workspace.select({(2, 1)})
            (window.views.show_bar_stack, window.views.show_hand_over, window.views.show_timeline)[cycle % 3]()
            QApplication.processEvents()
            window.workspace.close_take()
            QApplication.processEvents()
            if cycle == CYCLES // 4:
                gc.collect()
                before, threads, kept = counted(window), threading.active_count(), memory()
        gc.collect()
        assert all(number <= before[kind] for kind, number in counted(window).items())
        assert threading.active_count() <= threads
        # What grew with each take would be a multiple of its notes and pictures; the allocator may keep some.
        assert memory() - kept < 12


@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="processes are read from /proc")
def test_windows_take_their_processes_and_threads_with_them(qtbot, tmp_path):
    processes, threads = children(), threading.active_count()
    for cycle in range(WINDOWS):
        with window_of(tmp_path / str(cycle)) as window:
            (tmp_path / str(cycle)).mkdir(exist_ok=True)
            opened(qtbot, window, TAKE)
            assert len(children()) > len(processes)
        assert children() == processes
        assert threading.active_count() <= threads + 1
    assert not [one for one in QApplication.topLevelWidgets() if one.isVisible()]
